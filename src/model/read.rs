//! Checks a TOML text against the declared fields, and reports all errors at once, each with its position.

use super::rated_core::{CONDUCTANCE, RATED};
use crate::input::Field;
use crate::quantity::{Kind, Measure, Units, parse};
use crate::trouble::{Spot, TOLD, Trouble, Troubles, near};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A text being read, and the errors found so far.
pub(crate) struct Reader<'t> {
    source: &'t str,
    text: &'t str,
    /// Position in bytes at which each line begins.
    lines: Vec<usize>,
    pub troubles: Troubles,
}

/// A TOML table, with the position of its header in the text.
pub(crate) struct Section<'a, 't> {
    pub table: &'a DeTable<'t>,
    pub span: Range<usize>,
}

impl<'a, 't> Section<'a, 't> {
    /// A whole TOML text, treated as a table without a header.
    pub fn whole(document: &'a Spanned<DeTable<'t>>) -> Self {
        Self {
            table: document.get_ref(),
            span: 0..0,
        }
    }
}

impl<'t> Reader<'t> {
    /// Starts reading a text; `source` is the text's name in messages.
    pub fn new(source: &'t str, text: &'t str) -> Self {
        Self {
            source,
            text,
            lines: std::iter::once(0)
                .chain(text.match_indices('\n').map(|(at, _)| at + 1))
                .collect(),
            troubles: Vec::new(),
        }
    }

    /// Records an error at a position.
    pub fn note(&mut self, mut trouble: Trouble, span: Range<usize>) {
        let field = std::mem::take(&mut trouble.spot.field);
        trouble.spot = Spot {
            field,
            ..self.spot(span)
        };
        self.troubles.push(trouble);
    }

    /// Converts a position in bytes to line and column.
    pub fn spot(&self, span: Range<usize>) -> Spot {
        let start = span.start.min(self.text.len());
        let line = self.lines.partition_point(|begin| *begin <= start);
        let before = self.text.get(self.lines[line - 1]..start).unwrap_or("");
        Spot {
            field: String::new(),
            source: self.source.into(),
            line: Some(line),
            column: Some(before.chars().count() + 1),
            span: Some(span),
        }
    }

