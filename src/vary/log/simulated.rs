//! Comparison of a log with the model: a machine simulated along the log's own engine speed, road and weather.
//!
//! Every bin of the reduced log is one point of a trip. A simulation starts with all heat-storing bodies at the
//! temperature of the first coolant reading, and restarts after each gap. The power for acceleration is not included:
//! the load at every point is that at constant speed.

use super::curve::Curve;
use super::digest::Digest;
use super::stretch::Pace;
use crate::balance::{Rules, Stored, travel};
use crate::model::log::Signal;
use crate::model::{Case, Condition, Leg};

/// Minimum grade of a climb, rise over length *(common practice, no source)*.
pub const CLIMB: f64 = 0.025;

/// Length of road, m, over which its grade is computed: altitudes come in steps of some metres *(engineering
/// assumption)*.
const ROAD: f64 = 400.0;

/// Maximum gap between readings that is bridged, s.
const BRIDGED: f64 = 60.0;

/// A wider error tolerance than for other trips, still far below the resolution of a reading.
const RULES: Rules = Rules {
    tolerance: 100.0,
    stop_at_limit: false,
};

/// The engine counts as warm from this much (K) below its most frequent temperature upwards *(engineering assumption)*.
const WARM: f64 = 5.0;

/// The phase of driving.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// From a cold start, or a gap, until the measured coolant is near its most frequent temperature, on any road.
    Warming,
    /// Below 2 km/h.
    Standing,
    /// Below 20 km/h.
    Crawling,
    /// 20 km/h or faster.
    Driving,
    /// 20 km/h or faster up a grade of [`CLIMB`] or more, if altitude is known.
    Climbing,
}

impl Phase {
    /// All phases, in order.
    pub const ALL: [Self; 5] = [
        Self::Warming,
        Self::Standing,
        Self::Crawling,
        Self::Driving,
        Self::Climbing,
    ];

    /// The phase of a warm engine at a road speed, m/s, and a grade.
    pub fn of(speed: f64, grade: f64) -> Self {
        match Pace::of(speed) {
            Pace::Standing => Self::Standing,
            Pace::Crawling => Self::Crawling,
            _ if grade >= CLIMB => Self::Climbing,
            _ => Self::Driving,
        }
    }

    /// Name of the phase, also used in JSON.
    pub fn label(self) -> &'static str {
        match self {
            Self::Warming => "warming up",
            Self::Standing => "standing",
            Self::Crawling => "crawling",
            Self::Driving => "driving",
            Self::Climbing => "climbing",
        }
    }
}

/// Deviation of the simulated coolant temperature from the measured one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Misfit {
    /// Duration of the comparison, s.
    pub time: f64,
    /// Mean of simulated minus measured, K.
    pub mean: f64,
    /// Root mean square of the difference, K.
    pub rms: f64,
}

/// A simulation of a log.
#[derive(Clone, Debug)]
pub struct Simulated {
    /// Coolant temperature in the middle of each bin, K; NaN if there is none.
    pub coolant: Vec<f64>,
    /// The deviation in each phase that occurs.
    pub phases: Vec<(Phase, Misfit)>,
    /// The deviation over all phases; `None` if nothing could be simulated.
    pub whole: Option<Misfit>,
    /// Start times of the simulation, s: the first one, and after each gap.
    pub begins: Vec<f64>,
    /// Times at which the simulation stopped early, s, each with the reason.
    pub stopped: Vec<(f64, String)>,
    /// Maximum engine power required by the simulation, W.
    pub engine_power: f64,
}

/// Signals that a simulation needs and the log lacks.
pub fn missing(digest: &Digest, said: Option<f64>) -> Vec<Signal> {
    [Signal::EngineSpeed, Signal::RoadSpeed, Signal::Ambient]
        .into_iter()
        .filter(|s| !digest.knows(*s) && (*s != Signal::Ambient || said.is_none()))
        .collect()
}

