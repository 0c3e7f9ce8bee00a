//! What is asked, as typed.

use super::{Held, Question, set, spots};
use crate::fault;
use crate::model::{AUXILIARY_FANS, Ask, AuxiliaryFan, Shelf};
use crate::quantity::{Kind, Units, parse};
use crate::trouble::{Trouble, Troubles};

/// The day where none is typed.
pub const AMBIENT: &str = "38 C";

/// Length of the wire to each fan where none is typed.
pub const WIRE: &str = "3 m";

/// Road speed at which the fans are off where none is typed.
pub const ROAD_SPEED: &str = "90 km/h";

/// What `auxfan` takes beside machine and condition, as typed; nothing where nothing was.
#[derive(Clone, Debug, PartialEq)]
pub struct Typed {
    /// A table of fans: what messages call it, and its text. The classes without it.
    pub fans: Option<(String, String)>,
    /// Where they may sit.
    pub at: Option<String>,
    /// A set to look at.
    pub tried: Option<String>,
    /// The day on which the coolant must not pass its limit.
    pub ambient: String,
    /// Grade of a climb at walking pace.
    pub climb: Option<String>,
    /// Air conditioning is on.
    pub air_conditioning: bool,
    /// The main fan's speed, or a share of what it should make.
    pub fan_speed: Option<String>,
    /// The oil to hold against the one that is in it.
    pub right_oil: Option<String>,
    /// Length of the wire to each fan, one way.
    pub wire: String,
    /// Road speed at which the fans are off and in the way.
    pub road_speed: String,
}

impl Default for Typed {
    fn default() -> Self {
        Self {
            fans: None,
            at: None,
            tried: None,
            ambient: AMBIENT.into(),
            climb: None,
            air_conditioning: true,
            fan_speed: None,
            right_oil: None,
            wire: WIRE.into(),
            road_speed: ROAD_SPEED.into(),
        }
    }
}

impl Typed {
    /// The fans that one can have.
    pub fn fans(&self) -> Result<Vec<AuxiliaryFan>, Troubles> {
        match &self.fans {
            Some((source, text)) => AuxiliaryFan::from_text(source, text),
            None => AuxiliaryFan::from_text("models/auxfans/classes.csv", AUXILIARY_FANS),
        }
    }
}

/// A value behind a flag, within a range; a mistake is noted.
fn read(
    troubles: &mut Troubles,
    flag: &str,
    kind: Kind,
    words: &str,
    [low, high]: [f64; 2],
) -> Option<f64> {
    let show = |v| Units::Si.show(kind, v);
    let within = |value: f64| {
        let expected = format!("{} to {}", show(low), show(high));
        let fits = (low..=high).contains(&value).then_some(value);
        fits.ok_or_else(|| Trouble::input(show(value), expected))
    };
    let found = parse(kind, words).and_then(|m| within(m.value));
    found.map_err(|t| troubles.push(t.at(flag))).ok()
}

/// Understands what is asked, as typed, with faults such as `worn-pump=0.4`.
pub fn pose(ask: &Ask, with: &[String], typed: &Typed, shelf: Shelf) -> Result<Question, Troubles> {
    let mut troubles = Troubles::new();
    let all = &mut troubles;
    let wire = read(all, "--wire", Kind::HoseLength, &typed.wire, [0.1, 30.0]);
    let road = [1.0, 60.0];
    let road_speed = read(
        all,
        "--road-speed",
        Kind::RoadSpeed,
        &typed.road_speed,
        road,
    );
    let grade = |words: &String| read(all, "--climb", Kind::Share, words, [0.0, 0.4]);
    let climb = typed.climb.as_ref().and_then(grade);
    let main = typed.fan_speed.as_ref().and_then(|words| {
        if words.trim_end().ends_with('%') {
            read(all, "--fan-speed", Kind::Share, words, [0.0, 1.0]).map(Held::Share)
        } else {
            read(all, "--fan-speed", Kind::Speed, words, [0.0, 1000.0]).map(Held::At)
        }
    });
    let fans = typed.fans().map_err(|t| troubles.extend(t)).ok();
    let mut ask = ask.clone();
    if typed.air_conditioning {
        ask.set.push("now.air_conditioning=1".into());
    }
    ask.set.push(format!("now.ambient={}", typed.ambient));
    let posed = ask.pose(shelf);
    let posed = posed
        .map_err(|t| {
            troubles.extend(
                t.into_iter()
                    .map(|t| behind(t, "--set now.ambient", "--ambient")),
            )
        })
        .ok();
    let (Some(mut posed), Some(fans), Some(wire), Some(road_speed), true) =
        (posed, fans, wire, road_speed, troubles.is_empty())
    else {
        return Err(troubles);
    };
    let sound = posed.case;
    let right_oil = typed.right_oil.as_deref();
    let right_oil = shelf.oil(right_oil.unwrap_or(&posed.machine.fill));
    let right_oil = right_oil.map_err(|t| {
        t.into_iter()
            .map(|t| behind(t, "oil", "--right-oil"))
            .collect::<Troubles>()
    })?;
    fault::put_on(&mut posed, with, "--with")?;
    let spots = spots(&posed.case, typed.at.as_deref())?;
    let tried = typed.tried.as_ref();
    let tried = tried.map(|words| set(&posed.case, &spots, &fans, words));
    let tried = tried.transpose()?;
    Ok(Question {
        target: posed.case.now.ambient,
        posed,
        sound,
        main,
        right_oil,
        fans,
        spots,
        tried,
        climb,
        engine_given: ask.engine_speed.is_some(),
        wire,
        road_speed,
    })
}

/// A trouble with its flag in place of what it says that it is about.
fn behind(mut trouble: Trouble, about: &str, flag: &str) -> Trouble {
    if trouble.spot.source == about {
        trouble.spot.source = flag.into();
    }
    trouble
}
