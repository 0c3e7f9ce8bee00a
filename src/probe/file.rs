//! A readings file: TOML with `[[reading]]`, or CSV with the same names as column headings.
//!
//! In either format each reading becomes a row of typed cells with their positions, and one pass over the rows finds
//! all errors.

use super::notebook::HEADS;
use super::{Book, Day, Engine, Probe, Reading, Setting, find, instrument};
use crate::input::Input;
use crate::input::unit::celsius;
use crate::model::{Caution, Cells, INPUTS, Machine, Reader, Section, head_of, in_range};
use crate::quantity::{Kind, Measure, Units, parse};
use crate::trouble::{Trouble, Troubles};
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// The fields of a reading: the keys under `[[reading]]` or the column headings of a CSV, with their meaning.
pub const COLUMNS: [(&str, &str); 18] = [
    ("test", "key of the test, as on the sheet"),
    ("value", "the value read, with its unit: 640 rpm"),
    ("error", "its uncertainty: 10 rpm, or 2 %"),
    (
        "instrument",
        "instead of the uncertainty: photo-tachometer, gauge-class-1.6 …",
    ),
    ("full_scale", "full scale of a gauge or flow meter: 250 bar"),
    (
        "blades",
        "if each blade was counted: the number of blades, by which the value is divided",
    ),
    ("engine_speed", "if other than the test's: 2100 rpm"),
    ("oil_temp", "if other than the test's: 76 °C"),
    ("thermometer", "the thermometer: infrared, thermocouple …"),
    (
        "air_temp",
        "ambient air, if known: 24 °C; not for coolant tests",
    ),
    (
        "command",
        "if other than the test's: 0 to 1, or full, half, least",
    ),
    ("ambient", "for coolant tests, ambient air: 31 °C"),
    (
        "road_speed",
        "for coolant tests, if other than the test's: 90 km/h",
    ),
    ("grade", "for coolant tests, if other than the test's: 6 %"),
    ("trailer", "for coolant tests, if there was one: 1500 kg"),
    (
        "air_conditioning",
        "for coolant tests, if other than the test's: 0 or 1",
    ),
    ("date", "date of the reading: 2026-05-02"),
    ("when", "healthy, or in question"),
];

/// The columns that only a coolant test has.
const OF_COOLANT: [&str; 5] = [
    "ambient",
    "road_speed",
    "grade",
    "trailer",
    "air_conditioning",
];

/// Maximum number of readings.
const MOST: usize = 200;

/// Uncertainty of an engine speed given without ±, as a fraction: an engineering assumption.
const ENGINE_SPEED_FRACTION: f64 = 0.01;
/// Uncertainty of a test's own engine speed, as a fraction, if the machine file gives none: an engineering assumption.
const TEST_ENGINE_SPEED_FRACTION: f64 = 0.02;
/// Uncertainty of an oil temperature given without ± or thermometer, K: an engineering assumption.
const TYPED_KELVIN: f64 = 3.0;
/// Uncertainty of an ambient temperature given without ±, K: an engineering assumption.
const AMBIENT_KELVIN: f64 = 2.0;
/// Uncertainty of a test's own ambient temperature, K, if not given: an engineering assumption.
const TEST_AMBIENT_KELVIN: f64 = 5.0;
/// Ambient temperature that corresponds to a machine's usual air temperature at the fan, K: an engineering assumption.
const USUAL_AMBIENT: f64 = celsius(25.0);
/// Oil temperature, K, up to which the radiator rejects no heat yet, so that the air at the fan has ambient
/// temperature.
const COLD_OIL: f64 = celsius(45.0);
/// Uncertainty of the air temperature at the fan in a cold test, K, if not stated; the air is taken to have the
/// temperature of the cold oil: an engineering assumption.
const COLD_AIR_KELVIN: f64 = 10.0;
/// Uncertainty of a test's own oil temperature, K, if the machine file gives none: an engineering assumption.
const TEST_KELVIN: f64 = 5.0;

