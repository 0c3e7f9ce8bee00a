//! The part of a chart that the plotting library draws: frame, grid, shaded ranges, bands, curves and horizontal lines.

use super::WIDTH;
use super::axis::Axis;
use super::key::DASHES;
use crate::report::figure::drawable;
use crate::report::measured::Measured;
use crate::report::svg::{COLOURS, SIZE};
use crate::tell::Chart;
use plotters::coord::cartesian::Cartesian2d;
use plotters::prelude::*;

/// The library rounds to whole pixels; drawing larger by this factor gives smooth curves.
pub(super) const SCALE: f64 = 8.0;

/// The colour of axes and horizontal lines.
const DARK: RGBColor = RGBColor(26, 26, 26);

/// A plot of the plotting library.
type Context<'a, 'b> = ChartContext<'a, Measured<SVGBackend<'b>>, Cartesian2d<Axis, Axis>>;

type Drawn = Result<(), Box<dyn std::error::Error>>;

/// A plot with its axes and its position in the picture.
pub(super) struct Plot<'a> {
    pub(super) x: &'a Axis,
    pub(super) y: &'a Axis,
    pub(super) left: f64,
    pub(super) right: f64,
    pub(super) top: f64,
    pub(super) bottom: f64,
    pub(super) figures_below: bool,
}

impl Plot<'_> {
    /// The coordinates of a point; `None` if it cannot be drawn.
    pub(super) fn at(&self, (x, y): (f64, f64)) -> Option<(f64, f64)> {
        Some((self.x.of(x)?, self.y.of(y)?))
    }

    /// Converts a pair of coordinates to a position in the picture.
    pub(super) fn place(&self, (x, y): (f64, f64)) -> (f64, f64) {
        (
            self.left + self.x.share(x) * (self.right - self.left),
            self.bottom - self.y.share(y) * (self.bottom - self.top),
        )
    }

    /// Draws frame, grid, shaded ranges, bands, curves and horizontal lines.
    pub(super) fn draw(&self, chart: &Chart, into: &mut String) -> Drawn {
        let foot = 26.0;
        let size = (large(WIDTH) as u32, large(self.bottom + foot) as u32);
        let root = Measured(SVGBackend::with_string(into, size)).into_drawing_area();
        let mut plot = ChartBuilder::on(&root)
            .margin_top(large(self.top))
            .margin_right(large(WIDTH - self.right))
            .set_label_area_size(LabelAreaPosition::Left, large(self.left))
            .set_label_area_size(LabelAreaPosition::Bottom, large(foot))
            .build_cartesian_2d(self.x.clone(), self.y.clone())?;
        self.draw_stretches(chart, &mut plot)?;
        self.draw_mesh(&mut plot)?;
        self.draw_bands(chart, &mut plot)?;
        for (_, level) in &chart.levels {
            let Some(level) = self.y.of(*level) else {
                continue;
            };
            let ends = [(self.x.low, level), (self.x.high, level)];
            let style = DARK.stroke_width(large(1.2) as u32);
            plot.draw_series(DashedLineSeries::new(ends, large(7.0), large(3.0), style))?;
        }
        self.draw_curves(chart, &mut plot)?;
        for (i, contour) in chart.contours.iter().enumerate() {
            let style = shade(i, chart.contours.len()).stroke_width(large(2.0) as u32);
            for run in runs(&contour.points, |p| self.at(*p)) {
                plot.draw_series(LineSeries::new(run, style))?;
            }
        }
        drop(plot);
        root.present()?;
        Ok(())
    }

    /// Draws the shaded ranges.
    fn draw_stretches(&self, chart: &Chart, plot: &mut Context<'_, '_>) -> Drawn {
        for (i, stretch) in chart.stretches.iter().enumerate() {
            let end = |v: f64, open: f64| {
                if drawable(v) {
                    self.x.of(v).unwrap_or(self.x.low)
                } else {
                    open
                }
            };
            let (from, to) = (end(stretch.from, self.x.low), end(stretch.to, self.x.high));
            let (from, to) = (from.max(self.x.low), to.min(self.x.high));
            if from < to {
                let shade = if i % 2 == 0 {
                    RGBColor(241, 241, 241)
                } else {
                    RGBColor(226, 226, 226)
                };
                let corners = [(from, self.y.low), (to, self.y.high)];
                plot.draw_series([Rectangle::new(corners, shade.filled())])?;
            }
        }
        Ok(())
    }

    /// Draws frame, grid, tick labels, and the line at zero.
    fn draw_mesh(&self, plot: &mut Context<'_, '_>) -> Drawn {
        // The library draws text smaller than its nominal font size by this factor.
        let type_size = SIZE * SCALE * 1.24;
        plot.configure_mesh()
            .bold_line_style(RGBColor(200, 200, 200).stroke_width(large(0.8) as u32))
            .light_line_style(TRANSPARENT)
            .axis_style(DARK.stroke_width(large(1.0) as u32))
            .label_style(("sans-serif", type_size).into_font().color(&DARK))
            .x_label_formatter(&|v| match self.figures_below {
                true => self.x.text(*v),
                false => String::new(),
            })
            .y_label_formatter(&|v| self.y.text(*v))
            .set_all_tick_mark_size(large(4.0))
            .draw()?;
        if self.y.low < 0.0 && self.y.high > 0.0 && !self.y.log {
            plot.draw_series([PathElement::new(
                [(self.x.low, 0.0), (self.x.high, 0.0)],
                DARK.stroke_width(large(1.0) as u32),
            )])?;
        }
        Ok(())
    }

    /// Draws the uncertainty bands of the curves.
    fn draw_bands(&self, chart: &Chart, plot: &mut Context<'_, '_>) -> Drawn {
        for (i, curve) in chart.curves.iter().enumerate() {
            for band in runs(&curve.band, |b| {
                Some((self.x.of(b.0)?, self.y.of(b.1)?, self.y.of(b.2)?))
            }) {
                let lower = band.iter().map(|b| (b.0, b.1));
                let edge: Vec<(f64, f64)> =
                    lower.chain(band.iter().rev().map(|b| (b.0, b.2))).collect();
                plot.draw_series([Polygon::new(edge, colour(i).mix(0.18))])?;
            }
        }
        Ok(())
    }

    /// Draws the curves, each with its dash pattern; an isolated point is drawn as a dot.
    fn draw_curves(&self, chart: &Chart, plot: &mut Context<'_, '_>) -> Drawn {
        for (i, curve) in chart.curves.iter().enumerate() {
            let style = colour(i).stroke_width(large(2.4) as u32);
            for run in runs(&curve.points, |p| self.at(*p)) {
                match DASHES[i % DASHES.len()] {
                    _ if run.len() == 1 => {
                        let dot = |p: &(f64, f64)| Circle::new(*p, large(3.5), colour(i).filled());
                        plot.draw_series(run.iter().map(dot))?;
                    }
                    None => {
                        plot.draw_series(LineSeries::new(run, style))?;
                    }
                    Some((long, gap)) => {
                        let (long, gap) = (large(f64::from(long)), large(f64::from(gap)));
                        plot.draw_series(DashedLineSeries::new(run, long, gap, style))?;
                    }
                }
            }
        }
        Ok(())
    }
}

