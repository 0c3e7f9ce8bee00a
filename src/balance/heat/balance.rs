//! The heat balance as three equations in three temperatures, solved by Newton's method, or more slowly by nested root
//! searches.

use super::{Asked, Find};
use crate::balance::budget::{Budget, Drive, missing};
use crate::balance::solve::Operating;
use crate::balance::state::{State, Turning};
use crate::input::unit::celsius;
use crate::model::Case;
use crate::numeric::{Dual64, NoRoot, Real, falling_root, falling_root_by_values};
use crate::trouble::Trouble;
use nalgebra::{Matrix3, Vector3};

/// Lower bounds of the three unknown temperatures, K: coolant or ambient air, oil, air downstream of the core.
pub(super) const LOW: [f64; 3] = [celsius(-120.0), celsius(-60.0), celsius(-120.0)];
pub(super) const HIGH: [f64; 3] = [celsius(200.0), celsius(200.0), celsius(400.0)];

/// Maximum temperature change in one Newton step, K.
const STRIDE: f64 = 40.0;

/// The balance as a function of its three unknowns.
pub(crate) struct Balance<'a> {
    pub(super) case: &'a Case,
    pub(super) asked: Asked,
    /// Starting values of the next solution, from the last one: fan speed, rad/s, and air mass flow divided by it,
    /// kg/rad.
    near: (f64, f64),
    /// Lower bounds of the unknowns for Newton's method.
    pub(super) low: [f64; 3],
    pub(super) solves: usize,
}

/// Mass flow of air up to which the airflow counts as zero, kg/s.
pub(super) const STILL: f64 = 1e-9;

/// Convergence counts as quick if a step reduces the residuals to less than this fraction.
const QUICKLY: f64 = 0.2;

/// Estimated distance from the root, K, within which the nested search switches to solving for all unknowns together.
const NEARBY: f64 = 0.1;

/// Which unknowns a search solves for.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Search {
    /// All unknowns.
    Whole,
    /// Oil and air temperature, with the first unknown held.
    Others,
    /// Oil and air temperature, solved only to a thousandth of the first residual, which is enough to determine its
    /// sign.
    OthersRoughly,
}

/// One evaluation of the heat balance.
pub(super) struct Point {
    pub(super) x: [f64; 3],
    pub(super) case: Case,
    pub(super) operating: Operating,
    pub(super) budget: Budget,
    /// Residuals divided by `scale`.
    pub(super) off: [f64; 3],
    pub(super) scale: [f64; 3],
}

impl Point {
    pub(super) fn size(&self, held: [bool; 3]) -> f64 {
        (0..3)
            .filter(|i| !held[*i])
            .fold(0.0, |most, i| self.off[i].abs().max(most))
    }
}

impl<'a> Balance<'a> {
    /// The heat balance of a case; the search starts from a near operating point, if one is given.
    pub(crate) fn of(case: &'a Case, asked: Asked, near: Option<&Operating>) -> Self {
        Self {
            case,
            asked,
            near: near.map_or((f64::NAN, f64::NAN), |o| (o.omega, o.air)),
            low: LOW,
            solves: 0,
        }
    }
}

