//! Draws lines, shapes and text as SVG.
//!
//! The SVG elements have no `id`, so that several pictures can be on one page without conflicts.

use super::table::Values;
use super::wrap::lines;
use std::fmt::Write as _;

/// Colour of text and outlines.
pub(super) const INK: &str = "#1a1a1a";
/// Colour of secondary text.
pub(super) const SOFT: &str = "#555555";
/// Colour of grid lines.
pub(super) const GRID: &str = "#d8d8d8";
/// Colours distinguishable by colour-blind people (Okabe and Ito 2008), without yellow, which is hardly visible on
/// white.
pub(super) const COLOURS: [&str; 7] = [
    "#0072B2", "#D55E00", "#009E73", "#CC79A7", "#000000", "#E69F00", "#56B4E9",
];
/// Font size.
pub(super) const SIZE: f64 = 14.0;
/// Distance between lines of text.
pub(super) const LINE: f64 = 18.0;
/// Mean width of a letter relative to its height in common sans-serif fonts, slightly overestimated.
const LETTER: f64 = 0.56;

/// The point of a text to which its given position refers.
#[derive(Clone, Copy)]
pub(super) enum Held {
    /// At its left end.
    Left,
    /// At its middle.
    Middle,
    /// At its right end.
    Right,
}

/// A picture being drawn; the title is kept separately from the elements.
#[derive(Default)]
pub(super) struct Picture {
    /// Title.
    pub title: String,
    /// Its width.
    pub width: f64,
    /// Its height.
    pub height: f64,
    /// Its elements.
    body: String,
    /// The data tables of its plots, from top to bottom.
    pub values: Vec<Values>,
}

/// The style of a shape or line.
#[derive(Clone, Copy)]
pub(super) struct Look<'a> {
    /// Colour of the line.
    pub stroke: &'a str,
    /// Thickness of the line.
    pub width: f64,
    /// Fill colour.
    pub fill: &'a str,
    /// Lengths of dashes and gaps; empty for a solid line.
    pub dash: &'a str,
}

impl<'a> Look<'a> {
    /// The style of a solid line.
    pub fn line(stroke: &'a str, width: f64) -> Self {
        Self {
            stroke,
            width,
            fill: "none",
            dash: "",
        }
    }

    /// The style of a filled shape without an outline.
    pub fn filled(fill: &'a str) -> Self {
        Self {
            stroke: "none",
            width: 0.0,
            fill,
            dash: "",
        }
    }

    /// The same style with dashes.
    pub fn dashed(mut self, dash: &'a str) -> Self {
        self.dash = dash;
        self
    }

    /// The same style with a fill.
    pub fn inside(mut self, fill: &'a str) -> Self {
        self.fill = fill;
        self
    }

