//! The cards in which the page asks for a reading: the first one, and the next step.

use super::book::{self, FIRST, NEXT, SKIP, moment, such_as};
use super::device::{by_choice, usual_by};
use super::fields::named;
use super::form::machine;
use super::typed::Typed;
use crate::model::{INPUTS, Machine};
use crate::probe::{ALL, BY_PHONE, FACTS, Probe, Reading, What};
use crate::quantity::{Kind, Units};
use crate::question::{self, Question};
use crate::tell::Next;
use crate::trouble::Trouble;
use maud::{Markup, html};

/// A fan speed above this multiple of the most that the drive can make is asked about: an engineering assumption.
const TOO_FAST: f64 = 2.0;

/// Instruments that one may not have: the key, the button that says so, and the name in a list.
const LACKING: [(&str, &str, &str); 5] = [
    ("photo-tachometer", "I have no tachometer", "a tachometer"),
    (BY_PHONE, "I cannot film it either", "a video of the fan"),
    (
        "gauge-class-1.6",
        "I have no pressure gauge",
        "a pressure gauge",
    ),
    ("turbine-flow-meter", "I have no flow meter", "a flow meter"),
    ("diagnostic-port", "I have no scan tool", "a scan tool"),
];

/// The name of a test, fact or instrument that is left out.
pub(super) fn left_out(key: &str) -> String {
    if let Some((.., name)) = LACKING.iter().find(|l| l.0 == key) {
        return format!("tests with {name}");
    }
    let probe = ALL.iter().chain(FACTS).find(|p| p.key == key);
    probe.map_or_else(|| key.into(), |p| book::short(p.name))
}

/// Says how a fan speed is read without a tachometer.
pub(super) fn by_phone(open: bool) -> Markup {
    html! {
        details.phone open[open] data-key=[(!open).then_some("phone")] {
            summary { "No tachometer? A phone will do" }
            p.help {
                "Engine off: mark one blade. Then film the fan in slow motion from a safe place. Count the turns of that blade and the frames they take, and type both like this: "
                code { "12 turns in 275 frames at 240 fps" } ". Or let an app show the frequencies in the sound of the fan, and type the lowest strong one with the number of blades: "
                code { "118 Hz, 7 blades" } ". The ± is added for you."
            }
        }
    }
}

/// Says what the page is for, with a box for a first reading.
pub(super) fn start() -> Markup {
    html! {
        section.start aria-label="Your reading" {
            p { "Is your hydraulically driven radiator fan slow, and why? Type a reading:" }
            input type="hidden" name="next.test" value=(FIRST);
            label for="next-value" { "Fan speed at idle, oil warm" }
            p.go {
                input #next-value type="text" name="next.value" placeholder="such as 640 rpm" autocomplete="off" maxlength="400" aria-describedby="next-value-wrong";
                (by_choice("next", Kind::Speed, BY_PHONE))
                select name="next.command" aria-label="Was full fan commanded?" {
                    @for (key, words) in book::COMMANDED { option value=(key) { "full fan: " (words) } }
                }
                button name="write" value=(NEXT) formmethod="post" { "Is it slow?" }
            }
            p.wrong #next-value-wrong {}
            (by_phone(false))
        }
    }
}

/// The question whether full fan was commanded.
fn commanded() -> Markup {
    html! {
        label for="next-command" { "full fan commanded?" }
        select #next-command name="next.command" {
            @for (key, words) in book::COMMANDED { option value=(key) { (words) } }
        }
    }
}

/// Shows the next step, with its hazards.
pub(super) fn next(question: &Question, next: &Next, typed: &Typed) -> Markup {
    // What to measure after these readings is found where they are weighed.
    if question.key == question::speed::QUESTION.key && !book::read(typed).is_empty() {
        return html! {
            section.next aria-label="What next" {
                p { "“What is wrong?” weighs the readings in your notebook together, and names the next test that tells most." }
                p.go { button formaction={ "/" (question::suspects::QUESTION.key) } { "Show the next test" } }
            }
        };
    }
    let probe = ALL.iter().chain(FACTS).find(|p| p.key == next.key);
    html! {
        section.next aria-label="What next" {
            p { strong { "Check next: " } (named(question, &next.words)) }
            @if !next.cautions.is_empty() { ul.mind { @for line in &next.cautions { li { (line) } } } }
            @if let Some((probe, machine)) = probe.zip(machine(typed)) { (asked(probe, &machine, typed)) }
            @if let Some(other) = super::find(next.question) {
                p.go { button formaction={ "/" (other.key) } { (other.title) } }
            }
        }
    }
}

