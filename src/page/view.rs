//! The whole page, and the part of it that shows the answer.

use super::behind;
use super::book;
use super::card;
use super::door::{as_read, basis_as_read, box_of};
use super::fields::{id, in_words, named, spelled_out, worded};
use super::form::{form, machine, moment_of, notebook, slides};
use super::lines;
use super::typed::Typed;
use crate::balance::{OUTPUTS, OutputDeclaration};
use crate::model::{Lookup, MACHINES, Machine, OILS, Setup};
use crate::quantity::Units;
use crate::question::auxfan::{Spot, spots};
use crate::question::basis::{MACHINE, MEASURED};
use crate::question::{self, Field, Question, Takes, Usual, key_of};
use crate::report;
use crate::tell::{Answer, Block, FIGURES};
use crate::trouble::{Cause, TOLD, Trouble, Troubles};
use maud::{DOCTYPE, Markup, PreEscaped, html};
use std::sync::LazyLock;

/// The style sheet of reports, with the page's additions.
pub(super) const STYLE: &str = concat!(
    include_str!("../report/style.css"),
    include_str!("page.css")
);
/// The script; the page also works without it.
pub(super) const SCRIPT: &str = include_str!("page.js");
/// The icon in the browser tab.
pub(super) const ICON: &str = include_str!("icon.svg");

/// Keys and names, for a drop-down list.
pub(super) type Names = Vec<(String, String)>;

/// Keys and names of the machines in the library.
pub(super) static MACHINE_NAMES: LazyLock<Names> = LazyLock::new(|| {
    let name = |(key, text): &(&str, &str)| {
        let machine = Machine::from_text(key, text).ok()?;
        Some(((*key).to_string(), machine.name))
    };
    MACHINES.iter().filter_map(name).collect()
});

/// Keys and names of the oils in the library.
pub(super) static OIL_NAMES: LazyLock<Names> = LazyLock::new(|| {
    let name = |(key, _): &(&str, &str)| {
        let oil = Lookup::LibraryOnly.oil(key).ok()?;
        Some(((*key).to_string(), oil.name))
    };
    OILS.iter().filter_map(name).collect()
});

/// The answer to a question, or the problems.
type Asked = Result<Answer, Troubles>;

/// The outer HTML of every page.
pub(super) fn frame(title: &str, now: &str, first: bool, body: &Markup) -> String {
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
                    @if first { a.begin href="/begin" { "First visit?" } }
                    p #now role="status" { (now) }
                }
                (body)
            }
        }
    };
    page.into_string()
}

/// A page that reports an error in the request itself.
pub(super) fn sorry(words: &str) -> String {
    let body = html! { main.sorry { h1 { "That did not work" } p { (words) } p { a href="/" { "To the start page" } } } };
    frame("That did not work", "", false, &body)
}

/// The whole page with form and answer.
pub(super) fn whole(question: &'static Question, typed: &Typed, asked: &Asked) -> String {
    let none = Vec::new();
    let troubles = asked.as_ref().err().unwrap_or(&none);
    let file = question.key == "log" || awaited(question).is_some();
    let method = if typed.is_long() || file {
        "post"
    } else {
        "get"
    };
    let now = match asked {
        Ok(answer) => heading(answer),
        Err(_) if waits(asked) => String::new(),
        Err(_) => "no answer yet".into(),
    };
    let (first, more) = inner(question, typed, asked);
    let body = html! {
        form #ask action={ "/" (question.key) } method=(method) {
            // The enter key presses the first button of a form.
            button hidden { "Compute" }
            nav aria-label="Questions" {
                @for q in super::questions() {
                    button formaction={ "/" (q.key) } aria-current=[(q.key == question.key).then_some("page")] { (q.title) }
                }
            }
            main {
                h1.unseen { (question.title) }
                section #answer aria-label="Answer" { (first) }
                @if let Some(machine) = machine(typed) {
                    div.ask { (form(question, typed, troubles, &machine)) }
                }
                section #more aria-label="More of the answer" { (more) }
            }
        }
        div.below {
            section.laws aria-labelledby="laws" { details data-key="laws" {
                summary { h2 #laws { "The laws behind the numbers" } }
                p.help { "Each with its equation, valid range, source, and checks." }
                (behind::laws())
            } }
        }
        footer { "oilwheel " (env!("CARGO_PKG_VERSION")) ". Everything is computed on your own device, and nothing is sent anywhere." }
    };
    let first = typed.get("machine").is_none() && !typed.is_long();
    frame(question.title, &now, first, &body)
}