    /// Parses the text as TOML, as far as possible; syntax errors are recorded.
    pub fn document(&mut self) -> Spanned<DeTable<'t>> {
        let (document, errors) = DeTable::parse_recoverable(self.text);
        for error in errors {
            let span = error.span().unwrap_or(0..0);
            let found = format!("not valid TOML here: {}", error.message());
            let trouble = Trouble::input(found, "`key = \"value unit\"` under a `[part]`")
                .hint("write a value and its unit in quotes: displacement = \"14 cm3/rev\"");
            self.note(trouble, span);
        }
        document
    }

    /// Records every unknown key of a table.
    pub fn refuse_unknown(&mut self, section: &Section<'_, 't>, known: &[&str], what: &str) {
        for key in section.table.keys() {
            let word = key.get_ref().as_ref();
            if !known.contains(&word) && self.troubles.len() >= TOLD {
                self.note(
                    Trouble::input(format!("unknown key `{word}`"), what),
                    key.span(),
                );
            } else if !known.contains(&word) {
                let hint = match near(word, known.iter().copied()) {
                    Some(k) => format!("did you mean `{k}`?"),
                    None => format!("known here: {}", known.join(", ")),
                };
                let trouble = Trouble::input(format!("unknown key `{word}`"), what).hint(hint);
                self.note(trouble, key.span());
            }
        }
    }

    /// The table under a key; a value of another type is recorded as an error.
    pub fn section<'a>(&mut self, parent: &'a DeTable<'t>, key: &str) -> Option<Section<'a, 't>> {
        let (name, value) = parent.get_key_value(key)?;
        match value.get_ref() {
            DeValue::Table(table) => Some(Section {
                table,
                span: name.span(),
            }),
            _ => {
                let expected = format!("a section [{key}]");
                self.note(
                    Trouble::input(format!("`{key}` is a single value"), expected),
                    name.span(),
                );
                None
            }
        }
    }

    /// The text under a key, with its position.
    pub fn words<'a>(
        &mut self,
        section: &Section<'a, 't>,
        key: &str,
    ) -> Option<(&'a str, Range<usize>)> {
        let value = section.table.get(key)?;
        match value.get_ref() {
            DeValue::String(words) => Some((words.as_ref(), value.span())),
            _ => {
                let trouble = Trouble::input(format!("`{key}` is not text"), "text in quotes");
                self.note(trouble, value.span());
                None
            }
        }
    }

    /// The texts under a key, each with its position.
    pub fn list<'a>(
        &mut self,
        section: &Section<'a, 't>,
        key: &str,
    ) -> Vec<(&'a str, Range<usize>)> {
        let Some(value) = section.table.get(key) else {
            return Vec::new();
        };
        let mut found = Vec::new();
        let mut odd = true;
        if let DeValue::Array(items) = value.get_ref() {
            odd = false;
            for item in items.iter() {
                match item.get_ref() {
                    DeValue::String(words) => found.push((words.as_ref(), item.span())),
                    _ => odd = true,
                }
            }
        }
        if odd {
            self.note(
                Trouble::input(format!("`{key}` is not a list of texts"), "[\"…\", \"…\"]"),
                value.span(),
            );
        }
        found
    }

    /// Reads a key with two allowed words; returns whether the second is given. Any other value is recorded as an
    /// error.
    pub fn choice(
        &mut self,
        section: &Section<'_, 't>,
        key: &str,
        words: [&str; 2],
    ) -> Option<bool> {
        let (found, span) = self.words(section, key)?;
        if let Some(at) = words.iter().position(|w| *w == found) {
            return Some(at == 1);
        }
        let expected = format!("\"{}\" or \"{}\"", words[0], words[1]);
        self.note(
            Trouble::input(format!("`{key}` is \"{found}\""), expected),
            span,
        );
        None
    }

    /// Reads the value of a field with its uncertainty, and checks it against the field's range; an error is recorded.
    pub fn measure(&mut self, section: &Section<'_, 't>, field: &Field) -> Option<Measure> {
        let value = section.table.get(field.key)?;
        let read = match value.get_ref() {
            DeValue::String(words) => parse(field.kind, words),
            DeValue::Integer(number) => parse(field.kind, &number.to_string()),
            DeValue::Float(number) => parse(field.kind, &number.to_string()),
            _ => Err(Trouble::input(
                format!("`{}` is not a number", field.key),
                "a number with its unit in quotes",
            )),
        };
        match read.and_then(|m| in_range(field, m, Units::Si)) {
            Ok(measure) => Some(measure),
            Err(trouble) => {
                let found = format!("{}: {}", field.key, trouble.found);
                self.note(Trouble { found, ..trouble }, value.span());
                None
            }
        }
    }

    /// Reads the values of all fields of a part, in order, with their uncertainty. A missing required field is recorded
    /// as an error, unless a misspelling of its key was found.
    pub fn part(
        &mut self,
        section: &Section<'_, 't>,
        part: &str,
        fields: &'static [Field],
    ) -> Vec<Option<Measure>> {
        let instead: &[Field] = if part == "core" { &RATED } else { &[] };
        let known: Vec<&str> = fields.iter().chain(instead).map(|f| f.key).collect();
        let derived = |field: &Field| {
            let given = |f: &Field| section.table.contains_key(f.key);
            field.key == CONDUCTANCE && instead.iter().any(given)
        };
        self.refuse_unknown(section, &known, &format!("a key of [{part}]"));
        let unknown: Vec<&str> = section
            .table
            .keys()
            .map(|k| k.get_ref().as_ref())
            .filter(|k| !known.contains(k))
            .collect();
        fields
            .iter()
            .map(|field| {
                let found = self.measure(section, field);
                let given = section.table.contains_key(field.key);
                let missed = unknown
                    .iter()
                    .any(|s| near(s, known.iter().copied()) == Some(field.key));
                if !given && field.usual.is_nan() && !missed && !derived(field) {
                    let trouble = Trouble::input(
                        format!("[{part}] has no `{}`", field.key),
                        format!("a value for it ({})", field.help),
                    )
                    .hint(format!(
                        "between {} and {}",
                        field.kind.typed(field.low),
                        field.kind.typed(field.high)
                    ));
                    self.note(trouble, section.span.clone());
                }
                let usual = Measure::exact(field.usual);
                found.or((!given && field.usual.is_finite()).then_some(usual))
            })
            .collect()
    }
}

