//! Before and after: the change after correction for ambient temperature, load and air conditioning.
//!
//! Coolant temperature of warm stretches = a level for each pace + effect (after only) + slopes times ambient, load and
//! air conditioning. Two drives alone seldom determine the slopes, because each drive has a single ambient temperature.
//! Prior knowledge of the slopes therefore enters with its own uncertainty, as additional rows of the least squares,
//! and this uncertainty is included in the interval of the effect.

mod pooled;

use super::cooling::ambient;
use super::digest::Digest;
use super::stretch::{Pace, Stretch};
use crate::model::log::Signal;
use pooled::{AMBIENT, pooled};

/// Resolution of the readings, K: an effect below this counts as none.
const STEP: f64 = 1.0;
/// Up to this excess over the engine's most frequent temperature, K, a thermostat regulates: it opens over 10 to 15 K
/// *(engineering assumption)*.
const HOLDS: f64 = 4.0;
/// Above this, K, no thermostat regulates, whatever the level.
const FREE: f64 = 273.15 + 105.0;
/// Rise of the coolant per kelvin of ambient temperature without regulation: 1, reduced by a fan with rising command,
/// and by other sources of warm air. Mean and one standard deviation *(engineering assumption)*.
const FREE_AMBIENT: (f64, f64) = (0.85, 0.2);

/// Factor on the 95 % interval that a change at one pace must exceed, because with several paces one often exceeds the
/// plain interval by chance. At 1.3, 7 of 300 simulated pairs of logs without any repair were reported as a change; at
/// 1.4 none of 1000, and a repair worth 8 K was detected in 843 of 1000 (at 1.5 in 772).
const SURER: f64 = 1.4;
/// A change below this is negligible, K.
const SMALL: f64 = 4.0;
/// Nearly steady: K/s.
const STEADY: f64 = 1.0 / 60.0;
/// Minimum number of stretches, both before and after.
const LEAST: usize = 3;

/// The conclusion.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Outcome {
    /// The engine runs cooler after.
    Cooler,
    /// The engine runs hotter after.
    Hotter,
    /// The change is at most this many K, although the engine was hot enough to show a larger one.
    NoChange(f64),
    /// The logs are inconclusive, with the reason.
    CannotTell(&'static str),
}

/// The conclusion at one pace.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Change {
    /// The engine runs cooler after.
    Cooler,
    /// The engine runs hotter after.
    Hotter,
    /// A change of at most this many K, although the engine was hot enough to show a larger one.
    None(f64),
    /// A thermostat regulated before and after, so a change of cooling does not show.
    Regulated,
    /// The change is within its error.
    Unclear,
}

/// Comparison before and after at one pace.
#[derive(Clone, Copy, Debug)]
pub struct PaceChange {
    /// The pace.
    pub pace: Pace,
    /// The conclusion.
    pub change: Change,
    /// After minus before, K, corrected for ambient temperature where it has an effect.
    pub effect: f64,
    /// Half-width of the effect's interval, K.
    pub half: f64,
    /// Mean coolant temperature before and after, K.
    pub coolant: [f64; 2],
    /// Number of stretches before and after.
    pub stretches: [usize; 2],
}

/// Comparison before and after.
#[derive(Clone, Debug)]
pub struct Compared {
    /// The conclusion.
    pub outcome: Outcome,
    /// Comparison by pace, for paces with enough stretches before and after.
    pub paces: Vec<PaceChange>,
    /// After minus before over all paces, K, with all possible corrections; `None` with too few data.
    pub effect: Option<f64>,
    /// Half-width of the effect's interval, K.
    pub half: f64,
    /// After minus before without corrections, K.
    pub plain: f64,
    /// Mean ambient temperature (K) before and after, if known.
    pub ambient: [f64; 2],
    /// Load after over load before, if known.
    pub load: f64,
    /// Fraction of time with air conditioning before and after, if known.
    pub conditioning: [f64; 2],
    /// Number of stretches compared.
    pub stretches: [usize; 2],
    /// Quantities missing from either log, which widen the interval.
    pub not_known: Vec<&'static str>,
}

/// Compares two logs. `said` are ambient temperatures stated by the user.
pub fn compare(before: &Digest, after: &Digest, said: [Option<f64>; 2]) -> Compared {
    compare_all(&[before], &[after], said)
}

/// Compares the logs before with the logs after.
pub fn compare_all(before: &[&Digest], after: &[&Digest], said: [Option<f64>; 2]) -> Compared {
    let of = |logs: &[&Digest], said: Option<f64>, lasting: bool| -> Vec<Stretch> {
        let all = logs.iter().flat_map(|d| match lasting {
            true => &d.stretches.settled,
            false => &d.stretches.all,
        });
        all.filter(|s| s.steady(STEADY))
            .map(|s| s.with(Signal::Ambient, ambient(s, said)))
            .collect()
    };
    let levels = before.iter().chain(after).filter_map(|d| {
        let moving = d.climbs.level();
        moving.or(d.exposure.plateau().map(|p| p.0))
    });
    let level = levels.reduce(f64::min);
    let [all, lasting] = [false, true].map(|l| [of(before, said[0], l), of(after, said[1], l)]);
    between(all, &lasting, level)
}

