//! Presents the outcome of `fit` in words and pictures.

use super::answer::{Bar, Bars, Block, Table};
use super::{Presentation, caution, inputs, readings, words};
use crate::model::{Machine, machine_text};
use crate::quantity::{Kind, Measure, Units};
use crate::question::Series;
use crate::question::fit::{
    FanBand, FittedCoolant, FittedInput, FittedReading, Found, Narrow, OUT,
};
use crate::vary::coolant::Observed;

/// Presents the outcome of the question.
pub fn tell(request: &Narrow, found: &Found) -> Presentation {
    let units = request.setup.units;
    let mut told = Presentation {
        assumptions: assumptions(request),
        cautions: found.cautions.clone(),
        case: inputs(&request.setup),
        series: Series::of(&found.readings),
        made: Some(machine_text(&named(request, found))),
        ..Presentation::default()
    };
    told.headline(headline(units, found));
    told.say(fits(found));
    if !found.fits {
        for reading in &found.readings {
            let slip = slip(units, reading);
            slip.into_iter().for_each(|text| told.say(text));
        }
    }
    told.say(narrowed(found));
    if let Some(text) = untouched(found) {
        told.say(text);
    }
    told.say(match &request.out {
        Some(path) => format!(
            "The narrowed machine is written to {path}, with the correlations between its inputs."
        ),
        None => format!(
            "{} writes the narrowed machine to a file; from then on use that file instead of the machine's name.",
            OUT.mention()
        ),
    });
    if !found.readings.is_empty() {
        told.show(Block::Table(met_table(units, found)));
        told.show(Block::Bars(met_bars(found)));
    }
    if !found.coolant.is_empty() {
        told.show(Block::Table(coolant_table(units, found)));
    }
    told.show(Block::Table(narrowed_table(units, found)));
    told.show(Block::Safety(caution::safety()));
    told
}

/// The assumptions of the fit.
fn assumptions(request: &Narrow) -> Vec<(String, String)> {
    let mut all = words::lasting(&request.setup);
    let count = request.readings.all.len();
    all.push(("readings".into(), format!("{count} of {}", request.source)));
    all
}

/// The narrowed machine; its name and status say which readings narrowed it.
fn named(request: &Narrow, found: &Found) -> Machine {
    let (mut machine, readings) = (found.machine.clone(), &request.readings);
    if !readings.name.is_empty() {
        machine.name = format!("{}: {}", machine.name, readings.name);
    }
    let before = match machine.status.trim_end_matches(['.', ' ']) {
        "" => String::new(),
        before => format!("{before}. "),
    };
    machine.status = format!(
        "{before}Narrowed by {} readings ({}){}.",
        readings.all.len(),
        request.source,
        if found.fits {
            ""
        } else {
            ", which do not fit it"
        }
    );
    machine
}

fn headline(units: Units, found: &Found) -> String {
    if !found.fits {
        return "The readings do not fit this machine with this oil: something is not as the machine file says.".into();
    }
    let band = |fan: &FanBand| words::speed_band(units, fan.speed, &fan.band);
    format!(
        "The readings narrow the fan speed at idle from {} to {}, and at raised speed from {} to {}.",
        band(&found.idle.0),
        band(&found.idle.1),
        band(&found.raised.0),
        band(&found.raised.1)
    )
}

/// Says whether the readings are consistent with the machine.
fn fits(found: &Found) -> String {
    if found.readings.is_empty() {
        return match found.fits {
            true => "The coolant readings are consistent with such a machine.".into(),
            false => "The coolant readings deviate by more than three standard deviations from what such a machine would show.".into(),
        };
    }
    if found.fits {
        return format!(
            "The readings are consistent with such a machine: {} of 100 such machines would deviate more.",
            (100.0 * found.chance).round().min(99.0)
        );
    }
    let cases = match (1000.0 * found.chance).round() {
        n if n < 1.0 => "fewer than one case".into(),
        n if n < 2.0 => "one case".into(),
        n => format!("{n:.0} cases"),
    };
    format!(
        "Readings of such a machine would deviate this much in {cases} in 1000. The baseline is valid only if the machine is healthy, the oil is the one stated, and the stated ± are realistic."
    )
}

/// Asks about a typing error that would explain why a reading does not fit.
fn slip(units: Units, reading: &FittedReading) -> Option<String> {
    let (slip, value) = reading.slip?;
    let kind = reading.met.reading.probe.what.kind();
    Some(format!(
        "{}: {} would fit. {}",
        reading.test,
        units.show(kind, value),
        readings::slip(slip)
    ))
}

/// Says how many inputs the readings narrowed.
fn narrowed(found: &Found) -> String {
    let touched = found.inputs.iter().filter(|i| i.touched).count();
    if found.readings.is_empty() {
        return format!(
            "The coolant readings reduce the ± of {touched} of {} uncertain inputs by more than 5 %.",
            found.inputs.len()
        );
    }
    if found.rank == 0 && found.coolant.is_empty() {
        return "The readings add no information: their errors are wider than the machine's ±, so every input is unchanged.".into();
    }
    let count = |n: usize, one: &str| format!("{n} {one}{}", if n == 1 { "" } else { "s" });
    let more = match touched > found.rank {
        true => {
            " These are more inputs than directions, so some are known better only in combination; the correlations record this."
        }
        false => "",
    };
    format!(
        "{} reduced the ± of {touched} of {} uncertain inputs by more than 5 %, in {}.{more}",
        count(found.readings.len(), "reading"),
        found.inputs.len(),
        count(found.rank, "independent direction")
    )
}