impl Balance<'_> {
    /// The case with given values of the unknowns inserted, and the resulting coolant temperature.
    pub(crate) fn set<N: Real>(&self, mut case: Case<N>, x: [N; 3]) -> (Case<N>, N) {
        let coolant = match self.asked.find {
            Find::Coolant => x[0],
            Find::Ambient => {
                case.now.ambient = x[0];
                case.coolant.as_ref().map_or(N::from(f64::NAN), |c| c.limit)
            }
        };
        case.now.oil_temp = x[1];
        case.now.air_temp = x[2];
        if let (true, Some(control)) = (self.asked.automatic, &case.fan_control) {
            case.now.command = control.command(coolant, case.now.air_conditioning);
        }
        (case, coolant)
    }

    /// The fan speed, rad/s: imposed, or that of the oil circuit times the factor of a reading.
    pub(super) fn omega<N: Real>(&self, state: &State<N>) -> N {
        let computed = state.fan_speed * self.asked.fan_ratio;
        self.asked.fan_speed.map_or(computed, N::from)
    }

    /// The heat flows of a case whose oil circuit is in a given state, with an estimate of the fan's mass flow divided by
    /// its speed, at given coolant and oil temperatures.
    pub(crate) fn budget<N: Real>(
        &self,
        case: &Case<N>,
        (state, air): (&State<N>, f64),
        [coolant, oil]: [N; 2],
    ) -> Result<Budget<N>, Trouble> {
        let drive = Drive {
            omega: self.omega(state),
            pump_power: state.pump_shaft_power,
            fan_power: state.fan_shaft_power,
            air,
        };
        let mut budget =
            Budget::of(case, &drive, coolant, None).ok_or_else(|| missing(self.case))?;
        if self.asked.hold_oil {
            // This equation replaces the oil's heat balance and holds the oil temperature.
            budget.left[1] = -(oil - self.case.now.oil_temp) * 100.0;
        }
        Ok(budget)
    }

    pub(super) fn at(&mut self, x: [f64; 3]) -> Result<Point, Trouble> {
        let (case, coolant) = self.set(*self.case, x);
        let (state, operating) = State::about(&case, self.near)?;
        self.solves += 1;
        if operating.omega > 0.0 {
            self.near = (operating.omega, operating.air);
        }
        let budget = self.budget(&case, (&state, operating.air), [coolant, x[1]])?;
        let flowing = budget.engine_heat.abs().max(100.0);
        let scale = [flowing, budget.oil_heat.abs().max(10.0), flowing];
        let off = [0, 1, 2].map(|i| budget.left[i] / scale[i]);
        Ok(Point {
            x,
            case,
            operating,
            budget,
            off,
            scale,
        })
    }

    /// The heat flows with their directional derivatives; the direction is given by the derivative parts of `case` and
    /// of the unknowns `x`.
    pub(crate) fn along<N: Real>(
        &self,
        case: &Case<N>,
        turning: &Turning,
        x: [N; 3],
    ) -> Option<Budget<N>> {
        let (case, coolant) = self.set(*case, x);
        let state = turning.along(&case);
        let air = turning.operating().air;
        self.budget(&case, (&state, air), [coolant, x[1]]).ok()
    }

    /// Derivatives with respect to the unknowns at `x`: of the residuals, one column per unknown, and of the coolant's
    /// return temperature.
    pub(crate) fn across(
        &self,
        turning: &Turning,
        x: [f64; 3],
    ) -> Option<(Matrix3<f64>, [f64; 3])> {
        let case = self.case.constant();
        let (mut left, mut back) = (Matrix3::zeros(), [0.0; 3]);
        for (k, back) in back.iter_mut().enumerate() {
            let moving = [0, 1, 2].map(|i| Dual64::new(x[i], if i == k { 1.0 } else { 0.0 }));
            let budget = self.along(&case, turning, moving)?;
            left.set_column(k, &Vector3::from(budget.left.map(|r| r.eps)));
            *back = budget.return_temp.eps;
        }
        Some((left, back))
    }

    /// Derivatives of the relative residuals with respect to each unknown.
    fn slopes(&self, point: &Point) -> Result<Matrix3<f64>, Trouble> {
        let turning = Turning::of(&point.case, &point.operating);
        let (left, _) = self
            .across(&turning, point.x)
            .ok_or_else(|| missing(self.case))?;
        Ok(Matrix3::from_fn(|i, k| left[(i, k)] / point.scale[i]))
    }

    /// Newton's method from a starting point. While it converges quickly, the matrix of derivatives is updated from the
    /// last step (Broyden 1965) instead of being recomputed. An unknown that surplus heat drives to its upper bound is
    /// held there.
    pub(super) fn newton(
        &mut self,
        mut point: Point,
        search: Search,
    ) -> Result<Option<(Point, [bool; 3])>, Trouble> {
        let fixed = search != Search::Whole;
        let mut held = [fixed, false, false];
        let mut updated = None;
        for _ in 0..20 {
            let enough = match search {
                Search::OthersRoughly => self.asked.closed.max(1e-3 * point.off[0].abs()),
                _ => self.asked.closed,
            };
            if point.size(held) <= enough {
                return Ok(Some((point, held)));
            }
            if point.x[0] <= self.low[0] && point.off[0] < 0.0 && !fixed {
                return Ok(None);
            }
            let derivatives = match updated.take() {
                Some(derivatives) => derivatives,
                None => self.slopes(&point)?,
            };
            let mut slopes = derivatives;
            let mut value = Vector3::from(point.off);
            for i in (0..3).filter(|i| held[*i]) {
                slopes.row_mut(i).fill(0.0);
                slopes[(i, i)] = 1.0;
                value[i] = 0.0;
            }
            let step = slopes
                .lu()
                .solve(&-value)
                .unwrap_or(Vector3::repeat(f64::NAN));
            let longest = step.amax();
            if !longest.is_finite() {
                return Ok(None);
            }
            let mut stride = (STRIDE / longest.max(1e-9)).min(1.0);
            let size = point.size(held);
            for tries in 0..4 {
                let x =
                    [0, 1, 2].map(|i| (point.x[i] + stride * step[i]).clamp(self.low[i], HIGH[i]));
                let next = self.at(x)?;
                if next.size(held) < size * (1.0 - 0.1 * stride) || (fixed && tries == 3) {
                    if next.size(held) < QUICKLY * size {
                        updated = Some(broyden(derivatives, &point, &next));
                    }
                    point = next;
                    break;
                }
                if tries == 3 {
                    return Ok(None);
                }
                stride *= shortened(point.off, next.off, held);
            }
            for (i, held) in held.iter_mut().enumerate() {
                let against = point.x[i] >= HIGH[i] && point.off[i] > 0.0;
                *held = (fixed && i == 0) || (against && self.asked.find == Find::Coolant);
            }
        }
        Ok(None)
    }

    /// Fallback if Newton's method fails. If heat is left over at the thermostat's opening temperature, a nested search
    /// above that temperature; otherwise a search below it, where engine surfaces and cabin heater reject all heat.
    pub(super) fn fallback(&mut self) -> Result<(Point, [bool; 3]), Trouble> {
        let opens = std::mem::replace(&mut self.low, LOW)[0];
        let mut others = [self.case.now.oil_temp, self.case.now.ambient + 30.0];
        if opens <= LOW[0] || self.surplus(opens, &mut others)?.1.re > 0.0 {
            return self.nested((opens, HIGH[0]), others);
        }
        let begin = self.at([opens - 5.0, others[0], others[1]])?;
        match self.newton(begin, Search::Whole)? {
            Some(found) => Ok(found),
            None => self.nested((LOW[0], opens), others),
        }
    }

    /// Nested root search: bracketed Newton's method for the first unknown; the other two are solved for at each of its
    /// values. Slower but reliable, even across kinks, as long as the bracket contains one root (see `cold.rs`). Close to
    /// the root, all three unknowns are solved for together.
    pub(super) fn nested(
        &mut self,
        (low, high): (f64, f64),
        mut others: [f64; 2],
    ) -> Result<(Point, [bool; 3]), Trouble> {
        let up = match self.asked.find {
            Find::Coolant => 1.0,
            Find::Ambient => -1.0,
        };
        let (mut found, mut failed) = (None, None);
        let mut surplus = |a: f64| {
            let (point, off) = self.surplus(a, &mut others)?;
            if off.re.abs() < NEARBY * off.eps.abs() {
                let near = low - NEARBY..=high + NEARBY;
                let root = self.newton(point, Search::Whole)?;
                found = root.filter(|(point, _)| near.contains(&point.x[0]));
            }
            Ok(if found.is_some() {
                0.0.into()
            } else {
                off * up
            })
        };
        let begin = match low > LOW[0] {
            true => (low + 10.0).min(0.5 * (low + high)),
            false => 0.5 * (low + high),
        };
        let root = falling_root(
            |a| {
                surplus(a.re).unwrap_or_else(|why| {
                    failed = Some(why);
                    f64::NAN.into()
                })
            },
            low,
            high,
            begin,
            1.0,
        );
        if let Some(why) = failed {
            return Err(why);
        }
        if let Some(found) = found {
            return Ok(found);
        }
        let point = self.inner(end(root.map(|r| r.x), low, high), others, Search::Others)?;
        let held = [0, 1, 2].map(|i| point.x[i] >= HIGH[i] && point.off[i] > 0.0);
        Ok((point, held))
    }

    /// The state at the value `a` of the first unknown, with oil and air temperature solved roughly from the starting
    /// values `others`; and the first residual with its slope.
    pub(super) fn surplus(
        &mut self,
        a: f64,
        others: &mut [f64; 2],
    ) -> Result<(Point, Dual64), Trouble> {
        let point = self.inner(a, *others, Search::OthersRoughly)?;
        *others = [point.x[1], point.x[2]];
        let s = self.slopes(&point)?;
        let inside = s.fixed_view::<2, 2>(1, 1).lu();
        let moves = inside.solve(&s.fixed_view::<2, 1>(1, 0).into_owned());
        let slope = moves.map_or(f64::NAN, |m| {
            s[(0, 0)] - s[(0, 1)] * m[0] - s[(0, 2)] * m[1]
        });
        let off = Dual64::new(point.off[0], slope);
        Ok((point, off))
    }

    /// Solves for oil and air temperature at the value `a` of the first unknown: by Newton's method or, if that fails,
    /// by nested search.
    pub(super) fn inner(
        &mut self,
        a: f64,
        start: [f64; 2],
        search: Search,
    ) -> Result<Point, Trouble> {
        let begin = self.at([a, start[0], start[1]])?;
        if let Some((point, _)) = self.newton(begin, search)? {
            return Ok(point);
        }
        let oil = falling_root_by_values(
            |oil| {
                let air = self.air(a, oil)?;
                Ok::<_, Trouble>(self.at([a, oil, air])?.off[1])
            },
            LOW[1],
            HIGH[1],
        )?;
        let oil = end(oil, LOW[1], HIGH[1]);
        let air = self.air(a, oil)?;
        self.at([a, oil, air])
    }

    fn air(&mut self, a: f64, oil: f64) -> Result<f64, Trouble> {
        let found = falling_root_by_values(
            |air| Ok::<_, Trouble>(self.at([a, oil, air])?.off[2]),
            LOW[2],
            HIGH[2],
        )?;
        Ok(end(found, LOW[2], HIGH[2]))
    }
}

