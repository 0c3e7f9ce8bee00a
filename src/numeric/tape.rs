//! Computes the derivatives of many results with respect to many inputs at once: the calculation is recorded as it
//! runs, and the recording is then processed backwards.
//!
//! The method is reverse accumulation, as in A. Griewank and A. Walther, *Evaluating Derivatives*, 2nd ed., SIAM 2008,
//! chapter 3.

use super::Real;
use std::cell::RefCell;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, MulAssign, Neg, Sub};

/// A tape entry for an operation on two numbers: the tape entries on which the numbers depend, and the derivative of
/// the result with respect to each of these entries.
#[derive(Clone, Copy, Debug)]
struct Node {
    from: [u32; 2],
    slope: [f64; 2],
}

thread_local! {
    static TAPE: RefCell<Vec<Node>> = const { RefCell::new(Vec::new()) };
    /// Buffer for the reverse pass, reused between calls.
    static ROOM: RefCell<Vec<f64>> = const { RefCell::new(Vec::new()) };
}

/// Tape index of a constant.
const STILL: u32 = u32::MAX;

/// A number whose calculation is recorded on the tape. It depends on one tape entry, or on none if it is a constant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Traced {
    re: f64,
    /// Index of the tape entry on which the number depends; `STILL` for a constant.
    at: u32,
    /// Derivative of the number with respect to that entry.
    slope: f64,
}

/// A recording of a calculation on the tape of this thread.
#[derive(Debug)]
pub struct Tape {
    begin: usize,
    inputs: usize,
}

impl Tape {
    /// Starts a new recording, without inputs.
    pub fn begin() -> Self {
        Self {
            begin: TAPE.with_borrow(Vec::len),
            inputs: 0,
        }
    }

    /// Adds an input with the given value. All inputs must be added before any calculation.
    pub fn input(&mut self, value: f64) -> Traced {
        self.inputs += 1;
        Traced {
            re: value,
            at: push([STILL; 2], [0.0; 2]),
            slope: 1.0,
        }
    }

    /// Ends the recording and returns the derivatives of `results`: for each input, in order, a row with one derivative
    /// per result.
    pub fn slopes(self, results: &[Traced]) -> Vec<f64> {
        let rows = TAPE.with_borrow(|tape| {
            ROOM.with_borrow_mut(|rows| backwards(&tape[self.begin..], &self, results, rows))
        });
        TAPE.with_borrow_mut(|tape| tape.truncate(self.begin));
        rows
    }
}

/// Propagates the derivatives of the results from each tape entry to the entries it was computed from, starting with
/// the last entry.
fn backwards(nodes: &[Node], tape: &Tape, results: &[Traced], rows: &mut Vec<f64>) -> Vec<f64> {
    let (width, row) = (results.len(), |at: u32| {
        (at as usize - tape.begin) * results.len()
    });
    rows.clear();
    rows.resize(nodes.len() * width, 0.0);
    for (k, result) in results.iter().enumerate().filter(|r| r.1.at != STILL) {
        rows[row(result.at) + k] += result.slope;
    }
    for (i, node) in nodes.iter().enumerate().skip(tape.inputs).rev() {
        let (before, here) = rows.split_at_mut(i * width);
        let here = &here[..width];
        for (from, slope) in node.from.into_iter().zip(node.slope) {
            let there = &mut before[row(from)..][..width];
            let pairs = there.iter_mut().zip(here);
            if slope.is_finite() {
                pairs.for_each(|(there, here)| *there += here * slope);
            } else {
                // Skips results that do not depend on this entry, because zero times an infinite slope would be NaN.
                let moved = pairs.filter(|(_, here)| **here != 0.0);
                moved.for_each(|(there, here)| *there += here * slope);
            }
        }
    }
    rows[..tape.inputs * width].to_vec()
}

fn push(from: [u32; 2], slope: [f64; 2]) -> u32 {
    TAPE.with_borrow_mut(|tape| {
        tape.push(Node { from, slope });
        (tape.len() - 1) as u32
    })
}

impl Traced {
    /// A number of value `re` computed from this number, with the derivative `slope` with respect to it.
    #[inline]
    fn chain(self, re: f64, slope: f64) -> Self {
        Self {
            re,
            at: self.at,
            slope: if self.at == STILL {
                0.0
            } else {
                self.slope * slope
            },
        }
    }

    /// A number of value `re` computed from two numbers, with the derivative with respect to each.
    // Inlining saves a sixth of the time, but enlarges the WebAssembly file.
    #[cfg_attr(target_arch = "wasm32", inline(never))]
    #[cfg_attr(not(target_arch = "wasm32"), inline)]
    fn meet(self, other: Self, re: f64, slopes: [f64; 2]) -> Self {
        if other.at == STILL {
            return self.chain(re, slopes[0]);
        }
        if self.at == STILL {
            return other.chain(re, slopes[1]);
        }
        let slope = [self.slope * slopes[0], other.slope * slopes[1]];
        if self.at == other.at {
            return Self {
                re,
                at: self.at,
                slope: slope[0] + slope[1],
            };
        }
        Self {
            re,
            at: push([self.at, other.at], slope),
            slope: 1.0,
        }
    }
}

impl From<f64> for Traced {
    #[inline]
    fn from(re: f64) -> Self {
        Self {
            re,
            at: STILL,
            slope: 0.0,
        }
    }
}