/// Maximum factor of an uncertainty: an order of magnitude in each direction means that the value is practically
/// unknown.
const MAX_FACTOR: f64 = 10.0;

/// Checks that the ± of a measure is reasonable: no wider than the field's range, nor wider than the value itself if
/// the value cannot be 0; a factor is at most [`MAX_FACTOR`].
fn plausible_uncertainty(
    field: &Field,
    measure: Measure,
    units: Units,
) -> Result<Measure, Trouble> {
    let Measure { value, spread, .. } = measure;
    if let Some(factor) = measure.by_factor() {
        return match factor <= MAX_FACTOR * (1.0 + 1e-9) {
            true => Ok(measure),
            false => Err(Trouble::input(
                format!("×/÷ {factor:.3}"),
                format!("at most ×/÷ {MAX_FACTOR} ({})", field.help),
            )
            .hint("the factor covers about 95 %: ×/÷ 2 means from half to twice the value")),
        };
    }
    let whole = field.kind == Kind::Temperature;
    let most = if field.low > 0.0 && !whole {
        value.min(field.high - field.low)
    } else {
        field.high - field.low
    };
    if (0.0..=most).contains(&spread) {
        return Ok(measure);
    }
    let kind = match field.kind {
        Kind::Temperature => Kind::TemperatureDifference,
        kind => kind,
    };
    let found = match spread.is_finite() {
        true => format!("± {}", units.show(kind, spread)),
        false => "an infinite ±".to_string(),
    };
    let expected = format!("at most ± {} ({})", units.show(kind, most), field.help);
    Err(Trouble::input(found, expected).hint("± covers about 95 %: two standard deviations"))
}

/// Returns the measure if its value is within the field's range and its ± is reasonable; otherwise an error, which
/// states the range in `units`.
pub(crate) fn in_range(field: &Field, measure: Measure, units: Units) -> Result<Measure, Trouble> {
    let checked = in_range_of(field.kind, field.low, field.high, measure, units);
    let inside = checked.map_err(|mut t| {
        t.expected = format!("{} ({})", t.expected, field.help);
        t
    })?;
    plausible_uncertainty(field, inside, units)
}

/// Returns the measure if its value is between `low` and `high` (SI); otherwise an error, which states the range in
/// `units`.
pub fn in_range_of(
    kind: Kind,
    low: f64,
    high: f64,
    measure: Measure,
    units: Units,
) -> Result<Measure, Trouble> {
    // A small tolerance is added, because values at a limit may be typed in other units than those of its declaration.
    let room = 1e-9 * (high - low).abs();
    if measure.value >= low - room && measure.value <= high + room {
        return Ok(measure);
    }
    let show = |v| units.show(kind, v);
    let end = if measure.value < low {
        "too low"
    } else {
        "too high"
    };
    let hint = match kind {
        Kind::Number => "this is a number without a unit",
        Kind::Share => "write a fraction as 30 % or 0.3",
        _ => "is the unit right?",
    };
    let found = format!("{} is {end}", show(measure.value));
    Err(Trouble::input(found, format!("{} to {}", show(low), show(high))).hint(hint))
}
