//! Renders an answer as one self-contained HTML page, without scripts or external resources.

use super::svg::escaped;
use super::{NEXT, VERSION, circuit, picture, sorted, table};
use crate::tell::{Answer, Block, Circuit, Form, Next, Table};
use maud::{DOCTYPE, Markup, PreEscaped, html as markup};

/// The style sheet of the page.
const STYLE: &str = include_str!("style.css");

/// Renders an answer as a complete page.
pub fn html(answer: &Answer) -> String {
    let (headline, blocks, safety) = sorted(answer);
    let title = headline.unwrap_or(answer.question);
    let page = markup! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light";
                title { (clean(title)) @if !title.is_empty() { " – " } "oilwheel" }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main {
                    @if !title.is_empty() { h1 { (clean(title)) } }
                    // The reason and the next step follow the headline, wherever they are in the answer.
                    @for block in leading(&blocks) { (piece(block)) }
                    @for block in blocks.iter().filter(|b| !leads(b)) { (piece(block)) }
                    @if !answer.assumptions.is_empty() {
                        section { h2 { "What was assumed" } (assumed(answer)) }
                    }
                    (remarks("Please note", "caution", answer.cautions.iter().map(|c| c.words.as_str())))
                    (remarks("Safety", "safety", safety.into_iter()))
                }
                footer { "oilwheel " (VERSION) @if !answer.question.is_empty() { ", question: " (clean(answer.question)) } }
            }
        }
    };
    format!("{}\n", page.into_string())
}

/// Whether a block gives the reason or the next step, which are placed first.
fn leads(block: &Block) -> bool {
    matches!(block, Block::Why(_) | Block::Next(_))
}

/// The blocks placed first: the reason, then the next step.
fn leading<'b>(blocks: &[&'b Block]) -> Vec<&'b Block> {
    let mut all: Vec<&Block> = blocks.iter().copied().filter(|b| leads(b)).collect();
    all.sort_by_key(|b| matches!(b, Block::Next(_)));
    all
}

/// The parts of an answer as markup, for a page that arranges them itself; each may be empty.
#[derive(Clone, Debug, Default)]
pub struct Pieces {
    /// The headline, as plain text.
    pub headline: String,
    /// The reason, as plain text.
    pub why: String,
    /// The next step.
    pub next: Option<Next>,
    /// Markup of the first picture.
    pub picture: String,
    /// Markup of all other blocks, in their original order.
    pub rest: String,
    /// Markup of the assumptions.
    pub assumed: String,
    /// Markup of the cautions, then of the safety instructions.
    pub remarks: String,
}

/// Splits an answer into its parts.
pub fn pieces(answer: &Answer) -> Pieces {
    let (headline, blocks, safety) = sorted(answer);
    let mut pieces = Pieces {
        headline: headline.unwrap_or_default().into(),
        assumed: assumed(answer).into_string(),
        ..Pieces::default()
    };
    for block in blocks {
        let markup = piece(block).into_string();
        match block {
            Block::Why(line) if pieces.why.is_empty() => pieces.why.clone_from(line),
            Block::Next(next) if pieces.next.is_none() => pieces.next = Some(next.clone()),
            Block::Chart(_) | Block::Panels(_) | Block::Bars(_) | Block::Circuit(_)
                if pieces.picture.is_empty() =>
            {
                pieces.picture = markup;
            }
            _ => pieces.rest.push_str(&markup),
        }
    }
    let cautions = answer.cautions.iter().map(|c| c.words.as_str());
    let remarks = markup! {
        (remarks("Please note", "caution", cautions))
        (remarks("Safety", "safety", safety.into_iter()))
    };
    pieces.remarks = remarks.into_string();
    pieces
}

/// The assumptions, as label and value.
fn assumed(answer: &Answer) -> Markup {
    markup! {
        dl {
            @for (label, value) in &answer.assumptions {
                div { dt { (clean(label)) } dd { (clean(value)) } }
            }
        }
    }
}

/// Text without characters that are invalid in a page; markup is escaped here.
fn clean(text: &str) -> PreEscaped<String> {
    PreEscaped(escaped(text))
}

/// Markup of one block of an answer.
fn piece(block: &Block) -> Markup {
    match block {
        Block::Heading(line) => markup! { h2 { (clean(line)) } },
        Block::Sentence(line) => markup! { p { (clean(line)) } },
        Block::Headline(line) => markup! { p.headline { (clean(line)) } },
        Block::Why(line) => markup! { p.why { (clean(line)) } },
        Block::Next(next) => markup! {
            section.next {
                p { strong { (NEXT) } (clean(&next.words)) }
                @if !next.cautions.is_empty() { ul.mind { @for line in &next.cautions { li { (clean(line)) } } } }
            }
        },
        Block::Table(table) => grid(table),
        Block::Form(form) => boxes(form),
        Block::Chart(_) | Block::Panels(_) | Block::Bars(_) | Block::Circuit(_) => figure(block),
        Block::Safety(_) => markup! {},
    }
}

/// A picture with its caption.
fn figure(block: &Block) -> Markup {
    let Some(picture) = picture(block) else {
        return markup! {};
    };
    let wide = matches!(block, Block::Circuit(_));
    markup! {
        figure {
            @if !picture.title.is_empty() { figcaption { (clean(&picture.title)) } }
            div.sideways.wide[wide] tabindex=[wide.then_some("0")] { (PreEscaped(picture.element())) }
            @if let Block::Circuit(circuit) = block { (places(circuit)) }
            @if let Block::Bars(bars) = block { (folded(&table::bars(bars))) }
            @if !picture.values.is_empty() {
                (folded(&markup! { @for values in &picture.values { (values.markup()) } }))
            }
        }
    }
}

