//! One field of the form: its label, the user's input, help and errors.

use super::door::box_of;
use super::typed::Typed;
use crate::input::Input;
use crate::question::{ALL, Question, with_names};
use crate::trouble::{TOLD, Trouble};
use maud::{Markup, html};

/// Fields whose choice changes the defaults of other fields, so that the whole page is loaded again.
const RELOADS: &[&str] = &["machine", "over", "with", "against_with"];

/// A text in which keys of fields are replaced by the labels in the form, and those of questions by their titles.
pub(super) fn named(question: &Question, text: &str) -> String {
    with_names(&in_words(text), |key| match question.field(key) {
        Some(field) => format!("“{}”", field.label),
        None => match ALL.iter().find(|q| q.key == key) {
            Some(other) => format!("“{}”", other.title),
            None => format!("“{}”", key.replace(['_', '.'], " ")),
        },
    })
}

/// A text with words in place of the short names that stand in files and on the command line: places and classes of
/// electric fans, and the ± of a machine.
pub(super) fn in_words(text: &str) -> String {
    let mut text = text.replace("the machine's ±", "the machine's uncertainty");
    for k in 1..=3 {
        text = text.replace(&format!("front_{k}"), &format!("place {k}"));
    }
    let mut words = String::new();
    while let Some((before, rest)) = text.split_once("class-") {
        let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
        words += before;
        words += &match digits {
            3.. => format!("{} mm fan", &rest[..digits]),
            _ => format!("class-{}", &rest[..digits]),
        };
        text = match rest[digits..].strip_prefix("-strong") {
            Some(rest) if digits >= 3 => format!(", strong{rest}"),
            _ => rest[digits..].into(),
        };
    }
    words + &text
}

/// A text with words in place of the keys of inputs: `pump.displacement` as `pump displacement`.
pub(super) fn spelled_out(text: &str) -> String {
    let keys = Input::all().map(Input::key);
    keys.fold(text.into(), |text, key| {
        text.replace(&key, &key.replace(['.', '_'], " "))
    })
}

/// What is needed to show the form's fields with the user's input and the errors.
pub(super) struct Fields<'a> {
    /// The question.
    pub question: &'static Question,
    /// What the user entered.
    pub typed: &'a Typed,
    /// The problems with it.
    pub problems: &'a [Trouble],
}

/// A problem as a text for the user.
pub(super) fn worded(question: &Question, problem: &Trouble) -> String {
    let mut text = match problem.spot.line {
        Some(line) => format!("Line {line}: {}", problem.found),
        None => problem.found.clone(),
    };
    text.push_str(&format!("; expected {}", problem.expected));
    if !problem.hint.is_empty() {
        text.push_str(&format!(" ({})", problem.hint));
    }
    named(question, &text)
}

/// The name of a field as an HTML identifier.
pub(super) fn id(name: &str) -> String {
    name.replace(['.', '_'], "-")
}

