//! A trip: a table of road, engine and weather conditions versus time.

use super::case::{Case, Condition};
use super::cells::{Cells, Line};
use super::machine::Machine;
use super::read::{Reader, in_range};
use crate::part::{LUGGING, Vehicle};
use crate::quantity::{Kind, Units, parse};
use crate::trouble::{Trouble, Troubles, near};

/// A column of a trip: its name without the unit, the input of the operating condition that it sets (empty if none),
/// its kind of quantity, and the suffixes of the name that stand for its units.
struct Column {
    name: &'static str,
    field: &'static str,
    kind: Kind,
    units: &'static [(&'static str, &'static str)],
}

const TIMES: &[(&str, &str)] = &[("s", "s"), ("min", "min"), ("h", "h")];
const DEGREES: &[(&str, &str)] = &[("c", "°C"), ("f", "°F")];

/// The columns that a trip may have. The first is required.
const COLUMNS: [Column; 13] = [
    column("time", "", Kind::Time, TIMES),
    column(
        "road_speed",
        "road_speed",
        Kind::RoadSpeed,
        &[
            ("km_h", "km/h"),
            ("kmh", "km/h"),
            ("mph", "mph"),
            ("m_s", "m/s"),
        ],
    ),
    column(
        "engine_speed",
        "engine_speed",
        Kind::Speed,
        &[("rpm", "rpm")],
    ),
    column("gear", "", Kind::Number, &[("", "")]),
    column("grade", "grade", Kind::Share, &[("percent", "%")]),
    column("ambient", "ambient", Kind::Temperature, DEGREES),
    column(
        "air_conditioning",
        "air_conditioning",
        Kind::Share,
        &[("", "")],
    ),
    column(
        "trailer",
        "trailer",
        Kind::Mass,
        &[("kg", "kg"), ("lb", "lb")],
    ),
    column("command", "command", Kind::Share, &[("", "")]),
    column(
        "altitude",
        "altitude",
        Kind::Altitude,
        &[("m", "m"), ("ft", "ft")],
    ),
    column("work", "work", Kind::Power, &[("kw", "kW"), ("hp", "hp")]),
    column("coolant", "oil_temp", Kind::Temperature, DEGREES),
    column("oil", "oil_temp", Kind::Temperature, DEGREES),
];

const fn column(
    name: &'static str,
    field: &'static str,
    kind: Kind,
    units: &'static [(&'static str, &'static str)],
) -> Column {
    Column {
        name,
        field,
        kind,
        units,
    }
}

/// Indices of the columns that need special handling.
const TIME: usize = 0;
const ENGINE_SPEED: usize = 2;
const GEAR: usize = 3;
const AMBIENT: usize = 5;
const COMMAND: usize = 8;
const COOLANT: usize = 11;
const OIL: usize = 12;

/// The word in a cell of the command column if the fan control sets the command.
const AUTOMATIC: &str = "automatic";

/// Maximum number of rows.
const MOST: usize = 50_000;

/// Maximum number of errors reported.
const TOLD: usize = 20;

/// A trip as given by its table.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// Key by which the trip is selected.
    pub key: String,
    /// The comments at the top of the file, without their `#`.
    pub about: Vec<String>,
    /// The columns found, by name.
    pub columns: Vec<&'static str>,
    /// Initial coolant temperature, K, if given.
    pub coolant: Option<f64>,
    /// Initial oil temperature, K, if given.
    pub oil: Option<f64>,
    rows: Vec<Typed>,
}

/// One row of the table, SI.
#[derive(Clone, Debug, PartialEq)]
struct Typed {
    line: usize,
    cells: [Option<f64>; COLUMNS.len()],
}

/// The operating condition at one moment of a trip; `towards` gives the condition between this moment and the next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    /// Time, s.
    pub time: f64,
    /// The operating condition at this time. Its oil temperature, air temperature and command are not used.
    pub now: Condition,
    /// The fan command, if the trip gives one; `None` if the fan control sets it.
    pub command: Option<f64>,
}

