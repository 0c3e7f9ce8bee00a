//! The whole page, and the part of it that answers.

use super::Question;
use super::asks::{AUTOMATIC, form, machine, moment_of, slides};
use super::behind;
use super::fields::{id, said, without_flags};
use super::form::{NO_LOG, Typed};
use crate::balance::{OUTPUTS, OutputDeclaration};
use crate::fault;
use crate::model::{MACHINES, Machine, OILS, Posed, Shelf};
use crate::quantity::{Kind, Units};
use crate::report;
use crate::study::auxfan::{Spot, spots};
use crate::study::{Answer, Block, FIGURES};
use crate::trouble::{Cause, Trouble, Troubles};
use maud::{DOCTYPE, Markup, PreEscaped, html};
use std::sync::LazyLock;

/// The look of reports, and what the page adds to it.
pub(super) const STYLE: &str = concat!(
    include_str!("../report/style.css"),
    include_str!("page.css")
);
/// The script, without which the page works too.
pub(super) const SCRIPT: &str = include_str!("page.js");
/// The picture in the browser's tab.
pub(super) const ICON: &str = include_str!("icon.svg");

/// Keys and names, for a choice.
pub(super) type Names = Vec<(String, String)>;

/// The machines of the library.
pub(super) static MACHINE_NAMES: LazyLock<Names> = LazyLock::new(|| {
    let name = |(key, text): &(&str, &str)| {
        let machine = Machine::from_text(key, text).ok()?;
        Some(((*key).to_string(), machine.name))
    };
    MACHINES.iter().filter_map(name).collect()
});

/// The oils of the library.
pub(super) static OIL_NAMES: LazyLock<Names> = LazyLock::new(|| {
    let name = |(key, _): &(&str, &str)| {
        let oil = Shelf::LibraryOnly.oil(key).ok()?;
        Some(((*key).to_string(), oil.name))
    };
    OILS.iter().filter_map(name).collect()
});

/// What comes out of a question.
type Asked = Result<Answer, Troubles>;

/// The frame of every page.
fn frame(title: &str, now: &str, body: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) " – oilwheel" }
                link rel="icon" href="/icon.svg";
                link rel="stylesheet" href="/page.css";
                script src="/page.js" defer {}
            }
            body {
                header.top {
                    a.brand href="/" { "oilwheel" }
                    p #now role="status" { (now) }
                }
                (body)
            }
        }
    };
    page.into_string()
}

/// A page that says what went wrong with the request itself.
pub(super) fn sorry(words: &str) -> String {
    let body = html! { main.sorry { h1 { "That did not work" } p { (words) } p { a href="/" { "To the beginning" } } } };
    frame("That did not work", "", &body)
}

/// The whole page.
pub(super) fn whole(question: Question, typed: &Typed, asked: &Asked) -> String {
    let none = Vec::new();
    let troubles = asked.as_ref().err().unwrap_or(&none);
    let method = if typed.is_long() || question == Question::Log {
        "post"
    } else {
        "get"
    };
    let now = match asked {
        Ok(answer) => number(answer, typed).map_or(String::new(), |n| n.figure),
        Err(_) if waits_for_log(asked) => String::new(),
        Err(_) => "no answer yet".into(),
    };
    let (first, more) = inner(question, typed, asked);
    let body = html! {
        form #ask action={ "/" (question.path()) } method=(method) {
            // The first button is the one that the enter key presses.
            button hidden { "Compute" }
            nav aria-label="Questions" {
                @for q in Question::ALL {
                    button formaction={ "/" (q.path()) } aria-current=[(q == question).then_some("page")] { (q.words()) }
                }
            }
            main {
                h1.unseen { (question.words()) }
                section #answer aria-label="Answer" { (first) }
                @if let Some(machine) = machine(typed) {
                    div.ask { (form(question, typed, troubles, &machine)) }
                }
                section #more aria-label="More of the answer" { (more) }
            }
        }
        div.below {
            section.laws aria-labelledby="laws" {
                h2 #laws { "The laws behind the numbers" }
                p.help { "Each with its equation, where it holds, where it comes from, and how it was checked." }
                (behind::laws())
            }
        }
        footer { "oilwheel " (env!("CARGO_PKG_VERSION")) ". This page is served by your own computer, and sends nothing anywhere." }
    };
    frame(question.words(), &now, &body)
}

