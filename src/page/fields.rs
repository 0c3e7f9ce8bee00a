//! One field of the form: its label, what was typed, its help, and what is wrong with it.

use super::form::Typed;
use crate::trouble::Trouble;
use maud::{Markup, html};

/// Choices after which other fields show other values, so that the whole page is asked for anew.
const RELOADS: &[&str] = &["machine", "over", "fault", "against_fault"];

/// Flags of the command line that answers speak of, and what the form calls them.
const FLAGS: [(&str, &str); 11] = [
    ("ambient", "Outer air"),
    ("at", "Where electric fans may sit"),
    ("cold", "All begins as cold as the day"),
    ("column", "Which column is which"),
    ("drained", "Share that comes out in a round"),
    ("every", "How far rows are apart"),
    ("fuel", "What the engine burns"),
    ("full-from", "Thermostat full open and fan at full from"),
    ("json", "Figures (JSON)"),
    ("pour", "What is poured through in one go"),
    ("set", "Parts of the machine"),
];

/// A text in which the form's own names stand in place of flags.
pub(super) fn without_flags(text: &str) -> String {
    let mut pieces = text.split("--");
    let mut plain = pieces.next().unwrap_or_default().to_string();
    for piece in pieces {
        let end = piece.find(|c: char| !c.is_ascii_lowercase() && c != '-');
        let (flag, rest) = piece.split_at(end.unwrap_or(piece.len()));
        match FLAGS.iter().find(|(known, _)| *known == flag) {
            Some((_, name)) => plain.push_str(&format!("“{name}”{rest}")),
            None => plain.push_str(&format!("--{piece}")),
        }
    }
    plain
}

/// The form's fields, with what was typed and what is wrong.
pub(super) struct Fields<'a> {
    /// What was typed.
    pub typed: &'a Typed,
    /// What is wrong.
    pub troubles: &'a [Trouble],
}

/// What a trouble says to the one who typed.
pub(super) fn said(trouble: &Trouble) -> String {
    let mut text = match trouble.spot.line {
        Some(line) => format!("Line {line}: {}", trouble.found),
        None => trouble.found.clone(),
    };
    text.push_str(&format!("; expected {}", trouble.expected));
    if !trouble.hint.is_empty() {
        text.push_str(&format!(" ({})", trouble.hint));
    }
    without_flags(&text)
}

/// The name of a field as an identifier.
pub(super) fn id(name: &str) -> String {
    name.replace(['.', '_'], "-")
}

impl Fields<'_> {
    /// What is wrong with a field.
    fn wrong(&self, name: &str) -> Vec<String> {
        let own = |t: &&Trouble| self.typed.field_of(t).as_deref() == Some(name);
        self.troubles.iter().filter(own).map(said).collect()
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

    /// A field for words, some of which are proposed in a list.
    pub fn listed(&self, name: &str, label: &str, usual: &str, help: &str, list: &str) -> Markup {
        html! {
            div.field { (self.label(name, label)) (self.box_with(name, usual, help, Some(list))) }
        }
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
        self.box_with(name, usual, help, None)
    }

    fn box_with(&self, name: &str, usual: &str, help: &str, list: Option<&str>) -> Markup {
        let key = id(name);
        let wrong = !self.wrong(name).is_empty();
        html! {
            input type="text" id=(key) name=(name) value=[self.typed.get(name)] placeholder=(usual) list=[list] maxlength="400"
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

    /// A choice of which another than the first is taken where nothing was chosen.
    pub fn choice_from(
        &self,
        name: &str,
        label: &str,
        choices: &[(String, String)],
        first: &str,
    ) -> Markup {
        html! { div.field { (self.label(name, label)) (self.pick_from(name, choices, first)) } }
    }

    /// The picker of a choice, without its label.
    pub fn pick(&self, name: &str, choices: &[(String, String)]) -> Markup {
        self.pick_from(name, choices, "")
    }

    fn pick_from(&self, name: &str, choices: &[(String, String)], first: &str) -> Markup {
        let now = self.typed.get(name).unwrap_or(first);
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn flags_become_the_names_of_fields() {
        for (text, plain) in [
            ("no flag", "no flag"),
            ("--ambient says it", "“Outer air” says it"),
            (
                "with --drained or --pour.",
                "with “Share that comes out in a round” or “What is poured through in one go”.",
            ),
            (
                "--column coolant=NAME, --wish, a -- b",
                "“Which column is which” coolant=NAME, --wish, a -- b",
            ),
        ] {
            assert_eq!(without_flags(text), plain);
        }
    }
}
