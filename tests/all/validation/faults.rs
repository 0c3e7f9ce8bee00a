//! The direction of every symptom of every fault, by the trade's table.

use super::{Line, Row, table};
use crate::faults::{CONDITIONS, Reading, machines, reading};
use oilwheel::fault;

const NAME: &str = "fault_directions";
/// A change of less than this is none, per cent: a fan's speed does not repeat better.
/// Whether it was set before or after the first run is not recorded.
const NONE: f64 = 3.0;
/// From this on a change is marked, per cent.
/// Whether it was set before or after the first run is not recorded.
const MARKED: f64 = 8.0;

const COLUMNS: [&str; 6] = [
    CONDITIONS[0],
    CONDITIONS[1],
    CONDITIONS[2],
    "supply_pressure",
    "motor_pressure",
    "strongest",
];

/// Whether a change in per cent is what an arrow says, or one of several.
fn says(arrows: &str, change: f64) -> bool {
    arrows.split('/').any(|arrow| match arrow {
        "ok" => change.abs() < NONE,
        "↑" => change >= NONE,
        "↓" => change <= -NONE,
        "↓↓" => change <= -MARKED,
        _ => panic!("no arrow: {arrow:?}"),
    })
}

/// Whether one of some conditions is where most speed is lost, give or take what is no change.
fn strongest(reading: &Reading, is_one: impl Fn(&str) -> bool) -> bool {
    let least = reading.speeds.into_iter().fold(0.0, f64::min);
    let of_these = CONDITIONS.into_iter().zip(reading.speeds);
    of_these
        .filter(|(c, _)| is_one(c))
        .any(|(_, s)| s <= least + NONE)
}

/// Whether a reading is as an entry of the table has it; nothing where the table says nothing.
fn as_table(line: &Line, column: &str, reading: &Reading) -> Option<bool> {
    if column == "strongest" {
        let marked = |c: &str| line.text(c) == "↓↓";
        return CONDITIONS
            .into_iter()
            .any(marked)
            .then(|| strongest(reading, marked));
    }
    let arrows = line.text(column);
    (!arrows.is_empty()).then(|| says(arrows, reading.get(column)))
}

/// One entry of the table on one machine.
struct Entry {
    name: String,
    column: &'static str,
    /// As the table has it.
    table: bool,
    /// Where they differ: as `differs.csv` has it.
    ours: Option<bool>,
    /// Where they differ: as the table has it once the cause is taken away.
    without: Option<bool>,
    reading: Reading,
}

/// Every entry of the table on every machine that has the part.
fn entries() -> Vec<Entry> {
    let mut differs = table(NAME, "differs");
    let mut entries = Vec::new();
    for (machine, asked) in machines() {
        for line in table(NAME, "data") {
            let fault = fault::find(line.text("fault")).unwrap();
            let (command, largest) = (line.number("command"), line.number("largest_percent"));
            let Some(here) = reading(&asked, fault, command, largest) else {
                continue;
            };
            // The table is of a severity that matters, 5 % of speed. Thin oil ends where oils end: on a machine that leaks little it never
            // does, and the program leaves it out there.
            let matters = here.speeds.iter().any(|s| s.abs() >= 5.0);
            if fault.key == "oil-too-thin" && !matters {
                continue;
            }
            for column in COLUMNS {
                let Some(table) = as_table(&line, column, &here) else {
                    continue;
                };
                let same = |e: &Line| {
                    e.text("machine") == machine
                        && e.text("fault") == fault.key
                        && e.text("column") == column
                };
                let differ = differs.iter().position(same).map(|at| differs.remove(at));
                let ours = differ.as_ref().map(|e| match column {
                    "strongest" => strongest(&here, |c| c == e.text("ours")),
                    _ => says(e.text("ours"), here.get(column)),
                });
                let without = differ.as_ref().map(|e| {
                    let mut asked = asked.clone();
                    for one in e.text("without").split(';') {
                        let key = |set: &str| set.split('=').next().map(|k| k.trim().to_string());
                        asked.set.retain(|set| key(set) != key(one));
                        asked.set.push(one.into());
                    }
                    let there = reading(&asked, fault, command, largest).unwrap();
                    as_table(&line, column, &there) == Some(true)
                });
                entries.push(Entry {
                    name: format!("{machine} {}={:.3}", fault.key, here.severity),
                    column,
                    table,
                    ours,
                    without,
                    reading: here,
                });
            }
        }
    }
    assert!(differs.is_empty(), "differences that belong to no entry");
    entries
}

pub fn rows() -> Vec<Row> {
    let row = |what| Row::absolute(NAME, what, "wrong", 0.0);
    let mut arrows = row("arrows on which table and model agree, five machines");
    let mut most = row("a double arrow stands where most is lost, where they agree");
    let mut differ = row("entries in which they differ, each with its reason").misfit();
    let mut cause = row("the same with that reason taken away: as the table has it");
    for entry in entries() {
        match (entry.ours, entry.column) {
            (Some(ours), _) => {
                differ.must(ours && !entry.table);
                cause.must(entry.without == Some(true));
            }
            (None, "strongest") => most.must(entry.table),
            (None, _) => arrows.must(entry.table),
        }
    }
    vec![arrows, most, differ, cause]
}

#[test]
fn every_symptom_points_as_the_table_or_the_reason_has_it() {
    let wrong: String = entries()
        .iter()
        .filter(|e| {
            e.table != e.ours.is_none() || e.ours == Some(false) || e.without == Some(false)
        })
        .map(|e| format!("{} {}: {:.1?}\n", e.name, e.column, e.reading))
        .collect();
    assert!(wrong.is_empty(), "\n{wrong}");
}

#[test]
fn every_fault_is_in_the_table() {
    let lines = table(NAME, "data");
    let keys: Vec<&str> = lines.iter().map(|l| l.text("fault")).collect();
    let faults: Vec<&str> = fault::ALL.iter().map(|f| f.key).collect();
    assert_eq!(keys, faults);
}
