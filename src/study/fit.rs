//! What do readings of a machine that is well say about it?

use super::answer::{Answer, Bar, Bars, Block, Table};
use super::words;
use crate::balance::{Output, State};
use crate::model::{Machine, Posed};
use crate::probe::Readings;
use crate::quantity::{Kind, Units};
use crate::trouble::Trouble;
use crate::vary::derivative::{half_width, sensitivities};
use crate::vary::fit::{Fit, Met, Narrowed, UNTOUCHED, fit};
use serde_json::{Value, json};

/// Readings that lie off by chance more seldom than this do not fit.
const SELDOM: f64 = 0.01;

/// What is asked.
#[derive(Clone, Debug)]
pub struct Question {
    /// The machine on its oil.
    pub posed: Posed,
    /// The oil, where it was named.
    pub oil: Option<String>,
    /// What was read when it was well.
    pub readings: Readings,
    /// The file of the readings.
    pub source: String,
    /// Where the narrowed machine goes.
    pub out: Option<String>,
}

/// Answers the question; beside it stands the narrowed machine.
pub fn answer(question: &Question) -> Result<(Answer, Machine), Trouble> {
    let (posed, units) = (&question.posed, question.posed.units);
    let found = fit(
        &posed.machine,
        &posed.case,
        &posed.spread,
        &question.readings.all,
    )?;
    let fits = found.chance >= SELDOM;
    let machine = named(question, found.machine(&posed.machine), fits);
    let mut answer = Answer {
        question: "fit",
        case: posed.said.clone(),
        cautions: posed.cautions.clone(),
        ..Answer::default()
    };
    answer.case.retain(|(label, _)| {
        label == "machine" || label == "oil" || label == "altitude" || label.contains('.')
    });
    answer.case.push((
        "readings".into(),
        format!("{} of {}", found.readings.len(), question.source),
    ));

    let bands = bands(question, &found, &machine)?;
    let said: Vec<String> = bands
        .iter()
        .map(|(name, before, after)| {
            format!(
                "{name} from {} to {}",
                show(units, before),
                show(units, after)
            )
        })
        .collect();
    answer.blocks.push(Block::Headline(if fits {
        format!(
            "The readings narrow the fan's speed {}.",
            said.join(", and ")
        )
    } else {
        "The readings do not fit this machine, on this oil: something is not as the file says."
            .into()
    }));
    let mut say = |text: String| answer.blocks.push(Block::Sentence(text));
    if fits {
        say(format!(
            "They lie where readings of such a machine may lie: {} in 100 lie farther off.",
            (100.0 * found.chance).round().min(99.0)
        ));
    } else {
        say(format!(
            "Readings of such a machine lie this far off in {} of 1000. A baseline needs a machine that is well, its own oil, and errors that are honest.",
            match (1000.0 * found.chance).round() {
                n if n < 1.0 => "fewer than one case".into(),
                n if n < 2.0 => "one case".into(),
                n => format!("{n:.0} cases"),
            }
        ));
        for met in &found.readings {
            if let Some(hint) = slip_of_the_pen(units, met) {
                say(hint);
            }
        }
    }
    for line in touched(&found) {
        say(line);
    }
    say(match &question.out {
        Some(path) => format!("The narrowed machine stands in {path}, with the correlations among its inputs."),
        None => "To keep the narrowed machine, give --out FILE.toml; use that file in place of the machine's name from then on.".into(),
    });

    answer.blocks.push(Block::Table(met_table(units, &found)));
    answer.blocks.push(Block::Bars(met_bars(&found)));
    answer
        .blocks
        .push(Block::Table(narrowed_table(units, &found)));
    answer.cautions.extend(words::left_out_of(posed));
    answer.cautions.extend(question.readings.notes.clone());
    answer.cautions.extend(doubts(question, &found));
    answer.blocks.push(Block::Safety(words::safety()));
    numbers(&mut answer, &found, &bands);
    answer.series = series(&found);
    Ok((answer, machine))
}

