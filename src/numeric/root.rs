//! The root of a decreasing function: a bracketed Newton iteration with the exact derivative, and a final step that
//! gives the root its derivatives.

use super::{Dual64, Real};

/// Maximum number of function evaluations per root.
pub const MOST: usize = 60;

/// A root, and the number of function evaluations needed to find it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Root {
    /// Position of the root.
    pub x: f64,
    /// Slope of the function at the root.
    pub slope: f64,
    /// Number of function evaluations.
    pub evaluations: usize,
}

/// Why no root was found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NoRoot {
    /// The function is not positive at the lower bound, so its root is below. Holds the function value there.
    Below(f64),
    /// The function is not negative at the upper bound, so its root is above. Holds the function value there.
    Above(f64),
    /// The function value was not finite, or the iteration did not converge. Holds the last x and function value.
    Lost(f64, f64),
}

impl std::fmt::Display for NoRoot {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            NoRoot::Below(_) => "the solution lies below the possible range",
            NoRoot::Above(_) => "the solution lies above the possible range",
            NoRoot::Lost(_, value) if value.is_nan() => "a computed value is not a number (NaN)",
            NoRoot::Lost(..) => "the search for a solution did not end",
        })
    }
}

/// One end of a bracket: its position, and the value and slope of the function there, once evaluated.
#[derive(Clone, Copy)]
struct End {
    x: f64,
    y: Option<Dual64>,
}

impl End {
    /// The x at which the tangent at this end is zero; NaN if the slope is not negative or the function was not
    /// evaluated here.
    fn tangent(&self) -> f64 {
        self.y.map_or(f64::NAN, |y| self.x + newton(y))
    }
}

/// Newton's step; NaN if the slope is not negative.
fn newton(y: Dual64) -> f64 {
    if y.eps < 0.0 { -y.re / y.eps } else { f64::NAN }
}

/// Correction to the Newton step from the current point, by inverse cubic interpolation: x as a cubic in y that has the
/// values and slopes of the current point (`now`) and of the previous point (`before`, at the distance `back`). Zero
/// unless the correction is smaller than the step. The corrected iteration also converges to a root with infinite
/// slope, which Newton steps alone overshoot.
fn bend(now: Dual64, before: Dual64, back: f64) -> f64 {
    let apart = before.re - now.re;
    let (here, there, chord) = (1.0 / now.eps, 1.0 / before.eps, back / apart);
    let share = now.re / apart;
    let more = now.re * share * (chord - here)
        - now.re * share * (before.re / apart) * (there - 2.0 * chord + here);
    if more.abs() < newton(now).abs() {
        more
    } else {
        0.0
    }
}

/// The root of `f`, which must be strictly decreasing, in `[low, high]`, searched from `guess`.
///
/// Takes the Newton step, corrected with the previous point, as long as it stays in the bracket and makes progress. If
/// the step leaves the bracket, evaluates the end that the step crosses, if not yet evaluated; otherwise uses the
/// tangent at that end, or bisects. `scale` is a typical magnitude of `f`. The iteration has converged when the step is
/// below `1e-9` of x and the value is below `1e-9` of `scale`, or when either is as small as its rounding error; the
/// last step is still added to the root.
pub fn falling_root(
    mut f: impl FnMut(Dual64) -> Dual64,
    low: f64,
    high: f64,
    guess: f64,
    scale: f64,
) -> Result<Root, NoRoot> {
    if !(low <= high && guess.is_finite()) {
        return Err(NoRoot::Lost(guess, f64::NAN));
    }
    let (mut a, mut b) = (End { x: low, y: None }, End { x: high, y: None });
    let mut x = guess.clamp(low, high);
    let mut last = (x, Dual64::from(f64::NAN));
    for evaluations in 1..=MOST {
        let y = f(Dual64::new(x, 1.0));
        if !y.re.is_finite() {
            return Err(NoRoot::Lost(x, y.re));
        }
        let step = newton(y);
        let found = |x| Root {
            x,
            slope: y.eps,
            evaluations,
        };
        // Convergence is tested before the bracket is checked; otherwise a root at the edge of the bracket would be
        // lost. A step this small is taken without evaluating the function again, because its error is of second order.
        // At a kink of the function a small step may leave a large error, so the value must be small as well.
        let small = step.abs() <= 1e-9 * x.abs() && y.re.abs() <= 1e-9 * scale;
        if small || y.re.abs() <= 1e-14 * scale || step.abs() <= 4e-16 * x.abs() {
            let end = if step.is_finite() { x + step } else { x };
            return Ok(found(end.clamp(a.x, b.x)));
        }
        let wide = b.x - a.x;
        let (mine, other) = if y.re > 0.0 { (&mut a, b) } else { (&mut b, a) };
        if (y.re > 0.0 && x >= high) || (y.re < 0.0 && x <= low) {
            return Err(if y.re > 0.0 {
                NoRoot::Above(y.re)
            } else {
                NoRoot::Below(y.re)
            });
        }
        let before = mine.y.replace(y);
        mine.x = x;
        let (from, to) = (a.x, b.x);
        if to - from <= 1e-15 * (high - low) {
            return Ok(found(x));
        }
        // If the last step halved neither the bracket nor the function value at this end of it, bisect next.
        let stuck =
            to - from > 0.5 * wide && before.is_some_and(|old| y.re.abs() > 0.5 * old.re.abs());
        let inside = |x: f64| x > from && x < to;
        let half = 0.5 * (from + to);
        let bent = x + step + bend(y, last.1, last.0 - x);
        last = (x, y);
        x = if stuck {
            half
        } else if inside(bent) {
            bent
        } else if inside(x + step) {
            x + step
        } else if other.y.is_none() {
            other.x
        } else if inside(other.tangent()) {
            other.tangent()
        } else {
            half
        };
    }
    Err(NoRoot::Lost(x, last.1.re))
}

