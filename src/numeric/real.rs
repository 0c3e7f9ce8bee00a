//! The number types used in the equations.

use num_dual::{Dual64, DualNum};
use std::fmt::Debug;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, MulAssign, Neg, Sub};

/// A number type for the equations: `f64`, or a type that also carries derivatives.
pub trait Real:
    Copy
    + Debug
    + PartialEq
    + From<f64>
    + Neg<Output = Self>
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
    + Div<f64, Output = Self>
    + AddAssign
    + MulAssign
    + Sum
{
    /// The value, without derivatives.
    fn re(&self) -> f64;
    /// The same number with its value replaced by `re` and its derivatives kept.
    fn valued(self, re: f64) -> Self;
    /// Reciprocal, 1/x.
    fn recip(self) -> Self;
    /// Square root.
    fn sqrt(self) -> Self;
    /// Natural logarithm.
    fn ln(self) -> Self;
    /// Logarithm to the base 10.
    fn log10(self) -> Self;
    /// e to the power of this number.
    fn exp(self) -> Self;
    /// e to the power of this number, minus 1.
    fn exp_m1(self) -> Self;
    /// This number raised to an integer power.
    fn powi(self, n: i32) -> Self;
    /// This number raised to a constant power.
    fn powf(self, n: f64) -> Self;
    /// This number raised to a power that may itself carry derivatives.
    #[inline]
    fn powd(self, n: Self) -> Self {
        (self.ln() * n).exp()
    }
    /// Absolute value.
    #[inline]
    fn abs(self) -> Self {
        if self.re().is_sign_positive() {
            self
        } else {
            -self
        }
    }
    /// Sign: 1 for a positive number, −1 for a negative one, 0 for zero.
    #[inline]
    fn signum(self) -> Self {
        let x = self.re();
        Self::from(if x > 0.0 {
            1.0
        } else if x < 0.0 {
            -1.0
        } else {
            x
        })
    }
    /// Whether the value is zero.
    #[inline]
    fn is_zero(&self) -> bool {
        self.re() == 0.0
    }
}

macro_rules! real {
    ($Number:ty, $value:expr, $valued:expr) => {
        impl Real for $Number {
            #[inline]
            fn re(&self) -> f64 {
                $value(self)
            }
            #[inline]
            fn valued(self, re: f64) -> Self {
                $valued(self, re)
            }
            real!(unary recip sqrt ln log10 exp exp_m1);
            #[inline]
            fn powi(self, n: i32) -> Self {
                DualNum::powi(&self, n)
            }
            #[inline]
            fn powf(self, n: f64) -> Self {
                DualNum::powf(&self, n)
            }
            #[inline]
            fn powd(self, n: Self) -> Self {
                DualNum::powd(&self, n)
            }
        }
    };
    (unary $($name:ident)*) => { $(
        #[inline]
        fn $name(self) -> Self {
            DualNum::$name(&self)
        }
    )* };
}

real!(f64, |x: &f64| *x, |_, re| re);
real!(Dual64, |x: &Dual64| x.re, |x: Dual64, re| Dual64::new(
    re, x.eps
));
