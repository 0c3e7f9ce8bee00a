//! Renders an [`Answer`] as text, JSON, CSV, SVG or HTML, without computing any results.
//! | file | output |
//! |---|---|
//! | `text/`, `dots.rs`, `wrap.rs` | text for a terminal; curves made of characters; line wrapping |
//! | `json.rs`, `csv.rs` | output for other programs |
//! | `html.rs`, `style.css` | one self-contained page |
//! | `chart/`, `bars.rs`, `circuit/` | one kind of picture each, drawn with `svg.rs` |
//! | `table.rs` | the data table of a picture |
//! | `troubles.rs` | errors as text and JSON |
//! | `file.rs` | writes files either completely or not at all |
//!
//! Every rendered text ends in exactly one line feed.

mod bars;
mod chart;
mod circuit;
mod csv;
#[cfg(feature = "cli")]
mod dots;
mod figure;
#[cfg(feature = "cli")]
mod file;
mod html;
mod json;
mod measured;
mod panels;
#[cfg(test)]
mod samples;
mod svg;
mod table;
#[cfg(feature = "cli")]
mod text;
#[cfg(feature = "cli")]
mod troubles;
mod wrap;

pub use self::csv::csv;
#[cfg(feature = "cli")]
pub use self::file::write_whole;
pub use self::html::{Pieces, html, pieces};
pub use self::json::{json, schema};
#[cfg(feature = "cli")]
pub use self::text::{brief, text};
#[cfg(feature = "cli")]
pub use self::troubles::{troubles_json, troubles_text};

use self::svg::Picture;
use crate::tell::{Answer, Block};

/// The program version, shown in every rendering.
const VERSION: &str = env!("CARGO_PKG_VERSION");

/// The words with which the next step begins.
const NEXT: &str = "What to check next: ";

/// The pictures of an answer in order, each with its title and as a separate SVG file.
pub fn pictures(answer: &Answer) -> Vec<(String, String)> {
    drawn(answer)
        .map(|picture| (picture.title.clone(), picture.file()))
        .collect()
}

/// All pictures of an answer, stacked in one SVG file; `None` without pictures.
pub fn svg(answer: &Answer) -> Option<String> {
    let pictures: Vec<Picture> = drawn(answer).collect();
    (!pictures.is_empty()).then(|| svg::stack(&pictures))
}

/// The pictures of an answer.
fn drawn(answer: &Answer) -> impl Iterator<Item = Picture> {
    answer.blocks.iter().filter_map(picture)
}

/// The picture of a block; `None` if the block is not a picture.
fn picture(block: &Block) -> Option<Picture> {
    match block {
        Block::Chart(chart) => Some(chart::draw(chart)),
        Block::Panels(panels) => Some(panels::draw(panels)),
        Block::Bars(bars) => Some(bars::draw(bars)),
        Block::Circuit(circuit) => Some(circuit::draw(circuit)),
        Block::Heading(_)
        | Block::Sentence(_)
        | Block::Why(_)
        | Block::Next(_)
        | Block::Headline(_)
        | Block::Table(_)
        | Block::Form(_)
        | Block::Safety(_) => None,
    }
}

