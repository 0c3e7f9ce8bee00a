//! One field of the form: its label, what was typed, its help, and what is wrong with it.

use super::door::box_of;
use super::typed::Typed;
use crate::question::{Question, with_names};
use crate::trouble::{TOLD, Trouble};
use maud::{Markup, html};

/// Choices after which other fields show other values, so that the whole page is asked for anew.
const RELOADS: &[&str] = &["machine", "over", "with", "against_with"];

/// A text in which fields have the names that the form gives them.
pub(super) fn named(question: &Question, text: &str) -> String {
    with_names(text, |key| match question.field(key) {
        Some(field) => format!("“{}”", field.label),
        None => format!("“{}”", key.replace(['_', '.'], " ")),
    })
}

/// The form's fields, with what was typed and what is wrong.
pub(super) struct Fields<'a> {
    /// The question.
    pub question: &'static Question,
    /// What was typed.
    pub typed: &'a Typed,
    /// What is wrong.
    pub problems: &'a [Trouble],
}

/// What a problem says to the one who typed.
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

/// The name of a field as an identifier.
pub(super) fn id(name: &str) -> String {
    name.replace(['.', '_'], "-")
}

impl Fields<'_> {
    /// What is wrong with a field.
    fn wrong(&self, name: &str) -> Vec<String> {
        let own = |t: &&Trouble| box_of(self.question, self.typed, t).as_deref() == Some(name);
        let own = self.problems.iter().take(TOLD).filter(own);
        own.map(|t| worded(self.question, t)).collect()
    }

    /// What is wrong with a field, in words.
    pub fn said_of(&self, name: &str) -> String {
        self.wrong(name).join(". ")
    }

    /// Whether something was typed in a field, or is wrong with it.
    pub fn holds(&self, name: &str) -> bool {
        self.typed.get(name).is_some() || !self.wrong(name).is_empty()
    }

    /// The place for what is wrong with a field; it is always there, so that it can be filled later.
    fn wrong_place(&self, name: &str) -> Markup {
        html! { p.wrong id={ (id(name)) "-wrong" } { (self.said_of(name)) } }
    }

    /// A field for words: what it takes where nothing is typed stands in it pale.
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

    /// A field for a long text, which the page's script can also take from a file of some kinds.
    pub fn text_or_file(&self, name: &str, label: &str, help: &str, kinds: &str) -> Markup {
        let key = id(name);
        html! {
            (self.text(name, label, help))
            p.scripted hidden {
                label for={ (key) "-file" } { "Or take it from a file: " }
                input type="file" id={ (key) "-file" } data-into=(key) accept=(kinds);
            }
            button formmethod="post" { "Use this text" }
        }
    }

    /// A label.
    fn label(&self, name: &str, label: &str) -> Markup {
        html! { label for=(id(name)) { (label) } }
    }

    /// The box of a field, its help, and what is wrong.
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

    /// A field for a number with a slide beside it: ends, step and place of the slide in `unit`.
    pub fn slide(&self, name: &str, label: &str, usual: &str, help: &str, slide: &Slide) -> Markup {
        html! {
            div.field.sliding {
                (self.label(name, label))
                (self.box_for(name, usual, help))
                // It has no name: the box beside it counts. The page's script shows it.
                input.slide type="range" min=(slide.low) max=(slide.high) step=(slide.step) value=(slide.at)
                    data-for=(id(name)) data-unit=(slide.unit) aria-label={ (label) ", slide" } hidden;
            }
        }
    }

    /// A choice: value and words of each; the first is taken where nothing was chosen.
    pub fn choice(&self, name: &str, label: &str, choices: &[(String, String)]) -> Markup {
        html! { div.field { (self.label(name, label)) (self.pick(name, choices)) } }
    }

    /// The picker of a choice, without its label.
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

    /// A box to tick.
    pub fn tick(&self, name: &str, label: &str) -> Markup {
        html! {
            div.field.tick {
                input type="checkbox" id=(id(name)) name=(name) value="on" checked[self.typed.get(name).is_some()];
                (self.label(name, label))
            }
        }
    }
}

/// Ends, step and place of a slide, in the unit that it writes.
pub(super) struct Slide {
    /// Its left end.
    pub low: f64,
    /// Its right end.
    pub high: f64,
    /// Its step.
    pub step: f64,
    /// Where it stands.
    pub at: f64,
    /// The unit that it writes.
    pub unit: &'static str,
}
