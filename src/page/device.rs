//! The choice of the instrument with which a reading was taken.

use super::book::book;
use super::form::Form;
use crate::probe::{BY_PHONE, INSTRUMENTS, Instrument, Probe, Reading};
use crate::quantity::{Kind, Units};
use maud::{Markup, html};

/// Instruments whose names do not fit into a drop-down list on a phone.
const SHORT: [(&str, &str); 10] = [
    ("stroboscope", "stroboscope"),
    ("slow-motion", "slow-motion video"),
    ("tone", "tone of the blades"),
    ("turbine-flow-meter", "flow meter"),
    ("measuring-jug", "measuring jug"),
    ("thermocouple", "thermocouple"),
    ("infrared", "infrared thermometer"),
    ("diagnostic-port", "scan tool"),
    ("gauge-on-dash", "gauge on the dashboard"),
    ("two-thermometers", "two thermometers"),
];

/// The key of the instrument that is assumed for a test: the one last used for this kind of quantity, otherwise the
/// usual one.
pub(super) fn usual_by(readings: &[Reading], skip: &[&str], p: &Probe) -> &'static str {
    let of_kind = |key: &&str| {
        let found = INSTRUMENTS.iter().find(|i| i.key == *key);
        found.is_some_and(|i| i.kind == p.what.kind())
    };
    let used = readings.iter().rev().filter_map(|r| Some(r.by?.0));
    let usual = match p.reads_fan() && skip.contains(&p.instrument) {
        true => BY_PHONE,
        false => p.instrument,
    };
    used.filter(|key| !skip.contains(key))
        .find(of_kind)
        .unwrap_or(usual)
}

/// An instrument with its accuracy, short enough for a drop-down list on a phone: `slow-motion video (± 1 %)`.
fn instrument(i: &Instrument) -> String {
    let name = SHORT.iter().find(|s| s.0 == i.key).map_or(i.name, |s| s.1);
    let percent = |share: f64| format!("{:.0} %", 100.0 * share);
    let error = match () {
        () if i.kind == Kind::Pressure => return name.into(),
        () if i.of_full_scale > 0.0 => format!("{} of full scale", percent(i.of_full_scale)),
        () if i.of_reading >= 0.005 => percent(i.of_reading),
        () if i.kind == Kind::Share => percent(i.fixed),
        () if i.kind == Kind::Speed => Units::Si.show(Kind::Speed, i.fixed),
        () => format!("{} K", i.fixed),
    };
    format!("{name} (± {error})")
}

/// The instruments for a kind of quantity, each with its key.
fn instruments(kind: Kind) -> impl Iterator<Item = (&'static str, String)> {
    let all = INSTRUMENTS.iter().filter(move |i| i.kind == kind);
    all.map(|i| (i.key, instrument(i)))
}

/// The choice of the instrument for a reading.
pub(super) fn by_choice(boxes: &str, kind: Kind, usual: &str) -> Markup {
    html! {
        select id={ (boxes) "-by" } name={ (boxes) ".by" } aria-label="Measured with" {
            @for (key, words) in instruments(kind) { option value=(key) selected[key == usual] { (words) } }
        }
    }
}

/// The instrument that is assumed for a test, as text; `None` for a fact.
pub(super) fn assumed(form: &Form<'_>, p: &Probe, readings: &[Reading]) -> Option<String> {
    let key = usual_by(readings, &book(form.fields.typed).skip, p);
    let found = INSTRUMENTS.iter().find(|i| i.key == key);
    found.map(instrument)
}

/// The choice of the instrument in the form: at first the one that is assumed for the chosen test; the script hides
/// those for other quantities.
pub(super) fn with_what(form: &Form<'_>, assumed: Option<String>) -> Markup {
    let chosen = form.fields.typed.get("note.by");
    let mut kinds: Vec<Kind> = Vec::new();
    for i in INSTRUMENTS {
        if !kinds.contains(&i.kind) {
            kinds.push(i.kind);
        }
    }
    html! {
        div.field {
            label for="note-by" { "Measured with" }
            select #note-by name="note.by" aria-describedby="note-by-wrong" {
                option value="" { (assumed.unwrap_or_default()) }
                @for kind in kinds {
                    optgroup label=(kind.name()) data-kind=(kind.name()) {
                        @for (key, words) in instruments(kind) { option value=(key) selected[chosen == Some(key)] { (words) } }
                    }
                }
            }
            p.wrong #note-by-wrong { (form.fields.said_of("note.by")) }
        }
    }
}