/// The part of the page that shows the answer, with the slider positions for the user's input.
pub(super) fn part(question: &'static Question, typed: &Typed, asked: &Asked) -> String {
    let now = asked
        .as_ref()
        .ok()
        .and_then(|_| understood(question, typed));
    let wrote = asked.is_ok() && typed.get("write").is_some();
    let (first, more) = inner(question, typed, asked);
    let page = html! {
        div data-part="answer" data-head=(asked.as_ref().map_or(String::new(), heading))
            data-machine=[wrote.then(|| typed.machine())] data-oil=[wrote.then(|| typed.get("oil").unwrap_or_default())] { (first) }
        div data-part="more" { (more) }
        @if wrote && let Some(panel) = notebook(question, typed) {
            div data-part="book" { (panel) }
        }
        @if let Some(words) = as_read(question, typed, MEASURED.key) {
            span hidden data-slide=(MEASURED.key) data-usual=(words) {}
        }
        @if let Some(setup) = now {
            @for (slide, at) in slides(&setup.machine, moment_of(&setup), typed.units()) {
                span hidden data-slide=(id(slide)) data-at=(at.at) data-usual=[as_read(question, typed, slide)] {}
            }
        }
    };
    page.into_string()
}

/// The word for a fan command that the fan control sets.
pub(super) const AUTOMATIC: &str = "automatic";

/// Machine and condition, if the user's input is valid.
pub(super) fn understood(question: &Question, typed: &Typed) -> Option<Setup> {
    question::basis::read(&basis_as_read(question, typed)).ok()
}

/// The positions for electric fans on the chosen machine.
pub(super) fn places(question: &Question, typed: &Typed) -> Vec<Spot> {
    let setup = understood(question, typed);
    setup.map_or_else(Vec::new, |p| spots(&p.case, None).unwrap_or_default())
}

/// Whether an answer compares a measured fan speed, entered or from the notebook.
fn compares(answer: &Answer) -> bool {
    let shortfall = answer.numbers.get("shortfall_rpm");
    answer.request.contains_key(MEASURED.key) || shortfall.is_some_and(|s| !s.is_null())
}

/// The main figure for the page's title; empty for a probability, and for a computed value if a measured one was
/// entered.
fn heading(answer: &Answer) -> String {
    let measured = compares(answer);
    let figure = answer.figure.as_ref();
    let figure = figure.filter(|f| f.key != "probability" && !measured);
    figure.map_or(String::new(), |f| f.figure.clone())
}

/// The main part of the answer, and what follows below it.
fn inner(question: &'static Question, typed: &Typed, asked: &Asked) -> (Markup, Markup) {
    match asked {
        Ok(answer) => reply(question, answer, typed),
        Err(_) if waits(asked) => {
            let first = html! {
                p.headline { (question.about) }
                @match awaited(question) {
                    Some(field) => p.why { "Choose the file with " (field.label.to_lowercase()) ", or paste its contents. The answer appears at once." },
                    None => p.why { "Drag a log file onto this page, choose one, or paste its contents." },
                }
            };
            (first, html! {})
        }
        Err(troubles) => (wrong(question, typed, troubles), html! {}),
    }
}

/// Whether the only problem is that the question's file has not been given yet.
pub(super) fn waits(asked: &Asked) -> bool {
    asked
        .as_ref()
        .is_err_and(|all| all.iter().all(|t| t.found == NO_FILE))
}

/// The text of the problem "missing file", by which it is recognised.
pub(super) const NO_FILE: &str = "no file yet";

/// The file, other than a log, without which a question cannot be answered.
pub(super) fn awaited(question: &Question) -> Option<&'static Field> {
    let file = |f: &&Field| f.usual == Usual::Required && matches!(f.takes, Takes::Text(_));
    question.fields().find(file)
}

/// Lists the problems, each with a link to its field.
fn wrong(question: &Question, typed: &Typed, troubles: &[Trouble]) -> Markup {
    let none = troubles.iter().all(|t| t.cause == Cause::NoAnswer);
    html! {
        div.troubles role="alert" {
            h2 { @if none { "There is no answer for this input" } @else { "Please check your input" } }
            ul {
                @for trouble in troubles.iter().take(TOLD) {
                    @match box_of(question, typed, trouble) {
                        Some(name) => li data-for=(id(&name)) data-said=(worded(question, trouble)) {
                            a href={ "#" (id(&name)) } { (name.replace("set.", "").replace(['_', '.'], " ")) } ": " (worded(question, trouble))
                        },
                        None => li { (worded(question, trouble)) },
                    }
                }
                @if troubles.len() > TOLD { li { "and " (troubles.len() - TOLD) " more" } }
            }
        }
    }
}

/// Questions whose plan or table is shown to everyone. For the others, only verdict, reason and next step are shown at
/// first; the rest is for engineers.
const IN_SIGHT: &[&str] = &["auxfan", "flush", "log"];

