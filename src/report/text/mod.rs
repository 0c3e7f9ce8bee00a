//! Renders an answer as text for a terminal.

mod bars;
mod plot;

use super::wrap::{harmless, lines};
use super::{circuit, sorted};
use crate::tell::{Answer, Block, Circuit, Form, Table};
use bars::bar_rows;
use comfy_table::{
    CellAlignment, ColumnConstraint, ContentArrangement, ContentLineStyle, LineStyle, TableStyle,
    Width,
};
use plot::{plot, stacked};

/// Minimum width of the layout.
const NARROWEST: usize = 30;

/// Renders an answer as text of at most `width` columns: the headline first, cautions and safety instructions last.
pub fn text(answer: &Answer, width: usize) -> String {
    let width = width.max(NARROWEST);
    let (headline, blocks, safety) = sorted(answer);
    let mut parts: Vec<String> = Vec::new();
    parts.extend(headline.map(|line| paragraph(line, width)));
    for block in blocks {
        parts.push(match block {
            Block::Heading(line) => heading(line, width),
            Block::Sentence(line) | Block::Headline(line) | Block::Why(line) => {
                paragraph(line, width)
            }
            Block::Next(next) => paragraph(&format!("{}{}", super::NEXT, next.words), width),
            Block::Table(table) => grid(table, width),
            Block::Form(form) => blanks(form, width),
            Block::Bars(bars) => bar_rows(bars, width),
            Block::Chart(chart) => plot(chart, width),
            Block::Panels(panels) => stacked(panels, width),
            Block::Circuit(circuit) => places(circuit, width),
            Block::Safety(_) => continue,
        });
    }
    if !answer.assumptions.is_empty() {
        let pairs = answer
            .assumptions
            .iter()
            .map(|(label, value)| (label.as_str(), value.clone()));
        parts.push(format!(
            "{}\n{}",
            heading("What was assumed", width),
            listed(pairs, width)
        ));
    }
    for (name, sign, lines) in [
        (
            "Please note",
            "!",
            answer.cautions.iter().map(|c| c.words.as_str()).collect(),
        ),
        ("SAFETY", "!!", safety),
    ] {
        if !lines.is_empty() {
            let items: Vec<String> = lines
                .iter()
                .map(|line| hanging(&format!("{sign} "), line, width))
                .collect();
            parts.push(format!("{}\n{}", heading(name, width), items.join("\n")));
        }
    }
    parts.retain(|part| !part.trim().is_empty());
    let lines: Vec<String> = parts
        .join("\n\n")
        .lines()
        .map(|line| harmless(line.trim_end()))
        .chain([String::new()])
        .collect();
    lines.join("\n")
}

/// Renders an answer in a few lines: the headline, the cautions in one line, the reason, and the next step with its
/// hazards.
pub fn brief(answer: &Answer, width: usize) -> String {
    let width = width.max(NARROWEST);
    let (headline, blocks, _) = sorted(answer);
    let why = blocks.iter().find_map(|block| match block {
        Block::Why(line) => Some(line.clone()),
        _ => None,
    });
    let next = blocks.iter().find_map(|block| match block {
        Block::Next(next) => Some(next),
        _ => None,
    });
    let mind = next.map_or(String::new(), |n| n.cautions.join(" "));
    let mind = (!mind.is_empty()).then(|| format!("!! {mind}"));
    let next = next.map(|n| format!("{}{}", super::NEXT, n.words));
    let cautions: Vec<&str> = answer.cautions.iter().map(|c| c.words.as_str()).collect();
    let cautions = (!cautions.is_empty()).then(|| format!("! {}", cautions.join(" ")));
    let parts = [headline.map(String::from), cautions, why, next, mind];
    let mut text = String::new();
    for part in parts.into_iter().flatten() {
        text.push_str(&harmless(&paragraph(&part, width)));
        text.push('\n');
    }
    text
}

/// The width of a text in characters.
fn long(text: &str) -> usize {
    text.chars().count()
}

fn paragraph(text: &str, width: usize) -> String {
    lines(text, width).join("\n")
}

/// A heading, underlined.
fn heading(text: &str, width: usize) -> String {
    let lines = lines(text, width);
    let under = lines.iter().map(|line| long(line)).max().unwrap_or(0);
    format!("{}\n{}", lines.join("\n"), "-".repeat(under))
}

