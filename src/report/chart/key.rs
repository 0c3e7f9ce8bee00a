//! The legend of a chart: a sample of each line, and its name.

use super::WIDTH;
use super::plot::{colour, shade};
use crate::report::svg::{COLOURS, Held, LINE, Look, Picture, SIZE, letters, width};
use crate::report::wrap::lines;
use crate::tell::{Chart, Curve};
use plotters::style::RGBColor;

/// Length of a line sample in the legend.
const SAMPLE: f64 = 34.0;

/// Draws the legend below the plot; returns its lower end.
pub(crate) fn key(picture: &mut Picture, chart: &Chart, left: f64, top: f64) -> f64 {
    let curves: Vec<(usize, &Curve)> = chart
        .curves
        .iter()
        .enumerate()
        .filter(|(_, c)| !c.name.is_empty())
        .collect();
    let widest = curves
        .iter()
        .map(|(_, c)| width(&c.name, SIZE))
        .fold(0.0, f64::max);
    let room = WIDTH - 12.0 - left;
    let across = ((room / (SAMPLE + 26.0 + widest)).floor().max(1.0) as usize).min(4);
    let column = room / across as f64;
    let mut y = top;
    for row in curves.chunks(across) {
        let mut deepest = 0;
        for (place, (i, curve)) in row.iter().enumerate() {
            let x = left + place as f64 * column;
            sample(picture, *i, x, y + LINE - 5.0, !curve.band.is_empty());
            let name = lines(&curve.name, letters(column - SAMPLE - 8.0, SIZE));
            for (l, line) in name.iter().enumerate() {
                picture.words(
                    (x + SAMPLE + 8.0, y + (l + 1) as f64 * LINE),
                    Held::Left,
                    line,
                );
            }
            deepest = deepest.max(name.len());
        }
        y += deepest as f64 * LINE + 2.0;
    }
    y
}

/// Draws the legend of the contour lines that have no label on them; returns its lower end.
pub(super) fn contour_key(
    picture: &mut Picture,
    chart: &Chart,
    unnamed: &[usize],
    (left, top): (f64, f64),
) -> f64 {
    let column = (WIDTH - 12.0 - left) / 4.0;
    for (place, i) in unnamed.iter().enumerate() {
        let x = left + (place % 4) as f64 * column;
        let y = top + (place / 4 + 1) as f64 * LINE;
        let RGBColor(r, g, b) = shade(*i, chart.contours.len());
        let shade = format!("#{r:02x}{g:02x}{b:02x}");
        let ends = [(x, y - 5.0), (x + SAMPLE, y - 5.0)];
        picture.path(&ends, Look::line(&shade, 2.0));
        let name = &chart.contours[*i].name;
        picture.words((x + SAMPLE + 8.0, y), Held::Left, name);
    }
    top + unnamed.len().div_ceil(4) as f64 * LINE
}

/// Draws a short sample of the line of curve number `i`.
fn sample(picture: &mut Picture, i: usize, x: f64, y: f64, band: bool) {
    if band {
        let (r, g, b) = (colour(i).0, colour(i).1, colour(i).2);
        let pale = |c: u8| 255 - ((255 - u32::from(c)) * 18 / 100) as u8;
        let fill = format!("#{:02x}{:02x}{:02x}", pale(r), pale(g), pale(b));
        picture.rectangle((x, y - 7.0), (SAMPLE, 14.0), Look::filled(&fill));
    }
    let dash = DASHES[i % DASHES.len()]
        .map(|(long, gap)| format!("{long} {gap}"))
        .unwrap_or_default();
    picture.path(
        &[(x, y), (x + SAMPLE, y)],
        Look::line(COLOURS[i % COLOURS.len()], 2.4).dashed(&dash),
    );
    if i >= DASHES.len() {
        marker(picture, i, x + SAMPLE / 2.0, y);
    }
}

/// Draws the marker of curve number `i`: hollow circle, hollow square and hollow triangle in turn.
pub(super) fn marker(picture: &mut Picture, i: usize, x: f64, y: f64) {
    let look = Look::line(COLOURS[i % COLOURS.len()], 1.8).inside("#ffffff");
    match i / DASHES.len() {
        1 => picture.circle((x, y), 4.0, look),
        2 => picture.rectangle((x - 3.5, y - 3.5), (7.0, 7.0), look),
        _ => picture.shape(
            &[(x, y - 5.0), (x + 4.5, y + 3.5), (x - 4.5, y + 3.5)],
            look,
        ),
    }
}

/// Dash patterns of successive curves, as length of dash and gap; curves beyond these patterns also have markers.
pub(super) const DASHES: [Option<(i32, i32)>; 4] =
    [None, Some((10, 5)), Some((2, 4)), Some((18, 4))];