/// The readings of one machine.
#[derive(Clone, Debug, Default)]
pub struct Readings {
    /// Description; may be empty.
    pub name: String,
    /// Source of the readings; may be empty.
    pub status: String,
    /// The machine named in the file.
    pub machine: Option<String>,
    /// The oil named in the file: a name, a path or data sheet values on one line.
    pub oil: Option<String>,
    /// The readings.
    pub all: Vec<Reading>,
    /// The other contents of a notebook.
    pub book: Book,
    /// Cautions about accepted but unusual readings.
    pub notes: Vec<Caution>,
}

/// One typed cell.
struct Cell {
    key: String,
    words: String,
    span: Range<usize>,
}

/// One reading as typed.
struct Row {
    cells: Vec<Cell>,
    span: Range<usize>,
}

impl Row {
    /// The text under a key; `None` for an empty cell.
    fn get(&self, key: &str) -> Option<(&str, Range<usize>)> {
        let cell = self.cells.iter().find(|c| c.key == key)?;
        let words = cell.words.trim();
        (!words.is_empty()).then(|| (words, cell.span.clone()))
    }
}

impl Readings {
    /// The oil named in a readings file; errors in the file are ignored.
    pub fn oil_of(source: &str, text: &str) -> Option<String> {
        if is_csv(source, text) {
            return None;
        }
        let (document, _) = DeTable::parse_recoverable(text);
        match document.get_ref().get("oil")?.get_ref() {
            DeValue::String(words) => Some(words.to_string()),
            _ => None,
        }
    }

    /// Parses the text of a readings file, taken on a machine; `source` is the file's name in messages.
    pub fn from_text(source: &str, text: &str, machine: &Machine) -> Result<Self, Troubles> {
        Self::read(source, text, machine, false)
    }

    /// Parses the text of a notebook, which may have no reading yet.
    pub fn from_notebook(source: &str, text: &str, machine: &Machine) -> Result<Self, Troubles> {
        Self::read(source, text, machine, true)
    }

    fn read(
        source: &str,
        text: &str,
        machine: &Machine,
        allow_none: bool,
    ) -> Result<Self, Troubles> {
        let mut reader = Reader::new(source, text);
        let mut found = Self::default();
        let rows = if is_csv(source, text) {
            csv_rows(&mut reader, text)
        } else {
            toml_rows(&mut reader, &mut found)
        };
        let book = &found.book;
        let says_more = !book.known.is_empty() || !book.works.is_empty() || !book.logs.is_empty();
        if rows.is_empty() && reader.troubles.is_empty() && !says_more && !allow_none {
            let trouble = Trouble::input("no readings", "at least one [[reading]]")
                .hint("`oilwheel sheet MACHINE` prints what can be read");
            reader.note(trouble, 0..0);
        }
        if rows.len() > MOST {
            let trouble = Trouble::input(
                format!("{} readings", rows.len()),
                format!("at most {MOST}"),
            );
            reader.note(trouble, 0..0);
            return Err(reader.troubles);
        }
        for row in &rows {
            let Some(reading) = reading(&mut reader, row, machine) else {
                continue;
            };
            if let Some((date, since)) = reading.date.zip(found.book.since)
                && date < since
            {
                let trouble = Trouble::input(
                    format!("a reading of {date}, before the machine had its present form"),
                    format!("a date from {since} on, as given by `since`"),
                );
                reader.note(trouble, row.span.clone());
            }
            found.all.push(reading);
        }
        if !reader.troubles.is_empty() {
            return Err(reader.troubles);
        }
        let works: Vec<Day> = found.book.works.iter().map(|w| w.date).collect();
        found.notes.extend(repeats(&found.all, &works));
        Ok(found)
    }
}

/// Whether a text is a table rather than TOML.
fn is_csv(source: &str, text: &str) -> bool {
    let head = head_of(text);
    let by_head = head.trim_start_matches('"').starts_with("test") && !head.contains('=');
    source.to_lowercase().ends_with(".csv") || by_head
}