/// Lines to fill in by hand.
fn blanks(form: &Form, width: usize) -> String {
    let mut parts = vec![heading(&form.title, width)];
    parts.extend(form.about.iter().map(|line| paragraph(line, width)));
    parts.extend(form.ticks.iter().map(|tick| hanging("[ ] ", tick, width)));
    parts.extend(form.cautions.iter().map(|line| hanging("! ", line, width)));
    for [name, key, printed] in &form.rows {
        let words: Vec<&str> = [name.as_str(), key, printed]
            .into_iter()
            .filter(|w| !w.is_empty())
            .collect();
        parts.push(paragraph(&words.join(", "), width));
        for head in &form.heads {
            parts.push(format!("  {head}: ________"));
        }
        if form.heads.is_empty() {
            parts.push("  ________".into());
        }
    }
    parts.join("\n")
}

/// A title above the body, if there is one.
fn titled(title: &str, body: String, width: usize) -> String {
    if title.is_empty() {
        body
    } else {
        format!("{}\n\n{body}", paragraph(title, width))
    }
}

/// Text after a label, with a hanging indent.
fn hanging(label: &str, text: &str, width: usize) -> String {
    let indent = long(label);
    let lines = lines(text, width.saturating_sub(indent).max(10));
    format!(
        "{label}{}",
        lines.join(&format!("\n{}", " ".repeat(indent)))
    )
}

/// Labels with their texts, on the same line, or below if the label is long.
fn listed<'a>(pairs: impl Iterator<Item = (&'a str, String)>, width: usize) -> String {
    let pairs: Vec<(&str, String)> = pairs.collect();
    let most = width / 3;
    let indent = pairs
        .iter()
        .map(|p| long(p.0))
        .filter(|l| *l <= most)
        .max()
        .unwrap_or(2)
        + 2;
    let rows = pairs.iter().map(|(label, text)| {
        let spaces = indent.saturating_sub(long(label));
        if long(label) > most {
            format!(
                "{}\n{}",
                paragraph(label, width),
                hanging(&" ".repeat(indent), text, width)
            )
        } else {
            hanging(&format!("{label}{}", " ".repeat(spaces)), text, width)
        }
    });
    rows.collect::<Vec<_>>().join("\n")
}

/// Number of spaces after each column of a table.
const GAP: u16 = 2;

/// For each column of a table, the width that its longest word needs, with the gap behind it.
fn needed(table: &Table) -> Vec<u16> {
    let rows = || std::iter::once(&table.heads).chain(&table.rows);
    let columns = rows().map(Vec::len).max().unwrap_or(0);
    let longest = |column: usize| {
        let cells = rows().filter_map(|row| row.get(column));
        let words = cells.flat_map(|cell| cell.split_whitespace());
        words.map(long).max().unwrap_or(0)
    };
    let width = |column| u16::try_from(longest(column)).unwrap_or(u16::MAX);
    let widths = (0..columns).map(|column| width(column).saturating_add(GAP));
    widths.collect()
}

