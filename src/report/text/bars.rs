//! Writes a bar chart with bars on both sides of a zero line as text.

use super::{hanging, long, paragraph, titled};
use crate::report::bars::worded;
use crate::report::figure::{self, drawable, figure};
use crate::tell::{Bar, Bars};

/// The rows of a bar chart as text: bars on both sides of a zero line, followed by values and notes.
pub(super) fn bar_rows(bars: &Bars, width: usize) -> String {
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

    let columns = Columns {
        names,
        figures,
        sides: [before, after],
        ends: [low, high],
        width,
    };
    let rows: Vec<String> = bars.rows.iter().map(|bar| columns.row(bar)).collect();
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

/// The column widths of a bar chart, in characters.
struct Columns {
    /// Width of the column of names.
    names: usize,
    figures: usize,
    /// Widths of the bar area to the left and to the right of the zero line.
    sides: [usize; 2],
    /// The values at the left and at the right end of the bar area.
    ends: [f64; 2],
    width: usize,
}

impl Columns {
    /// One row: name, bar, value and note.
    fn row(&self, bar: &Bar) -> String {
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
        let [before, after] = self.sides;
        let (left, right) = (halves(before, self.ends[0]), halves(after, self.ends[1]));
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
        let (names, figures) = (self.names, self.figures);
        let mut row = String::new();
        let mut name = bar.name.clone();
        if long(&name) > names {
            row = format!("{}\n", paragraph(&name, self.width));
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
        let used = names + before + after + figures + 5;
        if more.is_empty() {
            row
        } else if used + 2 + long(&more) <= self.width {
            format!("{row}  {more}")
        } else {
            format!(
                "{row}\n{}",
                hanging(&" ".repeat(names + 2), &more, self.width)
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
}
