//! Coolant temperature versus ambient temperature, and limiting ambient temperature versus road speed and grade.

use super::answer::on_the_road;
use super::draws::Drawn;
use super::looks::{half_blocked, limiting};
use super::{Day, Heat, MapPoint};
use crate::balance::{Asked, Warm, at_limit, at_limit_asked, warm_from};
use crate::fluid::air;
use crate::input::Input;
use crate::model::Case;
use crate::question::Ends;
use crate::trouble::Trouble;
use crate::vary::sample;
use rayon::prelude::*;

/// Number of ambient temperatures along the curve.
const STEPS: usize = 31;

/// Number of map points along each axis.
pub const MAP_POINTS: usize = 40;

/// The coolant temperature versus ambient temperature, as requested and with the core half blocked.
pub(super) fn along_ambient(case: &Case, asked: Asked, near: &Warm) -> Vec<Day> {
    let days: Vec<f64> = (0..STEPS)
        .map(|k| 273.15 - 10.0 + 60.0 * k as f64 / (STEPS - 1) as f64)
        .collect();
    let half = half_blocked(case);
    let line = |case: &Case| coolant_on(&days, case, asked, near);
    let (now, blocked) = rayon::join(|| line(case), || line(&half));
    let all = days.iter().zip(now.into_iter().zip(blocked));
    all.map(|(ambient, (now, blocked))| Day {
        ambient: *ambient,
        coolant_temp: now,
        coolant_temp_half_blocked: blocked,
    })
    .collect()
}

/// Coolant temperature, K, at each of the ambient temperatures, which are in rising order; `None` without a steady
/// state. Each solution starts from the previous one.
fn coolant_on(days: &[f64], case: &Case, asked: Asked, near: &Warm) -> Vec<Option<f64>> {
    let mut last = near.heats.is_none().then_some(*near);
    let on = |day: &f64| {
        let mut case = *case;
        case.now.ambient = *day;
        let found = warm_from(&case, asked, last.as_ref()).ok()?;
        if found.heats.is_some() {
            return None;
        }
        last = Some(found);
        Some(found.budget.coolant_temp)
    };
    days.iter().map(on).collect()
}

/// Deviations of sampled machines from the nominal one in each uncertain input; logarithmic if its uncertainty is a
/// factor.
pub(super) struct Moves {
    inputs: Vec<Input>,
    /// For each machine, the deviation of each input.
    by: Vec<Vec<f64>>,
}

impl Moves {
    /// The deviations of the sampled machines, with their faults, from the nominal one.
    pub fn of(middle: &Case, spread: &Case, drawn: &Drawn<'_>) -> Self {
        let inputs = sample::uncertain(spread);
        let along = |case: &Case, input: Input| {
            let (from, to) = (middle.get(input)?, case.get(input)?);
            Some(match spread.factors.has(input) && from > 0.0 && to > 0.0 {
                true => from * (to / from).ln(),
                false => to - from,
            })
        };
        let faulty = drawn.faulty();
        let by = faulty.iter().map(|case| {
            let moves = inputs.iter().map(|i| along(case, *i).unwrap_or(0.0));
            moves.collect()
        });
        let by = by.collect();
        Self { inputs, by }
    }

    /// The band of the limiting ambient temperature, from a linearisation around a state with the coolant at its limit.
    fn band(&self, at: &Warm, asked: Asked) -> Option<(f64, f64)> {
        let tangent = at.tangent(at_limit_asked(asked))?;
        let slopes = at.case.slopes(
            |input| self.inputs.contains(&input),
            |case| tangent.along(case).map_or(Vec::new(), |x| vec![x[0]]),
        );
        let slope = |i: &Input| slopes.along(*i).and_then(|s| s.first()).copied();
        let slopes: Vec<f64> = self
            .inputs
            .iter()
            .map(|i| slope(i).unwrap_or(0.0))
            .collect();
        let moved = |row: &Vec<f64>| row.iter().zip(&slopes).map(|(by, s)| by * s).sum();
        let mut moves: Vec<f64> = self.by.iter().map(moved).collect();
        if moves.is_empty() || moves.iter().any(|m| !m.is_finite()) {
            return None;
        }
        moves.sort_by(f64::total_cmp);
        let end = |share| at.budget.ambient + sample::at(&moves, share);
        Some((end(0.025), end(0.975)))
    }
}

/// Limiting ambient temperature versus grade and road speed.
pub(super) fn map(
    request: &Heat,
    case: &Case,
    asked: Asked,
    moves: Option<&Moves>,
) -> Result<Vec<MapPoint>, Trouble> {
    let steps = |from: f64, by: f64| (0..MAP_POINTS).map(move |k| from + by * k as f64);
    let grades: Vec<f64> = steps(0.0, 0.003).collect();
    let speeds: Vec<f64> = steps(20.0 / 3.6, 2.5 / 3.6).collect();
    let free = Heat {
        engine_given: false,
        map: false,
        ..request.clone()
    };
    let row = |grade: &f64| {
        request.setup.stop.check()?;
        let mut near: Option<Warm> = None;
        let row = speeds.iter().map(|speed| {
            let there = on_slope(case, &free, *grade, *speed);
            let found = there.and_then(|there| {
                near = at_limit(&there, asked, near.as_ref());
                let at = near.as_ref()?;
                Some((limiting(at)?, moves.and_then(|m| m.band(at, asked))))
            });
            MapPoint {
                grade: 100.0 * grade,
                road_speed: 3.6 * speed,
                limiting_ambient: found.map(|f| f.0),
                limiting_band: Ends(found.and_then(|f| f.1)),
            }
        });
        Ok(row.collect())
    };
    let rows: Result<Vec<Vec<MapPoint>>, Trouble> = grades.par_iter().map(row).collect();
    Ok(rows?.into_iter().flatten().collect())
}

/// A case at a grade and a road speed; `None` if no gear is suitable or the engine lacks the power.
fn on_slope(case: &Case, request: &Heat, grade: f64, speed: f64) -> Option<Case> {
    let mut there = *case;
    there.now.grade = grade;
    // A measured flow, and so its fuel heat, is valid only in the condition in which it was measured.
    there.now.fuel_heat = 0.0;
    there.now.road_speed = speed;
    let there = on_the_road(&there, request).ok()?;
    within_power(&there).then_some(there)
}

/// Whether the engine has the power required by the road, its accessories and other work, not counting the fan drive's
/// pump.
fn within_power(case: &Case) -> bool {
    let (Some(engine), Some(vehicle)) = (&case.engine, &case.vehicle) else {
        return true;
    };
    let now = &case.now;
    let rho = air::density(now.altitude, now.ambient);
    vehicle.road_power(now.road_speed, now.grade, now.trailer, rho) + engine.accessories + now.work
        <= engine.rated_power
}
