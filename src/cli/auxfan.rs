//! The flags of `auxfan`.

use super::flags::AuxfanArgs;
use crate::fault;
use crate::model::{AUXILIARY_FANS, AuxiliaryFan, Shelf, read_file};
use crate::quantity::{Kind, Units, parse};
use crate::study::{Answer, auxfan};
use crate::trouble::{Trouble, Troubles};

/// What electric fans buy.
pub fn asked(args: &AuxfanArgs, units: Units) -> Result<Answer, Troubles> {
    let mut ask = args.ask.ask(units);
    if !args.no_air_conditioning {
        ask.set.push("now.air_conditioning=1".into());
    }
    ask.set.push(format!("now.ambient={}", args.ambient));
    let mut troubles: Troubles = Vec::new();
    let mut read = |flag: &str, kind: Kind, words: &str, low: f64, high: f64| {
        let read = parse(kind, words).and_then(|m| {
            let fits = (low..=high).contains(&m.value);
            let show = |v| Units::Si.show(kind, v);
            let expected = format!("{} to {}", show(low), show(high));
            fits.then_some(m.value)
                .ok_or_else(|| Trouble::input(show(m.value), expected))
        });
        read.map_err(|t| troubles.push(t.at(flag))).ok()
    };
    let wire = read("--wire", Kind::HoseLength, &args.wire, 0.1, 30.0);
    let road_speed = read("--road-speed", Kind::RoadSpeed, &args.road_speed, 1.0, 60.0);
    let climb = args
        .climb
        .as_ref()
        .map(|words| read("--climb", Kind::Share, words, 0.0, 0.4));
    let main = args.fan_speed.as_ref().map(|words| {
        if words.trim_end().ends_with('%') {
            read("--fan-speed", Kind::Share, words, 0.0, 1.0).map(auxfan::Held::Share)
        } else {
            read("--fan-speed", Kind::Speed, words, 0.0, 1000.0).map(auxfan::Held::At)
        }
    });
    let fans = match &args.fans {
        Some(path) => read_file(path)
            .map_err(|t| vec![t])
            .and_then(|text| AuxiliaryFan::from_text(path, &text)),
        None => AuxiliaryFan::from_text("models/auxfans/classes.csv", AUXILIARY_FANS),
    };
    let fans = fans.map_err(|t| troubles.extend(t)).ok();
    let posed = ask
        .pose(Shelf::Files)
        .map_err(|t| troubles.extend(t.into_iter().map(renamed)))
        .ok();
    let (Some(mut posed), Some(fans), true) = (posed, fans, troubles.is_empty()) else {
        return Err(troubles);
    };
    let sound = posed.case;
    let oil = args.right_oil.as_deref().unwrap_or(&posed.machine.fill);
    let right_oil = Shelf::Files.oil(oil)?;
    fault::put_on(&mut posed, &args.ask.with, "--with")?;
    let spots = auxfan::spots(&posed.case, args.at.as_deref())?;
    let tried = match &args.r#try {
        Some(words) => Some(auxfan::set(&posed.case, &spots, &fans, words)?),
        None => None,
    };
    let question = auxfan::Question {
        target: posed.case.now.ambient,
        posed,
        sound,
        main: main.flatten(),
        right_oil,
        fans,
        spots,
        tried,
        climb: climb.flatten(),
        engine_given: args.ask.engine_speed.is_some(),
        wire: wire.unwrap_or(3.0),
        road_speed: road_speed.unwrap_or(25.0),
    };
    auxfan::answer(&question).map_err(|t| vec![t])
}

/// A trouble of the condition's under the flag that set it.
fn renamed(mut trouble: Trouble) -> Trouble {
    if trouble.spot.source == "--set now.ambient" {
        trouble.spot.source = "--ambient".into();
    }
    trouble
}
