//! Form fields that have several boxes: readings, parts, positions of electric fans, a log, a range.

use super::door::NOWHERE;
use super::fields::{Fields, in_words};
use super::form::{Form, or};
use super::typed::Typed;
use super::view::{Names, places as spots, understood};
use crate::input::Input;
use crate::input::unit::celsius;
use crate::model::{AuxiliaryFan, CHOICES, Case, Machine, PARTS};
use crate::quantity::Kind;
use crate::question::Field;
use crate::question::auxfan::{Spot, fans_of, fits};
use maud::{Markup, html};

/// Whether any box whose name begins with `begin` has input or an error.
pub(super) fn some(fields: &Fields<'_>, begin: &str) -> bool {
    fields
        .typed
        .pairs()
        .any(|(name, _)| name.starts_with(begin))
        || fields
            .problems
            .iter()
            .any(|t| t.spot.field.starts_with(begin))
}

/// Converts keys and names to the options of a drop-down list.
fn names(all: &[(&str, &str)]) -> Names {
    all.iter()
        .map(|(k, w)| ((*k).to_string(), (*w).to_string()))
        .collect()
}

/// The positions for electric fans, with a choice of mounting and fan type at each.
pub(super) fn places(form: &Form<'_>) -> Markup {
    let case = understood(form.question, form.fields.typed).map(|setup| setup.case);
    let Some(case) = case else {
        return html! {};
    };
    let fans = fans_of(form.fields.typed.get("fans_text"));
    html! {
        p.help { "If you choose no fan, every set of fans that fits is tried. The smallest set that is enough is used." }
        @for spot in spots(form.question, form.fields.typed) { (place(form, &case, &spot, &fans)) }
        p.wrong #at-wrong { (form.fields.said_of("at")) }
    }
}

/// One position for electric fans.
fn place(form: &Form<'_>, case: &Case, spot: &Spot, fans: &[AuxiliaryFan]) -> Markup {
    let share = form.units.show(Kind::Share, spot.share);
    let mounts = names(&[
        ("pusher", "pusher, no shroud"),
        ("puller", "puller, no shroud"),
        ("pusher+shroud", "pusher, with shroud"),
        ("puller+shroud", "puller, with shroud"),
        (NOWHERE, "not here"),
    ]);
    let mut some = names(&[("", "as needed")]);
    for fan in fans {
        let counts = 1..=fits(case, spot, fan);
        let name = in_words(&fan.name);
        some.extend(counts.map(|n| (format!("{}*{n}", fan.name), format!("{n} × {name}"))));
    }
    html! {
        fieldset {
            legend { (in_words(&spot.key)) " (" (spot.ahead) "): " (share) " of the core face" }
            (form.fields.choice(&format!("at.{}", spot.key), "Mounting", &mounts))
            (form.fields.choice(&format!("try.{}", spot.key), "Fans", &some))
        }
    }
}