/// A path without a `./` that says nothing.
fn bare(path: &str) -> &str {
    path.strip_prefix("./").unwrap_or(path)
}

/// The machine under the name of what it was narrowed by.
fn named(question: &Question, mut machine: Machine, fits: bool) -> Machine {
    let of = &question.readings;
    if !of.name.is_empty() {
        machine.name = format!("{}: {}", machine.name, of.name);
    }
    let before = machine.status.trim_end_matches(['.', ' ']);
    let narrowed = format!(
        "{before}{} Narrowed by {} readings ({}){}.",
        if before.is_empty() { "" } else { "." },
        of.all.len(),
        question.source,
        if fits { "" } else { ", which do not fit it" }
    );
    machine.status = narrowed.trim().to_string();
    if let Some(oil) = &question.oil {
        machine.fill.clone_from(oil);
    }
    machine
}

/// A value with its half width.
type Band = (f64, f64);

fn show(units: Units, band: &Band) -> String {
    words::speed_band(units, band.0, band.1)
}

/// The fan's speed at idle and raised speed, warm: name, before, after.
fn bands(
    question: &Question,
    found: &Fit,
    machine: &Machine,
) -> Result<Vec<(&'static str, Band, Band)>, Trouble> {
    let posed = &question.posed;
    let mut spread = posed.spread;
    for one in &found.inputs {
        spread = spread.with(one.input, one.after.1);
    }
    type Pick = fn(&Machine) -> crate::quantity::Measure;
    let speeds: [(&str, Pick); 2] = [
        ("at idle", |m| m.usual.idle),
        ("at raised speed", |m| m.usual.raised),
    ];
    speeds
        .into_iter()
        .map(|(name, pick)| {
            let band = |case: &crate::model::Case, spread: &crate::model::Case, of: &Machine| {
                let mut case = *case;
                let usual = pick(of);
                case.now.engine_speed = usual.value;
                case.now.command = 1.0;
                let mut spread = *spread;
                spread.now.engine_speed = usual.spread;
                let (state, operating) = State::of(&case)?;
                let slopes = sensitivities(&case, &operating);
                let half = half_width(&slopes, &spread, &of.correlations, Output::FAN_SPEED);
                Ok::<Band, Trouble>((state.fan_speed, half))
            };
            Ok((
                name,
                band(&posed.case, &posed.spread, &posed.machine)?,
                band(&found.case, &spread, machine)?,
            ))
        })
        .collect()
}

/// Whether an input is as it was.
fn untouched(one: &Narrowed) -> bool {
    one.after.1 > UNTOUCHED * one.before.1
}

/// What the readings touched, and what they did not.
fn touched(found: &Fit) -> Vec<String> {
    let (kept, narrowed): (Vec<&Narrowed>, Vec<&Narrowed>) =
        found.inputs.iter().partition(|n| untouched(n));
    let mut said = Vec::new();
    let count = |n: usize, one: &str| format!("{n} {one}{}", if n == 1 { "" } else { "s" });
    said.push(if found.rank == 0 {
        "The readings say nothing new: their errors are wider than what the machine's ± leaves open, so every input is as it was.".into()
    } else {
        format!(
            "{} made the inputs narrower in {}; {} of {} uncertain inputs get a ± that is smaller by more than 5 %.{}",
            count(found.readings.len(), "reading"),
            count(found.rank, "independent direction"),
            narrowed.len(),
            found.inputs.len(),
            if narrowed.len() > found.rank {
                " That is more inputs than directions: some are known better only together, which the correlations keep."
            } else {
                ""
            }
        )
    });
    if !kept.is_empty() {
        let mut parts: Vec<(&str, Vec<&str>)> = Vec::new();
        for one in &kept {
            let (part, key) = (one.input.part(), one.input.field().key);
            match parts.last_mut() {
                Some(last) if last.0 == part => last.1.push(key),
                _ => parts.push((part, vec![key])),
            }
        }
        let parts: Vec<String> = parts
            .iter()
            .map(|(part, keys)| format!("{part} ({})", keys.join(", ")))
            .collect();
        said.push(format!(
            "Not touched by these readings, so still as the machine file had them, ± and all, to within 5 %: {}.",
            parts.join(", ")
        ));
    }
    said
}

