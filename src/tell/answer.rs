//! An answer in words, tables and pictures, from which text, HTML and JSON are all made.

use crate::question::Series;

/// The answer to one question.
#[derive(Clone, Debug, Default)]
pub struct Answer {
    /// Key of the question: `speed`, `why` …
    pub question: &'static str,
    /// The main figure, shown large on the page, if any.
    pub figure: Option<Figure>,
    /// The blocks of the answer, from top to bottom.
    pub blocks: Vec<Block>,
    /// The assumptions (machine, oil, temperature, command …), each as label and value.
    pub assumptions: Vec<(String, String)>,
    /// The cautions about the answer.
    pub cautions: Vec<Remark>,
    /// The request as the user entered it, by field, so that it can be repeated.
    pub request: serde_json::Map<String, serde_json::Value>,
    /// Every input of the case, SI, by key.
    pub case: serde_json::Map<String, serde_json::Value>,
    /// The values for other programs; each key ends in its unit, which does not depend on the unit system displayed.
    pub numbers: serde_json::Map<String, serde_json::Value>,
    /// The data behind the pictures, for `--csv`.
    pub series: Series,
    /// The text of a generated file, such as a machine file, if any.
    pub made: Option<String>,
}

impl Answer {
    /// Whether the answer is a form to print and fill in.
    pub fn is_form(&self) -> bool {
        let mut blocks = self.blocks.iter();
        blocks.any(|b| matches!(b, Block::Form(_)))
    }
}

/// The main figure, with its description.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Figure {
    /// The figure with its unit, as text; or a few words.
    pub figure: String,
    /// What the figure means.
    pub label: String,
    /// Key of the quantity: an output, `coolant_temp`, `probability` …
    pub key: &'static str,
}

/// The text of a caution.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Remark {
    /// The key of the caution.
    pub key: &'static str,
    /// The text.
    pub words: String,
}

/// One piece of an answer.
#[derive(Clone, Debug)]
pub enum Block {
    /// A heading.
    Heading(String),
    /// A paragraph of one or more sentences.
    Sentence(String),
    /// The answer in one line, shown large.
    Headline(String),
    /// The reason for the answer, in one sentence.
    Why(String),
    /// The next step.
    Next(Next),
    /// A table.
    Table(Table),
    /// Curves over a common axis.
    Chart(Chart),
    /// Charts one above the other, over a common axis.
    Panels(Panels),
    /// A bar chart.
    Bars(Bars),
    /// The hydraulic circuit, with the figures of the present case.
    Circuit(Circuit),
    /// A form to fill in by hand.
    Form(Form),
    /// Safety notes.
    Safety(Vec<String>),
}

/// What to do next: a test, a fact to find out, or a visual inspection.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Next {
    /// What to do, how long it takes, with which tool, and how.
    pub words: String,
    /// Key of the test or fact; empty for an inspection without a reading.
    pub key: &'static str,
    /// Name of the test or fact; empty for an inspection without a reading.
    pub name: &'static str,
    /// Hazards of doing it.
    pub cautions: Vec<String>,
    /// Key of the question that takes its result, if that is another one; else empty.
    pub question: &'static str,
}

impl From<&str> for Next {
    fn from(words: &str) -> Self {
        Self {
            words: words.into(),
            ..Self::default()
        }
    }
}

/// A table whose cells are text.
#[derive(Clone, Debug, Default)]
pub struct Table {
    /// Title; may be empty.
    pub title: String,
    /// Column headings, with units.
    pub heads: Vec<String>,
    /// Rows.
    pub rows: Vec<Vec<String>>,
    /// Indices, from 0, of the columns of right-aligned numbers.
    pub numeric: Vec<usize>,
}

/// A form to fill in by hand.
#[derive(Clone, Debug, Default)]
pub struct Form {
    /// Title of the form.
    pub title: String,
    /// Instructions, as paragraphs; may be empty.
    pub about: Vec<String>,
    /// Items to tick off; may be empty.
    pub ticks: Vec<String>,
    /// Column headings of the boxes, with units; empty for a form of plain lines.
    pub heads: Vec<String>,
    /// The entries: name, key (may be empty), and the condition, which is printed on the form (may be empty).
    pub rows: Vec<[String; 3]>,
    /// Notes on hazards; may be empty.
    pub cautions: Vec<String>,
}

