//! Reads a table of electric fans, either built-in or given by the user.

use super::{AuxiliaryFan, FanPoint, Mount};
use crate::model::cells::{Cell, Cells, Line};
use crate::model::read::Reader;
use crate::quantity::{Kind, Units, parse};
use crate::trouble::{Trouble, near};
use std::ops::Range;

/// The columns of the table: name, kind, range in SI, meaning.
const COLUMNS: [(&str, Option<Kind>, [f64; 2], &str); 8] = [
    ("fan", None, [0.0, 0.0], "the name of the fan, in every row"),
    ("flow", Some(Kind::AirFlow), [0.0, 20.0], "airflow"),
    (
        "pressure",
        Some(Kind::AirPressure),
        [0.0, 2000.0],
        "static pressure at that flow",
    ),
    (
        "current",
        Some(Kind::Current),
        [0.1, 300.0],
        "current at that flow",
    ),
    (
        "diameter",
        Some(Kind::Length),
        [0.05, 1.5],
        "diameter of the blades, in the first row of each fan",
    ),
    (
        "mass",
        Some(Kind::Mass),
        [0.05, 60.0],
        "mass of the fan, in the first row of each fan",
    ),
    (
        "mount",
        None,
        [0.0, 0.0],
        "how the curve was measured: puller or pusher",
    ),
    (
        "depth",
        Some(Kind::Length),
        [0.005, 0.5],
        "depth of the fan with its motor, in the first row of each fan; may be missing",
    ),
];

/// A column of the table being read: its index in [`COLUMNS`], and the unit in its heading.
struct Head {
    column: usize,
    unit: String,
}

/// The data of a fan while its rows are being collected.
struct Gathered {
    name: String,
    span: Range<usize>,
    points: Vec<FanPoint>,
    diameter: Option<f64>,
    mass: Option<f64>,
    depth: Option<f64>,
    mount: Option<Mount>,
    sound: bool,
}

pub(super) fn read(reader: &mut Reader<'_>, text: &str) -> Vec<AuxiliaryFan> {
    let Some(table) = Cells::read(text) else {
        return Vec::new();
    };
    let heads = read_heads(reader, &table.head);
    if !reader.troubles.is_empty() {
        return Vec::new();
    }
    let mut fans: Vec<Gathered> = Vec::new();
    for row in &table.rows {
        match row.fits(heads.len()) {
            Ok(()) => read_row(reader, &heads, row, &mut fans),
            Err(trouble) => reader.note(trouble, row.span.clone()),
        }
    }
    let mut found = Vec::new();
    for fan in fans {
        let (Some(diameter), Some(mass), true) = (fan.diameter, fan.mass, fan.sound) else {
            if fan.sound {
                let lacks = if fan.diameter.is_none() {
                    "diameter"
                } else {
                    "mass"
                };
                let trouble = Trouble::input(
                    format!("`{}` has no {lacks}", fan.name),
                    "a value in the fan's first row",
                );
                reader.note(trouble, fan.span);
            }
            continue;
        };
        match AuxiliaryFan::new(
            &fan.name,
            fan.points,
            diameter,
            mass,
            fan.mount.unwrap_or(Mount::Puller),
        ) {
            Ok(one) => found.push(AuxiliaryFan {
                depth: fan.depth,
                ..one
            }),
            Err(trouble) => reader.note(trouble, fan.span),
        }
    }
    found
}

fn read_heads(reader: &mut Reader<'_>, head: &Line<'_>) -> Vec<Head> {
    let names = COLUMNS.map(|c| c.0);
    let mut heads = Vec::new();
    for cell in &head.cells {
        let (name, unit) = match cell.words.split_once('(') {
            Some((name, unit)) => (name.trim(), unit.trim_end_matches(')').trim()),
            None => (&*cell.words, ""),
        };
        let column = names.iter().position(|n| *n == name);
        let Some(column) = column else {
            let hint = match near(name, names) {
                Some(k) => format!("did you mean `{k}`?"),
                None => format!("known columns: {}", names.join(", ")),
            };
            reader.note(
                Trouble::input(
                    format!("unknown column `{name}`"),
                    "a column of the fan table",
                )
                .hint(hint),
                cell.span.clone(),
            );
            continue;
        };
        if let (Some(kind), false) = (COLUMNS[column].1, unit.is_empty())
            && parse(kind, &format!("1 {unit}")).is_err()
        {
            let found = format!("`{unit}` is given as the unit of `{name}`");
            let expected = format!(
                "a unit of {}, such as {}",
                kind.name(),
                Units::Si.unit(kind)
            );
            reader.note(Trouble::input(found, expected), cell.span.clone());
        }
        heads.push(Head {
            column,
            unit: unit.into(),
        });
    }
    for (k, (name, .., about)) in COLUMNS.iter().enumerate().take(6) {
        if !heads.iter().any(|h| h.column == k) && reader.troubles.is_empty() {
            let found = format!("the fan table has no column `{name}`");
            reader.note(
                Trouble::input(found, format!("this column: {about}")),
                head.span.clone(),
            );
        }
    }
    heads
}

