//! The first visit: which machine it is, what is known of it, what is seen. What is answered goes to a question as if
//! it were typed there.

use super::book;
use super::typed::Typed;
use super::view::{MACHINE_NAMES, frame, name_of};
use maud::{Markup, html};

/// A question of the first visit: its box, what is asked, and the choices with the classes that each speaks for.
type Choice = (
    &'static str,
    &'static str,
    &'static [(&'static str, &'static str, &'static [&'static str])],
);

/// What tells the classes apart. Which choice speaks for which class is an engineering assumption.
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
            ("own", "A pump of its own, on a belt", &["car"]),
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
            (
                "work",
                "A machine that works off the road or standing",
                &["off-road"],
            ),
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

/// The facts that are asked for: the boxes, the test, what it is, an example.
const KNOWN: [(&str, &str, &str, &str); 3] = [
    (
        "known.1.",
        "pump.ratio",
        "Pulleys: crankshaft’s diameter over the pump’s",
        "1.27",
    ),
    (
        "known.2.",
        "pump.displacement",
        "Displacement of the pump, from its plate",
        "13 cm3/rev",
    ),
    (
        "known.3.",
        book::FIRST,
        "Fan speed at idle, oil warm, when all was well",
        "960 rpm",
    ),
];

/// The class that most of what was chosen speaks for, and how much speaks for it; none where nothing was chosen.
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
    // Of two alike, the one named first: the pump says more than the size.
    votes.into_iter().rev().max_by_key(|v| v.1)
}

/// The page of the first visit.
pub(super) fn page(typed: &Typed) -> String {
    let body = match class(typed) {
        Some((class, votes)) => known(typed, class, votes),
        None => which(),
    };
    frame("The first visit", "", false, &body)
}

/// Which machine.
fn which() -> Markup {
    html! {
        form #ask.guide action="/begin" method="get" {
            main {
                h1 { "Which machine is it?" }
                p { "Step 1 of 2. Three answers choose a class of machines to begin with; what you know of yours then narrows it." }
                @for (name, question, choices) in CHOICES {
                    fieldset {
                        legend { (question) }
                        @for (key, words, _) in choices.iter() {
                            label { input type="radio" name=(name) value=(key) required; " " (words) }
                        }
                    }
                }
                p.go { button.main { "On to what you know" } }
            }
        }
    }
}

/// What is known, and what is seen.
fn known(typed: &Typed, class: &str, votes: usize) -> Markup {
    let name = name_of(&MACHINE_NAMES, class);
    html! {
        form #ask.guide action="/suspects" method="post" {
            // The enter key means the reading.
            button hidden name="write" value="on" { "See what it says" }
            main {
                h1 { "A " (name) "." }
                p {
                    "Step 2 of 2. "
                    @if votes < CHOICES.len() { "Of the classes this is the nearest; not all that you said fits it. " }
                    a href="/begin" { "It is another one" }
                }
                input type="hidden" name="machine" value=(class);
                @if let Some(units) = typed.get("units") { input type="hidden" name="units" value=(units); }
                fieldset {
                    legend { "What do you know of it?" }
                    p.help { "Leave empty what you do not know." }
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
                    p.help { "With a reading there is a verdict; without one, what to read first. Mind the fan: it may start by itself." }
                    div.field {
                        label for="note-value" { "Fan speed at idle, oil warm, full fan" }
                        input type="hidden" name="note.test" value=(book::FIRST);
                        input #note-value type="text" name="note.value" placeholder="640 rpm" maxlength="400" autocomplete="off";
                    }
                    p.go { button.main name="write" value="on" { "See what it says" } }
                    p.go {
                        button name="write" value="on" { "No reading: hot at idle, fine on the road" }
                        button name="write" value="on" formaction="/heat" { "No reading: hot on the road too" }
                        button name="write" value="on" formaction="/speed" { "Nothing is wrong: what should it make?" }
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
        // The pump decides where the others speak for two.
        let mixed = Typed::read("feeds=own&cools=truck&size=middle").unwrap();
        assert_eq!(class(&mixed), Some(("car", 2)));
        assert_eq!(class(&Typed::default()), None);
    }
}