/// The meaning of a heading: the index of its column in `COLUMNS`, and the unit in which its cells are given.
type Head = (usize, &'static str);

fn head(words: &str) -> Result<Head, Trouble> {
    let plain = words.to_lowercase().replace([' ', '-', '/'], "_");
    for (place, column) in COLUMNS.iter().enumerate() {
        for (ending, unit) in column.units {
            let whole = if ending.is_empty() {
                column.name.to_string()
            } else {
                format!("{}_{ending}", column.name)
            };
            if plain == whole {
                return Ok((place, unit));
            }
        }
    }
    let all: Vec<String> = COLUMNS
        .iter()
        .flat_map(|c| {
            c.units.iter().map(|(ending, _)| {
                format!("{}_{ending}", c.name)
                    .trim_end_matches('_')
                    .to_string()
            })
        })
        .collect();
    let hint = match near(&plain, all.iter().map(String::as_str)) {
        Some(known) => format!("did you mean `{known}`?"),
        None => format!("known here: {}", all.join(", ")),
    };
    Err(Trouble::input(
        format!("unknown column `{words}`"),
        "a column of a trip, with the unit at the end of its name",
    )
    .hint(hint))
}

/// Parses a cell as a number in SI, and checks that it is within the range of its column; `comma` allows decimal
/// commas.
fn number(column: &Column, words: &str, unit: &str, comma: bool) -> Result<f64, Trouble> {
    let plain = if comma {
        words.replace(',', ".")
    } else {
        words.to_string()
    };
    let wrong = || {
        Trouble::input(
            format!("`{words}` for {}", column.name.replace('_', " ")),
            if unit.is_empty() {
                "a number".to_string()
            } else {
                format!("a number in {unit}")
            },
        )
        .hint("the unit belongs in the heading, not in the cell")
    };
    let typed: f64 = plain.parse().map_err(|_| wrong())?;
    if !typed.is_finite() {
        return Err(wrong());
    }
    let measure = parse(column.kind, &format!("{typed} {unit}")).map_err(|_| wrong())?;
    let fields = Condition::<f64>::FIELDS;
    match fields.iter().find(|f| f.key == column.field) {
        Some(field) => Ok(in_range(field, measure, Units::Si)?.value),
        None => Ok(measure.value),
    }
}

/// Interprets the headings of a table and records errors; an unknown heading is `None`.
fn read_heads(reader: &mut Reader<'_>, line: &Line<'_>) -> Vec<Option<Head>> {
    let mut found: Vec<Option<Head>> = Vec::new();
    for cell in &line.cells {
        let known = head(&cell.words).and_then(|(place, unit)| {
            if found.iter().flatten().any(|(p, _)| *p == place) {
                let twice = format!("a second column for {}", COLUMNS[place].name);
                return Err(Trouble::input(twice, "each column once"));
            }
            Ok((place, unit))
        });
        found.push(known.map_err(|t| reader.note(t, cell.span.clone())).ok());
    }
    if !found.iter().flatten().any(|(place, _)| *place == TIME) {
        let trouble = Trouble::input(
            "the table has no column for time",
            "a heading time_s, time_min or time_h",
        );
        reader.note(trouble, line.span.clone());
    }
    found
}

/// Reads the rows below the headings, and records errors up to a maximum number.
fn read_rows(reader: &mut Reader<'_>, heads: &[Option<Head>], table: &Cells<'_>) -> Vec<Typed> {
    let mut rows: Vec<Typed> = Vec::new();
    for line in &table.rows {
        if reader.troubles.len() >= TOLD {
            break;
        }
        if rows.len() == MOST {
            let trouble = Trouble::input("too many rows", format!("at most {MOST} rows"));
            reader.note(trouble, line.span.clone());
            break;
        }
        if let Err(trouble) = line.fits(heads.len()) {
            reader.note(trouble, line.span.clone());
            continue;
        }
        let before = rows.last().and_then(|r| r.cells[TIME]);
        let row = read_row(reader, heads, line, table.separator != ',', before);
        rows.extend(row);
    }
    rows
}

/// Parses one row; `None` if it has no time.
fn read_row(
    reader: &mut Reader<'_>,
    heads: &[Option<Head>],
    line: &Line<'_>,
    comma: bool,
    before: Option<f64>,
) -> Option<Typed> {
    let mut cells = [None; COLUMNS.len()];
    let mut timed = false;
    for (cell, known) in line.cells.iter().zip(heads) {
        let Some((place, unit)) = *known else {
            continue;
        };
        let automatic = place == COMMAND && cell.words.eq_ignore_ascii_case(AUTOMATIC);
        if cell.words.is_empty() || automatic {
            continue;
        }
        timed |= place == TIME;
        match number(&COLUMNS[place], &cell.words, unit, comma) {
            Ok(value) => {
                if let Some(before) = before
                    && place == TIME
                    && value < before
                {
                    let found = format!("time jumps back, from {before} s to {value} s");
                    let trouble = Trouble::input(found, "times that never decrease")
                        .hint("sort the rows by time; after midnight continue with 25 h, not 1 h");
                    reader.note(trouble, cell.span.clone());
                }
                cells[place] = Some(value);
            }
            Err(trouble) => reader.note(trouble, cell.span.clone()),
        }
    }
    if !timed {
        let trouble = Trouble::input("this row has no time", "a time in every row");
        reader.note(trouble, line.span.clone());
    }
    cells[TIME]?;
    Some(Typed {
        line: line.number,
        cells,
    })
}

impl Profile {
    /// The same trip at one ambient temperature throughout, K.
    pub fn at_ambient(mut self, ambient: f64) -> Self {
        for row in &mut self.rows {
            row.cells[AMBIENT] = Some(ambient);
        }
        let name = COLUMNS[AMBIENT].name;
        if !self.columns.contains(&name) {
            self.columns.push(name);
        }
        self
    }

    /// Parses the text of a table; `source` is the table's name in messages.
    pub fn from_text(source: &str, text: &str) -> Result<Self, Troubles> {
        let mut reader = Reader::new(source, text);
        let table = Cells::read(text);
        let mut heads = Vec::new();
        let mut rows: Vec<Typed> = Vec::new();
        if let Some(table) = &table {
            heads = read_heads(&mut reader, &table.head);
            if heads.iter().flatten().any(|(place, _)| *place == TIME) {
                rows = read_rows(&mut reader, &heads, table);
            }
        }
        let mut troubles = reader.troubles;
        if troubles.is_empty() {
            let begins = rows.first().and_then(|r| r.cells[TIME]);
            let ends = rows.last().and_then(|r| r.cells[TIME]);
            let found = match rows.len() {
                _ if table.is_none() => "neither headings nor rows",
                0 => "no rows",
                1 => "only one row",
                _ if ends <= begins => "all rows have the same time",
                _ => "",
            };
            if !found.is_empty() {
                let expected =
                    "headings such as time_s,road_speed_km_h,ambient_c and at least two rows";
                troubles.push(Trouble::input(found, expected).at(source));
            }
        }
        if !troubles.is_empty() {
            troubles.truncate(TOLD);
            return Err(troubles);
        }
        let columns = heads.iter().flatten();
        let about = table.map(|t| t.about).unwrap_or_default();
        let first = |place: usize| rows.first().and_then(|r| r.cells[place]);
        Ok(Self {
            key: source.to_string(),
            about: about.into_iter().map(String::from).collect(),
            columns: columns.map(|(place, _)| COLUMNS[*place].name).collect(),
            coolant: first(COOLANT),
            oil: first(OIL),
            rows,
        })
    }

    /// Converts the rows of the table to the legs of a trip with a given machine. A missing value is taken from the
    /// previous row, or from the case. If no column gives the engine speed, it is computed from gear and road speed.
    pub fn legs(&self, machine: &Machine, case: &Case) -> Result<Vec<Leg>, Troubles> {
        let (idle, full) = (machine.usual.idle.value, machine.usual.full.value);
        let mut troubles = Vec::new();
        let mut before = [None; COLUMNS.len()];
        let mut legs: Vec<Leg> = Vec::with_capacity(self.rows.len());
        for row in &self.rows {
            for (place, held) in before.iter_mut().enumerate() {
                // An empty command cell means that the fan control sets the command.
                if place == COMMAND || row.cells[place].is_some() {
                    *held = row.cells[place];
                }
            }
            let mut now = case.now;
            // The last two columns give only the initial temperatures.
            for (value, column) in before.iter().zip(&COLUMNS).take(COOLANT) {
                if let Some(value) = value
                    && let Some(at) = Condition::<f64>::FIELDS
                        .iter()
                        .position(|f| f.key == column.field)
                    && let Some(slot) = now.slot(at)
                {
                    *slot = *value;
                }
            }
            if before[ENGINE_SPEED].is_none() {
                now.engine_speed = match &case.vehicle {
                    Some(vehicle) if now.road_speed > 0.0 => {
                        let turns = geared(vehicle, before[GEAR], now.road_speed, (idle, full));
                        turns.unwrap_or_else(|(turns, mut trouble)| {
                            if troubles.len() < TOLD {
                                trouble = trouble.at(self.key.clone());
                                trouble.spot.line = Some(row.line);
                                trouble.spot.column = Some(1);
                                troubles.push(trouble);
                            }
                            turns
                        })
                    }
                    _ => idle,
                };
            }
            legs.push(Leg {
                time: row.cells[TIME].unwrap_or(0.0),
                now,
                command: before[COMMAND],
            });
        }
        let begins = legs.first().map_or(0.0, |l| l.time);
        for leg in &mut legs {
            leg.time -= begins;
        }
        if troubles.is_empty() {
            Ok(legs)
        } else {
            Err(troubles)
        }
    }
}

/// The engine speed, rad/s, at a road speed in a given gear; without a gear, in the highest one that does not make the
/// engine lug. An error comes with a speed with which the computation can continue.
fn geared(
    vehicle: &Vehicle,
    gear: Option<f64>,
    road_speed: f64,
    (idle, full): (f64, f64),
) -> Result<f64, (f64, Trouble)> {
    let gear = gear.map_or_else(|| vehicle.gear(road_speed, [LUGGING, full]), |g| g as usize);
    let show = |n| Units::Si.show(Kind::Speed, n);
    match vehicle.engine_speed(gear, road_speed, idle) {
        None => {
            let found = format!("the machine file has no ratio for gear {gear}");
            let expected = "a gear whose ratio is given in [vehicle]";
            Err((idle, Trouble::input(found, expected)))
        }
        Some(n) if n > full => {
            let found = format!("in gear {gear} the engine would turn at {}", show(n));
            let expected = format!("no more than its full speed, {}", show(full));
            Err((n, Trouble::input(found, expected)))
        }
        Some(n) => Ok(n),
    }
}

impl Leg {
    /// The operating condition at a time between this leg and the next: values that change continuously are
    /// interpolated, all others keep their value of this leg.
    pub fn towards(&self, next: &Leg, time: f64) -> Condition {
        let span = next.time - self.time;
        let part = if span > 0.0 {
            ((time - self.time) / span).clamp(0.0, 1.0)
        } else {
            0.0
        };
        let (a, b) = (&self.now, &next.now);
        let mix = |a: f64, b: f64| a + (b - a) * part;
        Condition {
            engine_speed: mix(a.engine_speed, b.engine_speed),
            road_speed: mix(a.road_speed, b.road_speed),
            grade: mix(a.grade, b.grade),
            ambient: mix(a.ambient, b.ambient),
            altitude: mix(a.altitude, b.altitude),
            work: mix(a.work, b.work),
            ..*a
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn says(text: &str) -> Vec<String> {
        let found = Profile::from_text("mine.csv", text).unwrap_err();
        found.iter().map(ToString::to_string).collect()
    }

    #[test]
    fn a_cell_is_found_where_it_stands() {
        let said = says("# mine\ntime_s,road_speed_km_h\n0,50\n10, fast\n");
        assert_eq!(said.len(), 1);
        assert!(
            said[0].starts_with("mine.csv:4:5: `fast` for road speed; expected a number in km/h"),
            "{said:?}"
        );
    }

    #[test]
    fn semicolons_commas_and_other_units_are_read() {
        let read = Profile::from_text(
            "x",
            "\u{feff}time_min;ambient_f;road_speed_mph\r\n0;86,5;0\r\n1,5;86,5;30\r\n",
        )
        .unwrap();
        assert_eq!(read.columns, ["time", "ambient", "road_speed"]);
        let last = read.rows[1].cells;
        assert!((last[TIME].unwrap() - 90.0).abs() < 1e-12);
        // Calculated by hand: (86.5 − 32) · 5/9 = 30.28 °C; 30 mph = 13.41 m/s.
        assert!((last[5].unwrap() - 303.428).abs() < 1e-3);
        assert!((last[1].unwrap() - 13.4112).abs() < 1e-9);
    }
}
