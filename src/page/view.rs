//! The whole page, and the part of it that answers.

use super::Question;
use super::behind;
use super::fields::{Fields, Slide, id, said, without_flags};
use super::form::{
    CAP, GLYCOL, MIXING, NO_LOG, NOWHERE, OTHER_OIL, SAME, SEVERITY, STAGNANT, Typed,
};
use crate::balance::{OUTPUTS, OutputDeclaration};
use crate::fault;
use crate::input::Input;
use crate::input::unit::celsius;
use crate::model::{
    AuxiliaryFan, CHOICES, Case, MACHINES, Machine, OILS, PARTS, Posed, Shelf, TRIPS,
};
use crate::probe::{ALL, INSTRUMENTS, Probe};
use crate::quantity::{Kind, Units};
use crate::report;
use crate::study::auxfan::{AMBIENT, ROAD_SPEED, Spot, WIRE, fits, spots};
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
type Names = Vec<(String, String)>;

/// The machines of the library.
static MACHINE_NAMES: LazyLock<Names> = LazyLock::new(|| {
    let name = |(key, text): &(&str, &str)| {
        let machine = Machine::from_text(key, text).ok()?;
        Some(((*key).to_string(), machine.name))
    };
    MACHINES.iter().filter_map(name).collect()
});

/// The oils of the library.
static OIL_NAMES: LazyLock<Names> = LazyLock::new(|| {
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
fn understood(typed: &Typed) -> Option<Posed> {
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

/// A choice with one more in front, whose value is empty.
fn or(first: &str, names: &[(String, String)]) -> Names {
    let mut all = vec![(String::new(), first.to_string())];
    all.extend_from_slice(names);
    all
}

/// The form.
fn form(question: Question, typed: &Typed, troubles: &[Trouble], machine: &Machine) -> Markup {
    let fields = Fields { typed, troubles };
    let units = typed.units();
    let own = typed.machine().is_empty();
    let machines = if own {
        or(&machine.name, &MACHINE_NAMES)
    } else {
        MACHINE_NAMES.clone()
    };
    let fill = name_of(&OIL_NAMES, &machine.fill);
    if question == Question::Log {
        let shown = html! { (own_part(question, &fields, machine, units)) (send(units)) };
        let shown = shown.into_string();
        return html! {
            (PreEscaped(&shown))
            @for (name, value) in typed.others(&shown) { input type="hidden" name=(name) value=(value); }
        };
    }
    html! {
        fieldset.story {
            legend { @if question == Question::Suspects || question == Question::Trip { "The machine" } @else { "The machine, at this moment" } }
            div.sentence {
                label for="machine" { "This is a" } " " (fields.pick("machine", &brief(&machines)))
                span.help { (rest_of(&machine.name)) } " "
                label for="oil" { "with" } " " (fields.pick("oil", &or(&format!("{} (its usual)", head_of(&fill)), &brief(&OIL_NAMES)))) " in it."
            }
            (moment(question, &fields, machine, units))
        }
        (own_part(question, &fields, machine, units))
        details open[typed.get("oil_line").is_some() || bad(typed, troubles, "oil_line")] {
            summary { "An oil by its data sheet" }
            (fields.words("oil_line", "Figures from the sheet", "40C=35 cSt, 100C=7.4 cSt, 15C=850 kg/m3",
                "Two viscosities or more, each with its temperature; used instead of the oil chosen above."))
        }
        details open[["air_temp", "altitude", "unplugged"].iter().any(|n| typed.get(n).is_some() || bad(typed, troubles, n))] {
            summary { "Air, altitude, valve unplugged" }
            (fields.words("air_temp", "Air at the fan, behind the core", &units.show(Kind::Temperature, machine.usual("air_temp").value), "Hot air is thin and easy to move."))
            (fields.words("altitude", "Altitude", &units.show(Kind::Altitude, 0.0), "For the pressure of the air."))
            (fields.tick("unplugged", "The control valve is unplugged and stands at its fail-safe"))
        }
        // Suspects weigh every fault themselves.
        @if question != Question::Suspects {
        details open[typed.get("fault").is_some()] {
            summary { "Put a fault on" }
            (faults(&fields, "fault", "Fault"))
        }
        }
        details open[has_set(typed)] {
            summary { "Parts of the machine" }
            p.help { "Leave a box empty where the machine's own value, shown pale, will do. ± is the half width that holds in about 95 of 100 cases." }
            (parts(&fields, machine, units))
        }
        details open[own] {
            summary { "A machine file of your own" }
            (fields.text_or_file("machine_text", "The file's text", "Paste it here; it is used while there is text in this box. “Machine file” below writes one to start from. It stays on this computer.", ".toml,text/plain"))
        }
        (send(units))
    }
}

/// A key in words: `fan_control.least` as `fan control: least`.
fn spelled(key: &str) -> String {
    key.replace('.', ": ").replace('_', " ")
}

/// What stands in a name before its first comma.
fn head_of(name: &str) -> &str {
    name.split(", ").next().unwrap_or(name)
}

/// What a name says behind its first comma.
fn rest_of(name: &str) -> &str {
    name.split_once(", ").map_or("", |(_, rest)| rest)
}

/// Keys and names, up to their first comma, so that a narrow choice shows them whole.
fn brief(names: &[(String, String)]) -> Names {
    let short = |(key, name): &(String, String)| (key.clone(), head_of(name).to_string());
    names.iter().map(short).collect()
}

/// The button that sends the form, and the units.
fn send(units: Units) -> Markup {
    html! {
        p.go {
            button.main { "Compute" }
            label for="units" { "Units" } " "
            select #units name="units" data-reload {
                option value="si" selected[units == Units::Si] { "metric" }
                option value="us" selected[units == Units::Us] { "US" }
            }
        }
    }
}

/// Whether something is wrong with a field.
fn bad(typed: &Typed, troubles: &[Trouble], name: &str) -> bool {
    troubles
        .iter()
        .any(|t| typed.field_of(t).as_deref() == Some(name))
}

fn has_set(typed: &Typed) -> bool {
    !typed.ask().set.is_empty()
}

/// The machine whose values stand pale in the form; the first of the library where the one asked for cannot be read.
fn machine(typed: &Typed) -> Option<Machine> {
    let named = match typed.ask().machine_text {
        Some(text) => Machine::from_text("", &text),
        None => Shelf::LibraryOnly.machine(typed.machine()),
    };
    let first = |_| Machine::from_text(MACHINES[0].0, MACHINES[0].1);
    named.or_else(first).ok()
}

/// The name behind a key; the key itself where it is none of them.
fn name_of(names: &[(String, String)], key: &str) -> String {
    let found = names.iter().find(|(k, _)| k == key);
    found.map_or_else(|| key.to_string(), |(_, name)| name.clone())
}

/// Engine speed, oil temperature and command of a case.
fn moment_of(posed: &Posed) -> [f64; 3] {
    let now = &posed.case.now;
    [now.engine_speed, now.oil_temp, now.command]
}

/// The word for a command that the fan's own control gives.
const AUTOMATIC: &str = "automatic";

/// The slides, with the words that their boxes take, where a condition puts them.
fn slides(
    machine: &Machine,
    [engine_speed, oil_temp, command]: [f64; 3],
    units: Units,
) -> [(&'static str, &'static str, Slide); 3] {
    let (idle, full) = (machine.usual("idle").value, machine.usual("full").value);
    let slide = |kind: Kind, low: f64, high: f64, step: f64, at: f64| {
        let round = |si: f64| (units.number(kind, si) / step).round() * step;
        Slide {
            low: round(low),
            high: round(high),
            step,
            at: round(at),
            unit: units.unit(kind),
        }
    };
    let temp = |at: f64| slide(Kind::Temperature, celsius(-30.0), celsius(120.0), 1.0, at);
    [
        (
            "engine_speed",
            "A speed such as 700 rpm, or a word: idle, raised, full.",
            slide(Kind::Speed, 0.5 * idle, full, 10.0, engine_speed),
        ),
        ("oil_temp", "With its unit: -10 C, 14 F.", temp(oil_temp)),
        (
            "command",
            "0 % to 100 %, or a word: least, full.",
            slide(Kind::Share, 0.0, 1.0, 1.0, command),
        ),
    ]
}

/// Engine speed, oil temperature and command, each with a slide.
fn moment(question: Question, fields: &Fields<'_>, machine: &Machine, units: Units) -> Markup {
    let usual = machine.idling();
    let now = understood(fields.typed).map_or(
        [usual.engine_speed.value, usual.oil_temp.value, 1.0],
        |posed| moment_of(&posed),
    );
    let automatic = matches!(question, Question::Heat | Question::Trip);
    // On a trip the profile says how fast the engine turns; where heat settles, the oil's temperature is an answer.
    let asked = |name: &str| match question {
        // Each reading has a condition of its own.
        Question::Suspects => false,
        Question::Trip => name != "engine_speed",
        Question::Heat => name != "oil_temp",
        Question::Auxfan => name == "engine_speed",
        _ => true,
    };
    html! {
        @for (name, help, slide) in slides(machine, now, units) {
            @if asked(name) {
                @match name {
                    "engine_speed" => (fields.slide(name, "Engine speed", &units.show(Kind::Speed, usual.engine_speed.value), help, &slide)),
                    "oil_temp" if question == Question::Trip => (fields.slide(name, "Oil temperature when it begins", "as it settles", help, &slide)),
                    "oil_temp" => (fields.slide(name, "Oil temperature", &units.show(Kind::Temperature, usual.oil_temp.value), help, &slide)),
                    _ if automatic => (fields.slide(name, "Fan asked for", AUTOMATIC, "0 % to 100 %; empty: as the fan's own control asks.", &slide)),
                    _ => (fields.slide(name, "Fan asked for", "100 %", help, &slide)),
                }
            }
        }
    }
}

/// What a question asks beside machine and moment.
fn own_part(question: Question, fields: &Fields<'_>, machine: &Machine, units: Units) -> Markup {
    let measured = fields.words(
        "measured",
        "A fan speed that you measured, with its error",
        "640 rpm ± 10 rpm",
        "Leave it empty if you have none.",
    );
    match question {
        Question::Speed => html! { fieldset { legend { "Your reading" } (measured) } },
        Question::Why => html! {
            fieldset {
                legend { "Hold it against" }
                (other_oil(fields, OTHER_OIL))
                (fields.words("against_oil_temp", "The same at another oil temperature", "the same temperature", "With its unit."))
                (fields.choice("against_machine", "Another machine", &or("the same machine", &brief(&MACHINE_NAMES))))
                (faults(fields, "against_fault", "The same with a fault, or with none of it at severity 0"))
                (measured)
            }
        },
        Question::Suspects => readings(fields, machine),
        Question::Heat => day(fields, units),
        Question::Auxfan => electric(fields, machine, units),
        Question::Trip => html! {
            fieldset {
                legend { "Which trip" }
                (fields.choice("trip", "Trip (invented)", &brief(&TRIP_NAMES)))
                @let chosen = TRIP_NAMES.iter().find(|(key, _)| fields.typed.get("trip").unwrap_or(&TRIP_NAMES[0].0) == key);
                @if let Some((_, about)) = chosen { p.help { (rest_of(about)) } }
                (fields.tick("cold", "All begins as cold as the day"))
            }
            details open[fields.holds("trip_text")] {
                summary { "A trip of your own" }
                (fields.text_or_file("trip_text", "Its table", "Two rows or more, below a head such as time_min,road_speed_km_h,ambient_c. It may say engine_speed_rpm, gear, grade_percent, air_conditioning, trailer_kg, command, coolant_c and oil_c too. Used instead of the trip above while there is text in this box.", ".csv,text/csv,text/plain"))
            }
            fieldset {
                legend { "Hold it against" }
                (other_oil(fields, SAME))
                (fields.words("against_oil_temp", "The same with the oil warmer or colder when it begins", "the same temperature", "With its unit."))
                (faults(fields, "against_fault", "The same with a fault"))
            }
        },
        Question::Log => logs(fields),
        Question::Flush => change(fields, machine, units),
        Question::Sweep => {
            let range = Range::of(fields.typed, machine, units);
            let mut over: Names = [
                ("oil-temp", "oil temperature"),
                ("engine-speed", "engine speed"),
                ("command", "what the control asks for"),
                ("viscosity", "the oil's viscosity"),
            ]
            .map(|(k, w)| (k.to_string(), w.to_string()))
            .to_vec();
            over.extend(own_inputs(machine).map(|i| (i.key(), spelled(&i.key()))));
            html! {
                fieldset {
                    legend { "Along which range" }
                    (fields.choice("over", "Over", &over))
                    @if let Some(input) = Input::find(&range.over) { p.help { (input.field().help) } }
                    (fields.words("from", "From", &range.usual.0, "With its unit."))
                    (fields.words("to", "To", &range.usual.1, "With its unit."))
                    fieldset.oils {
                        legend { "On these oils (none ticked: the one above)" }
                        (oils(fields))
                    }
                }
            }
        }
    }
}

/// The other oil of a comparison; `first` is chosen where nothing was.
fn other_oil(fields: &Fields<'_>, first: &str) -> Markup {
    let mut names: Names = vec![(SAME.into(), "the same oil".into())];
    names.extend(brief(&OIL_NAMES));
    html! {
        (fields.choice_from("against_oil", "The same on another oil", &names, first))
        (fields.words("against_oil_line", "Another oil by its data sheet", "40C=35 cSt, 100C=7.4 cSt", "Used instead of the one chosen above."))
    }
}

/// The trips of the library: key, and what their tables say of them first.
static TRIP_NAMES: LazyLock<Names> = LazyLock::new(|| {
    let name = |(key, table): &(&str, &str)| {
        let about = table.lines().next().unwrap_or_default();
        let about = about.trim_start_matches('#').trim();
        let about = about.trim_end_matches("Invented.").trim();
        ((*key).to_string(), about.replacen(": ", ", ", 1))
    };
    TRIPS.iter().map(name).collect()
});

/// Day and road, for the heat.
fn day(fields: &Fields<'_>, units: Units) -> Markup {
    let speed = |kmh: f64| units.show(Kind::RoadSpeed, kmh / 3.6);
    html! {
        fieldset {
            legend { "The day and the road" }
            (fields.words("ambient", "Outer air", &units.show(Kind::Temperature, celsius(25.0)), "In the shade, away from the car."))
            (fields.tick("air_conditioning", "Air conditioning is on"))
            (fields.words("road_speed", "Road speed", &speed(0.0), "Standing where nothing is typed."))
            (fields.words("grade", "Grade", "0 %", "Uphill, such as 6 %."))
            (fields.words("trailer", "Trailer", &units.show(Kind::Mass, 0.0), "Its mass."))
            (fields.words("gear", "Gear", "the highest that pulls", "A number from 1."))
        }
        details open[["fan_speed", "anchor", "fuel_flow", "air_flow"].iter().any(|n| fields.holds(n))] {
            summary { "What you measured" }
            (fields.words("fan_speed", "Fan speed", "as computed", "It then holds, and the oil keeps its temperature."))
            (fields.words("anchor", "Coolant, at a fan speed, on a day", "98 C at 700 rpm, 30 C ambient", "It sets what is known worst of the machine."))
            (fields.words("fuel_flow", "Fuel flow of a petrol engine", "1.2 L/h", "Else the load tells it."))
            (fields.words("air_flow", "Or its air flow", "4 g/s", "In place of the fuel's."))
        }
        details open[fields.holds("rating_text")] {
            summary { "Rating points of the core" }
            (fields.text_or_file("rating_text", "Their table", "From the core's maker: a head air_speed,coolant_flow,coolant_temp,air_temp,heat and two rows or more, such as 5 m/s,120 L/min,95 C,35 C,62 kW.", ".csv,text/csv,text/plain"))
        }
        fieldset.oils {
            legend { "Hold these oils against it" }
            (oils(fields))
        }
        (fields.tick("map", "Draw how hot the day may be over road speed and grade (takes longer)"))
    }
}

/// What the machine must stand, and the electric fans that may help it.
fn electric(fields: &Fields<'_>, machine: &Machine, units: Units) -> Markup {
    let fill = format!(
        "{} (its usual)",
        head_of(&name_of(&OIL_NAMES, &machine.fill))
    );
    let case = understood(fields.typed).map(|posed| posed.case);
    let fans = fields.typed.auxfan(&[]).fans().unwrap_or_default();
    html! {
        fieldset {
            legend { "What it must stand" }
            (fields.words("ambient", "Outer air", AMBIENT, "The day on which the coolant must not pass its limit."))
            (fields.words("climb", "A climb at walking pace", "none: it stands still", "Its grade, such as 10 %."))
            (fields.tick("no_air_conditioning", "Air conditioning is off"))
        }
        fieldset {
            legend { "The main fan" }
            (fields.words("fan_speed", "Its speed, if you measured it", "as computed", "At full command; or a share of what it should make, such as 33 %. A fault can be put on further down."))
            (fields.choice("right_oil", "The oil to hold against the one in it", &or(&fill, &brief(&OIL_NAMES))))
        }
        @if let Some(case) = case {
            details open[places(fields.typed).iter().any(|p| fields.holds(&format!("try.{}", p.key)))] {
                summary { "Where electric fans may sit, and which" }
                p.help { "Where no fan is chosen, every set that fits is tried, and the smallest that does is taken." }
                @for spot in places(fields.typed) {
                    (place(fields, &case, &spot, &fans, units))
                }
                p.wrong #at-wrong { (fields.said_of("at")) }
                p.wrong #try-wrong { (fields.said_of("try")) }
            }
        }
        details open[fields.holds("fans_text")] {
            summary { "Fans of your own, from data sheets" }
            (fields.text_or_file("fans_text", "Their table", "A row a point of a fan's curve, from no flow upwards, below the head fan,flow (m3/h),pressure (Pa),current (A),diameter (mm),mass (kg),mount. Used instead of the invented classes while there is text in this box.", ".csv,text/csv,text/plain"))
        }
        details open[["wire", "off_road_speed"].iter().any(|n| fields.holds(n))] {
            summary { "Wire, and the road" }
            (fields.words("wire", "Length of the wire to each fan", WIRE, "One way."))
            (fields.words("off_road_speed", "Road speed at which they are off and in the way", ROAD_SPEED, "With its unit."))
        }
    }
}

/// One place for electric fans: how they sit there, and which.
fn place(
    fields: &Fields<'_>,
    case: &Case,
    spot: &Spot,
    fans: &[AuxiliaryFan],
    units: Units,
) -> Markup {
    let share = units.show(Kind::Share, spot.share);
    let mounts: Names = [
        ("pusher", "pushing, each fan its own disc"),
        ("puller", "drawing, each fan its own disc"),
        ("pusher+shroud", "pushing, in a shroud"),
        ("puller+shroud", "drawing, in a shroud"),
        (NOWHERE, "not here"),
    ]
    .map(|(k, w)| (k.to_string(), w.to_string()))
    .to_vec();
    let mut some = vec![(String::new(), "as many as it takes".to_string())];
    for fan in fans {
        let counts = 1..=fits(case, spot, fan);
        some.extend(counts.map(|n| (format!("{}*{n}", fan.name), format!("{n} × {}", fan.name))));
    }
    html! {
        fieldset {
            legend { (spot.key) " (" (spot.ahead) "): " (share) " of the face" }
            (fields.choice(&format!("at.{}", spot.key), "How", &mounts))
            (fields.choice(&format!("try.{}", spot.key), "Which", &some))
        }
    }
}

/// The oils of the library, to be ticked.
fn oils(fields: &Fields<'_>) -> Markup {
    html! {
        @for (key, name) in OIL_NAMES.iter() {
            label { input type="checkbox" name="oils" value=(key) checked[fields.typed.all("oils").any(|o| o == key)]; " " (name) }
        }
        p.wrong #oils-wrong {}
    }
}

/// A log, the one after, and what has to be known to read them.
fn logs(fields: &Fields<'_>) -> Markup {
    let fuels: Names = [("", "not said"), ("petrol", "petrol"), ("diesel", "diesel")]
        .map(|(k, w)| (k.to_string(), w.to_string()))
        .to_vec();
    html! {
        fieldset #drop {
            legend { "A scan tool's log" }
            p.help { "Comma-separated values, with the names of the columns in a line above them. The log stays on this computer." }
            p.scripted hidden { label for="log-file" { "Drop it here, or choose it: " } input type="file" #log-file accept=".csv,.txt,text/csv,text/plain"; }
            (fields.text("log_text", "Or paste it", "Up to 250 kB here; a file may have 64 MB."))
        }
        details open[fields.typed.get("after_text").is_some()] {
            summary { "A log after the repair" }
            p.scripted hidden { label for="after-file" { "Choose it: " } input type="file" #after-file accept=".csv,.txt,text/csv,text/plain"; }
            (fields.text("after_text", "Or paste it", "Then the answer says whether the repair helped, ambient, load and air conditioning allowed for."))
        }
        fieldset {
            legend { "From which boiling follows" }
            (fields.words("cap", "The cap holds", CAP, "Above the air's pressure."))
            (fields.words("glycol", "Share of glycol", GLYCOL, "By volume."))
            (fields.words("altitude", "Altitude", "as logged, else sea level", "With its unit."))
        }
        details open[["ambient", "ambient_after", "above", "column", "every", "fuel", "full_from"].iter().any(|n| fields.typed.get(n).is_some())] {
            summary { "What the log does not say" }
            (fields.words("ambient", "Outer air", "as logged", "With its unit."))
            (fields.words("ambient_after", "Outer air in the log after", "as logged", "With its unit."))
            (fields.words("above", "Count time at or above", "100 C, 105 C, 110 C", "With commas between."))
            (fields.words("column", "Which column is which", "coolant=ECT", "As signal=column, with commas between; a column by name or number."))
            (fields.words("every", "How far rows are apart", "as logged", "Where the log has no time, such as 1 s."))
            (fields.choice("fuel", "What the engine burns", &fuels))
            (fields.words("full_from", "Thermostat full open and fan at full from", "5 K above where it stays most", "Coolant temperature, with its unit."))
        }
    }
}

/// What was read on the machine: a box for each test that can be made on it.
fn readings(fields: &Fields<'_>, machine: &Machine) -> Markup {
    let mut tests: Vec<&Probe> = ALL.iter().filter(|p| p.runs_on(machine)).collect();
    tests.sort_by(|a, b| a.effort_minutes.total_cmp(&b.effort_minutes));
    html! {
        fieldset {
            legend { "What you read" }
            p.help { "Fill in what you have, and leave the rest. A reading needs its error: as ± behind it, or the instrument beside it." }
            datalist id="instruments" { @for i in INSTRUMENTS { option value=(i.key) { (i.name) } } }
            @for probe in tests {
                @let names = ["read", "by", "scale"].map(|n| format!("{n}.{}", probe.key));
                @let used = fields.typed.get(&names[0]).is_some();
                details open[used] {
                    summary { (probe.name) }
                    (fields.words(&names[0], "Read", &example(probe.what.kind()), &format!("{:.0} minutes, {}. {}", probe.effort_minutes, probe.tools, probe.how)))
                    (fields.listed(&names[1], "Error or instrument", probe.instrument, "Not needed behind a ±.", "instruments"))
                    @if probe.full_scale(machine).is_some() {
                        (fields.words(&names[2], "Its full scale", "the highest mark, with its unit", "Where an instrument's class counts."))
                    }
                }
            }
            details open[fields.typed.get("readings_text").is_some()] {
                summary { "A readings file instead" }
                (fields.text("readings_text", "The file's text", "TOML or a table, as oilwheel suspects takes it. Used instead of the boxes above."))
            }
        }
    }
}

/// An example of a reading of a kind, with its ±.
fn example(kind: Kind) -> String {
    match kind {
        Kind::Speed => "640 rpm ± 10 rpm".into(),
        Kind::Flow => "9 L/min ± 5 %".into(),
        Kind::KinematicViscosity => "35 cSt ± 5 %".into(),
        Kind::Share => "4 % ± 1 %".into(),
        Kind::Temperature => "80 °C ± 2 K".into(),
        Kind::TemperatureDifference => "8 K ± 2 K".into(),
        _ => "62 bar ± 3 %".into(),
    }
}

/// How the oil is to be changed.
fn change(fields: &Fields<'_>, machine: &Machine, units: Units) -> Markup {
    let pour = machine.value(Input::find("reservoir.volume").unwrap_or(Input(0)));
    let fill = pour.map_or(String::new(), |m| units.show(Kind::Volume, m.value));
    let mut old: Names = brief(&OIL_NAMES);
    old.sort_by_key(|(key, _)| key != OTHER_OIL);
    let methods: Names = [
        ("drain", "drain and refill"),
        ("reservoir", "suck out the reservoir and refill it"),
        ("return-line", "through the return line"),
    ]
    .map(|(k, w)| (k.to_string(), w.to_string()))
    .to_vec();
    html! {
        fieldset {
            legend { "The oil that is in it now" }
            (fields.choice("from_oil", "Oil", &old))
            (fields.words("from_oil_line", "Or by its data sheet", "40C=35 cSt, 100C=7.4 cSt", "Used instead of the one chosen above."))
        }
        fieldset {
            legend { "How it is changed, for the oil named at the top" }
            (fields.choice("method", "Method", &methods))
            p.help { "Through the return line: fresh oil is poured in while the old runs out of it." }
            (fields.words("target", "Old oil that may be left", "5 %", "Leave it empty where the speed decides."))
            (fields.words("speed_within", "Or: how near the speed must come to that on fresh oil", "1 %", "In the condition above."))
            details open[["drained", "pour", "stagnant", "mixing", "cost_per_litre"].iter().any(|n| fields.typed.get(n).is_some())] {
                summary { "How much, and what it costs" }
                (fields.words("drained", "Share that comes out in a round", "40 %, or 30 % of the reservoir's", "When it is drained or sucked out."))
                (fields.words("pour", "What is poured through in one go", &fill, "When it runs out of the return line."))
                (fields.words("stagnant", "Share that stands still meanwhile", STAGNANT, "Steering, cooler, hoses."))
                (fields.words("mixing", "How far that mixes between rounds", MIXING, "With the engine running."))
                (fields.words("cost_per_litre", "What a litre costs", "a number", "In your money."))
            }
        }
    }
}

/// A fault and its severity.
fn faults(fields: &Fields<'_>, name: &str, label: &str) -> Markup {
    let mut names: Names = vec![(String::new(), "none".into())];
    names.extend(
        fault::ALL
            .iter()
            .map(|f| (f.key.to_string(), f.name.to_string())),
    );
    let chosen = fault::ALL
        .iter()
        .find(|f| Some(f.key) == fields.typed.get(name));
    let help = chosen.map_or("From 0, nothing, to 1, the worst.".to_string(), |f| {
        format!("From {} to {}: {}", f.range.0, f.range.1, f.severity)
    });
    html! {
        (fields.choice(name, label, &names))
        (fields.words(&format!("{name}_severity"), "Its severity", SEVERITY, &help))
    }
}

/// The inputs of a machine's own parts.
fn own_inputs(machine: &Machine) -> impl Iterator<Item = Input> {
    Input::all().filter(|i| machine.value(*i).is_some())
}

/// The parts of a machine, to be changed.
fn parts(fields: &Fields<'_>, machine: &Machine, units: Units) -> Markup {
    let range = |input: Input| {
        let field = input.field();
        format!(
            "{} to {}",
            units.show(field.kind, field.low),
            units.show(field.kind, field.high)
        )
    };
    let shape = &machine.shape;
    let chosen = [
        shape.recirculates,
        shape.valve_to_motor_outlet,
        shape.steering_first,
    ];
    html! {
        @for part in PARTS.iter().filter(|p| machine.has(p.key)) {
            @let mut own = own_inputs(machine).filter(|i| i.part() == part.key).map(|i| format!("set.{}", i.key()));
            details open[own.any(|n| fields.typed.get(&n).is_some())] {
                summary { (spelled(part.key)) }
                @for input in own_inputs(machine).filter(|i| i.part() == part.key) {
                    @if let Some(m) = machine.value(input) {
                        (fields.words(&format!("set.{}", input.key()), input.field().help, &units.show_spread(input.field().kind, m.value, m.spread), &range(input)))
                    }
                }
            }
        }
        details {
            summary { "the oil beside its viscosity" }
            @for input in Input::all().filter(|i| i.part() == "oil") {
                (fields.words(&format!("set.{}", input.key()), input.field().help, "as the oil's sheet says", &range(input)))
            }
        }
        details {
            summary { "how it is plumbed" }
            @for ((key, words, about), yes) in CHOICES.into_iter().zip(chosen) {
                @let names: Names = words.map(|w| (w.to_string(), w.to_string())).to_vec();
                (fields.choice(&format!("set.choices.{key}"), about, &or(&format!("as the machine has it: {}", words[usize::from(yes)]), &names)))
            }
        }
        p.help { "A part that this machine has not: add it in a machine file of your own." }
    }
}

/// The range of a sweep: as typed, else a usual one.
pub(super) struct Range {
    /// What it goes along.
    pub over: String,
    /// Where it begins.
    pub from: String,
    /// Where it ends.
    pub to: String,
    /// Beginning and end where nothing was typed.
    usual: (String, String),
}

impl Range {
    /// The range of a form.
    pub fn of(typed: &Typed, machine: &Machine, units: Units) -> Self {
        let over = typed.get("over").unwrap_or("oil-temp").to_string();
        let ends =
            |kind: Kind, low: f64, high: f64| (units.show(kind, low), units.show(kind, high));
        let (idle, full) = (machine.usual("idle").value, machine.usual("full").value);
        let usual = match over.as_str() {
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
        };
        let taken = |name: &str, usual: &String| {
            typed.get(name).map_or_else(|| usual.clone(), String::from)
        };
        Self {
            from: taken("from", &usual.0),
            to: taken("to", &usual.1),
            over,
            usual,
        }
    }
}