    fn attributes(self) -> String {
        let mut text = format!(r#" fill="{}" stroke="{}""#, self.fill, self.stroke);
        if self.stroke != "none" {
            let _ = write!(text, r#" stroke-width="{}""#, short(self.width));
        }
        if !self.dash.is_empty() {
            let _ = write!(text, r#" stroke-dasharray="{}""#, self.dash);
        }
        text
    }
}

impl Picture {
    /// An empty picture.
    pub fn new(title: &str, width: f64) -> Self {
        Self {
            title: title.to_owned(),
            width,
            height: 0.0,
            body: String::new(),
            values: Vec::new(),
        }
    }

    /// Draws a line through points.
    pub fn path(&mut self, points: &[(f64, f64)], look: Look) {
        self.points("polyline", points, look);
    }

    /// Draws a closed shape whose corners are the given points.
    pub fn shape(&mut self, points: &[(f64, f64)], look: Look) {
        self.points("polygon", points, look);
    }

    fn points(&mut self, tag: &str, points: &[(f64, f64)], look: Look) {
        let places: Vec<String> = points
            .iter()
            .map(|(x, y)| format!("{},{}", short(*x), short(*y)))
            .collect();
        let _ = writeln!(
            self.body,
            r#"<{tag} points="{}"{}/>"#,
            places.join(" "),
            look.attributes()
        );
    }

    /// Draws a circle.
    pub fn circle(&mut self, (x, y): (f64, f64), radius: f64, look: Look) {
        let (x, y, radius) = (short(x), short(y), short(radius));
        let _ = writeln!(
            self.body,
            r#"<circle cx="{x}" cy="{y}" r="{radius}"{}/>"#,
            look.attributes()
        );
    }

    /// Draws a rectangle, given its upper left corner.
    pub fn rectangle(&mut self, (x, y): (f64, f64), (width, height): (f64, f64), look: Look) {
        let (x, y, width, height) = (
            short(x),
            short(y),
            short(width.max(0.0)),
            short(height.max(0.0)),
        );
        let _ = writeln!(
            self.body,
            r#"<rect x="{x}" y="{y}" width="{width}" height="{height}"{}/>"#,
            look.attributes()
        );
    }

    /// Writes text with its baseline at `y`.
    pub fn words(&mut self, (x, y): (f64, f64), held: Held, text: &str) {
        self.styled(x, y, held, text, "");
    }

    /// Writes bold text.
    pub fn bold(&mut self, (x, y): (f64, f64), held: Held, text: &str) {
        self.styled(x, y, held, text, r#" font-weight="bold""#);
    }

    /// Writes text in the colour of secondary text.
    pub fn soft(&mut self, (x, y): (f64, f64), held: Held, text: &str) {
        self.styled(x, y, held, text, &format!(r#" fill="{SOFT}""#));
    }

    /// Writes text with a white outline, so that it is legible over lines.
    pub fn rimmed(&mut self, (x, y): (f64, f64), held: Held, text: &str) {
        self.styled(
            x,
            y,
            held,
            text,
            r##" stroke="#ffffff" stroke-width="4" stroke-linejoin="round" paint-order="stroke""##,
        );
    }

    /// Writes text vertically, centred at `(x, y)`.
    pub fn upwards(&mut self, (x, y): (f64, f64), text: &str) {
        let turn = format!(r#" transform="rotate(-90 {} {})""#, short(x), short(y));
        self.styled(x, y, Held::Middle, text, &turn);
    }

    fn styled(&mut self, x: f64, y: f64, held: Held, text: &str, more: &str) {
        let anchor = match held {
            Held::Left => "",
            Held::Middle => r#" text-anchor="middle""#,
            Held::Right => r#" text-anchor="end""#,
        };
        let (x, y) = (short(x), short(y));
        let _ = writeln!(
            self.body,
            r#"<text x="{x}" y="{y}"{anchor}{more}>{}</text>"#,
            escaped(text)
        );
    }

    /// Adds elements from the plotting library, which has drawn them larger by the factor `scale`.
    pub fn foreign(&mut self, elements: &str, scale: f64) {
        let _ = writeln!(
            self.body,
            r#"<g transform="scale({})">{elements}</g>"#,
            1.0 / scale
        );
    }

    /// The picture as an SVG element without the title, which the page writes itself.
    pub fn element(&self) -> String {
        let area = |v: &Values| v.area.map(short).join(" ");
        let plots: Vec<String> = self.values.iter().map(area).collect();
        let plots = match plots.is_empty() {
            true => String::new(),
            false => format!(r#"data-plots="{}" "#, plots.join(";")),
        };
        wrapped(&self.title, self.width, self.height, &self.body, &plots)
    }

    /// The picture as an SVG file, with the title above.
    pub fn file(&self) -> String {
        let (height, body) = self.titled();
        wrapped(&self.title, self.width, height, &body, "")
    }

    /// Height and elements, with the title above the picture.
    fn titled(&self) -> (f64, String) {
        let size = SIZE + 3.0;
        let mut head = String::new();
        let mut y = 6.0;
        for line in lines(&self.title, letters(self.width - 24.0, size)) {
            y += size + 4.0;
            let _ = writeln!(
                head,
                r#"<text x="12" y="{}" font-size="{size}" font-weight="bold">{}</text>"#,
                short(y),
                escaped(&line)
            );
        }
        let top = y + 8.0;
        (
            top + self.height,
            format!(
                "{head}<g transform=\"translate(0 {})\">\n{}</g>\n",
                short(top),
                self.body
            ),
        )
    }

    /// Every horizontal text, with its baseline and its estimated left and right end; used in tests.
    #[cfg(test)]
    pub fn texts(&self) -> Vec<(String, f64, (f64, f64))> {
        let file = self.element();
        let tree = roxmltree::Document::parse(&file).unwrap();
        let mut found = Vec::new();
        for node in tree.descendants().filter(|n| n.tag_name().name() == "text") {
            // The tick labels are placed by the plotting library, at its own scale.
            if node.attribute("font-family").is_some() || node.attribute("transform").is_some() {
                continue;
            }
            let text = node.text().unwrap_or("").to_owned();
            let at = |name| node.attribute(name).unwrap().parse::<f64>().unwrap();
            let (x, long) = (at("x"), width(&text, SIZE));
            let ends = match node.attribute("text-anchor") {
                Some("middle") => (x - long / 2.0, x + long / 2.0),
                Some("end") => (x - long, x),
                _ => (x, x + long),
            };
            found.push((text, at("y"), ends));
        }
        found
    }
}

/// Pictures stacked in one SVG file.
pub(super) fn stack(pictures: &[Picture]) -> String {
    let wide = pictures.iter().map(|p| p.width).fold(0.0, f64::max);
    let mut body = String::new();
    let mut y = 0.0;
    for picture in pictures {
        let (height, elements) = picture.titled();
        let _ = writeln!(
            body,
            r#"<g transform="translate(0 {})">{elements}</g>"#,
            short(y)
        );
        y += height + 16.0;
    }
    let titles: Vec<&str> = pictures.iter().map(|p| p.title.as_str()).collect();
    wrapped(&titles.join("; "), wide, y, &body, "")
}

/// Wraps elements in the outermost SVG element.
fn wrapped(title: &str, width: f64, height: f64, body: &str, more: &str) -> String {
    let (width, height) = (short(width.ceil()), short(height.ceil()));
    format!(
        concat!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{w}" height="{h}" viewBox="0 0 {w} {h}" {more}"#,
            r#"font-family="sans-serif" font-size="{size}" fill="{ink}">"#,
            "\n<title>{title}</title>\n",
            "<rect width=\"{w}\" height=\"{h}\" fill=\"#ffffff\"/>\n{body}</svg>\n"
        ),
        w = width,
        h = height,
        size = SIZE,
        ink = INK,
        title = escaped(title),
        more = more,
        body = body
    )
}

/// A coordinate rounded to a tenth.
fn short(value: f64) -> String {
    let rounded = (value * 10.0).round() / 10.0;
    if rounded == 0.0 {
        "0".into()
    } else {
        rounded.to_string()
    }
}

/// Text for XML: markup escaped, forbidden characters omitted.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '&' => out.push_str("&amp;"),
            '"' => out.push_str("&quot;"),
            '\n' | '\t' | '\r' => out.push(' '),
            '\u{fffe}' | '\u{ffff}' => {}
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out
}

/// The estimated width of a text.
pub(super) fn width(text: &str, size: f64) -> f64 {
    text.chars().count() as f64 * size * LETTER
}

/// Number of letters that fit into a width.
pub(super) fn letters(width: f64, size: f64) -> usize {
    (width / (size * LETTER)).floor().max(1.0) as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_escaped_and_forbidden_characters_left_out() {
        assert_eq!(
            escaped("a<b & \"c\"\u{7}\u{0}"),
            "a&lt;b &amp; &quot;c&quot;"
        );
    }
}
