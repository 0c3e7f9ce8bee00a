//! Fluids: oil, coolant and air.

pub mod air;
pub mod coolant;
pub mod oil;