/// Broyden's update: the derivatives of the residuals after a step, from those before it and the change of the
/// residuals.
fn broyden(before: Matrix3<f64>, from: &Point, to: &Point) -> Matrix3<f64> {
    let between = |a: [f64; 3], b: [f64; 3]| Vector3::from(b) - Vector3::from(a);
    let (step, change) = (between(from.x, to.x), between(from.off, to.off));
    before + (change - before * step) * step.transpose() / step.norm_squared()
}

/// Factor by which a step that does not reduce the residuals is shortened: to the point where the largest residual,
/// interpolated linearly over the step, is zero. The search can thus cross a kink, such as where the fan starts.
fn shortened(here: [f64; 3], there: [f64; 3], held: [bool; 3]) -> f64 {
    let free = (0..3).filter(|i| !held[*i]);
    let most = free.max_by(|i, k| there[*i].abs().total_cmp(&there[*k].abs()));
    most.map_or(0.4, |i| (here[i] / (here[i] - there[i])).clamp(0.05, 0.5))
}

/// The root, or the bound beyond which it lies.
fn end(root: Result<f64, NoRoot>, low: f64, high: f64) -> f64 {
    match root {
        Ok(x) => x,
        Err(NoRoot::Below(_)) => low,
        Err(_) => high,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::balance::warm;

    use crate::model::{Ask, Lookup};

    #[test]
    fn the_slow_way_finds_what_newton_finds() {
        let mut case = Ask::about("light-truck")
            .resolve(Lookup::LibraryOnly)
            .unwrap()
            .case;
        case.now.ambient = celsius(38.0);
        for find in [Find::Coolant, Find::Ambient] {
            let asked = Asked {
                find,
                ..Asked::STEADY
            };
            let quick = warm(&case, asked).unwrap();
            let mut balance = Balance::of(&case, asked, None);
            let (slow, held) = balance
                .nested((LOW[0], HIGH[0]), [celsius(80.0); 2])
                .unwrap();
            assert_eq!(held, [false; 3]);
            let x = [
                quick.budget.coolant_temp,
                quick.budget.oil_temp,
                quick.budget.air_temp,
            ];
            let y = [
                slow.budget.coolant_temp,
                slow.budget.oil_temp,
                slow.budget.air_temp,
            ];
            for k in 0..3 {
                assert!((x[k] - y[k]).abs() < 1e-4, "{find:?} {k}: {x:?} {y:?}");
            }
        }
    }
}