/// A reading that would fit in another unit, or divided by blades.
fn slip_of_the_pen(units: Units, met: &Met) -> Option<String> {
    if met.off.abs() < 3.0 {
        return None;
    }
    let kind = met.reading.probe.what.kind();
    let would = |value: f64| (value - met.before.0).abs() <= met.before.1 + met.reading.half;
    let read = met.reading.value;
    let key = met.reading.probe.key;
    const PSI_PER_BAR: f64 = 14.503_774;
    match kind {
        Kind::Pressure if would(read / PSI_PER_BAR) => Some(format!(
            "{key}: {} would fit. Was psi typed as bar?",
            units.show(kind, read / PSI_PER_BAR)
        )),
        Kind::Pressure if would(read * PSI_PER_BAR) => Some(format!(
            "{key}: {} would fit. Was bar typed as psi?",
            units.show(kind, read * PSI_PER_BAR)
        )),
        Kind::Speed => (2..=12).find(|n| would(read / f64::from(*n))).map(|n| {
            format!("{key}: divided by {n} it would fit. Was each of {n} blades counted? Then say blades = {n}.")
        }),
        _ => None,
    }
}

/// What must be borne in mind about the fit.
fn doubts(question: &Question, found: &Fit) -> Vec<String> {
    let mut said = Vec::new();
    if found.chance < SELDOM {
        said.push("These readings do not fit. What was narrowed by them is no baseline: find the cause first.".into());
    }
    let posed = &question.posed;
    if let Some(name) = &question.readings.machine
        && bare(name) != bare(&posed.machine.key)
    {
        said.push(format!(
            "The readings say that they are of `{name}`; the machine here is `{}`.",
            posed.machine.key
        ));
    }
    if found.readings.len() < 3 {
        said.push(
            "Few readings narrow little. Idle and raised speed, warm and cold, take ten minutes."
                .into(),
        );
    }
    for one in &found.inputs {
        let moved = (one.after.0 - one.before.0).abs();
        if moved > 1.5 * one.before.1 {
            said.push(format!(
                "{} had to move by more than its ±: either the machine is not of this class, or it was not well.",
                one.input.key()
            ));
        }
    }
    said
}

/// Each reading against what was and is computed.
fn met_table(units: Units, found: &Fit) -> Table {
    Table {
        title: "The readings".into(),
        heads: [
            "test",
            "read",
            "computed before",
            "computed now",
            "still off, σ",
        ]
        .map(String::from)
        .to_vec(),
        rows: found
            .readings
            .iter()
            .map(|m| {
                let kind = m.reading.probe.what.kind();
                let band = |b: Band| units.show_spread(kind, b.0, b.1);
                vec![
                    m.reading.probe.key.into(),
                    band((m.reading.value, m.reading.half)),
                    band(m.before),
                    band(m.after),
                    words::signed(m.off),
                ]
            })
            .collect(),
        numeric: vec![1, 2, 3, 4],
    }
}

/// How far what is computed lies from what was read, before and after.
fn met_bars(found: &Fit) -> Bars {
    let rows = found
        .readings
        .iter()
        .filter(|m| m.reading.value.abs() > 0.0)
        .flat_map(|m| {
            let percent = |x: f64| (1e4 * (x / m.reading.value - 1.0)).round() / 100.0;
            let bar = |when: &str, band: Band| Bar {
                name: format!("{}, {when}", m.reading.probe.key),
                value: percent(band.0),
                range: Some((percent(band.0 - band.1), percent(band.0 + band.1))),
                note: String::new(),
            };
            [bar("before", m.before), bar("now", m.after)]
        })
        .collect();
    Bars {
        title: "What is computed against what was read, with ±".into(),
        label: "computed less read, %".into(),
        rows,
    }
}