/// Converts a length to the enlarged pixels in which the library draws.
fn large(v: f64) -> i32 {
    (v * SCALE).round() as i32
}

/// The SVG elements inside the outermost element that the library writes.
pub(super) fn inner(svg: &str) -> &str {
    let start = svg.find('>').map_or(0, |i| i + 1);
    let end = svg.rfind("</svg>").unwrap_or(svg.len());
    svg.get(start..end).unwrap_or("")
}

/// The colour of a curve.
pub(super) fn colour(i: usize) -> RGBColor {
    let byte = |at: usize| {
        COLOURS[i % COLOURS.len()]
            .get(at..at + 2)
            .and_then(|h| u8::from_str_radix(h, 16).ok())
            .unwrap_or(0)
    };
    RGBColor(byte(1), byte(3), byte(5))
}

/// The colour of a contour line: darker for higher values.
pub(super) fn shade(i: usize, count: usize) -> RGBColor {
    let part = i as f64 / count.saturating_sub(1).max(1) as f64;
    let mixed = |pale: f64, dark: f64| (pale + (dark - pale) * part).round() as u8;
    RGBColor(mixed(120.0, 8.0), mixed(180.0, 40.0), mixed(220.0, 100.0))
}

/// Splits a series into runs of consecutive points that can be drawn.
pub(super) fn runs<P, Q>(points: &[P], at: impl Fn(&P) -> Option<Q>) -> Vec<Vec<Q>> {
    let mut runs: Vec<Vec<Q>> = vec![Vec::new()];
    for point in points {
        match (at(point), runs.last_mut()) {
            (Some(q), Some(run)) => run.push(q),
            _ => runs.push(Vec::new()),
        }
    }
    runs.retain(|run| !run.is_empty());
    runs
}