/// The boxes for the reading of a test, or for a fact.
fn asked(probe: &Probe, machine: &Machine, typed: &Typed) -> Markup {
    let skip = book::book(typed).skip;
    let (engine, oil) = moment(probe, machine, typed.units());
    let at = match (engine.as_str(), oil.as_str()) {
        ("", "") => String::new(),
        (engine, "") => format!(" (engine {engine})"),
        (engine, oil) => format!(" (engine {engine}, oil {oil})"),
    };
    let condition = |name: &str, label: &str, usual: &str| {
        html! {
            @if !usual.is_empty() {
                label for={ "next-" (name) } { (label) }
                input.short id={ "next-" (name) } type="text" name={ "next." (name) } placeholder=(usual) autocomplete="off" maxlength="100";
            }
        }
    };
    let fan = probe.reads_fan();
    let lacking = LACKING.iter().find(|(key, ..)| {
        let own = *key == probe.instrument || (fan && *key == BY_PHONE);
        own && !skip.contains(key)
    });
    html! {
        input type="hidden" name="next.test" value=(probe.key);
        p { label for="next-value" { "Your value: " (probe.name) (at) } }
        p.go {
            input #next-value type="text" name="next.value" placeholder=(such_as(probe)) autocomplete="off" maxlength="400" aria-describedby="next-value-wrong";
            @if !matches!(probe.what, What::Fact(_)) {
                (by_choice("next", probe.what.kind(), usual_by(&book::read(typed), &skip, probe)))
            }
            (condition("engine", "engine speed, if different", &engine))
            (condition("oil", "oil temperature, if different", &oil))
            @if probe.shows_full_fan() { (commanded()) }
        }
        p.wrong #next-value-wrong {}
        @if fan { (by_phone(skip.contains(&probe.instrument))) }
        p.go {
            button name="write" value=(NEXT) formmethod="post" { "Done: add to notebook" }
            button name=(SKIP) value=(probe.key) formmethod="post" { "I cannot do this" }
            @if let Some((key, words, _)) = lacking { button name=(SKIP) value=(key) formmethod="post" { (words) } }
        }
    }
}

/// Asks about a fan speed that the drive cannot make: without leakage the motor turns as the flow of the pump makes it.
pub(super) fn too_fast(reading: &Reading, machine: &Machine, units: Units) -> Option<Trouble> {
    let value = |input| machine.value(input).map(|m| m.value);
    let flow = reading.setting.engine_speed(machine)
        * value(INPUTS.pump.ratio)?
        * value(INPUTS.pump.displacement)?;
    let most = flow / value(INPUTS.motor.displacement)?;
    let most = value(INPUTS.fan.rated_speed).map_or(most, |rated| most.min(rated));
    (reading.probe.reads_fan() && reading.value > TOO_FAST * most).then(|| {
        let show = |v| units.show(Kind::Speed, v);
        let found = format!(
            "{} is more than twice the highest fan speed of this drive ({})",
            show(reading.value),
            show(most)
        );
        let expected = "the turns of the fan; perhaps every blade was counted, or a digit is wrong";
        Trouble::input(found, expected).hint(format!(
            "if the value is right, type it with its ±: {} ± 10",
            show(reading.value)
        ))
    })
}

/// Says which machine a reading is compared with, and where to choose another.
pub(super) fn compared(typed: &Typed) -> Markup {
    let known = !book::book(typed).known.is_empty();
    html! {
        @if let Some(machine) = machine(typed).filter(|_| typed.get("machine_text").is_none()) {
            p.help {
                @if known { "Compared with your machine, as known from its class and the facts in your notebook: " }
                @else { "Compared with a class of machines, not yet with your own: " }
                (machine.name) ". "
                a href="#machine" { "Choose your machine" }
            }
        }
    }
}

/// Says what was read before the last work, or that nothing was read since.
pub(super) fn before_work(typed: &Typed) -> Markup {
    let (works, all) = (book::book(typed).works, book::read(typed));
    let last = works.last().zip(book::last_speed(typed));
    let units = typed.units();
    let show = |r: &Reading| units.show_spread(Kind::Speed, r.value, r.half);
    html! {
        @if let Some((work, now)) = last {
            @if now.works < works.len() {
                p.help { "This reading was taken before “" (work.what) "” (" (work.date) "). Take it again." }
            } @else if let Some(old) = all.iter().rev().find(|r| r.works < works.len() && r.probe.key == now.probe.key && !r.unsure) {
                p.help { "Before “" (work.what) "” (" (work.date) "), the reading was " (show(old)) ". “What is wrong?” compares the two readings, corrected for engine speed, oil and air." }
            }
        }
    }
}