/// The inputs that were narrowed, most first.
fn narrowed_table(units: Units, found: &Fit) -> Table {
    let mut narrowed: Vec<&Narrowed> = found.inputs.iter().filter(|n| !untouched(n)).collect();
    let share = |n: &Narrowed| n.after.1 / n.before.1;
    narrowed.sort_by(|a, b| share(a).total_cmp(&share(b)));
    Table {
        title: "Inputs that are known better now".into(),
        heads: ["input", "before", "now", "± smaller by"]
            .map(String::from)
            .to_vec(),
        rows: narrowed
            .iter()
            .map(|n| {
                let field = n.input.field();
                vec![
                    format!("{} ({})", n.input.key(), field.help),
                    units.show_spread(field.kind, n.before.0, n.before.1),
                    units.show_spread(field.kind, n.after.0, n.after.1),
                    format!("{:.0} %", 100.0 * (1.0 - share(n))),
                ]
            })
            .collect(),
        numeric: vec![1, 2, 3],
    }
}

/// What a program reads.
fn numbers(answer: &mut Answer, found: &Fit, bands: &[(&str, Band, Band)]) {
    let half = |kind: Kind, b: Band| kind.to_json(b.0 + b.1) - kind.to_json(b.0);
    let inputs: Vec<Value> = found
        .inputs
        .iter()
        .map(|n| {
            let kind = n.input.field().kind;
            json!({
                "input": n.input.key(),
                "unit": kind.json_suffix(),
                "before": kind.to_json(n.before.0),
                "before_half_width": half(kind, n.before),
                "after": kind.to_json(n.after.0),
                "after_half_width": half(kind, n.after),
                "touched": !untouched(n),
            })
        })
        .collect();
    let readings: Vec<Value> = found
        .readings
        .iter()
        .map(|m| {
            let kind = m.reading.probe.what.kind();
            json!({
                "test": m.reading.probe.key,
                "unit": kind.json_suffix(),
                "read": kind.to_json(m.reading.value),
                "read_half_width": half(kind, (m.reading.value, m.reading.half)),
                "computed_before": kind.to_json(m.before.0),
                "computed_after": kind.to_json(m.after.0),
                "off_standard_deviations": m.off,
            })
        })
        .collect();
    let numbers = &mut answer.numbers;
    for ((_, before, after), key) in bands.iter().zip(["idle", "raised"]) {
        for (when, band) in [("before", before), ("after", after)] {
            words::put(
                numbers,
                &format!("fan_speed_{key}_{when}"),
                Kind::Speed,
                band.0,
            );
            words::put(
                numbers,
                &format!("fan_speed_{key}_{when}_half_width"),
                Kind::Speed,
                band.1,
            );
        }
    }
    numbers.insert("fits".into(), json!(found.chance >= SELDOM));
    numbers.insert("chance".into(), json!(found.chance));
    numbers.insert("rank".into(), json!(found.rank));
    numbers.insert("singular_values".into(), json!(found.singular));
    numbers.insert("inputs".into(), Value::Array(inputs));
    numbers.insert("readings".into(), Value::Array(readings));
}

/// The figures behind the picture.
fn series(found: &Fit) -> Table {
    Table {
        heads: ["test", "unit", "read", "computed_before", "computed_after"]
            .map(String::from)
            .to_vec(),
        rows: found
            .readings
            .iter()
            .map(|m| {
                let kind = m.reading.probe.what.kind();
                let number = |x: f64| format!("{}", kind.to_json(x));
                vec![
                    m.reading.probe.key.into(),
                    kind.json_suffix().into(),
                    number(m.reading.value),
                    number(m.before.0),
                    number(m.after.0),
                ]
            })
            .collect(),
        ..Table::default()
    }
}