/// The part of the page that answers, and where the slides belong for what was typed.
pub(super) fn part(question: Question, typed: &Typed, asked: &Asked) -> String {
    let now = asked.as_ref().ok().and_then(|_| understood(typed));
    let (first, more) = inner(question, typed, asked);
    let page = html! {
        div data-part="answer" { (first) }
        div data-part="more" { (more) }
        @if let Some(posed) = now {
            @for (slide, _, at) in slides(&posed.machine, moment_of(&posed), typed.units()) {
                span hidden data-slide=(id(slide)) data-at=(at.at) {}
            }
        }
    };
    page.into_string()
}

/// Machine and condition, if what was typed is sound.
pub(super) fn understood(typed: &Typed) -> Option<Posed> {
    let mut ask = typed.ask();
    if ask.command.as_deref() == Some(AUTOMATIC) {
        ask.command = None;
    }
    ask.pose(Shelf::LibraryOnly).ok()
}

/// The places for electric fans on the machine that was asked for.
pub(super) fn places(typed: &Typed) -> Vec<Spot> {
    let posed = understood(typed);
    posed.map_or_else(Vec::new, |p| spots(&p.case, None).unwrap_or_default())
}

/// What answers, and what there is more of it.
fn inner(question: Question, typed: &Typed, asked: &Asked) -> (Markup, Markup) {
    match asked {
        Ok(answer) => reply(question, answer, typed),
        Err(_) if waits_for_log(asked) => {
            let words = "How hot did it get, for how long, doing what, and how far from boiling? Drop a log, choose its file, or paste it.";
            (html! { p.headline { (words) } }, html! {})
        }
        Err(troubles) => (wrong(typed, troubles), html! {}),
    }
}

/// Whether nothing is wrong but that no log is there yet.
pub(super) fn waits_for_log(asked: &Asked) -> bool {
    asked
        .as_ref()
        .is_err_and(|all| all.iter().all(|t| t.found == NO_LOG))
}

/// What is wrong, each with the field that it is about.
fn wrong(typed: &Typed, troubles: &[Trouble]) -> Markup {
    let none = troubles.iter().all(|t| t.cause == Cause::NoAnswer);
    html! {
        div.troubles role="alert" {
            h2 { @if none { "There is no answer to this" } @else { "Please look at this again" } }
            ul {
                @for trouble in troubles {
                    @match typed.field_of(trouble) {
                        Some(name) => li data-for=(id(&name)) data-said=(said(trouble)) {
                            a href={ "#" (id(&name)) } { (name.replace("set.", "").replace(['_', '.'], " ")) } ": " (said(trouble))
                        },
                        None => li { (said(trouble)) },
                    }
                }
            }
        }
    }
}

/// The one number of an answer.
struct Number {
    figure: String,
    label: String,
    key: &'static str,
}

