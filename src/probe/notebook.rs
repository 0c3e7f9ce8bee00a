//! The contents of a notebook besides its readings: facts of the machine, repairs, logs, and tests that are not
//! possible.

use super::{ALL, Day, FACT, FACTS, INSTRUMENTS, find};
use crate::input::Input;
use crate::model::{Reader, Section, in_range};
use crate::quantity::{Measure, Units, parse};
use crate::trouble::{TOLD, Trouble, Troubles, near};
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// A fact that is known about one machine.
#[derive(Clone, Debug)]
pub struct Fact {
    /// The input whose value is known.
    pub input: Input,
    /// Value of the input, with ±.
    pub measure: Measure,
    /// The source of the fact; may be empty.
    pub how: String,
    /// The date since which the fact is valid.
    pub date: Option<Day>,
    /// Position of the fact in the text.
    pub span: Range<usize>,
}

/// A repair or other work on the machine.
#[derive(Clone, Debug)]
pub struct Work {
    /// The date of the work.
    pub date: Day,
    /// The work done.
    pub what: String,
    /// Position of the entry in the text.
    pub at: usize,
}

/// The contents of a notebook besides its readings.
#[derive(Clone, Debug, Default)]
pub struct Book {
    /// The date since which the machine has its present form; earlier readings are an error.
    pub since: Option<Day>,
    /// Facts.
    pub known: Vec<Fact>,
    /// Repairs and other work, by date.
    pub works: Vec<Work>,
    /// Log files.
    pub logs: Vec<String>,
    /// Keys of tests that cannot be made, of facts that cannot be found out, and of instruments that are not at hand.
    pub skip: Vec<&'static str>,
}

/// The top-level keys of a notebook.
pub(super) const HEADS: [&str; 10] = [
    "name", "status", "machine", "oil", "since", "skip", "known", "reading", "work", "log",
];

/// The machine that a notebook names. The outer `None` means that the text is not a notebook, the inner one that it
/// names no machine. Errors in the text are left for the full parser to report.
pub fn machine_of(text: &str) -> Option<Option<String>> {
    let (document, _) = DeTable::parse_recoverable(text);
    let table = document.get_ref();
    let own = ["machine", "reading", "known", "work"];
    if !own.iter().any(|key| table.contains_key(*key)) {
        return None;
    }
    Some(match table.get("machine").map(|m| m.get_ref()) {
        Some(DeValue::String(words)) => Some(words.to_string()),
        _ => None,
    })
}

impl Book {
    /// Parses the text of a notebook; readings are parsed separately.
    pub fn from_text(source: &str, text: &str) -> Result<Self, Troubles> {
        let mut reader = Reader::new(source, text);
        let document = reader.document();
        let book = Self::read(&mut reader, &Section::whole(&document));
        match reader.troubles.is_empty() {
            true => Ok(book),
            false => Err(reader.troubles),
        }
    }

    /// What can be read of a notebook; entries with errors are omitted.
    pub fn readable(source: &str, text: &str) -> Self {
        let mut reader = Reader::new(source, text);
        let document = reader.document();
        Self::read(&mut reader, &Section::whole(&document))
    }

    pub(super) fn read<'t>(reader: &mut Reader<'t>, all: &Section<'_, 't>) -> Self {
        let mut book = Self {
            since: day(reader, all, "since"),
            skip: skipped(reader, all),
            ..Self::default()
        };
        if let Some(known) = reader.section(all.table, "known") {
            for (key, value) in known.table {
                let fact = fact(reader, (key.get_ref(), key.span()), value);
                book.known.extend(fact);
            }
        }
        for section in tables(reader, all, "work") {
            reader.refuse_unknown(
                &section,
                &["date", "what"],
                "`date` or `what` in a [[work]] entry",
            );
            let what = reader.words(&section, "what");
            if what.is_none() && !section.table.contains_key("what") {
                let trouble =
                    Trouble::input("a [[work]] entry without `what`", "`what`: the work done");
                reader.note(trouble, section.span.clone());
            }
            if !section.table.contains_key("date") {
                let trouble =
                    Trouble::input("a [[work]] entry without `date`", "`date`: 2026-06-20");
                reader.note(trouble, section.span.clone());
            }
            if let (Some(date), Some((what, _))) = (day(reader, &section, "date"), what) {
                let (what, at) = (what.to_string(), section.span.start);
                book.works.push(Work { date, what, at });
            }
        }
        let order = in_order(book.works.iter().map(|w| (Some(w.date), w.at)));
        book.works = order.iter().map(|n| book.works[*n].clone()).collect();
        for section in tables(reader, all, "log") {
            reader.refuse_unknown(&section, &["file"], "`file` in a [[log]] entry");
            match reader.words(&section, "file") {
                Some((file, _)) => book.logs.push(file.to_string()),
                None => reader.note(
                    Trouble::input("a [[log]] entry without `file`", "the path of a log file"),
                    section.span,
                ),
            }
        }
        book
    }
}

/// Indices of entries, given by date and position in the text, in the order in which they were made. On one day the
/// order of the text holds, except between entries whose time is given; an entry without date comes first.
pub(super) fn in_order(entries: impl Iterator<Item = (Option<Day>, usize)>) -> Vec<usize> {
    let entries: Vec<_> = entries.collect();
    let mut order: Vec<usize> = (0..entries.len()).collect();
    order.sort_by_key(|n| (entries[*n].0.map(Day::alone), entries[*n].1));
    // An entry without a time has that of the entry before it on the same day.
    let mut keys = vec![(None, 0); entries.len()];
    let mut last = (None, 0);
    for n in &order {
        let day = entries[*n].0.map(Day::alone);
        let before = if last.0 == day { last.1 } else { 0 };
        last = (day, entries[*n].0.and_then(Day::minute).unwrap_or(before));
        keys[*n] = last;
    }
    order.sort_by_key(|n| keys[*n]);
    order
}

