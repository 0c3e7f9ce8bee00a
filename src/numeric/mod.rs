//! Numbers that carry a derivative, and the root finder.
//!
//! The equations that the balance consists of are written once for any [`Real`]: an `f64`, or a dual number that
//! carries an exact derivative with its value.

mod normal;
mod real;
mod root;
mod tape;

use std::ops::{Add, Div, Mul, Sub};

pub use normal::{between, chi_square_tail, quantile, upper_tail};
pub use num_dual::Dual64;
pub use real::Real;
pub use root::{NoRoot, Root, falling_root, falling_root_by_values, settle};
pub use tape::{Tape, Traced};

/// A number that can be combined with constants of type `C`, which is either its own type or a plain number without a
/// derivative. In a balance only the unknown varies; everything else can be a plain constant.
pub trait Over<C>:
    Real + Add<C, Output = Self> + Sub<C, Output = Self> + Mul<C, Output = Self> + Div<C, Output = Self>
{
    /// Converts a constant to such a number.
    fn still(constant: C) -> Self;
}

impl<N: Real> Over<N> for N {
    #[inline]
    fn still(constant: N) -> N {
        constant
    }
}

impl Over<f64> for Dual64 {
    #[inline]
    fn still(constant: f64) -> Self {
        Dual64::from(constant)
    }
}

/// Whether numbers of this type carry a derivative. If so, a value of zero may still have a non-zero derivative.
#[inline]
pub const fn carries<N: Real>() -> bool {
    size_of::<N>() > size_of::<f64>()
}

/// The larger of two numbers by value; NaN is propagated. The derivative is that of the larger number.
#[inline]
pub fn greater<N: Real>(a: N, b: N) -> N {
    if a.re() >= b.re() || a.re().is_nan() {
        a
    } else {
        b
    }
}

/// The smaller of two numbers by value; NaN is propagated. The derivative is that of the smaller number.
#[inline]
pub fn lesser<N: Real>(a: N, b: N) -> N {
    if a.re() <= b.re() || a.re().is_nan() {
        a
    } else {
        b
    }
}

/// `a` if it is positive, else zero.
#[inline]
pub fn positive<N: Real>(a: N) -> N {
    if a.re() > 0.0 { a } else { N::from(0.0) }
}
