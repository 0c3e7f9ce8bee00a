//! Adds entries to a notebook: comments and order are preserved, and either all entries are added or none.

use crate::input::Input;
use crate::probe;
use crate::trouble::{Trouble, Troubles};
use toml_edit::{ArrayOfTables, DocumentMut, InlineTable, Item, Table, Value, value};

/// Words that may follow a reading, each with the key under which its value is stored.
const WORDS: [(&str, &str); 13] = [
    ("engine", "engine_speed"),
    ("oil", "oil_temp"),
    ("air", "air_temp"),
    ("ambient", "ambient"),
    ("with", "instrument"),
    ("full scale", "full_scale"),
    ("thermometer", "thermometer"),
    ("command", "command"),
    ("blades", "blades"),
    ("road speed", "road_speed"),
    ("grade", "grade"),
    ("on", "date"),
    ("when", "when"),
];

/// The text of a notebook with the additions inserted; their values are checked only when that text is parsed.
pub fn added(source: &str, text: &str, additions: &[&str]) -> Result<String, Troubles> {
    let mut document: DocumentMut = text
        .parse()
        .map_err(|e: toml_edit::TomlError| vec![Trouble::input(e.message(), "TOML").at(source)])?;
    let problems: Troubles = additions
        .iter()
        .filter_map(|words| one(&mut document, words).err())
        .collect();
    if !problems.is_empty() {
        return Err(problems);
    }
    Ok(document.to_string())
}

fn one(document: &mut DocumentMut, words: &str) -> Result<(), Trouble> {
    let Some((key, rest)) = words.split_once('=') else {
        return Err(Trouble::input(
            format!("`{words}`"),
            "a test, an input or `work`, then = and the reading, the fact or the work done",
        ));
    };
    let (key, rest) = (key.trim(), rest.trim());
    if key == "work" {
        return work(document, rest);
    }
    if Input::find(key).is_some() {
        return fact(document, key, rest);
    }
    let test = probe::find(key)?.key;
    let mut table = Table::new();
    table["test"] = value(test);
    let (read, more) = reading_of(rest);
    table["value"] = value(read);
    for part in more.split(',').map(str::trim).filter(|p| !p.is_empty()) {
        let (key, words) = piece(part)?;
        table[key] = value(words);
    }
    last(document, "reading", table)
}

/// Splits an entry into the reading and the details that follow it, behind ` at ` or a comma. A frame rate and a number
/// of blades belong to the reading: `12 turns in 275 frames at 240 fps`, `118 Hz, 7 blades`.
pub fn reading_of(rest: &str) -> (&str, &str) {
    let own = |more: &str| {
        let mut words = more.split([',', ' ']).filter(|w| !w.is_empty());
        let unit = words.nth(1);
        unit.is_some_and(|w| ["fps", "frames/s", "blades", "blade"].contains(&w))
    };
    let end = |mark: &str| {
        let mut all = rest
            .match_indices(mark)
            .map(|(at, _)| (at, at + mark.len()));
        all.find(|(_, after)| !own(&rest[*after..]))
    };
    let (read, more) = match end(" at ").or_else(|| end(",")) {
        Some((at, after)) => (&rest[..at], &rest[after..]),
        None => (rest, ""),
    };
    (read.trim(), more)
}

/// The key and the value of one part that follows a reading.
fn piece(part: &str) -> Result<(&'static str, &str), Trouble> {
    if part == "healthy" || part == "in question" {
        return Ok(("when", part));
    }
    let found = WORDS.iter().find_map(|(word, key)| {
        let rest = part.strip_prefix(word)?;
        rest.starts_with(' ').then(|| (*key, rest.trim()))
    });
    found.ok_or_else(|| {
        let words: Vec<&str> = WORDS.iter().map(|w| w.0).collect();
        Trouble::input(
            format!("`{part}` is not a detail of a reading"),
            format!(
                "{}, each followed by its value; or healthy, or in question",
                words.join(", ")
            ),
        )
    })
}

/// Adds a fact: `pump.ratio = 1.27 ± 0.02, measured with a tape`.
fn fact(document: &mut DocumentMut, key: &str, rest: &str) -> Result<(), Trouble> {
    let (measure, how) = match rest.split_once(',') {
        Some((measure, how)) => (measure.trim(), how.trim()),
        None => (rest, ""),
    };
    let mut fact = InlineTable::new();
    fact.insert("value", measure.into());
    if !how.is_empty() {
        fact.insert("how", how.into());
    }
    let known = document
        .entry("known")
        .or_insert(Item::Table(Table::new()))
        .as_table_mut()
        .ok_or_else(|| Trouble::input("`known` is not a table", "[known]"))?;
    if known.contains_key(key) {
        let found = format!("`{key}` is already in the notebook");
        return Err(Trouble::input(
            found,
            "a fact that is not in it yet; change the old one by hand",
        ));
    }
    known.insert(key, Item::Value(Value::InlineTable(fact)));
    Ok(())
}

/// Adds work: `work = oil changed, on 2026-06-20`.
fn work(document: &mut DocumentMut, rest: &str) -> Result<(), Trouble> {
    let dated = rest.rsplit_once(", on ");
    let Some((what, date)) = dated.filter(|d| !d.1.trim().is_empty()) else {
        return Err(Trouble::input(
            "the work has no date",
            "the date on which it was done, as in `work = oil changed, on 2026-06-20`",
        ));
    };
    let mut table = Table::new();
    table["date"] = value(date.trim());
    table["what"] = value(what.trim());
    last(document, "work", table)
}

/// Adds a table to a list, at the end of the file: entries of one day have the order in which they stand there.
fn last(document: &mut DocumentMut, key: &str, mut table: Table) -> Result<(), Trouble> {
    let ends = |item: &Item| {
        let all = item.as_array_of_tables();
        let all = all.map(|all| all.iter().filter_map(Table::position).max());
        all.flatten().or_else(|| item.as_table()?.position())
    };
    let end = document.iter().filter_map(|(_, item)| ends(item)).max();
    table.set_position(Some(end.unwrap_or(0) + 1));
    list(document, key)?.push(table);
    Ok(())
}

fn list<'d>(document: &'d mut DocumentMut, key: &str) -> Result<&'d mut ArrayOfTables, Trouble> {
    document
        .entry(key)
        .or_insert(Item::ArrayOfTables(ArrayOfTables::new()))
        .as_array_of_tables_mut()
        .ok_or_else(|| {
            Trouble::input(
                format!("`{key}` is not a list"),
                format!("[[{key}]], in two brackets"),
            )
        })
}
