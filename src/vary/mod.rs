//! Computations with the solved model: derivatives, uncertainties, sweeps, contributions, inverse problems; and the
//! evaluation of logs.

pub mod band;
pub mod behaviour;
pub mod contour;
pub mod coolant;
pub mod derivative;
pub mod dilution;
pub mod fan_points;
pub mod fit;
pub mod forecast;
pub mod information;
pub mod inverse;
pub mod known;
#[cfg(feature = "logs")]
pub mod log;
pub mod others;
pub mod points;
pub mod posterior;
pub mod rating;
pub mod sample;
pub mod settled;
pub mod shares;
pub mod size;
pub mod solved;
pub mod sweep;
pub mod weigh;
