//! An answer in words, tables and pictures: the single source of every rendering.

use crate::question::Series;

/// The answer to one question.
#[derive(Clone, Debug, Default)]
pub struct Answer {
    /// The question's key: `speed`, `why` …
    pub question: &'static str,
    /// The main figure, shown large on the page, if any.
    pub figure: Option<Figure>,
    /// The blocks, from top to bottom.
    pub blocks: Vec<Block>,
    /// The assumptions: machine, oil, temperature, command … as label and value.
    pub assumptions: Vec<(String, String)>,
    /// The cautions.
    pub cautions: Vec<Remark>,
    /// The request as typed, by field, so that it can be repeated.
    pub request: serde_json::Map<String, serde_json::Value>,
    /// Every input of the case, SI, by key.
    pub case: serde_json::Map<String, serde_json::Value>,
    /// The values for other programs; each key ends in its unit, whatever unit system is displayed.
    pub numbers: serde_json::Map<String, serde_json::Value>,
    /// The series behind the pictures, for `--csv`.
    pub series: Series,
    /// The text of a generated file, such as a machine file, if any.
    pub made: Option<String>,
}

impl Answer {
    /// Whether the answer is a form to print.
    pub fn is_form(&self) -> bool {
        let mut blocks = self.blocks.iter();
        blocks.any(|b| matches!(b, Block::Form(_)))
    }
}

/// A figure with its description.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Figure {
    /// The figure with its unit, or a few words.
    pub figure: String,
    /// Description of the figure.
    pub label: String,
    /// Key of the quantity: an output, `coolant_temp`, `probability` …
    pub key: &'static str,
}

/// A caution as text.
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
    /// A paragraph.
    Sentence(String),
    /// The answer in one line, printed large.
    Headline(String),
    /// The reason, in one sentence.
    Why(String),
    /// The next step.
    Next(Next),
    /// A table.
    Table(Table),
    /// Curves over a common axis.
    Chart(Chart),
    /// Charts stacked over a common axis.
    Panels(Panels),
    /// Bars.
    Bars(Bars),
    /// The hydraulic circuit with its present figures.
    Circuit(Circuit),
    /// Boxes to fill in by hand.
    Form(Form),
    /// Safety notes.
    Safety(Vec<String>),
}

/// The next step: a test, a fact to find out, or a visual inspection.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Next {
    /// What to do, how long it takes, with which tool, and how.
    pub words: String,
    /// Key of the test or fact; empty for an inspection without a reading.
    pub key: &'static str,
    /// Name of the test or fact; empty for an inspection without a reading.
    pub name: &'static str,
    /// Hazards of this step.
    pub cautions: Vec<String>,
}

impl From<&str> for Next {
    fn from(words: &str) -> Self {
        Self {
            words: words.into(),
            ..Self::default()
        }
    }
}

/// A table of text.
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

/// Boxes to fill in by hand.
#[derive(Clone, Debug, Default)]
pub struct Form {
    /// Title of the form.
    pub title: String,
    /// Paragraphs of instructions; may be empty.
    pub about: Vec<String>,
    /// A checklist; may be empty.
    pub ticks: Vec<String>,
    /// Column headings of the boxes, with units; empty for a form of plain lines.
    pub heads: Vec<String>,
    /// The entries: name, key (may be empty), and condition as printed (may be empty).
    pub rows: Vec<[String; 3]>,
    /// Hazards; may be empty.
    pub cautions: Vec<String>,
}

/// Curves over a common axis. All values are in the units given in the labels.
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
    /// Whether a linear vertical axis starts at zero.
    pub y_from_zero: bool,
    /// The curves; a non-finite point breaks the line.
    pub curves: Vec<Curve>,
    /// Labelled contour lines, in rising order of value.
    pub contours: Vec<Curve>,
    /// Named shaded ranges of the horizontal axis, such as the range in which a limit acts.
    pub stretches: Vec<Stretch>,
    /// Named single points.
    pub marks: Vec<Mark>,
    /// Named horizontal lines.
    pub levels: Vec<(String, f64)>,
}

impl Chart {
    /// All lines: the curves, then the contour lines.
    pub fn lines(&self) -> impl Iterator<Item = &Curve> {
        self.curves.iter().chain(&self.contours)
    }
}

/// Stacked charts, with lanes of events below, over a common axis.
#[derive(Clone, Debug, Default)]
pub struct Panels {
    /// Title.
    pub title: String,
    /// Label of the horizontal axis, with its unit.
    pub x_label: String,
    /// From top to bottom.
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
    /// Band around the curve: x, low, high; may be empty.
    pub band: Vec<(f64, f64, f64)>,
}

/// A shaded range of the horizontal axis.
#[derive(Clone, Debug, Default)]
pub struct Stretch {
    /// Its name.
    pub name: String,
    /// Start of the range.
    pub from: f64,
    /// End of the range.
    pub to: f64,
}

/// A named single point.
#[derive(Clone, Debug, Default)]
pub struct Mark {
    /// Its name.
    pub name: String,
    /// Where.
    pub x: f64,
    /// Where.
    pub y: f64,
    /// Half the height of the error bar; zero for none.
    pub spread: f64,
}

/// Bars side by side.
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
    /// Its name.
    pub name: String,
    /// Value of the bar.
    pub value: f64,
    /// Lower and upper end of its uncertainty interval, if any.
    pub range: Option<(f64, f64)>,
    /// Note after the value; may be empty.
    pub note: String,
}

/// The hydraulic circuit: its elements, with the present figures as text.
#[derive(Clone, Debug, Default)]
pub struct Circuit {
    /// Title.
    pub title: String,
    /// Whether the control valve discharges into the motor outlet (otherwise into the reservoir).
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
    /// Figures as text, by element: `pump`, `regulator`, `relief`, `valve`, `supply`, `motor`, `fan`, `return`,
    /// `steering`, `filter`, `cooler`, `suction`, `reservoir`; each a few short lines.
    pub labels: Vec<(&'static str, Vec<String>)>,
    /// The element that limits the speed, highlighted; may be empty.
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