fn read_row(reader: &mut Reader<'_>, heads: &[Head], line: &Line<'_>, fans: &mut Vec<Gathered>) {
    let row = line.span.clone();
    let mut name = "";
    let mut mount = None;
    let mut numbers = [None; COLUMNS.len()];
    let before = reader.troubles.len();
    for (head, cell) in heads.iter().zip(&line.cells) {
        let (key, kind, ..) = COLUMNS[head.column];
        match (kind, &*cell.words) {
            (_, "") => {}
            (None, words) if key == "fan" => name = words,
            (None, "puller") => mount = Some(Mount::Puller),
            (None, "pusher") => mount = Some(Mount::Pusher),
            (None, words) => {
                reader.note(
                    Trouble::input(
                        format!("`{words}` is given as the mount"),
                        "puller or pusher",
                    ),
                    cell.span.clone(),
                );
            }
            (Some(kind), _) => numbers[head.column] = read_number(reader, head, kind, cell),
        }
    }
    if name.is_empty() {
        reader.note(
            Trouble::input("this row has no fan name", COLUMNS[0].3),
            row,
        );
        return;
    }
    let [_, flow, pressure, current, diameter, mass, _, depth] = numbers;
    if reader.troubles.len() == before {
        note_missing(reader, row.clone(), name, numbers);
    }
    let sound = reader.troubles.len() == before;
    let at = fans.iter().position(|f| f.name == name).unwrap_or_else(|| {
        fans.push(Gathered {
            name: name.into(),
            span: row.clone(),
            points: Vec::new(),
            diameter: None,
            mass: None,
            depth: None,
            mount: None,
            sound: true,
        });
        fans.len() - 1
    });
    let fan = &mut fans[at];
    fan.sound &= sound;
    fan.agree(reader, row, [diameter, mass, depth]);
    fan.mount = fan.mount.or(mount);
    if let (Some(flow), Some(pressure), Some(current)) = (flow, pressure, current) {
        fan.points.push(FanPoint {
            flow,
            pressure,
            current,
        });
    }
}

/// Parses the number in a cell, in the unit given in the column's heading.
fn read_number(reader: &mut Reader<'_>, head: &Head, kind: Kind, cell: &Cell<'_>) -> Option<f64> {
    let (key, _, [low, high], _) = COLUMNS[head.column];
    let trouble = match parse(kind, &format!("{} {}", cell.words, head.unit)) {
        Ok(m) if (low..=high).contains(&m.value) => return Some(m.value),
        Ok(m) => {
            let show = |v| Units::Si.show(kind, v);
            let found = format!("{key}: {} is out of range", show(m.value));
            let expected = format!("{} to {}", show(low), show(high));
            Trouble::input(found, expected).hint("is the unit in the heading right?")
        }
        Err(t) => Trouble {
            found: format!("{key}: {}", t.found),
            ..t
        },
    };
    reader.note(trouble, cell.span.clone());
    None
}

/// Records an error for each of flow, pressure and current that a row lacks.
fn note_missing(
    reader: &mut Reader<'_>,
    row: Range<usize>,
    name: &str,
    [_, flow, pressure, current, ..]: [Option<f64>; COLUMNS.len()],
) {
    let lacks: Vec<&str> = [("flow", flow), ("pressure", pressure), ("current", current)]
        .into_iter()
        .filter(|(_, v)| v.is_none())
        .map(|(key, _)| key)
        .collect();
    if !lacks.is_empty() {
        let found = format!("a row of `{name}` has no {}", lacks.join(" or "));
        let trouble = Trouble::input(found, "flow, pressure and current in every row");
        reader.note(
            trouble.hint("if only the maximum current is known, give it in every row"),
            row,
        );
    }
}

impl Gathered {
    /// Takes over the diameter, mass and depth of a row, which must agree with those of the fan's other rows.
    fn agree(
        &mut self,
        reader: &mut Reader<'_>,
        row: Range<usize>,
        [diameter, mass, depth]: [Option<f64>; 3],
    ) {
        for (slot, value, what) in [
            (&mut self.diameter, diameter, "diameters"),
            (&mut self.mass, mass, "masses"),
            (&mut self.depth, depth, "depths"),
        ] {
            match (*slot, value) {
                (Some(old), Some(new)) if (old - new).abs() > 1e-9 => {
                    let trouble = Trouble::input(
                        format!("`{}` has two different values of {what}", self.name),
                        "one value per fan",
                    );
                    reader.note(trouble, row.clone());
                }
                (None, Some(new)) => *slot = Some(new),
                _ => {}
            }
        }
    }
}
