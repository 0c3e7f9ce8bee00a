//! What a test has read.

use super::{Probe, Setting};

/// One reading: which test, what it read, how far it may be off, and in which condition it was really made.
#[derive(Clone, Copy, Debug)]
pub struct Reading {
    /// The test.
    pub probe: &'static Probe,
    /// What it read, SI.
    pub value: f64,
    /// Half the width of its error, SI: about 95 % of a bell, or all of it where `uniform`.
    pub half: f64,
    /// Whether the error is spread evenly between its ends, as that of a gauge's class.
    pub uniform: bool,
    /// The condition in which it was made.
    pub setting: Setting,
    /// How far the engine speed of that condition may be off, rad/s, about 95 %.
    pub engine_half: f64,
    /// How far the oil temperature of that condition may be off, K, about 95 %; the outer air's where coolant and oil settle.
    pub oil_temp_half: f64,
}

impl Reading {
    /// Standard deviation of the reading's own error, SI.
    pub fn sigma(&self) -> f64 {
        self.half / if self.uniform { 3.0_f64.sqrt() } else { 2.0 }
    }
}
