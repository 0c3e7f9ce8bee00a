//! What is done with a solved model: derivatives, spreads, sweeps, shares, inverses.

pub mod derivative;
pub mod sample;
pub mod sweep;