/// Splits an answer into its first headline, its other blocks, and its safety instructions.
///
/// Text and page thus begin with the headline and end with the safety instructions, wherever these are in the answer.
fn sorted(answer: &Answer) -> (Option<&str>, Vec<&Block>, Vec<&str>) {
    let mut headline = None;
    let (mut blocks, mut safety) = (Vec::new(), Vec::new());
    for block in &answer.blocks {
        match block {
            Block::Headline(line) if headline.is_none() => headline = Some(line.as_str()),
            Block::Safety(lines) => {
                for line in lines.iter().map(String::as_str) {
                    if !safety.contains(&line) {
                        safety.push(line);
                    }
                }
            }
            _ => blocks.push(block),
        }
    }
    (headline, blocks, safety)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tell::{Chart, Curve, Mark, Panels};

    #[test]
    fn every_picture_is_well_formed_and_says_what_it_is() {
        for (name, answer) in samples::all() {
            let pictures = pictures(&answer);
            for (title, text) in &pictures {
                let tree = roxmltree::Document::parse(text)
                    .unwrap_or_else(|e| panic!("{name}, {title}: {e}"));
                let root = tree.root_element();
                assert_eq!(root.attribute("role"), Some("img"), "{name}");
                assert!(root.attribute("viewBox").is_some(), "{name}");
                assert!(
                    root.children()
                        .any(|n| n.has_tag_name(("http://www.w3.org/2000/svg", "title"))),
                    "{name}"
                );
                for number in ["NaN", "inf"] {
                    let drawn = root
                        .descendants()
                        .flat_map(|n| n.attributes().map(|a| a.value().to_owned()));
                    assert!(
                        !drawn.into_iter().any(|value| value.contains(number)),
                        "{name}: {number} in {title}"
                    );
                }
            }
            let whole = svg(&answer);
            assert_eq!(whole.is_some(), !pictures.is_empty(), "{name}");
            if let Some(whole) = whole {
                roxmltree::Document::parse(&whole).unwrap_or_else(|e| panic!("{name}: {e}"));
            }
        }
    }

    #[test]
    fn texts_stay_inside_their_picture() {
        for (name, answer) in samples::all() {
            for picture in drawn(&answer) {
                for (text, y, (left, right)) in picture.texts() {
                    let inside = left >= -1.0
                        && right <= picture.width + 1.0
                        && y > 0.0
                        && y <= picture.height;
                    assert!(inside, "{name}: “{text}” from {left} to {right} at {y}");
                }
            }
        }
    }

    #[test]
    fn texts_of_a_circuit_or_of_bars_do_not_meet() {
        for (name, answer) in samples::all() {
            let charts = |block: &&Block| !matches!(block, Block::Chart(_));
            for picture in answer.blocks.iter().filter(charts).filter_map(picture) {
                let texts = picture.texts();
                for (i, (one, y, ends)) in texts.iter().enumerate() {
                    for (other, other_y, other_ends) in &texts[i + 1..] {
                        let apart = (y - other_y).abs() > svg::SIZE
                            || ends.1 < other_ends.0
                            || other_ends.1 < ends.0;
                        assert!(apart, "{name}: “{one}” meets “{other}”");
                    }
                }
            }
        }
    }

    /// Lines nearer to each other than their names are high: each name stands on its own line, and none is struck through.
    #[test]
    fn near_levels_are_named_on_their_own_lines() {
        let levels = [100.0, 105.0, 110.0];
        let chart = Chart {
            curves: vec![Curve {
                points: vec![
                    (0.0, 20.0),
                    (10.0, 90.0),
                    (30.0, 90.0),
                    (38.0, 110.0),
                    (53.0, 90.0),
                ],
                ..Curve::default()
            }],
            levels: levels.map(|l| (format!("{l} °C"), l)).to_vec(),
            marks: vec![Mark {
                name: "peak 110 °C".into(),
                x: 38.0,
                y: 110.0,
                spread: 0.0,
            }],
            ..Chart::default()
        };
        let picture = picture(&Block::Panels(Panels {
            charts: vec![chart],
            ..Panels::default()
        }));
        let texts = picture.unwrap().texts();
        let at = |name: &str| texts.iter().find(|t| t.0 == name).unwrap();
        let [low, middle, high] = levels.map(|l| at(&format!("{l} °C")));
        // The curves are 5 °C apart, and their labels equally far, which is less than one line of text.
        let apart = low.1 - middle.1;
        assert!(apart > 4.0 && apart < svg::LINE, "{texts:?}");
        assert!((middle.1 - high.1 - apart).abs() < 0.2, "{texts:?}");
        for (one, other) in [(low, middle), (middle, high), (low, high)] {
            let clear = (one.1 - other.1).abs() >= svg::SIZE + 4.0;
            let beside = clear || one.2.1 <= other.2.0 || other.2.1 <= one.2.0;
            assert!(beside, "{one:?} {other:?}");
        }
        // Letters reach from their baseline to 10 px above it; a line lies 5 px above the baseline of its name.
        let peak = at("peak 110 °C");
        for line in [low, middle, high].map(|name| name.1 - 5.0) {
            assert!(line < peak.1 - 10.0 || line > peak.1, "{texts:?}");
        }
    }

    #[test]
    fn nothing_to_say_is_no_picture() {
        assert_eq!(svg(&Answer::default()), None);
        assert!(pictures(&Answer::default()).is_empty());
    }
}