/// The one number of an answer, if it has one.
fn number(answer: &Answer, typed: &Typed) -> Option<Number> {
    let units = typed.units();
    let speed = |key: &str| {
        answer
            .numbers
            .get(key)?
            .as_f64()
            .map(|v| Kind::Speed.from_json(v))
    };
    if let Some(difference) = speed("difference_rpm") {
        let sign = if difference > 0.0 { "+" } else { "" };
        return Some(Number {
            figure: format!("{sign}{}", units.show(Kind::Speed, difference)),
            label: format!("fan speed: this one less {}", held_against(typed)),
            key: "fan_speed",
        });
    }
    if answer.numbers.get("readings").and_then(|n| n.as_u64()) == Some(0) {
        return Some(Number {
            figure: "No reading yet".into(),
            label: "so this is no finding: below stands what is common on any such machine, and which test to begin with".into(),
            key: "probability",
        });
    }
    if let Some(first) = answer.numbers.get("suspects").and_then(|s| s.get(0)) {
        let name = first.get("fault")?.as_str()?;
        let name = fault::find(name).map_or("nothing wrong that matters", |f| f.name);
        return Some(Number {
            figure: units.show(Kind::Share, first.get("probability")?.as_f64()?),
            label: format!("that it is: {name}"),
            key: "probability",
        });
    }
    if answer.question == Question::Auxfan.path() {
        return gained(answer, units);
    }
    if let Some(rounds) = answer.numbers.get("rounds_needed") {
        let litres = answer.numbers.get("litres_needed")?.as_f64()?;
        let volume = units.show(Kind::Volume, Kind::Volume.from_json(litres));
        return Some(Number {
            figure: format!("{rounds} × change"),
            label: format!("{volume} of fresh oil in all"),
            key: "rounds",
        });
    }
    let temp = |key: &str| {
        let value = answer.numbers.get(key)?.as_f64()?;
        Some(units.show(Kind::Temperature, Kind::Temperature.from_json(value)))
    };
    let celsius = |key: &str| answer.numbers.get(key)?.as_f64();
    if let (Some(coolant), Some(boils)) = (celsius("coolant_temp_c"), celsius("boiling_high_c"))
        && coolant > boils
    {
        return Some(Number {
            figure: "boils".into(),
            label: "the coolant, before it settles".into(),
            key: "coolant_temp",
        });
    }
    for (key, label) in [
        ("coolant_temp_c", "the coolant, once it has settled"),
        (
            "peak_coolant_temp_c",
            "the coolant at its hottest on this trip",
        ),
        ("peak_coolant_c", "the coolant at its hottest in this log"),
    ] {
        if let Some(figure) = temp(key) {
            let (label, key) = (label.into(), "coolant_temp");
            return Some(Number { figure, label, key });
        }
    }
    let fan = speed("fan_speed_rpm")?;
    let high = speed("fan_speed_high_rpm").unwrap_or(fan);
    let half = high - fan;
    let (figure, label) = if half > fan {
        (
            units.show(Kind::Speed, fan),
            format!(
                "fan speed; in about 95 of 100 cases between 0 and {}",
                units.show(Kind::Speed, high)
            ),
        )
    } else {
        (
            units.show_spread(Kind::Speed, fan, half),
            "fan speed; ± holds in about 95 of 100 cases".into(),
        )
    };
    Some(Number {
        figure,
        label,
        key: "fan_speed",
    })
}

/// What electric fans gain, beside what mending and oil gain.
fn gained(answer: &Answer, units: Units) -> Option<Number> {
    let sides = answer.numbers.get("side_by_side")?.as_array()?;
    let side = |key: &str| {
        sides
            .iter()
            .find(|s| s.get("key").is_some_and(|k| k == key))
    };
    // Where no day is cold enough as it is, gains are counted from the coldest that counts.
    let known = |key: &str| side(key).and_then(|s| s.get("limiting_ambient_c")?.as_f64());
    let more = if known("as_it_is").is_none() {
        " or more"
    } else {
        ""
    };
    let gain = |key: &str| {
        let kelvin = side(key)?.get("gained_k")?.as_f64()?;
        let sign = if kelvin >= 0.05 { "+" } else { "" };
        let kelvin = units.show(Kind::TemperatureDifference, kelvin);
        Some(format!("{sign}{kelvin}{more}"))
    };
    let others: Vec<String> = [("mended", "mending"), ("right_oil", "the right oil")]
        .into_iter()
        .filter_map(|(key, words)| Some(format!("{words} {}", gain(key)?)))
        .collect();
    let beside = match others.as_slice() {
        [] => String::new(),
        some => format!("; beside that: {}", some.join(", ")),
    };
    let met = answer.numbers.get("already_met")?.as_bool()?;
    let (figure, label) = match gain("fans") {
        Some(gain) => (gain, "on the hottest day that it stands, by these fans"),
        None if met => ("No fan needed".into(), "for the day that is asked for"),
        None => ("No fan helps".into(), "of these, in these places"),
    };
    Some(Number {
        figure,
        label: format!("{label}{beside}"),
        key: "hottest_day",
    })
}

