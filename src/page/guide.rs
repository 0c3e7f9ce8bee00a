//! The page for a first visit: which machine it is, which facts are known, what the symptoms are. The answers are
//! passed on to a question as if they had been entered there.

use super::book;
use super::card::by_phone;
use super::device::by_choice;
use super::typed::Typed;
use super::view::{MACHINE_NAMES, frame, name_of};
use crate::probe::BY_PHONE;
use crate::quantity::Kind;
use maud::{Markup, html};

/// A question on the page for a first visit: its box, its text, and the options, each with the machine classes that it
/// suggests.
type Choice = (
    &'static str,
    &'static str,
    &'static [(&'static str, &'static str, &'static [&'static str])],
);

/// The questions that distinguish the machine classes. Which answer suggests which class is an engineering assumption.
const CHOICES: [Choice; 3] = [
    (
        "feeds",
        "Which pump feeds the fan?",
        &[
            (
                "steering",
                "The steering pump: one pump for both",
                &["light-truck"],
            ),
            ("own", "A separate pump, on a belt", &["car"]),
            ("gear", "A gear pump on the engine", &["bus", "off-road"]),
        ],
    ),
    (
        "cools",
        "What does it cool?",
        &[
            ("truck", "A light truck or a van", &["light-truck"]),
            ("car", "A car", &["car"]),
            ("bus", "A bus or a coach", &["bus"]),
            ("work", "An off-road or stationary machine", &["off-road"]),
        ],
    ),
    (
        "size",
        "How large is the engine?",
        &[
            ("small", "Under 75 kW (100 hp)", &["off-road"]),
            (
                "middle",
                "75 to 200 kW (100 to 270 hp)",
                &["car", "light-truck"],
            ),
            ("large", "Over 200 kW (270 hp)", &["bus", "light-truck"]),
        ],
    ),
];

/// The facts that are asked for: for each its boxes, the test, its label, an example.
const KNOWN: [(&str, &str, &str, &str); 3] = [
    (
        "known.1.",
        "pump.ratio",
        "Pulley ratio: crankshaft pulley diameter over pump pulley diameter",
        "1.27",
    ),
    (
        "known.2.",
        "pump.displacement",
        "Pump displacement, from its nameplate",
        "13 cm3/rev",
    ),
    (
        "known.3.",
        book::FIRST,
        "Fan speed at idle, oil warm, when the machine was healthy",
        "960 rpm",
    ),
];

/// The class suggested by most of the answers, and by how many; `None` if nothing was answered.
fn class(typed: &Typed) -> Option<(&'static str, usize)> {
    let mut votes: Vec<(&str, usize)> = Vec::new();
    for (name, _, choices) in CHOICES {
        let chosen = choices.iter().find(|c| typed.get(name) == Some(c.0));
        for class in chosen.map_or(&[][..], |c| c.2) {
            match votes.iter_mut().find(|v| v.0 == *class) {
                Some(vote) => vote.1 += 1,
                None => votes.push((class, 1)),
            }
        }
    }
    // In a tie, the class suggested first: the question about the pump comes first and distinguishes classes better
    // than size.
    votes.into_iter().rev().max_by_key(|v| v.1)
}

/// The page for a first visit.
pub(super) fn page(typed: &Typed) -> String {
    let body = match class(typed) {
        Some((class, votes)) => known(typed, class, votes),
        None => which(),
    };
    frame("The first visit", "", false, &body)
}

/// The form that asks which machine it is.
fn which() -> Markup {
    html! {
        form #ask.guide action="/begin" method="get" {
            main {
                h1 { "Which machine is it?" }
                p { "Step 1 of 2. Your three answers select a class of machines to start with. What you know about your own machine then makes the result more certain." }
                @for (name, question, choices) in CHOICES {
                    fieldset {
                        legend { (question) }
                        @for (key, words, _) in choices.iter() {
                            label { input type="radio" name=(name) value=(key) required; " " (words) }
                        }
                    }
                }
                p.go { button.main { "Next: what you know" } }
            }
        }
    }
}

/// The form that asks for known facts and symptoms.
fn known(typed: &Typed, class: &str, votes: usize) -> Markup {
    let name = name_of(&MACHINE_NAMES, class);
    html! {
        form #ask.guide action="/suspects" method="post" {
            // The first button is what the enter key presses: it submits the reading.
            button hidden name="write" value="on" { "See the result" }
            main {
                h1 { "A " (name) "." }
                p {
                    "Step 2 of 2. "
                    @if votes < CHOICES.len() { "This class is the closest, although not all of your answers fit it. " }
                    a href="/begin" { "Choose another class" }
                }
                input type="hidden" name="machine" value=(class);
                @if let Some(units) = typed.get("units") { input type="hidden" name="units" value=(units); }
                fieldset {
                    legend { "What do you know about it?" }
                    p.help { "Leave unknown values empty." }
                    @for (boxes, test, label, example) in KNOWN {
                        div.field {
                            label for={ (boxes) "value" } { (label) }
                            input type="hidden" name={ (boxes) "test" } value=(test);
                            input type="text" id={ (boxes) "value" } name={ (boxes) "value" } placeholder=(example) maxlength="400" autocomplete="off";
                        }
                    }
                    input type="hidden" name="known.3.when" value="healthy";
                }
                fieldset {
                    legend { "What do you see?" }
                    p.help { "If you enter a reading, you get a verdict. If not, you learn what to measure first. Read the fan speed only while full fan is commanded: by the scan tool, or because the coolant is near its limit. Otherwise even a healthy fan turns more slowly, also with air conditioning on. Beware of the fan: it may start by itself." }
                    div.field {
                        label for="note-value" { "Fan speed at idle, oil warm, full fan commanded" }
                        input type="hidden" name="note.test" value=(book::FIRST);
                        input #note-value type="text" name="note.value" placeholder="such as 700 rpm" maxlength="400" autocomplete="off";
                    }
                    div.field {
                        label for="note-command" { "Was full fan commanded?" }
                        select #note-command name="note.command" {
                            @for (key, words) in book::COMMANDED { option value=(key) { (words) } }
                        }
                    }
                    div.field {
                        label for="note-by" { "Measured with" }
                        (by_choice("note", Kind::Speed, BY_PHONE))
                    }
                    (by_phone(false))
                    p.go { button.main name="write" value="on" { "See the result" } }
                    p.go {
                        button name="write" value="on" { "No reading yet: what should I measure first?" }
                        button name="write" value="on" formaction="/heat" { "It is hot on the road too: how hot should it get?" }
                        button name="write" value="on" formaction="/speed" { "Nothing is wrong: what fan speed is expected?" }
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_class_is_reached_and_every_class_is_in_the_library() {
        for (form, own) in [
            ("feeds=steering&cools=truck&size=middle", "light-truck"),
            ("feeds=own&cools=car&size=middle", "car"),
            ("feeds=gear&cools=bus&size=large", "bus"),
            ("feeds=gear&cools=work&size=small", "off-road"),
        ] {
            assert_eq!(class(&Typed::read(form).unwrap()), Some((own, 3)), "{form}");
            assert!(MACHINE_NAMES.iter().any(|(key, _)| key == own));
        }
        // The pump decides if the other choices suggest two classes.
        let mixed = Typed::read("feeds=own&cools=truck&size=middle").unwrap();
        assert_eq!(class(&mixed), Some(("car", 2)));
        assert_eq!(class(&Typed::default()), None);
    }
}
