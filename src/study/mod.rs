//! One question a file; each returns an [`Answer`].

pub mod auxfan;
pub mod check;
pub mod demo;
pub mod faults;
pub mod fit;
pub mod flush;
pub mod heat;
pub mod log;
pub mod oil;
pub mod sheet;
pub mod suspects;
pub mod sweep;
pub mod trip;
pub mod why;
use crate::tell::{answer, words};

pub use answer::{Answer, Bar, Bars, Block, Chart, Circuit, Curve, Form, Mark, Stretch, Table};
pub use words::{FIGURES, warmed};