/// The data table of a picture, collapsed until the reader opens it.
fn folded(table: &Markup) -> Markup {
    markup! { details { summary { "As a table" } (table) } }
}

/// The values of a circuit as text, for small screens and screen readers.
fn places(circuit: &Circuit) -> Markup {
    markup! {
        details {
            summary { "As text" }
            ul {
                @for (place, figures) in &circuit.labels {
                    li {
                        strong { (clean(circuit::name(place))) @if *place == circuit.limiting { " (limits)" } }
                        @if !figures.is_empty() { ": " (clean(&figures.join("; "))) }
                    }
                }
            }
        }
    }
}

/// Maximum number of columns with which a table fits on a phone.
const WHOLE: usize = 3;

/// Length of a cell, in characters, from which it may take several lines.
const WORDS: usize = 14;

/// A table in a box that scrolls horizontally.
fn grid(table: &Table) -> Markup {
    let side = |column: usize| table.numeric.contains(&column).then_some("number");
    // A number is not broken between its digits and its unit, but words in a column of numbers are.
    let class = |column: usize, cell: &str| match side(column) {
        Some(_) if cell.chars().count() > WORDS => Some("number words"),
        side => side,
    };
    let title = (!table.title.is_empty()).then(|| clean(&table.title));
    // On a phone, each row of a wide table becomes a small block in which every cell carries its heading.
    let stacks = table.heads.len() > WHOLE;
    let label = |i: usize| table.heads.get(i).filter(|h| stacks && !h.is_empty());
    markup! {
        // The title is outside the scrolling box, so that it is never cut off.
        @if let Some(title) = &title { p.title { (title) } }
        div.sideways tabindex="0" role="group" aria-label=[title] {
            table.stacks[stacks] {
                @if !table.heads.is_empty() {
                    thead { tr { @for (i, head) in table.heads.iter().enumerate() {
                        @if head.is_empty() { td {} } @else { th scope="col" class=[side(i)] { (clean(head)) } }
                    } } }
                }
                tbody {
                    @for row in &table.rows {
                        tr { @for (i, cell) in row.iter().enumerate() { td class=[class(i, cell)] data-head=[label(i).map(|h| clean(h))] { (clean(cell)) } } }
                    }
                }
            }
        }
    }
}

/// Boxes to fill in by hand.
fn boxes(form: &Form) -> Markup {
    markup! {
        section.form {
            h2 { (clean(&form.title)) }
            @for line in &form.about { p { (clean(line)) } }
            @if !form.ticks.is_empty() {
                ul.ticks { @for tick in &form.ticks { li { (clean(tick)) } } }
            }
            @if !form.cautions.is_empty() {
                p.minor { strong { "Safety: " } @for line in &form.cautions { (clean(line)) " " } }
            }
            @if form.heads.is_empty() {
                dl.lines {
                    @for [name, _, printed] in &form.rows { div { dt { (clean(name)) } dd { (clean(printed)) } } }
                }
            } @else {
                div.sideways tabindex="0" {
                    table.boxes {
                        thead { tr { th scope="col" { "test" } @for head in &form.heads { th scope="col" { (clean(head)) } } } }
                        tbody {
                            @for [name, key, printed] in &form.rows {
                                tr {
                                    th scope="row" {
                                        (clean(name))
                                        @if !printed.is_empty() { " " span.printed { (clean(printed)) } }
                                        @if !key.is_empty() { code { (clean(key)) } }
                                    }
                                    @for _ in &form.heads { td {} }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// A box of remarks, if there are any.
fn remarks<'a>(name: &str, kind: &str, lines: impl ExactSizeIterator<Item = &'a str>) -> Markup {
    markup! {
        @if lines.len() > 0 {
            aside class=(kind) {
                h2 { (name) }
                ul { @for line in lines { li { (clean(line)) } } }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::samples;

    #[test]
    fn a_page_is_whole_and_fetches_nothing() {
        for (name, answer) in samples::all() {
            let page = html(&answer);
            assert!(
                page.starts_with("<!DOCTYPE html><html lang=\"en\">")
                    && page.ends_with("</html>\n"),
                "{name}"
            );
            assert!(
                page.contains("name=\"viewport\"") && page.contains(VERSION),
                "{name}"
            );
            for word in ["<script", "src=", "href=", "url(", "@import"] {
                assert!(!page.contains(word), "{name} has {word}");
            }
        }
    }

    #[test]
    fn marks_in_words_stay_words() {
        let nasty = "<b>&\"'\u{0}";
        let answer = Answer {
            question: "speed",
            assumptions: vec![(nasty.into(), nasty.into())],
            blocks: vec![
                Block::Headline(nasty.into()),
                Block::Sentence(nasty.into()),
                Block::Heading(nasty.into()),
                Block::Next(nasty.into()),
                Block::Safety(vec![nasty.into()]),
                Block::Form(Form {
                    title: nasty.into(),
                    about: vec![nasty.into()],
                    ticks: vec![nasty.into()],
                    heads: vec![nasty.into()],
                    rows: vec![[nasty.into(), nasty.into(), nasty.into()]],
                    cautions: vec![nasty.into()],
                }),
                Block::Table(Table {
                    title: nasty.into(),
                    heads: vec![nasty.into()],
                    rows: vec![vec![nasty.into()]],
                    numeric: vec![0],
                }),
                Block::Bars(crate::tell::Bars {
                    title: nasty.into(),
                    label: nasty.into(),
                    ..Default::default()
                }),
            ],
            cautions: crate::report::samples::remarks(&[nasty]),
            ..Answer::default()
        };
        let page = html(&answer);
        assert!(!page.contains("<b>") && !page.contains('\u{0}'));
        assert!(page.matches("&lt;b&gt;&amp;&quot;").count() >= 14, "{page}");
    }
}