/// The rows of a TOML text, and the data at its top.
fn toml_rows(reader: &mut Reader<'_>, found: &mut Readings) -> Vec<Row> {
    let document = reader.document();
    let all = Section::whole(&document);
    let expected = "[[reading]], [known], [[work]], [[log]], or a key at the head of a notebook";
    reader.refuse_unknown(&all, &HEADS, expected);
    found.book = Book::read(reader, &all);
    let mut word = |key: &str| reader.words(&all, key).map(|(w, _)| w.to_string());
    found.name = word("name").unwrap_or_default();
    found.status = word("status").unwrap_or_default();
    found.machine = word("machine");
    found.oil = word("oil");
    let Some((name, value)) = all.table.get_key_value("reading") else {
        return Vec::new();
    };
    let DeValue::Array(items) = value.get_ref() else {
        let trouble = Trouble::input("`reading` is not a list", "[[reading]], in two brackets");
        reader.note(trouble, name.span());
        return Vec::new();
    };
    let mut rows = Vec::new();
    for item in items.iter() {
        let DeValue::Table(table) = item.get_ref() else {
            reader.note(
                Trouble::input(
                    "a reading is not a table",
                    "[[reading]] with test and value",
                ),
                item.span(),
            );
            continue;
        };
        let section = Section {
            table,
            span: item.span(),
        };
        reader.refuse_unknown(&section, &COLUMNS.map(|c| c.0), "a key of a reading");
        let cells = table
            .iter()
            .filter_map(|(key, value)| {
                let words = match value.get_ref() {
                    DeValue::String(words) => words.to_string(),
                    DeValue::Integer(number) => number.to_string(),
                    DeValue::Float(number) => number.to_string(),
                    DeValue::Datetime(day) if key.get_ref() == "date" => day.to_string(),
                    _ => {
                        let found = format!("`{}` is neither text nor a number", key.get_ref());
                        reader.note(Trouble::input(found, "a text in quotes"), value.span());
                        return None;
                    }
                };
                Some(Cell {
                    key: key.get_ref().to_string(),
                    words,
                    span: value.span(),
                })
            })
            .collect();
        rows.push(Row {
            cells,
            span: item.span(),
        });
    }
    rows
}

/// The rows of a table.
fn csv_rows(reader: &mut Reader<'_>, text: &str) -> Vec<Row> {
    let Some(table) = Cells::read(text) else {
        return Vec::new();
    };
    let known = COLUMNS.map(|c| c.0);
    for head in &table.head.cells {
        if !known.contains(&&*head.words) {
            let hint = match crate::trouble::near(&head.words, known) {
                Some(k) => format!("did you mean `{k}`?"),
                None => format!("known keys: {}", known.join(", ")),
            };
            let found = format!("a column `{}`", head.words);
            let trouble = Trouble::input(found, "a key of a reading").hint(hint);
            reader.note(trouble, head.span.clone());
        }
    }
    let mut rows = Vec::new();
    for line in &table.rows {
        if let Err(trouble) = line.fits(table.head.cells.len()) {
            reader.note(trouble, line.span.clone());
            continue;
        }
        let cells = table.head.cells.iter().zip(&line.cells);
        let cells = cells.map(|(head, cell)| Cell {
            key: head.words.to_string(),
            words: cell.words.to_string(),
            span: cell.span.clone(),
        });
        rows.push(Row {
            cells: cells.collect(),
            span: line.span.clone(),
        });
    }
    rows
}

