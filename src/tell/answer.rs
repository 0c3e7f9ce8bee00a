//! An answer as it is told: one structure from which every rendering is made.

use crate::question::Series;

/// The answer to one question.
#[derive(Clone, Debug, Default)]
pub struct Answer {
    /// The question's key: `speed`, `why` …
    pub question: &'static str,
    /// The one figure that the page shows large, if there is one.
    pub figure: Option<Figure>,
    /// What is shown, from top to bottom.
    pub blocks: Vec<Block>,
    /// What was assumed, in words: machine, oil, temperature, command … as label and value.
    pub assumptions: Vec<(String, String)>,
    /// What must be borne in mind.
    pub cautions: Vec<Remark>,
    /// What was asked, as it was typed: by field, so that it can be asked again.
    pub request: serde_json::Map<String, serde_json::Value>,
    /// Every input of the case that it is about, SI, by key.
    pub case: serde_json::Map<String, serde_json::Value>,
    /// What a program reads: keys end in their unit, whatever the screen shows.
    pub numbers: serde_json::Map<String, serde_json::Value>,
    /// The series behind the pictures, for `--csv`.
    pub series: Series,
    /// The text of a file that the answer makes, such as a machine's.
    pub made: Option<String>,
}

impl Answer {
    /// Whether it is a form for paper.
    pub fn is_form(&self) -> bool {
        let mut blocks = self.blocks.iter();
        blocks.any(|b| matches!(b, Block::Form(_)))
    }
}

/// One figure with what it is.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Figure {
    /// The figure with its unit, or a few words.
    pub figure: String,
    /// What it is.
    pub label: String,
    /// The key of what stands behind it: an output, `coolant_temp`, `probability` …
    pub key: &'static str,
}

/// A caution with its words.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Remark {
    /// The key of the caution.
    pub key: &'static str,
    /// What it says.
    pub words: String,
}

/// One piece of an answer.
#[derive(Clone, Debug)]
pub enum Block {
    /// A heading.
    Heading(String),
    /// A paragraph.
    Sentence(String),
    /// The one line that answers the question, printed large.
    Headline(String),
    /// Why it is so, in one sentence.
    Why(String),
    /// The one thing to do next.
    Next(Next),
    /// A table.
    Table(Table),
    /// Curves over an axis.
    Chart(Chart),
    /// Charts one over the other, over one axis.
    Panels(Panels),
    /// Bars.
    Bars(Bars),
    /// The hydraulic circuit with this moment's figures.
    Circuit(Circuit),
    /// Boxes to fill in by hand.
    Form(Form),
    /// Safety: what can hurt, and to whom to defer.
    Safety(Vec<String>),
}

/// The one thing to do next: a test, a fact to find out, or a look.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Next {
    /// What, how long, with which tool, and how.
    pub words: String,
    /// The test's or fact's key; empty for a look that gives no reading.
    pub key: &'static str,
    /// The test's or fact's name; empty for a look that gives no reading.
    pub name: &'static str,
    /// What can hurt on the way.
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
    /// What it shows; may be empty.
    pub title: String,
    /// Column heads, with units.
    pub heads: Vec<String>,
    /// Rows.
    pub rows: Vec<Vec<String>>,
    /// The columns, from 0, that hold numbers and stand to the right.
    pub numeric: Vec<usize>,
}

/// Boxes to fill in by hand.
#[derive(Clone, Debug, Default)]
pub struct Form {
    /// What it is about.
    pub title: String,
    /// Paragraphs on how it is done; may be empty.
    pub about: Vec<String>,
    /// Things to tick off; may be empty.
    pub ticks: Vec<String>,
    /// Column heads of the boxes, with units; empty for a form of lines.
    pub heads: Vec<String>,
    /// What is filled in: name, key (may be empty), and the condition as printed (may be empty).
    pub rows: Vec<[String; 3]>,
    /// What can hurt here; may be empty.
    pub cautions: Vec<String>,
}