/// Simulates a machine along a log. `said` is the ambient temperature stated by the user; `altitude` (m) applies if the
/// log has none.
pub fn simulate(digest: &Digest, case: &Case, said: Option<f64>, altitude: f64) -> Simulated {
    let curve = &digest.curve;
    let mut case = *case;
    case.now.altitude = altitude;
    let mut found = Simulated {
        coolant: vec![f64::NAN; curve.bins.len()],
        phases: Vec::new(),
        whole: None,
        begins: Vec::new(),
        stopped: Vec::new(),
        engine_power: 0.0,
    };
    let ambient = said.map_or_else(
        || held(curve, Signal::Ambient),
        |t| vec![t; curve.bins.len()],
    );
    let height = held(curve, Signal::Altitude);
    let conditioning = held(curve, Signal::AirConditioning);
    let mut sums = [(0.0, 0.0, 0.0); Phase::ALL.len()];
    let plateau = digest.exposure.plateau();
    let warm_from = plateau.map_or(f64::INFINITY, |p| p.0 - WARM);
    for run in runs(curve) {
        let legs = legs(
            curve,
            &case,
            &run,
            [&ambient, &height, &conditioning].map(Vec::as_slice),
        );
        let (Some(first), true) = (run.first(), legs.len() > 1) else {
            continue;
        };
        let begins = curve.middle(*first);
        let start = curve.bins.get(*first).map_or(f64::NAN, |b| b.coolant());
        found.begins.push(begins);
        let course = match travel(&case, &legs, Stored::even(start), RULES) {
            Ok(course) => course,
            Err(trouble) => {
                found.stopped.push((begins, trouble.to_string()));
                continue;
            }
        };
        if course.boiled {
            let end = course.track.last().map_or(0.0, |p| p.0);
            let why = "the simulated coolant boils".to_string();
            found.stopped.push((begins + end, why));
        }
        for moment in &course.moments {
            found.engine_power = found.engine_power.max(moment.budget.engine_power);
        }
        found.compare(
            curve,
            legs.iter().zip(run),
            &course.track,
            (start, warm_from),
            &mut sums,
        );
    }
    found.phases = Phase::ALL
        .into_iter()
        .zip(sums)
        .filter_map(|(phase, sum)| Some((phase, misfit(sum)?)))
        .collect();
    let whole = sums
        .into_iter()
        .fold((0.0, 0.0, 0.0), |a, b| (a.0 + b.0, a.1 + b.1, a.2 + b.2));
    found.whole = misfit(whole);
    found
}

/// For each phase, the sums of time, of time × deviation, and of time × squared deviation.
type Sums = [(f64, f64, f64); Phase::ALL.len()];

impl Simulated {
    /// Stores the simulated coolant temperature of one run, given as legs with their bins, and adds its deviations to
    /// `sums`. The coolant is at `start` first, K; the engine counts as warm once the measured coolant reaches
    /// `warm_from`, K.
    fn compare<'a>(
        &mut self,
        curve: &Curve,
        legs: impl Iterator<Item = (&'a Leg, usize)>,
        track: &[(f64, f64, f64)],
        (start, warm_from): (f64, f64),
        sums: &mut Sums,
    ) {
        let mut warm = start >= warm_from;
        // The first moment is taken from the log.
        for (leg, bin) in legs.skip(1) {
            let simulated = at(track, leg.time);
            let measured = curve.bins.get(bin).map_or(f64::NAN, |b| b.coolant());
            let off = simulated - measured;
            if !off.is_finite() {
                continue;
            }
            if let Some(slot) = self.coolant.get_mut(bin) {
                *slot = simulated;
            }
            warm |= measured >= warm_from;
            let phase = match warm {
                true => Phase::of(leg.now.road_speed, leg.now.grade),
                false => Phase::Warming,
            };
            let sum = &mut sums[phase as usize];
            sum.0 += curve.width;
            sum.1 += curve.width * off;
            sum.2 += curve.width * off * off;
        }
    }
}

