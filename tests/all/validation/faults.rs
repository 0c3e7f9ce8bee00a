//! The direction of every symptom of every fault, by the trade's table.

use super::{Line, Row, table};
use crate::faults::{CONDITIONS, Reading, machines, reading};
use oilwheel::fault;

const NAME: &str = "fault_directions";
/// A change of less than this is none, per cent: a fan's speed does not repeat better.
const NONE: f64 = 3.0;
/// From this on a change is marked, per cent.
const MARKED: f64 = 8.0;

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

/// What the model makes of one entry of the table: holds, and holds as `differs.csv` has it.
struct Entry {
    machine: String,
    fault: &'static str,
    column: &'static str,
    table: bool,
    ours: Option<bool>,
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
            let Some(reading) = reading(&asked, fault, command, largest) else {
                continue;
            };
            let mut add = |column: &'static str, table: bool, as_ours: &dyn Fn(&str) -> bool| {
                let same = |e: &Line| {
                    e.text("machine") == machine
                        && e.text("fault") == fault.key
                        && e.text("column") == column
                };
                let ours = differs.iter().position(same).map(|at| differs.remove(at));
                entries.push(Entry {
                    machine: machine.clone(),
                    fault: fault.key,
                    column,
                    table,
                    ours: ours.map(|e| as_ours(e.text("ours")) && !e.text("why").is_empty()),
                    reading,
                });
            };
            let [idle, raised, cold] = reading.speeds;
            for (column, change) in [
                ("idle_hot", idle),
                ("raised_hot", raised),
                ("raised_cold", cold),
                ("supply_pressure", reading.supply),
                ("motor_pressure", reading.motor),
            ] {
                let arrows = line.text(column);
                if !arrows.is_empty() {
                    add(column, says(arrows, change), &|ours| says(ours, change));
                }
            }
            if CONDITIONS.iter().any(|c| line.text(c) == "↓↓") {
                let marked = strongest(&reading, |c| line.text(c) == "↓↓");
                add("strongest", marked, &|ours| {
                    strongest(&reading, |c| c == ours)
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
    for entry in entries() {
        match (entry.ours, entry.column) {
            (Some(ours), _) => differ.must(ours && !entry.table),
            (None, "strongest") => most.must(entry.table),
            (None, _) => arrows.must(entry.table),
        }
    }
    vec![arrows, most, differ]
}

#[test]
fn every_symptom_points_as_the_table_or_the_reason_has_it() {
    let wrong: String = entries()
        .iter()
        .filter(|e| e.ours.map_or(!e.table, |ours| e.table || !ours))
        .map(|e| {
            let severity = e.reading.severity;
            format!(
                "{} {}={severity:.3} {}: {:.1?}\n",
                e.machine, e.fault, e.column, e.reading
            )
        })
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