/// Curves over a common axis. All values are in the units that the labels name.
#[derive(Clone, Debug, Default)]
pub struct Chart {
    /// What it shows.
    pub title: String,
    /// Label of the horizontal axis, with its unit.
    pub x_label: String,
    /// Label of the vertical axis, with its unit.
    pub y_label: String,
    /// Whether the horizontal axis is logarithmic.
    pub x_log: bool,
    /// Whether the vertical axis is logarithmic.
    pub y_log: bool,
    /// Whether the vertical axis starts at zero, where it is not logarithmic.
    pub y_from_zero: bool,
    /// The curves; a point that is not finite breaks the line.
    pub curves: Vec<Curve>,
    /// Lines of equal value, each with its name on it, from the least value to the greatest.
    pub contours: Vec<Curve>,
    /// Shaded stretches of the axis with a name: what limits the speed there.
    pub stretches: Vec<Stretch>,
    /// Single points with a name.
    pub marks: Vec<Mark>,
    /// Level lines with a name.
    pub levels: Vec<(String, f64)>,
}

impl Chart {
    /// All its lines: the curves, then the lines of equal value.
    pub fn lines(&self) -> impl Iterator<Item = &Curve> {
        self.curves.iter().chain(&self.contours)
    }
}

/// Charts one over the other, and beneath them when what happened, all over one axis.
#[derive(Clone, Debug, Default)]
pub struct Panels {
    /// What they show.
    pub title: String,
    /// Label of the horizontal axis, with its unit.
    pub x_label: String,
    /// From top to bottom.
    pub charts: Vec<Chart>,
    /// Beneath the charts.
    pub lanes: Vec<Lane>,
}

/// When something was the case.
#[derive(Clone, Debug, Default)]
pub struct Lane {
    /// What was the case.
    pub name: String,
    /// From when till when.
    pub spans: Vec<(f64, f64)>,
}

/// One curve.
#[derive(Clone, Debug, Default)]
pub struct Curve {
    /// Its name in the key.
    pub name: String,
    /// Its points.
    pub points: Vec<(f64, f64)>,
    /// A band about it: x, low, high; may be empty.
    pub band: Vec<(f64, f64, f64)>,
}

/// A shaded stretch of the horizontal axis.
#[derive(Clone, Debug, Default)]
pub struct Stretch {
    /// Its name.
    pub name: String,
    /// Where it begins.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
}

/// A single point with a name.
#[derive(Clone, Debug, Default)]
pub struct Mark {
    /// Its name.
    pub name: String,
    /// Where.
    pub x: f64,
    /// Where.
    pub y: f64,
    /// Half the height of its error bar; zero for none.
    pub spread: f64,
}

/// Bars side by side.
#[derive(Clone, Debug, Default)]
pub struct Bars {
    /// What they show.
    pub title: String,
    /// Label of the value axis, with its unit.
    pub label: String,
    /// The bars.
    pub rows: Vec<Bar>,
}

/// One bar; may be negative.
#[derive(Clone, Debug, Default)]
pub struct Bar {
    /// Its name.
    pub name: String,
    /// Its length.
    pub value: f64,
    /// Its ± as low and high end, if any.
    pub range: Option<(f64, f64)>,
    /// What stands behind it in words; may be empty.
    pub note: String,
}

/// The hydraulic circuit: what stands where, with the figures of this moment already worded.
#[derive(Clone, Debug, Default)]
pub struct Circuit {
    /// Title.
    pub title: String,
    /// Whether the control valve empties into the motor's outlet (else into the reservoir).
    pub valve_to_motor_outlet: bool,
    /// Whether the regulator is there.
    pub regulator: bool,
    /// Whether steering stands in series after the motor.
    pub steering_in_series: bool,
    /// Whether steering is fed first, ahead of the motor.
    pub steering_in_priority: bool,
    /// Whether a filter stands in the return.
    pub filter: bool,
    /// Whether an oil cooler stands in the return.
    pub cooler: bool,
    /// Whether a screen stands in the suction.
    pub screen: bool,
    /// Worded figures by place: `pump`, `regulator`, `relief`, `valve`, `supply`, `motor`, `fan`, `return`, `steering`,
    /// `filter`, `cooler`, `suction`, `reservoir`; each a few short lines.
    pub labels: Vec<(&'static str, Vec<String>)>,
    /// The place that limits the speed, drawn with emphasis; may be empty.
    pub limiting: &'static str,
}

impl Stretch {
    /// Where each limit acts along an axis.
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
