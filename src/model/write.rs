//! Writes a machine as a commented file, generated from the field declarations.

use super::case::PARTS;
use super::machine::{CHOICES, FUEL, Fuel, Machine, UsualCondition};
use crate::input::{Field, Input};
use crate::quantity::{Kind, Measure};
use std::fmt::Write;

/// Writes the text of a machine file, with every field, its meaning and its range.
pub fn machine_text(machine: &Machine) -> String {
    let mut text = String::new();
    let quoted = |s: &str| s.replace('\\', "\\\\").replace('"', "\\\"");
    let _ = writeln!(
        text,
        "# A machine for oilwheel. Each value has its unit, and a ± if it is not known exactly:\n\
         # ± is the half-width that covers about 95 of 100 machines, ×/÷ the corresponding factor. Where a line begins with #, the default value is used.\n\
         # US units are accepted too: \"0.85 in3/rev\", \"1450 psi\", \"5 gpm\", \"175 F\".\n\n\
         name = \"{}\"\nstatus = \"{}\"\n",
        quoted(&machine.name),
        quoted(&machine.status)
    );
    write_choices(&mut text, machine);
    let _ = writeln!(
        text,
        "\n# The condition assumed by default.\n[usual]\noil = \"{}\"",
        quoted(&machine.fill)
    );
    for (i, field) in UsualCondition::<f64>::FIELDS.iter().enumerate() {
        let usual = machine
            .usual
            .value(i)
            .copied()
            .filter(|m| m.value.is_finite());
        line(&mut text, field, usual, field.usual);
    }
    let mut inputs = Input::all();
    for part in PARTS {
        let own: Vec<Input> = inputs.by_ref().take(part.fields.len()).collect();
        if part.key == "oil" || part.key == "now" {
            continue;
        }
        let there = machine.has(part.key);
        if there {
            let _ = writeln!(text, "\n[{}]", part.key);
        } else {
            let _ = writeln!(text, "\n# Optional part:\n# [{}]", part.key);
        }
        for (input, field) in own.into_iter().zip(part.fields) {
            let mut one = String::new();
            // An input that was missing from the machine file stays missing: if its default were written out, it would
            // look like a known value.
            let given = machine
                .value(input)
                .filter(|_| !machine.left_out.contains(&input));
            let usual = machine.value(input).map_or(field.usual, |m| m.value);
            line(&mut one, field, given, usual);
            if !there {
                one = one
                    .lines()
                    .map(|l| format!("# {}\n", l.trim_start_matches("# ")))
                    .collect();
            }
            text.push_str(&one);
        }
    }
    write_correlations(&mut text, machine);
    text
}

/// Writes the section `[choices]`.
fn write_choices(text: &mut String, machine: &Machine) {
    let _ = writeln!(text, "[choices]");
    let shape = &machine.shape;
    for ((key, words, about), yes) in CHOICES.into_iter().zip([
        shape.recirculates,
        shape.valve_to_motor_outlet,
        shape.steering_first,
    ]) {
        let _ = writeln!(text, "# {about}: \"{}\" or \"{}\"", words[0], words[1]);
        let _ = writeln!(text, "{key} = \"{}\"", words[usize::from(yes)]);
    }
    let (key, words, about) = FUEL;
    let _ = writeln!(
        text,
        "# {about}: \"{}\" or \"{}\"; needed only if the heat is computed from a measured flow of fuel or air\n{}{key} = \"{}\"",
        words[0],
        words[1],
        if machine.fuel.is_some() { "" } else { "# " },
        machine.fuel.map_or(words[0], Fuel::word)
    );
}

/// Writes the section `[correlations]`, if there are any.
fn write_correlations(text: &mut String, machine: &Machine) {
    if machine.correlations.is_empty() {
        return;
    }
    let _ = writeln!(
        text,
        "\n# Correlations between the uncertainties of two inputs, -1 to 1: if one is above its value here, the\n\
         # other is likely to be above (or, with -, below) its own. Found by a fit; do not change them.\n[correlations]"
    );
    for one in Input::all() {
        let with: Vec<String> = machine
            .correlations
            .iter()
            .filter(|(a, _, _)| *a == one)
            .map(|(_, b, r)| format!("{} {}", b.key(), (r * 1e4).round() / 1e4))
            .collect();
        if !with.is_empty() {
            let _ = writeln!(text, "\"{}\" = \"{}\"", one.key(), with.join(", "));
        }
    }
}

/// Writes the lines of one field: its meaning and range, and its value or default.
fn line(text: &mut String, field: &Field, measure: Option<Measure>, usual: f64) {
    let range = format!(
        "{} to {}",
        field.kind.typed(field.low),
        field.kind.typed(field.high)
    );
    let _ = writeln!(text, "# {}; {range}", field.help);
    match measure {
        Some(m) => {
            let _ = writeln!(text, "{} = \"{}\"", field.key, with_spread(field.kind, m));
        }
        None if usual.is_finite() => {
            let _ = writeln!(text, "# {} = \"{}\"", field.key, field.kind.typed(usual));
        }
        None => {
            let _ = writeln!(text, "# {} = \"…\"", field.key);
        }
    }
}

/// A value with its uncertainty, as written in a file.
fn with_spread(kind: Kind, m: Measure) -> String {
    let value = kind.typed(m.value);
    if m.spread <= 0.0 {
        value
    } else if let Some(factor) = m.by_factor() {
        // Enough decimals to show the factor minus one to four significant digits.
        let decimals = (3.0 - (factor - 1.0).log10().floor()).clamp(2.0, 12.0) as usize;
        let factor = format!("{factor:.decimals$}");
        let factor = factor.trim_end_matches('0').trim_end_matches('.');
        format!("{value} ×/÷ {factor}")
    } else if kind == Kind::Temperature {
        format!("{value} ± {} K", round(m.spread))
    } else if m.value.abs() > 1e-12 && kind != Kind::Share {
        format!("{value} ± {} %", round(100.0 * m.spread / m.value.abs()))
    } else {
        format!("{value} ± {}", kind.typed(m.spread))
    }
}

/// Rounds to four significant digits.
fn round(x: f64) -> f64 {
    format!("{x:.3e}").parse().unwrap_or(x)
}