/// The box for a log: the user chooses or drops a file, or pastes its text.
pub(super) fn log(form: &Form<'_>, field: &Field) -> Markup {
    let text = format!("{}_text", field.key);
    let file = html! {
        p.scripted hidden {
            label for={ (field.key) "-file" } { @if field.key == "log" { "Drag the file here, or choose it: " } @else { "Choose the file: " } }
            input type="file" id={ (field.key) "-file" } data-log accept=".csv,.txt,.log,.gz,text/csv,text/plain";
        }
    };
    let paste = form.fields.text(
        &text,
        "Or paste its contents",
        "A pasted text may have up to 250 kB, a file up to 64 MB. Both stay on this computer.",
    );
    html! {
        @if field.key == "log" { div #drop { p.help { (field.help) } (file) (paste) } }
        @else { p.help { (field.help) } (file) (paste) }
    }
}

/// An example of a reading of this kind, with its ±.
pub(super) fn example(kind: Kind) -> String {
    match kind {
        Kind::Speed => "640 ± 10 rpm".into(),
        Kind::Flow => "9 L/min ± 5 %".into(),
        Kind::KinematicViscosity => "35 cSt ± 5 %".into(),
        Kind::Share => "4 ± 1 %".into(),
        Kind::Temperature => "80 ± 2 °C".into(),
        Kind::TemperatureDifference => "8 ± 2 °C".into(),
        _ => "62 bar ± 3 %".into(),
    }
}

/// The inputs of the parts that a machine has.
fn own_inputs(machine: &Machine) -> impl Iterator<Item = Input> {
    Input::all().filter(|i| machine.value(*i).is_some())
}

/// A key as text: `fan_control.least` as `fan control: least`.
fn spelled(key: &str) -> String {
    key.replace('.', ": ").replace('_', " ")
}

/// The values of a machine's parts, for editing.
pub(super) fn parts(form: &Form<'_>) -> Markup {
    let (fields, machine, units) = (&form.fields, form.machine, form.units);
    let range = |input: Input| {
        let field = input.field();
        let show = |v| units.show(field.kind, v);
        format!("{} to {}", show(field.low), show(field.high))
    };
    let shape = &machine.shape;
    let chosen = [
        shape.recirculates,
        shape.valve_to_motor_outlet,
        shape.steering_first,
    ];
    let box_of = |input: Input, usual: &str| {
        let name = format!("set.{}", input.key());
        fields.words(&name, input.field().help, usual, &range(input))
    };
    html! {
        p.help { "Leave a box empty to use the machine's own value, shown in grey. In about 95 of 100 cases, the true value is within the ±." }
        @for part in PARTS.iter().filter(|p| machine.has(p.key)) {
            @let mut own = own_inputs(machine).filter(|i| i.part() == part.key).map(|i| format!("set.{}", i.key()));
            details open[own.any(|n| fields.holds(&n))] {
                summary { (spelled(part.key)) }
                @for input in own_inputs(machine).filter(|i| i.part() == part.key) {
                    @if let Some(m) = machine.value(input) {
                        (box_of(input, &units.show_spread(input.field().kind, m.value, m.spread)))
                    }
                }
            }
        }
        details {
            summary { "other oil properties" }
            @for input in Input::all().filter(|i| i.part() == "oil") { (box_of(input, "as in the oil's data sheet")) }
        }
        details {
            summary { "plumbing" }
            @for ((key, words, about), yes) in CHOICES.into_iter().zip(chosen) {
                @let own = format!("as in the machine file: {}", words[usize::from(yes)]);
                (fields.choice(&format!("set.choices.{key}"), about, &or(&own, &names(&words.map(|w| (w, w))))))
            }
        }
        p.help { "A part that is not listed here is not on this machine. Add it in a machine file of your own." }
    }
}

/// The choice of the quantity to sweep: inputs of the operating condition and of the machine's parts.
pub(super) fn over(form: &Form<'_>, field: &Field) -> Markup {
    let mut over = names(&[
        ("oil-temp", "oil temperature"),
        ("engine-speed", "engine speed"),
        ("command", "fan command"),
        ("viscosity", "viscosity of the oil"),
    ]);
    over.extend(own_inputs(form.machine).map(|i| (i.key(), spelled(&i.key()))));
    form.fields.choice(field.key, field.label, &over)
}

/// Default start and end of the range of a sweep.
pub(super) fn range(typed: &Typed, machine: &Machine) -> (String, String) {
    let units = typed.units();
    let ends = |kind: Kind, low: f64, high: f64| (units.show(kind, low), units.show(kind, high));
    let (idle, full) = (machine.usual.idle.value, machine.usual.full.value);
    match typed.get("over").unwrap_or("oil-temp") {
        "oil-temp" => ends(Kind::Temperature, celsius(-20.0), celsius(110.0)),
        "engine-speed" => ends(Kind::Speed, 0.5 * idle, full),
        "command" => ends(Kind::Share, 0.0, 1.0),
        "viscosity" => ends(Kind::KinematicViscosity, 2e-6, 5e-4),
        key => Input::find(key).map_or_else(Default::default, |input| {
            let field = input.field();
            let value = machine.value(input).map_or(field.usual, |m| m.value);
            let low = (0.5 * value).max(field.low);
            let high = if value > 0.0 { 2.0 * value } else { field.high };
            (
                field.kind.typed(low),
                field.kind.typed(high.min(field.high)),
            )
        }),
    }
}