/// The deviation of a simulation, from the sums of time, of time × deviation, and of time × squared deviation.
fn misfit((time, off, square): (f64, f64, f64)) -> Option<Misfit> {
    (time > 0.0).then(|| Misfit {
        time,
        mean: off / time,
        rms: (square / time).sqrt(),
    })
}

/// The value of a signal in every bin: an empty bin takes the last known value, or the first one if none precedes it.
/// Empty if the signal is missing.
fn held(curve: &Curve, signal: Signal) -> Vec<f64> {
    let means = || curve.bins.iter().map(|b| b.mean(signal));
    let Some(mut last) = means().find(|v| v.is_finite()) else {
        return Vec::new();
    };
    means()
        .map(|v| {
            if v.is_finite() {
                last = v;
            }
            last
        })
        .collect()
}

/// The bins with coolant, engine speed and road speed, split at gaps.
fn runs(curve: &Curve) -> Vec<Vec<usize>> {
    let apart = BRIDGED.max(2.5 * curve.width);
    let mut runs: Vec<Vec<usize>> = Vec::new();
    let mut anew = true;
    for (i, bin) in curve.bins.iter().enumerate() {
        anew |= bin.after_gap;
        let needed = [Signal::Coolant, Signal::EngineSpeed, Signal::RoadSpeed];
        if needed.iter().any(|s| !bin.mean(*s).is_finite()) {
            continue;
        }
        match runs.last_mut() {
            Some(run)
                if !anew
                    && run
                        .last()
                        .is_some_and(|l| (i - l) as f64 * curve.width <= apart) =>
            {
                run.push(i);
            }
            _ => runs.push(vec![i]),
        }
        anew = false;
    }
    runs
}

/// The trip along a run; `held` are ambient temperature, altitude and air conditioning of every bin.
fn legs(curve: &Curve, case: &Case, run: &[usize], held: [&[f64]; 3]) -> Vec<Leg> {
    let of = |held: &[f64], bin: usize, else_: f64| held.get(bin).copied().unwrap_or(else_);
    let [ambient, height, conditioning] = held;
    let begins = run.first().map_or(0.0, |b| curve.middle(*b));
    let mut legs: Vec<Leg> = run
        .iter()
        .filter_map(|&at| {
            let bin = curve.bins.get(at)?;
            let mut now = case.now;
            now.engine_speed = bin.mean(Signal::EngineSpeed);
            now.road_speed = bin.speed();
            now.ambient = of(ambient, at, now.ambient);
            now.altitude = of(height, at, now.altitude);
            now.air_conditioning = of(conditioning, at, now.air_conditioning);
            Some(Leg {
                time: curve.middle(at) - begins,
                now: inside(now),
                command: None,
            })
        })
        .collect();
    if !height.is_empty() {
        let grades = grades(&legs);
        for (leg, grade) in legs.iter_mut().zip(grades) {
            leg.now.grade = grade;
            leg.now = inside(leg.now);
        }
    }
    legs
}

/// The grade at each leg, over about [`ROAD`] around it; zero if the road is too short.
fn grades(legs: &[Leg]) -> Vec<f64> {
    let mut way = 0.0;
    let mut before: Option<&Leg> = None;
    let along: Vec<(f64, f64)> = legs
        .iter()
        .map(|leg| {
            if let Some(last) = before {
                way += 0.5 * (last.now.road_speed + leg.now.road_speed) * (leg.time - last.time);
            }
            before = Some(leg);
            (way, leg.now.altitude)
        })
        .collect();
    let (mut from, mut to) = (0, 0);
    let end = along.len().saturating_sub(1);
    along
        .iter()
        .map(|(here, _)| {
            while from < end && along[from + 1].0 <= here - 0.5 * ROAD {
                from += 1;
            }
            while to < end && along[to].0 < here + 0.5 * ROAD {
                to += 1;
            }
            let (a, b) = (along[from], along[to]);
            if b.0 - a.0 >= 0.5 * ROAD {
                (b.1 - a.1) / (b.0 - a.0)
            } else {
                0.0
            }
        })
        .collect()
}