/// Stretches before and after.
type Sides = [Vec<Stretch>; 2];

/// Comparison before and after: first whether a thermostat regulated before and after, then pace by pace.
fn between(all: Sides, lasting: &Sides, level: Option<f64>) -> Compared {
    let of = |sides: &Sides, pace: Pace| -> Option<Sides> {
        let at = |side: &Vec<Stretch>| -> Vec<Stretch> {
            side.iter().filter(|s| s.pace == pace).copied().collect()
        };
        let [before, after] = [at(&sides[0]), at(&sides[1])];
        (before.len() >= LEAST && after.len() >= LEAST).then_some([before, after])
    };
    // If a pace lasts, three consecutive stretches give its slope, and so its final temperature.
    let paces = Pace::ALL
        .into_iter()
        .filter_map(|pace| match of(lasting, pace) {
            Some(sides) => at_pace(pace, sides, level, true),
            None => at_pace(pace, of(&all, pace)?, level, false),
        });
    let paces: Vec<PaceChange> = paces.collect();
    let mut compared = pooled(all, AMBIENT, false);
    let any = |of: &dyn Fn(&PaceChange) -> bool| paces.iter().any(of);
    let (cooler, hotter) = (
        any(&|p| p.change == Change::Cooler),
        any(&|p| p.change == Change::Hotter),
    );
    let within = paces.iter().filter_map(|p| match p.change {
        Change::None(within) => Some(within),
        _ => None,
    });
    compared.outcome = match (cooler, hotter, within.reduce(f64::min)) {
        (true, false, _) => Outcome::Cooler,
        (false, true, _) => Outcome::Hotter,
        (true, true, _) => Outcome::CannotTell("it runs cooler at one pace and hotter at another"),
        (false, false, Some(within)) if !any(&|p| p.change == Change::Unclear) => {
            Outcome::NoChange(within)
        }
        _ if paces.is_empty() => Outcome::CannotTell(
            "there are fewer than three warm, steady stretches of two minutes at a pace common to both sides",
        ),
        _ if !any(&|p| p.change != Change::Regulated) => Outcome::CannotTell(
            "the thermostat held the temperature in both drives, so better cooling would not show",
        ),
        _ => Outcome::CannotTell("the difference is within its error"),
    };
    compared.paces = paces;
    compared
}