/// The root of `f`, which must be decreasing, in `[low, high]`, from function values only. Uses the Illinois variant of
/// the false position method, which halves the function value at an end that is retained, until the bracket is `1e-12`
/// of its initial width.
pub fn falling_root_by_values<E>(
    mut f: impl FnMut(f64) -> Result<f64, E>,
    low: f64,
    high: f64,
) -> Result<Result<f64, NoRoot>, E> {
    let (mut a, mut b) = (low, high);
    let (mut ya, mut yb) = (f(a)?, f(b)?);
    if ya <= 0.0 {
        return Ok(Err(NoRoot::Below(ya)));
    }
    if yb >= 0.0 {
        return Ok(Err(NoRoot::Above(yb)));
    }
    let mut side = 0;
    for k in 0..2 * MOST {
        let mut x = (a * yb - b * ya) / (yb - ya);
        if k % 8 == 7 || !(x > a && x < b) {
            x = 0.5 * (a + b);
        }
        let y = f(x)?;
        if b - a <= 1e-12 * (high - low) || y.abs() <= f64::MIN_POSITIVE {
            return Ok(Ok(x));
        }
        if y > 0.0 {
            (a, ya) = (x, y);
            if side == 1 {
                yb *= 0.5;
            }
            side = 1;
        } else if y < 0.0 {
            (b, yb) = (x, y);
            if side == -1 {
                ya *= 0.5;
            }
            side = -1;
        } else {
            return Ok(Err(NoRoot::Lost(x, y)));
        }
    }
    Ok(Ok(0.5 * (a + b)))
}

/// Gives a root found in `f64` its derivatives, by one Newton step in `N` (implicit function theorem).
///
/// `value` is the function at the root, evaluated in `N` with the root held constant; `slope` is the slope of the
/// function at the root.
pub fn settle<N: Real>(root: f64, slope: f64, value: N) -> N {
    N::from(root) - value / slope
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_the_root_of_a_kinked_falling_function() {
        let f = |x: Dual64| {
            let straight = -x + 3.0;
            let steep = -(x - 2.0) * 1e6 + 0.5;
            if straight.re < steep.re {
                straight
            } else {
                steep
            }
        };
        let r = falling_root(f, 0.0, 10.0, 9.0, 1.0).unwrap();
        assert!((r.x - 2.0000005).abs() < 1e-12, "{r:?}");
    }

    #[test]
    fn a_root_with_a_slope_without_end_is_found_wherever_it_lies() {
        for k in 0..2000 {
            let at = 0.013 + 0.25 * f64::from(k);
            let f = |x: Dual64| {
                let off = x - at;
                let leak = off.re.abs().sqrt();
                Dual64::new(-leak * off.re.signum(), -0.5 * off.eps / leak) - off * 1e-3
            };
            let r = falling_root(f, 0.0, 501.0, 0.3, 501.0).unwrap();
            assert!((r.x - at).abs() < 1e-11, "{at}: {r:?}");
        }
    }

    #[test]
    fn says_on_which_side_a_root_lies_outside() {
        assert!(matches!(
            falling_root(|x| -x - 1.0, 0.0, 1.0, 0.5, 1.0),
            Err(NoRoot::Below(_))
        ));
        assert!(matches!(
            falling_root(|x| -x + 5.0, 0.0, 1.0, 0.5, 1.0),
            Err(NoRoot::Above(_))
        ));
        assert!(matches!(
            falling_root(|x| x * f64::NAN, 0.0, 1.0, 0.5, 1.0),
            Err(NoRoot::Lost(..))
        ));
    }

    #[test]
    fn a_root_at_the_edge_of_the_bracket_is_kept() {
        let r = falling_root(|x| -x, 0.0, 1.0, 0.7, 1.0).unwrap();
        assert!(r.x.abs() < 1e-14);
    }

    #[test]
    fn values_alone_find_a_kinked_root() {
        let f = |x: f64| {
            Ok::<_, ()>(if x < 2.0 {
                3.0 - x
            } else {
                -1e3 * (x - 2.0) + 1.0
            })
        };
        let x = falling_root_by_values(f, 0.0, 100.0).unwrap().unwrap();
        assert!((x - 2.001).abs() < 1e-9, "{x}");
        let none = falling_root_by_values(|x| Ok::<_, ()>(5.0 - x), 0.0, 1.0).unwrap();
        assert!(matches!(none, Err(NoRoot::Above(_))));
    }

    #[test]
    fn derivatives_pass_through_a_root() {
        // x³ = c has dx/dc = 1 / (3 x²).
        let c = Dual64::new(8.0, 1.0);
        let r = falling_root(|x| -(x * x * x) + 8.0, 0.0, 10.0, 10.0, 1.0).unwrap();
        let x = settle(r.x, r.slope, c - Dual64::from(r.x * r.x * r.x));
        assert!((x.re - 2.0).abs() < 1e-12 && (x.eps - 1.0 / 12.0).abs() < 1e-12);
    }
}