/// Lists the inputs that the readings left unchanged.
fn untouched(found: &Found) -> Option<String> {
    let mut parts: Vec<(&str, Vec<&str>)> = Vec::new();
    for one in found.inputs.iter().filter(|i| !i.touched) {
        let input = one.narrowed.input;
        let (part, key) = (input.part(), input.field().key);
        match parts.last_mut() {
            Some(last) if last.0 == part => last.1.push(key),
            _ => parts.push((part, vec![key])),
        }
    }
    let parts = parts.iter();
    let parts: Vec<String> = parts
        .map(|(part, keys)| format!("{part} ({})", keys.join(", ")))
        .collect();
    (!parts.is_empty()).then(|| {
        format!(
            "These readings change neither the value nor the ± of these inputs by more than 5 %: {}.",
            parts.join(", ")
        )
    })
}

/// Each reading compared with the values computed before and after the fit.
fn met_table(units: Units, found: &Found) -> Table {
    let row = |r: &FittedReading| {
        let kind = r.met.reading.probe.what.kind();
        let band = |(value, half)| units.show_spread(kind, value, half);
        vec![
            r.test.into(),
            readings::value(units, &r.met.reading),
            band(r.met.before),
            band(r.met.after),
            words::signed(r.off),
        ]
    };
    let heads = [
        "test",
        "reading",
        "computed before",
        "computed now",
        "deviation, σ",
    ];
    Table {
        title: "The readings".into(),
        heads: heads.map(String::from).to_vec(),
        rows: found.readings.iter().map(row).collect(),
        numeric: vec![1, 2, 3, 4],
    }
}

/// Each observation of the coolant compared with the values computed before and after the fit.
fn coolant_table(units: Units, found: &Found) -> Table {
    let row = |c: &FittedCoolant| {
        let of =
            |kind: Kind| [c.seen.value, c.seen.before, c.seen.after].map(|x| units.show(kind, x));
        let (name, values) = match c.seen.observed {
            Observed::Steady(r) => (r.probe.key.into(), of(r.probe.what.kind())),
            Observed::Parked { ends, long, .. } => {
                let from = words::degrees(units, ends[0]);
                let name = format!("parked {} from {from}", words::duration(long));
                (name, of(Kind::Temperature))
            }
            Observed::WarmUp { ends, .. } => {
                let [from, to] = ends.map(|t| words::degrees(units, t));
                let minutes = |s: f64| words::duration(s);
                let values = [c.seen.value, c.seen.before, c.seen.after].map(minutes);
                (format!("from {from} to {to} at idle"), values)
            }
        };
        let [read, before, after] = values;
        vec![name, read, before, after, words::signed(c.off)]
    };
    let heads = [
        "coolant",
        "reading",
        "computed before",
        "computed now",
        "deviation, σ",
    ];
    Table {
        title: "Coolant, read and computed".into(),
        heads: heads.map(String::from).to_vec(),
        rows: found.coolant.iter().map(row).collect(),
        numeric: vec![1, 2, 3, 4],
    }
}

/// The deviation of computed from measured values, before and after the fit.
fn met_bars(found: &Found) -> Bars {
    let all = found.readings.iter().map(|r| &r.met);
    let rows = all.filter(|m| m.reading.value.abs() > 0.0).flat_map(|m| {
        let percent = |x: f64| (1e4 * (x / m.reading.value - 1.0)).round() / 100.0;
        let bar = |when: &str, (value, half): (f64, f64)| Bar {
            name: format!("{}, {when}", m.reading.probe.key),
            value: percent(value),
            range: Some((percent(value - half), percent(value + half))),
            note: String::new(),
        };
        [bar("before", m.before), bar("now", m.after)]
    });
    Bars {
        title: "Computed versus measured, with ±".into(),
        label: "computed minus measured, %".into(),
        rows: rows.collect(),
    }
}

/// The narrowed inputs, most narrowed first.
fn narrowed_table(units: Units, found: &Found) -> Table {
    let fraction = |i: &FittedInput| i.narrowed.left();
    let mut narrowed: Vec<&FittedInput> = found.inputs.iter().filter(|i| i.touched).collect();
    narrowed.sort_by(|a, b| fraction(a).total_cmp(&fraction(b)));
    let row = |i: &&FittedInput| {
        let field = i.narrowed.input.field();
        let band = |(value, spread)| {
            let factor = i.narrowed.factor;
            let measure = Measure {
                factor,
                ..Measure::within(value, spread)
            };
            units.show_measure(field.kind, measure)
        };
        vec![
            format!("{} ({})", i.input, field.help),
            band(i.narrowed.before),
            band(i.narrowed.after),
            units.show(Kind::Share, ((1.0 - fraction(i)) * 100.0).round() / 100.0),
        ]
    };
    Table {
        title: "Narrowed inputs".into(),
        heads: ["input", "before", "now", "± reduced by"]
            .map(String::from)
            .to_vec(),
        rows: narrowed.iter().map(row).collect(),
        numeric: vec![1, 2, 3],
    }
}
