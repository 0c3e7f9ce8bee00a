//! An answer as text for a terminal.

use super::bars::worded;
use super::dots::Dots;
use super::figure::{self, drawable, figure};
use super::wrap::{harmless, lines};
use super::{circuit, sorted};
use crate::tell::{Answer, Bars, Block, Chart, Circuit, Form, Panels, Stretch, Table};
use comfy_table::{CellAlignment, ContentArrangement, ContentLineStyle, LineStyle, TableStyle};

/// Minimum width of the layout.
const NARROWEST: usize = 30;
/// Rows of a plot.
const PLOT_ROWS: usize = 14;
/// Symbols of the curves in a plot.
const SIGNS: [char; 10] = ['o', 'x', '+', '*', '#', '@', '%', '&', '=', '~'];
/// Symbol of a single point in a plot.
const MARK: char = '◆';

/// An answer as text of at most `width` columns: the headline first, cautions and safety last.
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

/// An answer in a few lines: the headline with the cautions in one line, the reason, and the next step with its
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

/// A table without a frame: a line under its headings, blanks between its columns.
fn grid(table: &Table, width: usize) -> String {
    if table.heads.is_empty() && table.rows.is_empty() {
        return paragraph(&table.title, width);
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
    for column in grid.column_iter_mut() {
        column.set_padding((0, 2));
    }
    for column in &table.numeric {
        if let Some(column) = grid.column_mut(*column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    titled(&table.title, grid.to_string(), width)
}

/// Bars to both sides of a zero line, followed by figures and notes.
fn bar_rows(bars: &Bars, width: usize) -> String {
    let values = bars.rows.iter().map(|b| b.value);
    let (low, high) = figure::ends(values.chain([0.0])).unwrap_or((0.0, 0.0));
    let span = if high > low { high - low } else { 1.0 };

    let most = (width / 3).max(8);
    let names = bars
        .rows
        .iter()
        .map(|b| long(&b.name))
        .filter(|l| *l <= most)
        .max()
        .unwrap_or(0);
    let figures = bars
        .rows
        .iter()
        .map(|b| long(&figure(b.value)))
        .max()
        .unwrap_or(0);
    let field = width.saturating_sub(names + figures + 5).clamp(8, 40);
    // The zero line takes one column; the rest is shared by the two sides.
    let before = (-low / span * (field - 1) as f64).round() as usize;
    let after = field - 1 - before;

    let rows = bars.rows.iter().map(|bar| {
        let halves = |room: usize, end: f64| {
            let share = if drawable(bar.value) && end.abs() > 0.0 {
                (bar.value / end).clamp(0.0, 1.0)
            } else {
                0.0
            };
            let halves = (share * 2.0 * room as f64).round() as usize;
            let least = usize::from(share > 0.0 && halves == 0);
            halves + least
        };
        let (left, right) = (halves(before, low), halves(after, high));
        let minus = format!(
            "{}{}",
            if left % 2 == 1 { "▐" } else { "" },
            "█".repeat(left / 2)
        );
        let plus = format!(
            "{}{}",
            "█".repeat(right / 2),
            if right % 2 == 1 { "▌" } else { "" }
        );
        let (value, range) = worded(bar);
        let mut row = String::new();
        let mut name = bar.name.clone();
        if long(&name) > names {
            row = format!("{}\n", paragraph(&name, width));
            name.clear();
        }
        row.push_str(&format!(
            "{name:<names$}  {minus:>before$}│{plus:<after$}  {value:>figures$}"
        ));
        let range = if range.is_empty() {
            range
        } else {
            format!("({range})")
        };
        let more = [range.as_str(), bar.note.as_str()]
            .into_iter()
            .filter(|t| !t.is_empty())
            .collect::<Vec<_>>()
            .join(" ");
        let used = names + field + figures + 4;
        if more.is_empty() {
            row
        } else if used + 2 + long(&more) <= width {
            format!("{row}  {more}")
        } else {
            format!("{row}\n{}", hanging(&" ".repeat(names + 2), &more, width))
        }
    });
    let rows: Vec<String> = rows.collect();
    let label = if bars.label.is_empty() {
        String::new()
    } else {
        paragraph(&bars.label, width)
    };
    let body = [rows.join("\n"), label]
        .into_iter()
        .filter(|t| !t.is_empty())
        .collect::<Vec<_>>()
        .join("\n");
    titled(&bars.title, body, width)
}

/// The elements of a circuit with their figures; the limiting one is marked.
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

/// Stacked plots; then the lanes of periods over the same axis.
fn stacked(panels: &Panels, width: usize) -> String {
    let mut parts: Vec<String> = panels.charts.iter().map(|c| plot(c, width)).collect();
    let curves = panels.charts.iter().flat_map(|c| &c.curves);
    let ends = curves.flat_map(|c| &c.points).map(|p| p.0);
    let spans = panels.lanes.iter().flat_map(|l| &l.spans);
    let ends = figure::ends(ends.chain(spans.flat_map(|s| [s.0, s.1])));
    if let Some((low, high)) = ends.filter(|_| !panels.lanes.is_empty()) {
        let columns = width.saturating_sub(2).clamp(16, 64);
        let at = |v: f64| ((v - low) / (high - low) * columns as f64).clamp(0.0, columns as f64);
        let mut out = Vec::new();
        for lane in &panels.lanes {
            let met = |column: &usize| {
                let column = *column as f64;
                let meets = |s: &&(f64, f64)| at(s.0) < column + 1.0 && at(s.1) > column;
                lane.spans.iter().any(|s| meets(&s))
            };
            let signs = (0..columns).map(|c| if met(&c) { '█' } else { '·' });
            out.extend(lines(&lane.name, width));
            out.push(signs.collect());
        }
        let (left, right) = (figure(low), figure(high));
        let between = columns.saturating_sub(long(&left) + long(&right));
        out.push(format!("{left}{}{right}", " ".repeat(between)));
        out.extend(lines(&panels.x_label, width));
        parts.push(out.join("\n"));
    }
    titled(&panels.title, parts.join("\n\n"), width)
}

/// A plot of dots, with its legend.
fn plot(chart: &Chart, width: usize) -> String {
    let across = |v: f64| if chart.x_log { v.log10() } else { v };
    let up = |v: f64| if chart.y_log { v.log10() } else { v };
    let points: Vec<(f64, f64)> = chart
        .lines()
        .flat_map(|c| c.points.iter().copied())
        .chain(chart.marks.iter().map(|m| (m.x, m.y)))
        .filter(|p| drawable(across(p.0)) && drawable(up(p.1)))
        .collect();
    let Some(x_ends) = figure::ends(points.iter().map(|p| across(p.0))) else {
        return titled(&chart.title, "(no values to draw)".into(), width);
    };
    let heights = points.iter().map(|p| p.1);
    let levels = chart.levels.iter().map(|l| l.1);
    let zero = (chart.y_from_zero && !chart.y_log).then_some(0.0);
    let y_ends = figure::ends(heights.chain(levels).chain(zero).map(up)).unwrap_or((0.0, 1.0));
    let (x_low, x_high) = figure::widened(x_ends);
    let (y_low, y_high) = figure::widened(y_ends);

    let height = |v: f64| figure(if chart.y_log { 10f64.powf(v) } else { v });
    let (top, foot) = (height(y_high), height(y_low));
    let indent = long(&top).max(long(&foot)) + 1;
    let columns = width.saturating_sub(indent + 2).clamp(16, 64);
    let mut dots = Dots::new(columns, PLOT_ROWS);
    let (wide, high) = dots.size();
    let place = |x: f64, y: f64| {
        let (x, y) = (across(x), up(y));
        let at = (
            (x - x_low) / (x_high - x_low) * (wide - 1.0),
            (y_high - y) / (y_high - y_low) * (high - 1.0),
        );
        (drawable(x) && drawable(y)).then_some(at)
    };
    let curves: Vec<Vec<Option<(f64, f64)>>> = chart
        .lines()
        .map(|c| c.points.iter().map(|p| place(p.0, p.1)).collect())
        .collect();
    for (i, curve) in curves.iter().enumerate() {
        for run in curve.split(Option::is_none) {
            let run: Vec<(f64, f64)> = run.iter().flatten().copied().collect();
            run.iter().for_each(|p| dots.line(*p, *p));
            run.windows(2).for_each(|p| dots.line(p[0], p[1]));
            if curves.len() > 1 {
                dots.name(&run, (i, curves.len()), SIGNS[i % SIGNS.len()]);
            }
        }
    }
    for (_, level) in &chart.levels {
        if let Some((_, y)) = place(points[0].0, *level) {
            dots.level(y);
        }
    }
    for mark in &chart.marks {
        if let Some(at) = place(mark.x, mark.y) {
            dots.sign(at, MARK);
        }
    }

    let mut out: Vec<String> = lines(&chart.y_label, width);
    for (i, row) in dots.rows().enumerate() {
        let figure = match i {
            0 => top.as_str(),
            _ if i == PLOT_ROWS - 1 => foot.as_str(),
            _ => "",
        };
        out.push(format!("{figure:>indent$}│{row}"));
    }
    out.push(format!("{}└{}", " ".repeat(indent), "─".repeat(columns)));
    let back = |v: f64| figure(if chart.x_log { 10f64.powf(v) } else { v });
    let (left, middle, right) = (back(x_low), back((x_low + x_high) / 2.0), back(x_high));
    let between = columns.saturating_sub(long(&left) + long(&right));
    out.push(format!(
        "{} {left}{middle:^between$}{right}",
        " ".repeat(indent)
    ));
    out.extend(lines(&chart.x_label, width));

    let mut key: Vec<(String, String)> = Vec::new();
    for (i, curve) in chart
        .lines()
        .enumerate()
        .filter(|(_, c)| !c.name.is_empty())
    {
        let sign = match curves.len() {
            1 => '⠤',
            _ => SIGNS[i % SIGNS.len()],
        };
        key.push((sign.to_string(), curve.name.clone()));
    }
    for (name, level) in &chart.levels {
        key.push(("-".into(), format!("{name} ({})", figure(*level))));
    }
    for mark in &chart.marks {
        let spread = if mark.spread.abs() > 0.0 {
            format!(" ± {}", figure(mark.spread.abs()))
        } else {
            String::new()
        };
        key.push((
            MARK.to_string(),
            format!(
                "{} ({}; {}{spread})",
                mark.name,
                figure(mark.x),
                figure(mark.y)
            ),
        ));
    }
    out.push(listed(
        key.iter().map(|(sign, name)| (sign.as_str(), name.clone())),
        width,
    ));
    let ends = |s: &Stretch| format!("{} to {}", figure(s.from), figure(s.to));
    let stretches: Vec<(String, String)> = chart
        .stretches
        .iter()
        .map(|s| (ends(s), s.name.clone()))
        .collect();
    out.push(listed(
        stretches
            .iter()
            .map(|(ends, name)| (ends.as_str(), name.clone())),
        width,
    ));
    out.retain(|part| !part.is_empty());
    titled(&chart.title, out.join("\n"), width)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::samples;
    use crate::tell::Bar;

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
    fn bars_stand_on_their_side_of_zero_and_as_long_as_they_are() {
        let bar = |name: &str, value| Bar {
            name: name.into(),
            value,
            ..Bar::default()
        };
        let bars = Bars {
            rows: vec![bar("a", -10.0), bar("b", 20.0), bar("c", f64::NAN)],
            ..Bars::default()
        };
        let text = bar_rows(&bars, 60);
        let rows: Vec<(&str, &str)> = text
            .lines()
            .map(|line| line.split_once('│').unwrap())
            .collect();
        let count = |text: &str| text.matches('█').count() * 2 + text.matches(['▌', '▐']).count();
        assert_eq!(
            (
                count(rows[0].1),
                count(rows[1].0),
                count(rows[2].0) + count(rows[2].1)
            ),
            (0, 0, 0)
        );
        assert!(count(rows[0].0).abs_diff(count(rows[1].1) / 2) <= 1);
        assert!(rows[0].1.trim() == "-10" && rows[2].1.trim() == "–");
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