/// What a case is held against, in words.
fn held_against(typed: &Typed) -> String {
    let against = typed.against();
    let fault = |f: &String| {
        let (key, severity) = f.split_once('=').unwrap_or((f, ""));
        format!("{} at {severity}", fault::find(key).map_or(key, |f| f.name))
    };
    let parts: Vec<String> = [
        against.machine.map(|m| name_of(&MACHINE_NAMES, &m)),
        against
            .oil
            .map(|o| format!("on {}", name_of(&OIL_NAMES, &o))),
        against.oil_temp.map(|t| format!("with oil at {t}")),
    ]
    .into_iter()
    .flatten()
    .chain(against.with.iter().map(fault))
    .collect();
    format!("that {}", parts.join(", "))
}

/// An answer: one number, one sentence, one test to do next, one picture; and what there is more of it.
fn reply(question: Question, answer: &Answer, typed: &Typed) -> (Markup, Markup) {
    let units = typed.units();
    let mut answer = answer.clone();
    // The page has these figures with what stands behind them.
    answer
        .blocks
        .retain(|b| !matches!(b, Block::Table(t) if t.title == FIGURES));
    let pieces = report::pieces(&answer);
    let figures = figures(&answer, units);
    let first = html! {
        div.first {
            @if let Some(n) = number(&answer, typed) {
                details.figure data-key="number" {
                    summary { strong data-now { (n.figure) } " " span.help { (n.label) } }
                    (behind::of(n.key))
                }
            }
            p.headline { (pieces.headline) }
            @if !pieces.next.is_empty() { p.next { strong { "Check next: " } (pieces.next) } }
            div.card { (PreEscaped(&pieces.picture)) }
        }
    };
    let more = html! {
        div.rest { (PreEscaped(without_flags(&pieces.rest))) }
        @if !figures.is_empty() {
            section.figures {
                h2 { "Every figure, and what stands behind it" }
                @for (output, value) in &figures {
                    details data-key=(output.key) {
                        summary { span { (output.help) } " " strong { (value) } }
                        (behind::of(output.key))
                    }
                }
            }
        }
        details.assumed data-key="assumed" { summary { "What was assumed" } (PreEscaped(&pieces.assumed)) }
        (PreEscaped(without_flags(&pieces.remarks)))
        div.keep {
            h2 { "Keep it" }
            @for (ending, words) in [("html", "Report"), ("json", "Figures (JSON)"), ("csv", "Curves (CSV)")] {
                button formaction={ "/download/" (question.path()) "." (ending) } data-of=(question.path()) { (words) }
            }
            @if question != Question::Log {
                button formaction="/download/machine.toml" { "Machine file" }
                button formaction="/download/sheet.html" { "Test sheet" }
            }
            @if question == Question::Suspects && typed.readings().is_some() {
                button formaction="/download/readings.csv" { "Readings" }
            }
        }
    };
    (first, more)
}

/// The outputs that an answer holds, with their values in words.
fn figures(answer: &Answer, units: Units) -> Vec<(&'static OutputDeclaration, String)> {
    let value = |output: &'static OutputDeclaration| {
        let suffix = output.kind.json_suffix();
        let key = if suffix.is_empty() {
            output.key.to_string()
        } else {
            format!("{}_{suffix}", output.key)
        };
        let si = output.kind.from_json(answer.numbers.get(&key)?.as_f64()?);
        Some((output, units.show(output.kind, si)))
    };
    OUTPUTS.iter().filter_map(value).collect()
}

/// The name behind a key; the key itself where it is none of them.
pub(super) fn name_of(names: &[(String, String)], key: &str) -> String {
    let found = names.iter().find(|(k, _)| k == key);
    found.map_or_else(|| key.to_string(), |(_, name)| name.clone())
}
