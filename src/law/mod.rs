//! Published equations, one a file, each with its symbols, range and source.
//!
//! Plain SI, for any [`Real`](crate::numeric::Real). What a part does with them stands in the parts.

/// Validity of one symbol of an equation, as data.
#[derive(Clone, Copy, Debug)]
pub struct Bound {
    /// The symbol as the equation writes it.
    pub symbol: &'static str,
    /// Least value.
    pub low: f64,
    /// Greatest value.
    pub high: f64,
    /// Unit.
    pub unit: &'static str,
}