impl Fields<'_> {
    /// The errors of a field.
    fn wrong(&self, name: &str) -> Vec<String> {
        let own = |t: &&Trouble| box_of(self.question, self.typed, t).as_deref() == Some(name);
        let own = self.problems.iter().take(TOLD).filter(own);
        own.map(|t| worded(self.question, t)).collect()
    }

    /// The errors of a field as one text.
    pub fn said_of(&self, name: &str) -> String {
        self.wrong(name).join(". ")
    }

    /// Whether a field has input or an error.
    pub fn holds(&self, name: &str) -> bool {
        self.typed.get(name).is_some() || !self.wrong(name).is_empty()
    }

    /// The HTML element for the errors of a field; always present, so that the script can fill it later.
    fn wrong_place(&self, name: &str) -> Markup {
        html! { p.wrong id={ (id(name)) "-wrong" } { (self.said_of(name)) } }
    }

    /// A one-line text field, with its default as placeholder.
    pub fn words(&self, name: &str, label: &str, usual: &str, help: &str) -> Markup {
        html! { div.field { (self.label(name, label)) (self.box_for(name, usual, help)) } }
    }

    /// A field for a long text.
    pub fn text(&self, name: &str, label: &str, help: &str) -> Markup {
        let key = id(name);
        let wrong = !self.wrong(name).is_empty();
        html! {
            div.field {
                (self.label(name, label))
                textarea id=(key) name=(name) rows="8" spellcheck="false" aria-invalid=[wrong.then_some("true")]
                    aria-describedby={ (key) "-help " (key) "-wrong" } { (self.typed.get(name).unwrap_or_default()) }
                p.help id={ (key) "-help" } { (help) }
                (self.wrong_place(name))
            }
        }
    }

    /// A field for a long text, into which the script can also load a file of the given types.
    pub fn text_or_file(&self, name: &str, label: &str, help: &str, kinds: &str) -> Markup {
        let key = id(name);
        html! {
            (self.text(name, label, help))
            p.scripted hidden {
                label for={ (key) "-file" } { "Or load it from a file: " }
                input type="file" id={ (key) "-file" } data-into=(key) accept=(kinds);
            }
            button formmethod="post" { "Use this text" }
        }
    }

    /// The label of a field.
    fn label(&self, name: &str, label: &str) -> Markup {
        html! { label for=(id(name)) { (label) } }
    }

    /// The box of a field, with its help and errors.
    fn box_for(&self, name: &str, usual: &str, help: &str) -> Markup {
        let key = id(name);
        let wrong = !self.wrong(name).is_empty();
        html! {
            input type="text" id=(key) name=(name) value=[self.typed.get(name)] placeholder=(usual) maxlength="400"
                autocomplete="off" autocapitalize="off" spellcheck="false" aria-invalid=[wrong.then_some("true")]
                aria-describedby={ (key) "-help " (key) "-wrong" };
            p.help id={ (key) "-help" } { (help) }
            (self.wrong_place(name))
        }
    }

    /// A number field with a slider, whose limits, step and position are in `unit`.
    pub fn slide(&self, name: &str, label: &str, usual: &str, help: &str, slide: &Slide) -> Markup {
        html! {
            div.field.sliding {
                (self.label(name, label))
                (self.box_for(name, usual, help))
                // The slider has no name and so is not submitted: the box beside it holds the value. The script makes
                // it visible.
                input.slide type="range" min=(slide.low) max=(slide.high) step=(slide.step) value=(slide.at)
                    data-for=(id(name)) data-unit=(slide.unit) aria-label={ (label) ", slider" } hidden;
            }
        }
    }

    /// A choice from a list: value and text of each option; the first option is the default.
    pub fn choice(&self, name: &str, label: &str, choices: &[(String, String)]) -> Markup {
        html! { div.field { (self.label(name, label)) (self.pick(name, choices)) } }
    }

    /// A drop-down list (`<select>`), without its label.
    pub fn pick(&self, name: &str, choices: &[(String, String)]) -> Markup {
        let now = self.typed.get(name).unwrap_or("");
        let key = id(name);
        html! {
            select id=(key) name=(name) data-reload[RELOADS.contains(&name)] aria-describedby={ (key) "-wrong" } {
                @for (value, words) in choices {
                    option value=(value) selected[value == now] { (words) }
                }
            }
            (self.wrong_place(name))
        }
    }

    /// A checkbox.
    pub fn tick(&self, name: &str, label: &str) -> Markup {
        html! {
            div.field.tick {
                input type="checkbox" id=(id(name)) name=(name) value="on" checked[self.typed.get(name).is_some()];
                (self.label(name, label))
            }
        }
    }
}

/// Limits, step and position of a slider, all in its unit.
pub(super) struct Slide {
    /// Minimum, at the left end.
    pub low: f64,
    /// Maximum, at the right end.
    pub high: f64,
    /// Step size.
    pub step: f64,
    /// Initial position.
    pub at: f64,
    /// Unit in which the script writes the value into the box.
    pub unit: &'static str,
}
