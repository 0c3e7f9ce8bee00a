//! The tables about a trip.

use super::{Named, clock, short};
use crate::balance::TripEvent;
use crate::quantity::{Kind, Units};
use crate::question::trip::{Figures, Found, HOT_OIL, IDLING, Look};
use crate::tell::answer::Table;

/// Maximum length of a name as a column heading.
const LONG: usize = 24;

/// Maximum number of events listed.
const TOLD: usize = 24;

/// A row of the table: its label, a function that reads the figure of a trip, and a function that formats it.
type Line<'l> = (&'l str, fn(&Figures) -> f64, &'l dyn Fn(f64) -> String);

/// A table of the figures of each trip, with the range that they have within the machine's ±.
pub(super) fn side_by_side(units: Units, sides: &[Named<'_>]) -> Table {
    let temp = |t: f64| units.show(Kind::Temperature, t);
    let speed = |n: f64| units.show(Kind::Speed, n);
    let hot_oil = format!("oil above {} for", temp(HOT_OIL));
    let or = |t: f64, other: String| if t.is_finite() { short(t) } else { other };
    let when = |t: f64| or(t, "never".into());
    let idle = |t: f64| or(t, format!("over {}", short(IDLING)));
    let power = |w: f64| units.show(Kind::Power, w);
    let energy = |j: f64| format!("{:.2} kWh", j / 3.6e6);
    let share = |s: f64| match s.is_finite() {
        true => units.show(Kind::Share, s),
        false => "-".into(),
    };
    let lines: [Line; 13] = [
        ("peak coolant temperature", |f| f.peak.1, &temp),
        ("peak reached after", |f| f.peak.0, &short),
        (
            "coolant at its limit after",
            |f| f.to_limit.unwrap_or(f64::INFINITY),
            &when,
        ),
        ("coolant above its limit for", |f| f.above_limit, &short),
        ("coolant may boil for", |f| f.above_boiling, &short),
        ("peak oil temperature", |f| f.peak_oil.1, &temp),
        (&hot_oil, |f| f.hot_oil, &short),
        ("average fan speed", |f| f.fan, &speed),
        ("average pump power", |f| f.pump.0, &power),
        ("maximum pump power", |f| f.pump.1, &power),
        ("pump energy", |f| f.pump_energy, &energy),
        (
            "fraction of the fuel for the pump",
            |f| f.pump_fuel / f.fuel,
            &share,
        ),
        ("time to the limit at idle", |f| f.idle.time(), &idle),
    ];
    let rows = lines.iter().map(|(what, of, show)| {
        let mut row = vec![(*what).to_string()];
        for side in sides {
            row.push(show(of(&side.look.figures)));
            row.push(range(side.look, *of, show));
        }
        row
    });
    let heads = heads(sides);
    Table {
        title: "The trip in numbers, times in minutes:seconds".into(),
        rows: rows.collect(),
        numeric: (1..heads.len()).collect(),
        heads,
    }
}

/// A table of the variants, one per row, below the machine as given.
pub(super) fn variants(units: Units, found: &Found) -> Table {
    let temp = |t: f64| units.show(Kind::Temperature, t);
    let energy = |j: f64| format!("{:.2} kWh", j / 3.6e6);
    let row = |name: &str, look: &Look| {
        let f = &look.figures;
        vec![
            name.to_string(),
            units.show(Kind::Power, f.pump.0),
            energy(f.pump_energy),
            energy(f.fuel),
            temp(f.peak.1),
            range(look, |f| f.peak.1, &temp),
            temp(f.peak_oil.1),
            match (f.boiled, f.to_limit) {
                (true, _) => format!("boils after {}", short(f.peak.0)),
                (_, Some(time)) => short(time),
                _ => "never".into(),
            },
            short(f.above_limit),
            short(f.hot_oil),
        ]
    };
    let hot = format!("oil above {} for", temp(HOT_OIL));
    let heads = [
        "variant",
        "average pump power",
        "pump energy",
        "fuel, as heat",
        "peak coolant",
        "within its ±",
        "peak oil",
        "coolant at limit after",
        "coolant above limit for",
        &hot,
    ];
    let others = found.variants.iter().map(|v| row(&v.name, &v.look.0));
    Table {
        title: "Variants on this trip, times in minutes:seconds".into(),
        heads: heads.map(String::from).to_vec(),
        rows: std::iter::once(row("as given", &found.here.0))
            .chain(others)
            .collect(),
        numeric: (1..10).collect(),
    }
}

fn heads(sides: &[Named<'_>]) -> Vec<String> {
    let mut heads = vec![String::new()];
    // A name that is too long for a column heading is replaced; the text above the table gives it.
    for (side, brief) in sides.iter().zip(["this one", "compared with it"]) {
        heads.push(match side.name.as_str() {
            "" => "this trip".to_string(),
            name if name.len() > LONG => brief.to_string(),
            name => name.replace('=', " "),
        });
        heads.push("within its ±".into());
    }
    heads
}

/// The range of a figure as text: `98 to 104 °C`, or one value if both limits read the same.
fn range(look: &Look, of: fn(&Figures) -> f64, show: &dyn Fn(f64) -> String) -> String {
    let range = look.spread.range(of).map(|(l, h)| (show(l), show(h)));
    let Some((low, high)) = range else {
        return String::new();
    };
    if low == high {
        return low;
    }
    // The unit is printed once.
    match (low.rsplit_once(' '), high.rsplit_once(' ')) {
        (Some((number, unit)), Some((_, other))) if unit == other => {
            format!("{number} to {high}")
        }
        _ => format!("{low} to {high}"),
    }
}

/// A table of the events with their times.
pub(super) fn event_table(here: &Look) -> Table {
    let all = &here.course.events;
    let turns = [TripEvent::CommandStands, TripEvent::CommandMoves];
    let crowded = all.len() > TOLD;
    let mut rows: Vec<Vec<String>> = all
        .iter()
        .filter(|(_, what)| !(crowded && turns.contains(what)))
        .map(|(time, what)| vec![clock(*time), what.words().to_string()])
        .collect();
    let more = rows.len().saturating_sub(TOLD);
    rows.truncate(TOLD);
    if more > 0 {
        rows.push(vec!["…".into(), format!("and {more} more")]);
    }
    if crowded {
        let count = all.iter().filter(|e| turns.contains(&e.1)).count();
        rows.push(vec![
            "…".into(),
            format!("the command was held or changed again {count} times"),
        ]);
    }
    Table {
        title: "Events".into(),
        heads: vec!["after".into(), "event".into()],
        rows,
        numeric: Vec::new(),
    }
}
