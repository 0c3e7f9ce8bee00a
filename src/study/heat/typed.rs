//! What is asked, as typed.

use super::{Anchor, Question};
use crate::fault;
use crate::law::fuel_heat_stoichiometric as petrol;
use crate::model::{Ask, Fuel, Machine, OilSheet, RatingPoint, Shelf};
use crate::quantity::{Kind, parse};
use crate::trouble::{Trouble, Troubles};

/// What `heat` takes beside machine and condition, as typed; nothing where nothing was.
#[derive(Clone, Debug, Default)]
pub struct Typed {
    /// Temperature of the outer air.
    pub ambient: Option<String>,
    /// Road speed.
    pub road_speed: Option<String>,
    /// The gear, from 1.
    pub gear: Option<String>,
    /// Grade of the road.
    pub grade: Option<String>,
    /// Mass of a trailer.
    pub trailer: Option<String>,
    /// Air conditioning is on.
    pub air_conditioning: bool,
    /// Measured fuel flow of a petrol engine.
    pub fuel_flow: Option<String>,
    /// Measured air flow of a petrol engine.
    pub air_flow: Option<String>,
    /// Rating points of the core: what messages call their table, and its text.
    pub rating: Option<(String, String)>,
    /// A fan speed that is imposed.
    pub fan_speed: Option<String>,
    /// A reading such as `98 C at 700 rpm, 30 C ambient`.
    pub anchor: Option<String>,
    /// Oils to hold against this one.
    pub against_oils: Vec<String>,
    /// The limiting ambient temperature over road speed and grade as well.
    pub map: bool,
}

/// Understands what is asked, as typed.
pub fn pose(ask: &Ask, with: &[String], typed: &Typed, shelf: Shelf) -> Result<Question, Troubles> {
    let mut ask = ask.clone();
    let automatic = ask.command.as_deref().map(str::trim) == Some("automatic");
    let given = ask.set.clone();
    if automatic {
        ask.command = None;
    }
    let mut troubles = Vec::new();
    for (key, words) in [
        ("ambient", &typed.ambient),
        ("road_speed", &typed.road_speed),
        ("grade", &typed.grade),
        ("trailer", &typed.trailer),
    ] {
        ask.set
            .extend(words.iter().map(|w| format!("now.{key}={w}")));
    }
    if typed.air_conditioning {
        ask.set.push("now.air_conditioning=1".into());
    }
    let gear = typed.gear.as_ref().and_then(|words| {
        let wrong = |_| Trouble::input(format!("gear `{words}`"), "a whole number from 1");
        let read = words.trim().parse::<usize>().map_err(wrong);
        read.map_err(|t| troubles.push(t.at("--gear"))).ok()
    });
    if typed.fuel_flow.is_some() && typed.air_flow.is_some() {
        let twice = Trouble::input("an air flow beside a fuel flow", "one of the two");
        troubles.push(twice.at("--air-flow"));
    }
    let mut read = |flag: &str, kind: Kind, words: &Option<String>| {
        let read = parse(kind, words.as_ref()?).and_then(|m| {
            let high = m.value >= 0.0 && m.value.is_finite();
            high.then_some(m.value)
                .ok_or_else(|| Trouble::input("a negative value", "0 or more"))
        });
        read.map_err(|t| troubles.push(t.at(flag))).ok()
    };
    let fan_speed = read("--fan-speed", Kind::Speed, &typed.fan_speed);
    let fuel_flow =
        read("--fuel-flow", Kind::Flow, &typed.fuel_flow).map(|q| petrol::from_fuel(PETROL * q));
    let air_flow = read("--air-flow", Kind::MassFlow, &typed.air_flow).map(petrol::from_air);
    let anchor = typed
        .anchor
        .as_deref()
        .and_then(|words| anchor(words).map_err(|t| troubles.push(t)).ok());
    let oils: Vec<OilSheet> = typed
        .against_oils
        .iter()
        .filter_map(|o| shelf.oil(o.trim()).map_err(|t| troubles.extend(t)).ok())
        .collect();
    let rating = typed.rating.as_ref();
    let rating = rating.map(|(source, text)| RatingPoint::all_from_text(source, text));
    let rating = rating.transpose().map_err(|t| troubles.extend(t));
    // What was typed behind a flag is told of that flag.
    let told = |mut trouble: Trouble| {
        if let Some(key) = trouble.spot.source.strip_prefix("--set now.")
            && !given.iter().any(|s| s.contains(key))
        {
            trouble.spot.source = format!("--{}", key.replace('_', "-"));
        }
        trouble
    };
    let posed = ask
        .pose(shelf)
        .map_err(|all| troubles.extend(all.into_iter().map(told)))
        .ok();
    let (Some(mut posed), true) = (posed, troubles.is_empty()) else {
        return Err(troubles);
    };
    fault::put_on(&mut posed, with, "--with")?;
    for (flag, heat) in [("--fuel-flow", fuel_flow), ("--air-flow", air_flow)] {
        if let Some(heat) = heat {
            burns_petrol(flag, &posed.machine).map_err(|t| vec![t])?;
            posed.case.now.fuel_heat = heat;
            let heat = posed.units.show(Kind::Power, heat);
            posed
                .said
                .push(("heat of the fuel, as measured".into(), heat));
        }
    }
    Ok(Question {
        rating: rating.ok().flatten().unwrap_or_default(),
        posed,
        command_given: ask.unplugged || ask.command.is_some(),
        engine_given: ask.engine_speed.is_some(),
        gear,
        fan_speed,
        anchor,
        oils,
        map: typed.map,
    })
}