/// Curves over a common axis. All values are in the units that the labels give.
#[derive(Clone, Debug, Default)]
pub struct Chart {
    /// Title.
    pub title: String,
    /// Label of the horizontal axis, with its unit.
    pub x_label: String,
    /// Label of the vertical axis, with its unit.
    pub y_label: String,
    /// Whether the horizontal axis is logarithmic.
    pub x_log: bool,
    /// Whether the vertical axis is logarithmic.
    pub y_log: bool,
    /// Whether a linear vertical axis begins at zero.
    pub y_from_zero: bool,
    /// The curves; a point that is not finite interrupts the line.
    pub curves: Vec<Curve>,
    /// Labelled contour lines, in ascending order of their values.
    pub contours: Vec<Curve>,
    /// Shaded ranges of the horizontal axis with their names, such as the range in which a limit acts.
    pub stretches: Vec<Stretch>,
    /// Single points with their names.
    pub marks: Vec<Mark>,
    /// Horizontal lines: name and value.
    pub levels: Vec<(String, f64)>,
}

impl Chart {
    /// All lines: the curves, then the contour lines.
    pub fn lines(&self) -> impl Iterator<Item = &Curve> {
        self.curves.iter().chain(&self.contours)
    }
}

/// Charts one above the other, with lanes of events below them, over a common axis.
#[derive(Clone, Debug, Default)]
pub struct Panels {
    /// Title.
    pub title: String,
    /// Label of the horizontal axis, with its unit.
    pub x_label: String,
    /// The charts, from top to bottom.
    pub charts: Vec<Chart>,
    /// The lanes below the charts.
    pub lanes: Vec<Lane>,
}

/// The periods in which a condition was met.
#[derive(Clone, Debug, Default)]
pub struct Lane {
    /// Name of the condition.
    pub name: String,
    /// Start and end of each period.
    pub spans: Vec<(f64, f64)>,
}

/// One curve.
#[derive(Clone, Debug, Default)]
pub struct Curve {
    /// Name of the curve in the legend.
    pub name: String,
    /// Points of the curve.
    pub points: Vec<(f64, f64)>,
    /// Uncertainty band around the curve: x, lower limit, upper limit; may be empty.
    pub band: Vec<(f64, f64, f64)>,
}

/// A shaded range of the horizontal axis.
#[derive(Clone, Debug, Default)]
pub struct Stretch {
    /// Name of the range.
    pub name: String,
    /// Start of the range.
    pub from: f64,
    /// End of the range.
    pub to: f64,
}

/// A single point with its name.
#[derive(Clone, Debug, Default)]
pub struct Mark {
    /// Name of the point.
    pub name: String,
    /// Horizontal coordinate.
    pub x: f64,
    /// Vertical coordinate.
    pub y: f64,
    /// Half the height of its error bar; zero for no error bar.
    pub spread: f64,
}

/// A bar chart.
#[derive(Clone, Debug, Default)]
pub struct Bars {
    /// Title.
    pub title: String,
    /// Label of the value axis, with its unit.
    pub label: String,
    /// The bars.
    pub rows: Vec<Bar>,
}

/// One bar; its value may be negative.
#[derive(Clone, Debug, Default)]
pub struct Bar {
    /// Name of the bar.
    pub name: String,
    /// Value of the bar.
    pub value: f64,
    /// Lower and upper end of the value's uncertainty interval, if any.
    pub range: Option<(f64, f64)>,
    /// A note printed after the value; may be empty.
    pub note: String,
}

/// A diagram of the hydraulic circuit: its elements, with the present figures as text.
#[derive(Clone, Debug, Default)]
pub struct Circuit {
    /// Title.
    pub title: String,
    /// Whether the control valve discharges into the motor outlet; otherwise into the reservoir.
    pub valve_to_motor_outlet: bool,
    /// Whether there is a flow regulator.
    pub regulator: bool,
    /// Whether the steering is in series downstream of the motor.
    pub steering_in_series: bool,
    /// Whether the steering has priority over the motor.
    pub steering_in_priority: bool,
    /// Whether there is a filter in the return line.
    pub filter: bool,
    /// Whether there is an oil cooler in the return line.
    pub cooler: bool,
    /// Whether there is a screen in the suction line.
    pub screen: bool,
    /// Figures as a few short lines of text for each element: `pump`, `regulator`, `relief`, `valve`, `supply`,
    /// `motor`, `fan`, `return`, `steering`, `filter`, `cooler`, `suction`, `reservoir`.
    pub labels: Vec<(&'static str, Vec<String>)>,
    /// The element that limits the fan speed, which is highlighted; may be empty.
    pub limiting: &'static str,
}

impl Stretch {
    /// The range of the axis in which each limit acts.
    pub fn all(
        found: &[(crate::balance::Limit, f64, f64)],
        shown: impl Fn(f64) -> f64,
    ) -> Vec<Self> {
        let one = |(limit, from, to): &(crate::balance::Limit, f64, f64)| Self {
            name: limit.key().into(),
            from: shown(*from),
            to: shown(*to),
        };
        found.iter().map(one).collect()
    }
}