/// Parses one row; records its errors.
fn reading(reader: &mut Reader<'_>, row: &Row, machine: &Machine) -> Option<Reading> {
    let before = reader.troubles.len();
    let probe = match row.get("test") {
        Some((key, span)) => note(reader, span, find(key)),
        None => note(
            reader,
            row.span.clone(),
            Err(Trouble::input("a reading without `test`", COLUMNS[0].1)),
        ),
    };
    let probe = probe?;
    let measured = measured(reader, row, probe);
    let setting = setting(reader, row, probe, machine);
    let error = measured?;
    let (mut setting, engine_half, oil_temp_half) = setting?;
    let air_half = air(reader, row, machine, &mut setting)?;
    let (date, healthy) = (day(reader, row)?, when(reader, row)?);
    (reader.troubles.len() == before).then_some(Reading {
        probe,
        value: error.value,
        half: error.half,
        uniform: error.uniform,
        at_least: error.at_least,
        by: error.by,
        setting,
        engine_half,
        oil_temp_half,
        air_half,
        date,
        healthy,
    })
}

/// Sets the air temperature at the fan for a test of the oil side, and returns its uncertainty.
fn air(
    reader: &mut Reader<'_>,
    row: &Row,
    machine: &Machine,
    setting: &mut Setting,
) -> Option<f64> {
    let given = match row.get("air_temp") {
        Some((words, span)) => {
            let field = Input::AIR_TEMP.field();
            let read = parse(field.kind, words).and_then(|m| in_range(field, m, Units::Si));
            Some(note(reader, span, read)?)
        }
        None => None,
    };
    if setting.settled.is_some() {
        return match row.get("air_temp") {
            Some((_, span)) => {
                let trouble = Trouble::input("`air_temp` for a coolant test", "`ambient`");
                reader.note(trouble, span);
                None
            }
            None => Some(0.0),
        };
    }
    let usual = machine.usual.air_temp;
    let oil = setting.oil_temp(machine);
    let half = |m: Measure| {
        if m.spread > 0.0 {
            m.spread
        } else {
            AMBIENT_KELVIN
        }
    };
    let (air, half) = match given {
        Some(air) if oil <= COLD_OIL => (Some(air.value), half(air)),
        Some(air) => (
            Some(usual.value + air.value - USUAL_AMBIENT),
            usual.spread.hypot(half(air)),
        ),
        None if oil <= COLD_OIL => (Some(oil.min(USUAL_AMBIENT)), COLD_AIR_KELVIN),
        None => (None, 0.0),
    };
    setting.air = air;
    Some(half)
}

/// The date of a reading, if given.
fn day(reader: &mut Reader<'_>, row: &Row) -> Option<Option<Day>> {
    match row.get("date") {
        Some((words, span)) => note(reader, span, Day::read(words)).map(Some),
        None => Some(None),
    }
}

/// Whether the machine was healthy at the time of the reading.
fn when(reader: &mut Reader<'_>, row: &Row) -> Option<bool> {
    let (words, span) = match row.get("when") {
        Some(given) => given,
        None => return Some(false),
    };
    let read = match words {
        "healthy" => Ok(true),
        "in question" => Ok(false),
        _ => Err(Trouble::input(
            format!("`{words}`"),
            "healthy, or in question",
        )),
    };
    note(reader, span, read)
}

/// The value of a result; an error is recorded.
fn note<T>(reader: &mut Reader<'_>, span: Range<usize>, result: Result<T, Trouble>) -> Option<T> {
    result.map_err(|t| reader.note(t, span)).ok()
}

