//! One question a file; each returns an [`Answer`].

mod answer;

pub use answer::{Answer, Bar, Bars, Block, Chart, Circuit, Curve, Mark, Stretch, Table};
