//! Draws a bar chart with bars on both sides of a zero line.

use super::figure::{self, drawable, figure};
use super::svg::{COLOURS, GRID, Held, INK, LINE, Look, Picture, SIZE, letters, width};
use super::wrap::lines;
use crate::tell::{Bar, Bars};

/// Width of the picture, in pixels.
const WIDTH: f64 = 480.0;
/// Right end of the bars' names.
const NAMES: f64 = 134.0;
/// Left and right end of the area of the bars.
const FIELD: (f64, f64) = (146.0, 304.0);
/// Left end of the numbers beside the bars.
const FIGURES: f64 = 318.0;

/// Draws a bar chart.
pub(super) fn draw(bars: &Bars) -> Picture {
    let mut picture = Picture::new(&bars.title, WIDTH);
    let (low, high, ticks) = axis(bars);
    let place = |v: f64| FIELD.0 + (v - low) / (high - low) * (FIELD.1 - FIELD.0);

    let rows: Vec<Row> = bars.rows.iter().map(Row::new).collect();
    let top = 8.0;
    let bottom = top + rows.iter().map(Row::height).sum::<f64>() + 4.0;
    let widest = ticks.iter().map(|t| width(&t.1, SIZE)).fold(0.0, f64::max) + 6.0;
    let mut last = f64::NEG_INFINITY;
    for (value, text) in &ticks {
        let x = place(*value);
        picture.path(&[(x, top), (x, bottom)], Look::line(GRID, 1.0));
        if x - last >= widest {
            picture.soft((x, bottom + 17.0), Held::Middle, text);
            last = x;
        }
    }
    let mut y = top;
    for row in &rows {
        row.draw(&mut picture, y, place);
        y += row.height();
    }
    picture.path(
        &[(place(0.0), top), (place(0.0), bottom)],
        Look::line(INK, 1.5),
    );
    let mut foot = bottom + 20.0;
    for line in lines(&bars.label, letters(WIDTH - 40.0, SIZE)) {
        foot += LINE;
        let half = width(&line, SIZE) / 2.0;
        let middle = ((FIELD.0 + FIELD.1) / 2.0)
            .clamp(half.min(WIDTH / 2.0), (WIDTH - half).max(WIDTH / 2.0));
        picture.words((middle, foot), Held::Middle, &line);
    }
    picture.height = foot + 12.0;
    picture
}

/// Ends and ticks of the value axis, which always includes zero.
fn axis(bars: &Bars) -> (f64, f64, Vec<(f64, String)>) {
    let ranges = bars
        .rows
        .iter()
        .filter_map(|b| b.range)
        .flat_map(|(low, high)| [low, high]);
    let values = bars.rows.iter().map(|b| b.value).chain(ranges);
    let (low, high) = figure::ends(values.chain([0.0])).unwrap_or((0.0, 1.0));
    if low >= high {
        return (0.0, 1.0, Vec::new());
    }
    let step = figure::step(low, high, 3.0);
    let (low, high) = ((low / step).floor() * step, (high / step).ceil() * step);
    let ticks = figure::multiples(low, high, step).into_iter();
    (
        low,
        high,
        ticks.map(|v| (v, figure::tick(v, step))).collect(),
    )
}

/// The text of a bar: its value and its range, both rounded to a precision of two digits in half the range.
pub(super) fn worded(bar: &Bar) -> (String, String) {
    match bar.range {
        Some((low, high)) if high > low && (high - low).is_finite() => {
            let step = 10_f64.powf((0.5 * (high - low)).log10().floor() - 1.0);
            // Adding zero turns a result of minus zero into zero.
            let coarse = |v: f64| figure((v / step).round() * step + 0.0);
            (
                coarse(bar.value),
                format!("{} to {}", coarse(low), coarse(high)),
            )
        }
        _ => (figure(bar.value), String::new()),
    }
}

/// One bar, with its texts wrapped into lines.
struct Row<'a> {
    bar: &'a Bar,
    name: Vec<String>,
    words: Vec<String>,
}

impl<'a> Row<'a> {
    fn new(bar: &'a Bar) -> Self {
        let (value, range) = worded(bar);
        let room = letters(WIDTH - FIGURES, SIZE);
        let range = if range.is_empty() {
            range
        } else {
            format!("({range})")
        };
        let both = format!("{value} {range}");
        let mut words = if both.chars().count() <= room {
            vec![both]
        } else {
            vec![value, range]
        };
        words.extend(lines(&bar.note, room));
        Self {
            bar,
            name: lines(&bar.name, letters(NAMES - 10.0, SIZE)),
            words,
        }
    }

    fn height(&self) -> f64 {
        self.name.len().max(self.words.len()).max(1) as f64 * LINE + 10.0
    }

    fn draw(&self, picture: &mut Picture, top: f64, place: impl Fn(f64) -> f64) {
        let middle = top + self.height() / 2.0;
        let first = |count: usize| middle - (count as f64 - 1.0) * LINE / 2.0 + 5.0;
        for (i, line) in self.name.iter().enumerate() {
            picture.words(
                (NAMES, first(self.name.len()) + i as f64 * LINE),
                Held::Right,
                line,
            );
        }
        for (i, line) in self.words.iter().enumerate() {
            let at = (FIGURES, first(self.words.len()) + i as f64 * LINE);
            if i == 0 {
                picture.bold(at, Held::Left, line);
            } else {
                picture.words(at, Held::Left, line);
            }
        }
        if drawable(self.bar.value) {
            let (from, to) = (
                place(self.bar.value.min(0.0)),
                place(self.bar.value.max(0.0)),
            );
            let fill = if self.bar.value < 0.0 {
                COLOURS[5]
            } else {
                COLOURS[6]
            };
            picture.rectangle((from, middle - 8.0), (to - from, 16.0), Look::filled(fill));
        }
        if let Some((low, high)) = self.bar.range.filter(|r| drawable(r.0) && drawable(r.1)) {
            let (low, high) = (place(low), place(high));
            let look = Look::line(INK, 1.6);
            picture.path(&[(low, middle), (high, middle)], look);
            for end in [low, high] {
                picture.path(&[(end, middle - 5.0), (end, middle + 5.0)], look);
            }
        }
    }
}
