//! Fluids: oil and air.

pub mod air;
pub mod oil;