/// A measured value and its uncertainty.
struct Measured {
    value: f64,
    half: f64,
    uniform: bool,
    at_least: bool,
    by: Option<(&'static str, f64)>,
}

/// Texts that mark a reading as a lower bound.
const AT_LEAST: [&str; 4] = ["at least", ">=", "≥", ">"];

fn measured(reader: &mut Reader<'_>, row: &Row, probe: &Probe) -> Option<Measured> {
    let kind = probe.what.kind();
    let mut at_least = false;
    let Some((words, value_span)) = row.get("value") else {
        let trouble = Trouble::input(format!("`{}` without a value", probe.key), COLUMNS[1].1);
        reader.note(trouble, row.span.clone());
        return None;
    };
    let bare = AT_LEAST.iter().find_map(|mark| words.strip_prefix(mark));
    at_least |= bare.is_some();
    let words = bare.unwrap_or(words).trim();
    let named = |t: Trouble| Trouble {
        found: format!("{}: {}", probe.key, t.found),
        ..t
    };
    let spelled = match kind {
        Kind::Speed => super::spelled::speed(words),
        _ => None,
    };
    let read = spelled.unwrap_or_else(|| parse(kind, words));
    let read = read.and_then(|m| sensible(kind, m));
    let read = note(reader, value_span.clone(), read.map_err(named));
    let device = row.get("instrument").and_then(|(key, span)| {
        let fits = instrument(key).and_then(|i| {
            if i.kind == kind {
                return Ok(i);
            }
            let found = format!("`{key}` for {}", probe.name);
            let expected = format!("an instrument for {}", kind.name());
            Err(Trouble::input(found, expected).hint(format!("such as {}", probe.instrument)))
        });
        note(reader, span, fits)
    });
    let read = read?;

    let mut scale = 0.0;
    let half = if let Some((error, span)) = row.get("error") {
        if read.spread > 0.0 {
            let trouble = Trouble::input(
                "an uncertainty twice: after the value and as `error`",
                "one",
            );
            reader.note(trouble, span);
            return None;
        }
        let whole = parse(kind, &format!("{words} ± {error}")).map_err(named);
        let spread = whole.and_then(|m| {
            if m.spread > 0.0 {
                return Ok(m.spread);
            }
            let found = format!("{}: an uncertainty of zero", probe.key);
            Err(Trouble::input(
                found,
                "the uncertainty of the reading, above zero",
            ))
        });
        note(reader, span, spread)?
    } else if read.spread > 0.0 {
        read.spread
    } else if let Some(device) = device {
        scale = if device.of_full_scale > 0.0 {
            let Some((words, span)) = row.get("full_scale") else {
                let found = format!("{} without its `full_scale`", device.name);
                let trouble = Trouble::input(found, "its full scale, such as 250 bar");
                reader.note(trouble, row.span.clone());
                return None;
            };
            let scale = parse(kind, words).map_err(named).and_then(|m| {
                if m.value >= read.value && m.value > 0.0 {
                    return Ok(m.value);
                }
                let show = |v| Units::Si.show(kind, v);
                let found = format!(
                    "{} read on an instrument with full scale {}",
                    show(read.value),
                    show(m.value)
                );
                Err(Trouble::input(found, "a reading within full scale"))
            });
            note(reader, span, scale)?
        } else {
            0.0
        };
        // A needle at full scale gives only a lower bound.
        at_least |= scale > 0.0 && read.value >= 0.995 * scale;
        device.half_width(read.value, scale)
    } else {
        if row.get("instrument").is_none() {
            let trouble = Trouble::input(
                format!("`{}` without its uncertainty", probe.key),
                "error = \"10 rpm\", or the instrument",
            )
            .hint(format!("instrument = \"{}\"", probe.instrument));
            reader.note(trouble, value_span);
        }
        return None;
    };
    let uniform =
        device.is_some_and(|d| d.uniform) && row.get("error").is_none() && read.spread <= 0.0;

    let blades = match row.get("blades") {
        Some((words, span)) => {
            let count = words.parse::<u32>().ok().filter(|n| (1..=20).contains(n));
            match count {
                Some(count) if kind == Kind::Speed => f64::from(count),
                _ => {
                    let found = format!("{words} blades for {}", probe.name);
                    let expected = "a whole number from 1 to 20, for a speed";
                    reader.note(Trouble::input(found, expected), span);
                    return None;
                }
            }
        }
        None => 1.0,
    };
    Some(Measured {
        value: read.value / blades,
        half: half / blades,
        uniform,
        at_least,
        by: device.map(|d| (d.key, scale)),
    })
}

/// Checks a measure against the range of such a test.
fn sensible(kind: Kind, measure: Measure) -> Result<Measure, Trouble> {
    let (low, high) = match kind {
        Kind::Pressure => (-1e5, 1e8),
        Kind::Speed => (0.0, 1e4),
        Kind::Temperature => (253.15, 423.15),
        Kind::TemperatureDifference => (-10.0, 100.0),
        _ => (0.0, 1.0),
    };
    if (low..=high).contains(&measure.value) {
        return Ok(measure);
    }
    let show = |v| Units::Si.show(kind, v);
    let expected = format!("{} to {}", show(low), show(high));
    Err(Trouble::input(show(measure.value), expected).hint("is the unit right?"))
}

/// The condition of a reading, and the uncertainty of its engine speed and oil temperature.
fn setting(
    reader: &mut Reader<'_>,
    row: &Row,
    probe: &Probe,
    machine: &Machine,
) -> Option<(Setting, f64, f64)> {
    let mut setting = probe.setting;
    let usual = |engine: Engine| match engine {
        Engine::Idle => machine.usual.idle.spread,
        Engine::Raised => machine.usual.raised.spread,
        Engine::At(_) => 0.0,
    };
    let mut engine_half = usual(setting.engine);
    if engine_half <= 0.0 {
        engine_half = TEST_ENGINE_SPEED_FRACTION * setting.engine_speed(machine);
    }
    let mut span = row.get("test").map_or(row.span.clone(), |(_, s)| s);
    if let Some((words, at)) = row.get("engine_speed") {
        let field = Input::ENGINE_SPEED.field();
        let read = match words {
            "idle" => Ok(machine.usual.idle),
            "raised" => Ok(machine.usual.raised),
            _ => parse(Kind::Speed, words).and_then(|m| in_range(field, m, Units::Si)),
        };
        let measure = note(reader, at.clone(), read)?;
        setting.engine = Engine::At(measure.value);
        engine_half = if measure.spread > 0.0 {
            measure.spread
        } else {
            ENGINE_SPEED_FRACTION * measure.value
        };
        span = at;
    }
    let speed = setting.engine_speed(machine);
    let (idle, full) = (machine.usual.idle.value, machine.usual.full.value);
    let (least, most) = (0.7 * idle, 1.03 * full);
    if speed < least || speed > most {
        let show = |v| Units::Si.show(Kind::Speed, v);
        let trouble = Trouble::input(
            format!("{} at an engine speed of {}", probe.key, show(speed)),
            format!(
                "an engine speed of this machine: {} to {}",
                show(least),
                show(most)
            ),
        )
        .hint("choose another test, or give the actual `engine_speed`");
        reader.note(trouble, span);
        return None;
    }
    if !probe.runs_on(machine) && probe.setting.settled.is_some() {
        let trouble = Trouble::input(
            format!("`{}` for a machine without radiator parts", probe.key),
            "a machine file with core, air, coolant, engine …; [vehicle] for a test on the road",
        )
        .hint("`oilwheel new light-truck` shows these parts with their meaning");
        reader.note(trouble, span);
        return None;
    }
    let ambient_half = used(reader, row, probe, &mut setting)?;

    let mut oil_temp_half = match setting.oil_temp {
        None => machine.usual.oil_temp.spread,
        Some(_) => 0.0,
    };
    if oil_temp_half <= 0.0 {
        oil_temp_half = TEST_KELVIN;
    }
    if let Some((words, at)) = row.get("oil_temp") {
        let read = parse(Kind::Temperature, words)
            .and_then(|m| in_range(Input::OIL_TEMP.field(), m, Units::Si));
        let measure = note(reader, at, read)?;
        setting.oil_temp = Some(measure.value);
        oil_temp_half = if measure.spread > 0.0 {
            measure.spread
        } else {
            TYPED_KELVIN
        };
    }
    if let Some((key, at)) = row.get("thermometer") {
        let device = instrument(key).and_then(|i| match i.kind {
            Kind::Temperature => Ok(i),
            _ => Err(
                Trouble::input(format!("`{key}` for a temperature"), "a thermometer")
                    .hint("infrared, thermocouple or gauge-on-dash"),
            ),
        });
        let device = note(reader, at.clone(), device)?;
        if row.get("oil_temp").is_none() {
            let trouble = Trouble::input("a thermometer without `oil_temp`", COLUMNS[7].1);
            reader.note(trouble, at);
            return None;
        }
        oil_temp_half = device.half_width(0.0, 0.0);
    }
    if let Some((words, at)) = row.get("command") {
        let read = match words {
            "full" => Ok(1.0),
            "half" => Ok(0.5),
            "least" => Ok(0.0),
            _ => parse(Kind::Share, words)
                .and_then(|m| in_range(Input::COMMAND.field(), m, Units::Si))
                .map(|m| m.value),
        };
        setting.command = note(reader, at, read)?;
        if let Some(used) = &mut setting.settled {
            used.automatic = false;
        }
    }
    Some((setting, engine_half, ambient_half.unwrap_or(oil_temp_half)))
}

/// Sets how the machine was used until the coolant reached steady state, and returns the uncertainty of the ambient
/// temperature; no effect for a test of the oil side.
fn used(
    reader: &mut Reader<'_>,
    row: &Row,
    probe: &Probe,
    setting: &mut Setting,
) -> Option<Option<f64>> {
    let refused: &[&str] = match setting.settled {
        Some(_) => &["oil_temp", "thermometer"],
        None => &OF_COOLANT,
    };
    let mut sound = true;
    for key in refused {
        if let Some((_, at)) = row.get(key) {
            let expected = match setting.settled {
                Some(_) => "no oil temperature: here the oil reaches its own steady state",
                None => "this for coolant tests only",
            };
            let found = format!("`{key}` for {}", probe.name);
            reader.note(Trouble::input(found, expected), at);
            sound = false;
        }
    }
    let Some(used) = &mut setting.settled else {
        return sound.then_some(None);
    };
    let mut half = TEST_AMBIENT_KELVIN;
    for key in OF_COOLANT {
        let Some((words, at)) = row.get(key) else {
            continue;
        };
        let (input, slot) = match key {
            "ambient" => (Input::AMBIENT, &mut used.ambient),
            "road_speed" => (Input::ROAD_SPEED, &mut used.road_speed),
            "grade" => (INPUTS.now.grade, &mut used.grade),
            "trailer" => (INPUTS.now.trailer, &mut used.trailer),
            _ => (INPUTS.now.air_conditioning, &mut used.air_conditioning),
        };
        let field = input.field();
        let words = match (key, words) {
            ("air_conditioning", "on") => "1",
            ("air_conditioning", "off") => "0",
            _ => words,
        };
        let read = parse(field.kind, words).and_then(|m| in_range(field, m, Units::Si));
        let Some(measure) = note(reader, at, read) else {
            sound = false;
            continue;
        };
        *slot = measure.value;
        if key == "ambient" {
            half = match measure.spread {
                spread if spread > 0.0 => spread,
                _ => AMBIENT_KELVIN,
            };
        }
    }
    sound.then_some(Some(half))
}

/// Tests made more than once in the same condition, without a work between them.
fn repeats(all: &[Reading], works: &[Day]) -> Vec<Caution> {
    let mut notes = Vec::new();
    let state = |r: &Reading| works.iter().filter(|w| r.date >= Some(**w)).count();
    for (i, one) in all.iter().enumerate() {
        for other in &all[i + 1..] {
            if other.probe.key == one.probe.key
                && other.setting == one.setting
                && other.healthy == one.healthy
                && state(other) == state(one)
            {
                notes.push(Caution::ReadTwice {
                    test: one.probe.key,
                    kind: one.probe.what.kind(),
                    values: [one, other].map(|r| (r.value, r.half)),
                    contradict: (one.value - other.value).abs() > one.half + other.half,
                });
            }
        }
    }
    notes
}