/// The tables in a TOML array of tables, which is written with double brackets.
fn tables<'a, 't>(
    reader: &mut Reader<'t>,
    all: &Section<'a, 't>,
    key: &str,
) -> Vec<Section<'a, 't>> {
    let Some((name, value)) = all.table.get_key_value(key) else {
        return Vec::new();
    };
    let DeValue::Array(items) = value.get_ref() else {
        let trouble = Trouble::input(
            format!("`{key}` is not a list"),
            format!("[[{key}]] in double brackets before each entry"),
        );
        reader.note(trouble, name.span());
        return Vec::new();
    };
    let table = |item: &'a toml::Spanned<DeValue<'t>>| match item.get_ref() {
        DeValue::Table(table) => Some(Section {
            table,
            span: item.span(),
        }),
        _ => None,
    };
    items.iter().filter_map(table).collect()
}

/// A date under a key, quoted or as a TOML date.
fn day<'t>(reader: &mut Reader<'t>, section: &Section<'_, 't>, key: &str) -> Option<Day> {
    let value = section.table.get(key)?;
    let words = match value.get_ref() {
        DeValue::String(words) => words.to_string(),
        DeValue::Datetime(date) => date.to_string(),
        _ => String::new(),
    };
    let read = Day::read(&words);
    read.map_err(|t| reader.note(t, value.span())).ok()
}

fn skipped<'t>(reader: &mut Reader<'t>, all: &Section<'_, 't>) -> Vec<&'static str> {
    let Some(value) = all.table.get("skip") else {
        return Vec::new();
    };
    let DeValue::Array(items) = value.get_ref() else {
        let trouble = Trouble::input("`skip` is not a list", "a list: skip = [\"viscosity-40\"]");
        reader.note(trouble, value.span());
        return Vec::new();
    };
    let mut keys = Vec::new();
    for item in items.iter() {
        let words = match item.get_ref() {
            DeValue::String(words) => words.as_ref(),
            _ => "",
        };
        if reader.troubles.len() >= TOLD && known(words).is_none() {
            reader.note(Trouble::input(format!("`{words}`"), SKIPPABLE), item.span());
            continue;
        }
        match skippable(words) {
            Ok(key) => keys.push(key),
            Err(trouble) => reader.note(trouble, item.span()),
        }
    }
    keys
}

/// What an entry under `skip` may be.
const SKIPPABLE: &str = "the key of a test, a fact or an instrument";

/// Checks a key that a notebook lists under `skip`: of a test or fact, or of an instrument that is not at hand.
pub fn skippable(words: &str) -> Result<&'static str, Trouble> {
    match known(words) {
        Some(key) => Ok(key),
        None => find(words)
            .map(|probe| probe.key)
            .map_err(|unknown| Trouble {
                expected: SKIPPABLE.into(),
                ..unknown
            }),
    }
}

fn known(words: &str) -> Option<&'static str> {
    let probes = ALL.iter().chain(FACTS).map(|p| p.key);
    let mut all = probes.chain(INSTRUMENTS.iter().map(|i| i.key));
    all.find(|key| *key == words)
}

/// Reports a fact whose key is not an input; the first few reports include a suggestion.
fn note_unknown(reader: &mut Reader<'_>, key: &str, place: Range<usize>) {
    let trouble = Trouble::input(
        format!("no input called `{key}`"),
        "a part and one of its inputs, in quotes, such as \"pump.ratio\"",
    );
    if reader.troubles.len() >= TOLD {
        reader.note(trouble, place);
        return;
    }
    let keys: Vec<String> = Input::all().map(Input::key).collect();
    let hint = match near(key, keys.iter().map(String::as_str)) {
        Some(k) => format!("did you mean `{k}`?"),
        None => "`oilwheel new light-truck` lists all inputs and explains each one".into(),
    };
    reader.note(trouble.hint(hint), place);
}

/// Parses one fact; errors are recorded.
fn fact<'t>(
    reader: &mut Reader<'t>,
    (key, place): (&str, Range<usize>),
    value: &toml::Spanned<DeValue<'t>>,
) -> Option<Fact> {
    let input = Input::find(key).filter(|i| i.part() != "now");
    let Some(input) = input else {
        note_unknown(reader, key, place);
        return None;
    };
    let (words, how, date) = match value.get_ref() {
        DeValue::String(words) => (Some((words.to_string(), value.span())), String::new(), None),
        DeValue::Table(table) => {
            let section = Section {
                table,
                span: value.span(),
            };
            reader.refuse_unknown(&section, &["value", "how", "date"], "a key of a fact");
            let words = reader.words(&section, "value");
            let how = reader.words(&section, "how");
            (
                words.map(|(w, span)| (w.to_string(), span)),
                how.map_or(String::new(), |(w, _)| w.to_string()),
                day(reader, &section, "date"),
            )
        }
        _ => (None, String::new(), None),
    };
    let Some((words, span)) = words else {
        let trouble = Trouble::input(
            format!("`{key}` without a value"),
            "a value, such as { value = \"1.27 ± 0.02\", how = \"measured with a tape\" }",
        );
        reader.note(trouble, value.span());
        return None;
    };
    let field = input.field();
    let read = parse(field.kind, &words).and_then(|m| in_range(field, m, Units::Si));
    let mut measure = read.map_err(|t| reader.note(t, span.clone())).ok()?;
    if measure.spread <= 0.0 {
        measure.spread = FACT * measure.value.abs();
    }
    Some(Fact {
        input,
        measure,
        how,
        date,
        span,
    })
}