/// Density of petrol, kg/m³ *(common practice, no source)*.
const PETROL: f64 = 745.0;

/// Whether the heat of what a machine's engine burns can be told from a flow.
fn burns_petrol(flag: &str, machine: &Machine) -> Result<(), Trouble> {
    let (found, hint) = match machine.fuel {
        Some(Fuel::Petrol) => return Ok(()),
        Some(Fuel::Diesel) if flag == "--air-flow" => (
            "the air flow of a diesel, which draws more air than it burns: its fuel does not follow from it",
            "the fuel's heat itself: --set \"now.fuel_heat=30 kW\"",
        ),
        Some(Fuel::Diesel) => (
            "the fuel flow of a diesel: only petrol's heat stands here with a source",
            "the fuel's heat itself (about 10 kWh a litre): --set \"now.fuel_heat=30 kW\"",
        ),
        None => (
            "a flow for an engine of which it is not said what it burns",
            "in the machine file under [choices]: fuel = \"petrol\"; or --set choices.fuel=petrol",
        ),
    };
    Err(Trouble::input(found, "an engine that burns petrol")
        .hint(hint)
        .at(flag))
}

/// A reading such as `98 C at 700 rpm, 30 C ambient`.
fn anchor(words: &str) -> Result<Anchor, Trouble> {
    let wrong = || {
        Trouble::input(
            format!("`{words}`"),
            "coolant, fan speed and outer air, such as \"98 C at 700 rpm, 30 C ambient\"",
        )
        .at("--anchor")
    };
    let (coolant, rest) = words.split_once(" at ").ok_or_else(wrong)?;
    let (fan, ambient) = rest.split_once(',').ok_or_else(wrong)?;
    let ambient = ambient.trim().trim_end_matches("ambient").trim();
    Ok(Anchor {
        coolant: parse(Kind::Temperature, coolant).map_err(|t| t.at("--anchor"))?,
        fan_speed: parse(Kind::Speed, fan).map_err(|t| t.at("--anchor"))?.value,
        ambient: parse(Kind::Temperature, ambient)
            .map_err(|t| t.at("--anchor"))?
            .value,
    })
}