/// Lays out a table without a frame: a line under the headings, spaces between the columns. Cells break at spaces only;
/// a table that is too wide for that is written row by row.
fn grid(table: &Table, width: usize) -> String {
    if table.heads.is_empty() && table.rows.is_empty() {
        return paragraph(&table.title, width);
    }
    let needed = needed(table);
    // One more space stands between two columns.
    let between = needed.len().saturating_sub(1);
    if needed.iter().map(|w| usize::from(*w)).sum::<usize>() + between > width {
        return titled(&table.title, row_by_row(table, width), width);
    }
    let style = TableStyle::new()
        .header_lines(ContentLineStyle::none())
        .header_separator(LineStyle::none().fill('─').junction('─'))
        .content_lines(ContentLineStyle::none());
    let mut grid = comfy_table::Table::new();
    grid.load_style(style)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(u16::try_from(width).unwrap_or(u16::MAX));
    if !table.heads.is_empty() {
        grid.set_header(&table.heads);
    }
    grid.add_rows(&table.rows);
    for (column, least) in grid.column_iter_mut().zip(needed) {
        column.set_padding((0, GAP));
        column.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(least)));
    }
    for column in &table.numeric {
        if let Some(column) = grid.column_mut(*column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    titled(&table.title, grid.to_string(), width)
}

/// Writes each row of a table as a list: the first cell, then a line for each other cell with the heading of its column.
fn row_by_row(table: &Table, width: usize) -> String {
    let row = |row: &Vec<String>| {
        let cells = row.iter().enumerate().skip(1);
        let told = cells.filter(|(_, cell)| !cell.is_empty());
        let pairs = told.map(|(column, cell)| {
            let head = table.heads.get(column).map_or("", String::as_str);
            (head, cell.clone())
        });
        let list = listed(pairs, width.saturating_sub(2));
        let list = list.lines().map(|line| format!("  {line}"));
        let first = row.first().map(|cell| paragraph(cell, width));
        first.into_iter().chain(list).collect::<Vec<_>>().join("\n")
    };
    let rows = table.rows.iter().map(row);
    rows.collect::<Vec<_>>().join("\n")
}

/// Lists the elements of a circuit with their values; the one that limits the fan speed is marked.
fn places(circuit: &Circuit, width: usize) -> String {
    let rows = circuit.labels.iter().map(|(place, figures)| {
        let marked = if *place == circuit.limiting {
            "◄ limits"
        } else {
            ""
        };
        let figures = figures.join("; ");
        let gap = if figures.is_empty() || marked.is_empty() {
            ""
        } else {
            "  "
        };
        (circuit::name(place), format!("{figures}{gap}{marked}"))
    });
    titled(&circuit.title, listed(rows, width), width)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::samples;

    #[test]
    fn no_line_is_wider_than_asked() {
        for (name, answer) in samples::all() {
            for width in [40, 60, 80, 120] {
                for line in text(&answer, width).lines() {
                    assert!(
                        long(line) <= width,
                        "{name} at {width}: {} letters in\n{line}",
                        long(line)
                    );
                }
            }
        }
    }

    #[test]
    fn no_word_of_a_table_is_broken() {
        let words = [
            "main fan repaired",
            "1154 rpm",
            "hotter than any day on record",
        ];
        let table = Table {
            title: "Side by side".into(),
            heads: ["", "limiting ambient", "conditioning"]
                .map(String::from)
                .to_vec(),
            rows: vec![words.map(String::from).to_vec()],
            numeric: vec![1, 2],
        };
        for width in [30, 36, 40, 60] {
            let shown = grid(&table, width);
            for word in table.heads.iter().chain(&words.map(String::from)) {
                for word in word.split(' ') {
                    assert!(shown.contains(word), "{word} at {width} in\n{shown}");
                }
            }
            assert!(
                shown.lines().all(|line| long(line) <= width),
                "{width}:\n{shown}"
            );
        }
    }

    #[test]
    fn the_answer_comes_first_and_safety_last() {
        let answer = samples::full();
        let text = text(&answer, 80);
        assert!(text.starts_with("The fan turns at"));
        let at = |part: &str| {
            text.find(part)
                .unwrap_or_else(|| panic!("no {part} in\n{text}"))
        };
        assert!(at("What was assumed") < at("Please note") && at("Please note") < at("SAFETY"));
        assert!(text.contains("◄ limits"));
    }

    #[test]
    fn escape_codes_are_shown_and_not_obeyed() {
        let mut answer = samples::full();
        let name = "van\u{1b}[31m\u{9b}2J\u{7}\r\u{202e}";
        answer.assumptions = vec![("machine".into(), name.into())];
        answer.blocks.insert(0, Block::Headline(name.into()));
        let steers = |c: char| c.is_control() && c != '\n' || c == '\u{202e}';
        for text in [text(&answer, 80), brief(&answer, 80)] {
            assert!(
                !text.contains(steers) && text.contains("van␛[31m"),
                "{text}"
            );
        }
        assert_eq!(harmless("74 °C ± 5 K\n−10 °C"), "74 °C ± 5 K\n−10 °C");
    }

    #[test]
    fn an_empty_answer_is_an_empty_text() {
        assert_eq!(text(&Answer::default(), 80).trim(), "");
        assert_eq!(text(&Answer::default(), 0).trim(), "");
    }
}