impl Real for Traced {
    #[inline]
    fn re(&self) -> f64 {
        self.re
    }
    #[inline]
    fn valued(self, re: f64) -> Self {
        Self { re, ..self }
    }
    #[inline]
    fn recip(self) -> Self {
        let y = self.re.recip();
        self.chain(y, -y * y)
    }
    #[inline]
    fn sqrt(self) -> Self {
        let y = self.re.sqrt();
        self.chain(y, y * self.re.recip() * 0.5)
    }
    #[inline]
    fn ln(self) -> Self {
        self.chain(self.re.ln(), self.re.recip())
    }
    #[inline]
    fn log10(self) -> Self {
        let slope = self.re.recip() / std::f64::consts::LN_10;
        self.chain(self.re.log10(), slope)
    }
    #[inline]
    fn exp(self) -> Self {
        let y = self.re.exp();
        self.chain(y, y)
    }
    #[inline]
    fn exp_m1(self) -> Self {
        self.chain(self.re.exp_m1(), self.re.exp())
    }
    #[inline]
    fn powi(self, n: i32) -> Self {
        match n {
            0 => Self::from(1.0),
            1 => self,
            _ => {
                let lower = self.re.powi(n - 1);
                self.chain(lower * self.re, lower * f64::from(n))
            }
        }
    }
    #[inline]
    fn powf(self, n: f64) -> Self {
        // The value is that of the same power of an `f64`. The derivative at 0 is infinite if n is below 1.
        let y = self.re.powf(n);
        self.chain(y, self.re.powf(n - 1.0) * n)
    }
}

impl Neg for Traced {
    type Output = Self;
    #[inline]
    fn neg(self) -> Self {
        self.chain(-self.re, -1.0)
    }
}

macro_rules! reckon {
    ($($Op:ident $op:ident |$a:ident, $b:ident| $slopes:expr;)*) => { $(
        impl $Op for Traced {
            type Output = Self;
            #[inline]
            fn $op(self, other: Self) -> Self {
                let ($a, $b) = (self.re, other.re);
                self.meet(other, $a.$op($b), $slopes)
            }
        }
        impl $Op<f64> for Traced {
            type Output = Self;
            #[inline]
            fn $op(self, other: f64) -> Self {
                let ($a, $b) = (self.re, other);
                self.chain($a.$op($b), $slopes[0])
            }
        }
    )* };
}

reckon! {
    Add add |a, b| [1.0, 1.0];
    Sub sub |a, b| [1.0, -1.0];
    Mul mul |a, b| [b, a];
    Div div |a, b| [b.recip(), -a / (b * b)];
}

impl AddAssign for Traced {
    #[inline]
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl MulAssign for Traced {
    #[inline]
    fn mul_assign(&mut self, other: Self) {
        *self = *self * other;
    }
}

impl Sum for Traced {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        all.fold(Self::from(0.0), Add::add)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::Dual64;

    /// Uses every operation on numbers; where the order of the operands matters, with either operand varying.
    fn all<N: Real>([x, y]: [N; 2]) -> [N; 4] {
        let both = x * y + x / y - (x - y) * 3.0;
        let one = (x * x + 1.0).sqrt().ln() + x.exp_m1() * 0.5 + x.recip() - (-x).exp();
        let powers = x.powi(3) + y.powi(-2) + x.powf(1.7) + x.powd(y) + y.log10();
        let mut sums: N = [both, one, powers].into_iter().sum();
        sums *= y.abs() + y.signum();
        sums += x / 4.0 + 2.0;
        [both, one, powers, sums]
    }

    #[test]
    fn slopes_are_those_of_dual_numbers() {
        let at = [1.3, 0.7];
        let mut tape = Tape::begin();
        let inputs = at.map(|v| tape.input(v));
        let results = all(inputs);
        let rows = tape.slopes(&results);
        for k in 0..2 {
            let moving = [0, 1].map(|i| Dual64::new(at[i], if i == k { 1.0 } else { 0.0 }));
            for (i, (dual, result)) in all(moving).into_iter().zip(results).enumerate() {
                assert!((dual.re - result.re).abs() < 1e-14 * dual.re.abs());
                let slope = rows[k * results.len() + i];
                assert!(
                    (slope - dual.eps).abs() < 1e-13 * dual.eps.abs().max(1.0),
                    "{i} along {k}"
                );
            }
        }
    }

    /// An infinite derivative affects only the results that depend on it, and a nested recording leaves the outer one
    /// unchanged.
    #[test]
    fn what_has_no_slope_spoils_nothing_else() {
        let mut tape = Tape::begin();
        let (x, y) = (tape.input(0.0), tape.input(2.0));
        let steep = (x * y + x).sqrt() * y;
        let inner = {
            let mut tape = Tape::begin();
            let z = tape.input(3.0);
            tape.slopes(&[z * z])
        };
        let rows = tape.slopes(&[y * 3.0, steep, Traced::from(1.0)]);
        assert!((inner[0] - 6.0).abs() < 1e-15);
        assert!(!rows[1].is_finite());
        for (at, is) in [(0, 0.0), (2, 0.0), (3, 3.0), (5, 0.0)] {
            assert!((rows[at] - is).abs() < 1e-15, "{at}: {}", rows[at]);
        }
    }
}
