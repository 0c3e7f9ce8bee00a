//! The value of a reading and its uncertainty.

use super::note;
use super::rows::{COLUMNS, Row};
use crate::model::Reader;
use crate::probe::{Instrument, Probe, instrument, thousands};
use crate::quantity::{Kind, Measure, Units, parse};
use crate::trouble::Trouble;

/// A measured value and its uncertainty (half-width), both in SI.
pub(super) struct Measured {
    pub(super) value: f64,
    pub(super) half: f64,
    pub(super) uniform: bool,
    pub(super) at_least: bool,
    pub(super) by: Option<(&'static str, f64)>,
}

/// Texts that mark a reading as a lower bound.
const AT_LEAST: [&str; 4] = ["at least", ">=", "≥", ">"];

pub(super) fn measured(reader: &mut Reader<'_>, row: &Row, probe: &Probe) -> Option<Measured> {
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
        Kind::Speed => crate::probe::spelled::speed(words),
        _ => None,
    };
    let read = spelled.unwrap_or_else(|| parse(kind, words));
    let read = read.and_then(
        |m| match thousands(words, m).filter(|_| kind == Kind::Speed) {
            Some(doubt) => Err(doubt),
            None => sensible(kind, m),
        },
    );
    let read = note(reader, value_span.clone(), read.map_err(named));
    let device = device(reader, row, probe);
    let read = read?;

    let mut scale = 0.0;
    let half = if let Some((error, span)) = row.get("error") {
        if read.spread > 0.0 {
            let trouble = Trouble::input(
                "the uncertainty is given twice, after ± and as `error`",
                "only one of the two",
            );
            reader.note(trouble, span);
            return None;
        }
        let whole = parse(kind, &format!("{words} ± {error}")).map_err(named);
        let spread = whole.and_then(|m| not_zero(probe, m.spread));
        note(reader, span, spread)?
    } else if read.spread > 0.0 {
        read.spread
    } else if let Some(device) = device {
        if device.of_full_scale > 0.0 {
            scale = full_scale(reader, row, probe, device, read.value)?;
        }
        // A reading at full scale is only a lower bound.
        at_least |= scale > 0.0 && read.value >= 0.995 * scale;
        device.half_width(read.value, scale)
    } else {
        if row.get("instrument").is_none() {
            let trouble = Trouble::input(
                format!("`{}` without its uncertainty", probe.key),
                format!(
                    "an uncertainty, such as error = \"{}\", or the instrument",
                    example(kind)
                ),
            )
            .hint(format!("for example instrument = \"{}\"", probe.instrument));
            reader.note(trouble, value_span);
        }
        return None;
    };
    let uniform =
        device.is_some_and(|d| d.uniform) && row.get("error").is_none() && read.spread <= 0.0;

    let blades = blades(reader, row, probe)?;
    Some(Measured {
        value: read.value / blades,
        half: half / blades,
        uniform,
        at_least,
        by: device.map(|d| (d.key, scale)),
    })
}

/// An uncertainty as it is typed, for a kind of quantity.
fn example(kind: Kind) -> &'static str {
    match kind {
        Kind::Speed => "10 rpm",
        Kind::Pressure => "2 bar",
        Kind::Temperature | Kind::TemperatureDifference => "2 K",
        Kind::KinematicViscosity => "1 mm2/s",
        _ => "3 %",
    }
}

/// The instrument named for a reading, if any; an instrument for another kind of quantity is recorded as an error.
fn device(reader: &mut Reader<'_>, row: &Row, probe: &Probe) -> Option<&'static Instrument> {
    let kind = probe.what.kind();
    row.get("instrument").and_then(|(key, span)| {
        let fits = instrument(key).and_then(|i| {
            if i.kind == kind {
                return Ok(i);
            }
            let found = format!("`{key}` as the instrument for {}", probe.name);
            let expected = format!("an instrument that measures {}", kind.name());
            Err(Trouble::input(found, expected).hint(format!("such as {}", probe.instrument)))
        });
        note(reader, span, fits)
    })
}

/// Rejects an uncertainty of zero.
fn not_zero(probe: &Probe, spread: f64) -> Result<f64, Trouble> {
    if spread > 0.0 {
        return Ok(spread);
    }
    let found = format!("{}: an uncertainty of zero", probe.key);
    let expected = "the uncertainty of the reading, above zero";
    Err(Trouble::input(found, expected))
}

/// The full scale of the instrument; a reading beyond it is recorded as an error.
fn full_scale(
    reader: &mut Reader<'_>,
    row: &Row,
    probe: &Probe,
    device: &Instrument,
    value: f64,
) -> Option<f64> {
    let kind = probe.what.kind();
    let Some((words, span)) = row.get("full_scale") else {
        let found = format!("no `full_scale` for the instrument `{}`", device.key);
        let trouble = Trouble::input(found, "the full scale, such as 250 bar");
        reader.note(trouble, row.span.clone());
        return None;
    };
    let named = |t: Trouble| Trouble {
        found: format!("{}: {}", probe.key, t.found),
        ..t
    };
    let scale = parse(kind, words).map_err(named).and_then(|m| {
        if m.value >= value && m.value > 0.0 {
            return Ok(m.value);
        }
        let [value, scale] = [value, m.value].map(|v| Units::Si.show(kind, v));
        let found = format!("{value} read on an instrument with a full scale of {scale}");
        Err(Trouble::input(found, "a reading within full scale"))
    });
    note(reader, span, scale)
}

/// The number of blades if each blade was counted, otherwise 1.
fn blades(reader: &mut Reader<'_>, row: &Row, probe: &Probe) -> Option<f64> {
    let Some((words, span)) = row.get("blades") else {
        return Some(1.0);
    };
    let count = words.parse::<u32>().ok().filter(|n| (1..=20).contains(n));
    match count {
        Some(count) if probe.what.kind() == Kind::Speed => Some(f64::from(count)),
        _ => {
            let found = format!("`blades` is {words} for {}", probe.name);
            let expected = "a whole number of blades from 1 to 20, only for a speed";
            reader.note(Trouble::input(found, expected), span);
            None
        }
    }
}

/// Checks a measured value against the plausible range for its kind of quantity.
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
    let expected = format!("a value from {} to {}", show(low), show(high));
    Err(Trouble::input(show(measure.value), expected).hint("is the unit right?"))
}
