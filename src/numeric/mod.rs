//! Numbers that carry derivatives, the root finder, and the normal distribution.
//!
//! The equations of the balance are written once, for any type that implements [`Real`]: an `f64`, or a number that
//! carries exact derivatives along with its value.

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

/// A number that can be combined with constants of type `C`, which is either the same type or a plain `f64` without
/// derivatives. While a balance is solved only the unknown varies, so everything else can be a plain constant.
pub trait Over<C>:
    Real + Add<C, Output = Self> + Sub<C, Output = Self> + Mul<C, Output = Self> + Div<C, Output = Self>
{
    /// Converts a constant to this number type.
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

/// Whether numbers of this type carry derivatives. If so, a number whose value is zero may have a non-zero derivative.
#[inline]
pub const fn carries<N: Real>() -> bool {
    size_of::<N>() > size_of::<f64>()
}

/// The number with the larger value, with its derivatives; NaN is propagated.
#[inline]
pub fn greater<N: Real>(a: N, b: N) -> N {
    if a.re() >= b.re() || a.re().is_nan() {
        a
    } else {
        b
    }
}

/// The number with the smaller value, with its derivatives; NaN is propagated.
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