/// A condition clamped to the ranges of its inputs.
fn inside(now: Condition) -> Condition {
    let fields = Condition::<f64>::FIELDS;
    now.map(&mut |i, v| match fields.get(i) {
        Some(field) => v.clamp(field.low, field.high),
        None => *v,
    })
}

/// The coolant temperature of a track at a time; NaN beyond its end.
fn at(track: &[(f64, f64, f64)], time: f64) -> f64 {
    let after = track.partition_point(|p| p.0 < time - 1e-6);
    let Some(next) = track.get(after) else {
        return f64::NAN;
    };
    let Some(last) = after.checked_sub(1).and_then(|b| track.get(b)) else {
        return next.1;
    };
    let part = ((time - last.0) / (next.0 - last.0)).clamp(0.0, 1.0);
    last.1 + (next.1 - last.1) * part
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::log::Sample;

    /// One row per second: road speed, altitude, whether there is an engine speed.
    fn curve(rows: usize, of: impl Fn(usize) -> (f64, f64, bool), gap_at: usize) -> Curve {
        let mut curve = Curve::default();
        for i in 0..rows {
            let (speed, height, engine) = of(i);
            let mut known = vec![
                (Signal::Coolant, 360.0),
                (Signal::RoadSpeed, speed),
                (Signal::Altitude, height),
            ];
            if engine {
                known.push((Signal::EngineSpeed, 80.0));
            }
            curve.add(&Sample::of(i as f64, 1.0, i == gap_at, &known));
        }
        curve
    }

    #[test]
    fn a_gap_parts_and_a_short_silence_does_not() {
        let parted = curve(300, |_| (0.0, 0.0, true), 100);
        let parted: Vec<usize> = runs(&parted).iter().map(Vec::len).collect();
        assert_eq!(parted, [100, 200]);
        // The engine speed is missing for 30 s, and later for 90 s.
        let silent = curve(
            400,
            |i| (0.0, 0.0, !(50..80).contains(&i) && !(200..290).contains(&i)),
            usize::MAX,
        );
        let silent: Vec<usize> = runs(&silent).iter().map(Vec::len).collect();
        assert_eq!(silent, [170, 110]);
    }

    #[test]
    fn a_grade_shows_over_some_hundred_metres_and_not_in_steps() {
        // 20 m/s up 6 % in steps of 5 m, from the 100th second.
        let up = |i: usize| (0.06 * 20.0 * i.saturating_sub(100) as f64 / 5.0).floor() * 5.0;
        let curve = curve(300, |i| (20.0, up(i), true), usize::MAX);
        let legs: Vec<Leg> = curve
            .bins
            .iter()
            .enumerate()
            .map(|(i, bin)| {
                let mut now = crate::model::Ask::about("light-truck")
                    .resolve(crate::model::Lookup::LibraryOnly)
                    .unwrap()
                    .case
                    .now;
                now.road_speed = bin.speed();
                now.altitude = bin.mean(Signal::Altitude);
                Leg {
                    time: curve.middle(i),
                    now,
                    command: None,
                }
            })
            .collect();
        let grades = grades(&legs);
        assert!(grades[50].abs() < 1e-9);
        for g in &grades[120..280] {
            assert!((g - 0.06).abs() < 0.015, "{g}");
        }
        assert_eq!(Phase::of(20.0, grades[200]), Phase::Climbing);
    }

    #[test]
    fn between_two_points_by_hand() {
        let track = [(0.0, 300.0, 0.0), (10.0, 310.0, 0.0), (10.0, 310.0, 0.0)];
        assert!((at(&track, 4.0) - 304.0).abs() < 1e-12);
        assert!((at(&track, 10.0) - 310.0).abs() < 1e-12);
        assert!(at(&track, 11.0).is_nan());
    }
}