/// Shows an answer: verdict, reason with one picture, and next step; then, separately, the further parts.
fn reply(question: &'static Question, answer: &Answer, typed: &Typed) -> (Markup, Markup) {
    let units = typed.units();
    let mut answer = answer.clone();
    // The page lists these figures separately, with their background.
    answer
        .blocks
        .retain(|b| !matches!(b, Block::Table(t) if t.title == FIGURES));
    let pieces = report::pieces(&answer);
    // The page says that this is an example if no machine was chosen yet.
    let example = typed.get("machine").is_none()
        && typed.get(book::TEXT).is_none()
        && question.key != "log"
        && question.asks(&MACHINE);
    let begins = question.asks(&MEASURED)
        && question.key == "speed"
        && [book::TEXT, MEASURED.key]
            .iter()
            .all(|key| typed.get(key).is_none());
    // Elsewhere in the answer a key is what can be typed as a free input.
    let headline = match question.key {
        "size" => spelled_out(&pieces.headline),
        _ => pieces.headline.clone(),
    };
    let first = html! {
        div.first {
            @if begins { (card::start()) }
            @if example {
                @let name = name_of(&MACHINE_NAMES, typed.machine()).to_lowercase();
                p.help { "Example: a healthy " (name.split(',').next().unwrap_or_default()) ". " a href="/begin" { "Begin with yours" } }
            }
            (lines::done(typed))
            p.headline { (named(question, &headline)) }
            @if judged(question, &answer, typed) { (card::compared(typed)) }
            @if question.key == "speed" && typed.get(MEASURED.key).is_none() { (card::before_work(typed)) }
            @if question.asks(&MEASURED) && book::unsure(typed) {
                p.help { "The fan speed in the notebook is not compared, because it is not certain that full fan was commanded. Command full fan and read the speed again." }
            }
            @if !pieces.why.is_empty() { p.why { (named(question, &pieces.why)) } }
            @if let Some(next) = &pieces.next { (card::next(question, next, typed)) }
            div.card { (PreEscaped(in_words(&pieces.picture))) }
        }
    };
    let rest = html! { div.rest { (PreEscaped(named(question, &pieces.rest))) } };
    let shown = IN_SIGHT.contains(&question.key);
    let more = html! {
        @if shown { (rest) }
        details.depth data-key="depth" {
            summary { strong { "For the engineer" } span.help { "Every number, the limits, the sources of the ±, the assumptions" } }
            @if !shown { (rest) }
            (every_figure(&answer, units))
            details.assumed data-key="assumed" { summary { "What was assumed" } (PreEscaped(in_words(&pieces.assumed))) }
        }
        (PreEscaped(named(question, &pieces.remarks)))
        div.keep {
            h2 { "Save" }
            @for (ending, words) in [("html", "Report"), ("json", "Numbers (JSON)"), ("csv", "Curves (CSV)")] {
                button formaction={ "/download/" (question.key) "." (ending) } data-of=(question.key) { (words) }
            }
            @if question.key != "log" && question.asks(&MACHINE) {
                button formaction="/download/machine.toml" { "Machine file" }
                button formaction="/download/sheet.html" { "Test sheet" }
                button formaction="/download/sheet.html" name="all" value="on" { "Test sheet with gauges" }
            }
        }
    };
    (first, more)
}

/// Whether an answer judges a reading, by comparison with a machine.
fn judged(question: &Question, answer: &Answer, typed: &Typed) -> bool {
    let weighs = question.key == question::suspects::QUESTION.key;
    (weighs && !book::read(typed).is_empty()) || (question.key == "speed" && compares(answer))
}

/// All figures of an answer, each with its background.
fn every_figure(answer: &Answer, units: Units) -> Markup {
    let figures = figures(answer, units);
    html! {
        @if let Some(n) = &answer.figure {
            details.figure data-key="number" {
                summary { strong data-now { (n.figure) } " " span.help { (n.label) } }
                (behind::of(n.key))
            }
        }
        @if !figures.is_empty() {
            section.figures {
                h2 { "Every number, and how it is computed" }
                @for (output, value) in &figures {
                    details data-key=(output.key) {
                        summary { span { (output.help) } " " strong { (value) } }
                        (behind::of(output.key))
                    }
                }
            }
        }
    }
}

/// The outputs that an answer contains, with their values as text.
fn figures(answer: &Answer, units: Units) -> Vec<(&'static OutputDeclaration, String)> {
    let value = |output: &'static OutputDeclaration| {
        let key = key_of(output.key, Some(output.kind));
        let si = output.kind.from_json(answer.numbers.get(&key)?.as_f64()?);
        Some((output, units.show(output.kind, si)))
    };
    OUTPUTS.iter().filter_map(value).collect()
}

/// The name for a key; an unknown key is returned unchanged.
pub(super) fn name_of(names: &[(String, String)], key: &str) -> String {
    let found = names.iter().find(|(k, _)| k == key);
    found.map_or_else(|| key.to_string(), |(_, name)| name.clone())
}
