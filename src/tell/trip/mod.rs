//! Presents the outcome of `trip` in words and pictures.
//!
//! | file | what it does |
//! |---|---|
//! | `mod.rs` | the answer in order, the names of this trip and the baseline |
//! | `lines.rs` | the sentences |
//! | `tables.rs`, `charts.rs` | tables and pictures |

mod charts;
mod lines;
mod tables;

use super::answer::{Block, Figure};
use super::{Presentation, caution, words};
use crate::fault;
use crate::model::Caution;
use crate::quantity::{Kind, Units};
use crate::question::Series;
use crate::question::trip::{Found, Look, Side, Trip};

/// A trip and the name that the comparison gives it; the name is empty if there is no comparison.
struct Named<'f> {
    name: String,
    look: &'f Look,
}

/// Presents the outcome of the question.
pub fn tell(request: &Trip, found: &Found) -> Presentation {
    let setup = &request.side.setup;
    let units = setup.units;
    let sides = named(request, found);
    let (here, there) = (&sides[0], sides.get(1));
    let mut told = Presentation::about(setup);
    told.assumptions = assumptions(request);
    told.figure = Some(Figure {
        figure: units.show(Kind::Temperature, found.here.peak_coolant_temp),
        label: "peak coolant temperature on this trip".into(),
        key: "coolant_temp",
    });
    told.headline(lines::headline(units, here.look));
    if let Some(Caution::ByCause { causes }) = &request.noted
        && let Some(cause) = causes.first()
    {
        told.say(format!(
            "This is computed with the most probable cause of your readings: {}.",
            fault::name(cause.fault)
        ));
    }
    if let Some(there) = there {
        told.say(lines::compared(units, found, there));
    }
    told.say(lines::spread(units, &found.here.spread));
    told.why(lines::oil_and_fan(units, here.look));
    told.say(lines::idling(units, here.look));
    told.say(format!(
        "Absolute temperatures are accurate to about {}; differences between two trips are more accurate. The rate of warming depends on heat capacities that are known to about ±30 %.",
        words::credible(units)
    ));
    told.show(Block::Table(tables::side_by_side(units, &sides)));
    if !found.variants.is_empty() {
        told.say(lines::variants(units, found));
        told.show(Block::Table(tables::variants(units, found)));
    }
    for chart in charts::all(units, here, there) {
        told.show(Block::Chart(chart));
    }
    told.show(Block::Table(tables::event_table(here.look)));
    told.show(Block::Safety(caution::safety()));
    told.cautions.clone_from(&found.cautions);
    told.series = Series::of(&found.series);
    told
}

/// This trip and, if there is one, the baseline, each with its name.
fn named<'f>(request: &Trip, found: &'f Found) -> Vec<Named<'f>> {
    let units = request.side.setup.units;
    let [own, other] = names(units, request);
    let (name, look) = (own, &found.here.0);
    let mut all = vec![Named { name, look }];
    if let Some(look) = &found.there {
        let name = other;
        all.push(Named { name, look });
    }
    all
}

/// The names that the comparison gives this machine and the baseline.
fn names(units: Units, request: &Trip) -> [String; 2] {
    let Some(against) = &request.against else {
        return [String::new(), String::new()];
    };
    let asked = || "as requested".to_string();
    let (own, other) = (faults(&request.side), faults(&against.side));
    match (against.oil || against.oil_temp, against.with) {
        (false, false) => [own, "healthy".into()],
        (false, true) if own.is_empty() => [asked(), other],
        (false, true) => [own, other],
        (true, with) => {
            let oil = &against.side.setup.oil;
            let oil = if oil.key.is_empty() {
                &oil.name
            } else {
                &oil.key
            };
            let temp = against.side.oil_temp.filter(|_| against.oil_temp);
            let differs = [
                against.oil.then(|| format!("on {oil}")),
                temp.map(|t| format!("oil initially at {}", units.show(Kind::Temperature, t))),
                with.then_some(other),
            ];
            let differs: Vec<String> = differs.into_iter().flatten().collect();
            [asked(), differs.join(", ")]
        }
    }
}

/// The faults of a machine as entered: `worn-pump=0.4`.
fn faults(side: &Side) -> String {
    let faults = side.setup.faults.iter();
    let faults: Vec<String> = faults.map(|(key, s)| format!("{key}={s}")).collect();
    faults.join(", ")
}

/// A duration in words: `12 min 30 s`.
fn clock(seconds: f64) -> String {
    let whole = seconds.max(0.0).round();
    let (minutes, rest) = ((whole / 60.0).floor(), whole % 60.0);
    match (minutes > 0.0, rest > 0.0) {
        (true, true) => format!("{minutes:.0} min {rest:.0} s"),
        (true, false) => format!("{minutes:.0} min"),
        _ => format!("{rest:.0} s"),
    }
}

/// A time in a table, in minutes and seconds: `12:30`.
fn short(seconds: f64) -> String {
    let whole = seconds.max(0.0).round();
    format!("{:.0}:{:02.0}", (whole / 60.0).floor(), whole % 60.0)
}

/// The assumptions, including those about the trip.
fn assumptions(request: &Trip) -> Vec<(String, String)> {
    let (setup, profile) = (&request.side.setup, &request.profile);
    let temp = |t: f64| setup.units.show(Kind::Temperature, t);
    let mut all = words::lasting(setup);
    let mut say = |label: &str, value: String| all.push((label.into(), value));
    say("trip", profile.key.clone());
    if let Some(about) = profile.about.first() {
        say("description", about.clone());
    }
    say("columns", profile.columns.join(", ").replace('_', " "));
    if let Some(ambient) = request.ambient {
        say("ambient air throughout", temp(ambient));
    }
    say(
        "begins",
        match (request.cold, profile.coolant) {
            (true, _) => "everything at ambient temperature".into(),
            (false, Some(t)) => format!("at {}", temp(t)),
            (false, None) => "in the steady state of the first row".into(),
        },
    );
    let oil = |side: &Side| {
        side.oil_temp
            .map(|t| ("initial oil temperature".to_string(), temp(t)))
    };
    all.extend(oil(&request.side));
    if let Some(command) = request.side.command {
        all.push(("command".into(), setup.units.show(Kind::Share, command)));
    }
    if let Some(against) = &request.against {
        let others = words::lasting(&against.side.setup);
        let others = others.into_iter().chain(oil(&against.side));
        let others: Vec<_> = others.filter(|entry| !all.contains(entry)).collect();
        let baseline = |(label, value)| (format!("baseline: {label}"), value);
        all.extend(others.into_iter().map(baseline));
    }
    all
}