/// Comparison at one pace.
fn at_pace(pace: Pace, sides: Sides, level: Option<f64>, lasting: bool) -> Option<PaceChange> {
    let mean = |side: &[Stretch]| {
        side.iter().map(|s| s.mean(Signal::Coolant)).sum::<f64>() / side.len() as f64
    };
    let coolant = [mean(&sides[0]), mean(&sides[1])];
    let stretches = [sides[0].len(), sides[1].len()];
    let holds = (level.unwrap_or(f64::INFINITY) + HOLDS).min(FREE);
    let regulated = coolant.iter().all(|t| *t <= holds);
    let solved = pooled(sides, FREE_AMBIENT, lasting);
    let (effect, half) = (solved.effect?, solved.half);
    let within = effect.abs() + half;
    let change = match () {
        () if regulated => Change::Regulated,
        () if effect.abs() > (SURER * half).max(STEP) && effect < 0.0 => Change::Cooler,
        () if effect.abs() > (SURER * half).max(STEP) => Change::Hotter,
        () if within <= SMALL => Change::None(within),
        () => Change::Unclear,
    };
    Some(PaceChange {
        pace,
        change,
        effect,
        half,
        coolant,
        stretches,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::log::Sample;
    use crate::vary::log::Stretches;
    use rand::{RngExt, SeedableRng};

    /// The engine's most frequent temperature on the move in these drives.
    const LEVEL: Option<f64> = Some(273.15 + 90.0);

    /// Stretches of a drive: coolant in °C by (ambient °C, load) with noise.
    fn drive(
        random: &mut rand_chacha::ChaCha8Rng,
        level: f64,
        ambient: Option<f64>,
        conditioning: f64,
        count: usize,
    ) -> Vec<Stretch> {
        let mut stretches = Stretches::default();
        let (mut time, mut last) = (0.0, None);
        for _ in 0..count {
            let noise: f64 = (0..12).map(|_| random.random_range(-0.5..0.5)).sum();
            let load: f64 = random.random_range(0.9..1.1);
            let t = level + noise + 5.0 * (load - 1.0);
            for k in 0..=121 {
                let mut known = vec![
                    (Signal::Coolant, t + 273.15),
                    (Signal::RoadSpeed, 0.0),
                    (Signal::EngineSpeed, 80.0),
                    (Signal::AirFlow, 0.004 * load),
                    (Signal::AirConditioning, conditioning),
                ];
                known.extend(ambient.map(|a| (Signal::Ambient, a + 273.15)));
                let row = Sample::of(time, 1.0, k == 0, &known);
                stretches.add(last.replace(row).as_ref(), &row);
                time += 1.0;
            }
        }
        stretches.all
    }

    /// Compares stretches without those of a lasting pace.
    fn of(before: Vec<Stretch>, after: Vec<Stretch>) -> Compared {
        between([before, after], &[Vec::new(), Vec::new()], LEVEL)
    }

    fn random() -> rand_chacha::ChaCha8Rng {
        rand_chacha::ChaCha8Rng::seed_from_u64(15)
    }

    #[test]
    fn a_repair_shows_and_its_size_is_right() {
        let mut r = random();
        let before = drive(&mut r, 112.0, Some(30.0), 1.0, 15);
        let after = drive(&mut r, 100.0, Some(30.0), 1.0, 15);
        let c = of(before, after);
        assert_eq!(c.outcome, Outcome::Cooler);
        assert!(
            (c.effect.unwrap() + 12.0).abs() < c.half && c.half < 3.0,
            "{c:?}"
        );
    }

    #[test]
    fn a_cooler_day_is_not_a_repair() {
        // The air is 10 K cooler and the coolant 7 K: ambient temperature may explain all of this change, a part, or
        // none.
        let mut r = random();
        let c = of(
            drive(&mut r, 107.0, Some(35.0), 1.0, 15),
            drive(&mut r, 100.0, Some(25.0), 1.0, 15),
        );
        assert!(matches!(c.outcome, Outcome::CannotTell(_)), "{c:?}");
    }

    #[test]
    fn what_is_not_logged_widens_the_interval() {
        let mut r = random();
        let sides = |r: &mut _, ambient| {
            of(
                drive(r, 108.0, ambient, 1.0, 15),
                drive(r, 103.0, ambient, 1.0, 15),
            )
        };
        let known = sides(&mut r, Some(30.0));
        let unknown = sides(&mut r, None);
        assert_eq!(known.outcome, Outcome::Cooler);
        assert!(matches!(unknown.outcome, Outcome::CannotTell(_)));
        assert!(unknown.half > 2.0 * known.half && unknown.not_known == ["ambient"]);
    }

    #[test]
    fn air_conditioning_in_one_drive_alone_is_allowed_for() {
        let mut r = random();
        let c = of(
            drive(&mut r, 103.0, Some(30.0), 1.0, 15),
            drive(&mut r, 101.0, Some(30.0), 0.0, 15),
        );
        assert!(matches!(c.outcome, Outcome::CannotTell(_)), "{c:?}");
    }

    #[test]
    fn too_little_and_other_paces_cannot_tell() {
        let mut r = random();
        let two = drive(&mut r, 112.0, Some(30.0), 1.0, 2);
        let many = drive(&mut r, 100.0, Some(30.0), 1.0, 9);
        assert!(matches!(
            of(two, many.clone()).outcome,
            Outcome::CannotTell(_)
        ));
        assert!(matches!(
            of(Vec::new(), many).outcome,
            Outcome::CannotTell(_)
        ));
    }

    #[test]
    fn nothing_done_is_seldom_called_something() {
        let mut r = random();
        let tries = 300;
        let wrong = (0..tries)
            .filter(|_| {
                let before = drive(&mut r, 105.0, Some(30.0), 1.0, 8);
                let after = drive(&mut r, 105.0, Some(30.0), 1.0, 8);
                let outcome = of(before, after).outcome;
                matches!(outcome, Outcome::Cooler | Outcome::Hotter)
            })
            .count();
        assert!(wrong * 100 <= 2 * tries, "{wrong} of {tries}");
    }

    /// An engine that was hot enough to show a change and is unchanged after is reported as no change, not as
    /// inconclusive.
    #[test]
    fn no_change_is_said_where_it_was_hot_enough_to_show() {
        let mut r = random();
        let mut side = || drive(&mut r, 104.0, Some(30.0), 1.0, 25);
        let c = of(side(), side());
        assert!(
            matches!(c.outcome, Outcome::NoChange(within) if within < 4.0),
            "{c:?}"
        );
    }

    /// Whether a thermostat regulated before and after is tested first: a change of the reading is then not the effect
    /// of a repair.
    #[test]
    fn where_a_thermostat_holds_both_nothing_is_compared() {
        let mut r = random();
        let before = drive(&mut r, 93.0, Some(35.0), 1.0, 25);
        let after = drive(&mut r, 90.0, Some(20.0), 1.0, 25);
        let c = of(before, after);
        assert!(
            matches!(c.outcome, Outcome::CannotTell(why) if why.contains("thermostat")),
            "{c:?}"
        );
    }
}
