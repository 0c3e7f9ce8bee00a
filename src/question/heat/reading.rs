//! Fits the model to readings: all uncertain inputs are adjusted, each in proportion to its uncertainty and its effect.
//!
//! The misfit of the readings is distributed over the inputs by regularised least squares. With `S` the squares of the
//! half-widths and `G` the derivatives of the readings' temperatures, the inputs change by `S Gᵀ (G S Gᵀ + R)⁻¹` times
//! the residual. The step is repeated from the new values until the inputs no longer change. For a band every sampled
//! machine is fitted in this way, with a random error on each reading.
//!
//! **Source** A. Tarantola 1987, *Inverse Problem Theory*, the total inversion algorithm of Tarantola and Valette 1982, from
//! memory.

use crate::balance::{Asked, Warm, warm, warm_from};
use crate::input::Input;
use crate::model::Case;
use crate::quantity::{Kind, Measure, parse};
use crate::question::condition::Condition;
use crate::trouble::Trouble;
use crate::vary::sample;
use nalgebra::{DMatrix, DVector};

/// A reading of the coolant temperature at a measured engine or fan speed and ambient temperature. All other inputs are
/// as requested, unless stated with the reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Anchor {
    /// Coolant temperature, K.
    pub coolant: Measure,
    /// The measured speed.
    pub turns: Turns,
    /// The other inputs of the reading: the ambient temperature, and those that differ from the requested condition.
    pub condition: Condition,
}

/// A measured speed, rad/s.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Turns {
    /// Engine speed; the fan speed follows from it.
    Engine(f64),
    /// Fan speed.
    Fan(f64),
}

/// Result of the fit to the readings.
#[derive(Clone, Debug)]
pub struct Anchored {
    /// The inputs that changed most: the input, its new value, its old value, and the change in standard deviations.
    pub moved: Vec<(Input, f64, f64, f64)>,
    /// Distance of the fitted machine from the machine as given, in standard deviations.
    pub far: f64,
}

/// Minimum error of a coolant reading, K (95 %): diagnostic ports give whole degrees.
const LEAST_ERROR: f64 = 1.0;

/// The fit uses the reading errors divided by this factor, so that the model reproduces each reading.
const MET: f64 = 4.0;

/// Maximum number of iterations, and maximum change of an input in one iteration, in standard deviations.
const ROUNDS: usize = 25;
const STRIDE: f64 = 2.0;

/// Number of iterations for a sampled machine.
const SAMPLE_ROUNDS: usize = 12;

/// An input of a healthy machine rarely deviates by more than this from the machine as given, in standard deviations
/// *(engineering assumption)*.
pub const FAR: f64 = 3.0;

/// Number of inputs reported, those that changed most.
const TOLD: usize = 3;

/// Parses a reading such as `98 C at engine 700 rpm, 30 C ambient`.
pub(super) fn parsed(words: &str) -> Result<Anchor, Trouble> {
    const EXAMPLE: &str =
        "such as \"99 C at engine 700 rpm, 38 C ambient\" or \"99 C at fan 980 rpm, 38 C ambient\"";
    let wrong = || {
        Trouble::input(
            format!("`{words}`"),
            format!(
                "the coolant temperature, the engine or fan speed, and the ambient temperature, {EXAMPLE}"
            ),
        )
    };
    let (coolant, rest) = words.split_once(" at ").ok_or_else(wrong)?;
    let (speed, rest) = rest.split_once(',').ok_or_else(wrong)?;
    let speed = speed.trim();
    let turns = match speed.split_once(' ') {
        Some(("engine", n)) => Turns::Engine(parse(Kind::Speed, n)?.value),
        Some(("fan", n)) => Turns::Fan(parse(Kind::Speed, n)?.value),
        _ => {
            let found = format!("`{speed}` may be the speed of the engine or of the fan");
            let digits = speed.find(|c: char| c.is_ascii_digit()).unwrap_or(0);
            let number = speed.get(digits..).unwrap_or(speed);
            return Err(
                Trouble::input(found, format!("a reading that says which, {EXAMPLE}"))
                    .hint(format!("write `engine {number}` or `fan {number}`")),
            );
        }
    };
    let condition = Condition::read(rest, |_| None)?;
    if !condition.sets(Input::AMBIENT) || condition.gear.is_some() {
        return Err(wrong());
    }
    Ok(Anchor {
        coolant: parse(Kind::Temperature, coolant)?,
        turns,
        condition,
    })
}

impl Anchor {
    /// Uncertainty of the coolant reading, K (95 %).
    fn error(&self) -> f64 {
        self.coolant.spread.max(LEAST_ERROR)
    }

    /// Puts a machine in the condition of the reading; also returns the settings of its heat balance.
    fn there(&self, case: &Case, asked: Asked) -> (Case, Asked) {
        let mut there = self.condition.on(case);
        let (fan_speed, hold_oil) = match self.turns {
            Turns::Engine(n) => {
                there.now.engine_speed = n;
                (None, false)
            }
            Turns::Fan(n) => (Some(n), true),
        };
        let asked = Asked {
            fan_speed,
            hold_oil,
            ..asked
        };
        (there, asked)
    }
}

/// The readings, and what is needed to fit a machine to them.
#[derive(Clone, Debug)]
pub(super) struct Put<'a> {
    anchors: &'a [Anchor],
    asked: Asked,
    given: Case,
    spread: Case,
    inputs: Vec<Input>,
    /// Change of each input, in standard deviations, per kelvin of residual.
    gain: DMatrix<f64>,
}

impl<'a> Put<'a> {
    /// Fits a machine to readings. Its ± stays the same, because for a band each sampled machine is fitted separately.
    pub fn on(
        case: &mut Case,
        spread: &Case,
        asked: Asked,
        anchors: &'a [Anchor],
    ) -> Result<(Self, Anchored), Trouble> {
        let all = sample::uncertain(spread).into_iter();
        let mut put = Self {
            anchors,
            asked,
            given: *case,
            spread: *spread,
            inputs: all.filter(|i| i.part() != "now").collect(),
            gain: DMatrix::zeros(0, 0),
        };
        let scores = put.settle(case)?;
        let left = put.left(case)?;
        let errors = anchors.iter().map(Anchor::error);
        if let Some((k, _)) = errors.enumerate().find(|(k, e)| left[*k].abs() > *e) {
            return Err(put.contradicts(k, left[k]));
        }
        let told = put.told(&scores, case);
        Ok((put, told))
    }

    /// Iterates the fit until the inputs no longer change; returns their changes in standard deviations.
    fn settle(&mut self, case: &mut Case) -> Result<DVector<f64>, Trouble> {
        let mut scores = DVector::zeros(self.inputs.len());
        let mut left = self.left(case)?;
        for _ in 0..ROUNDS {
            let slopes = self.slopes(case)?;
            self.gain = self.gain_of(&slopes)?;
            let wanted = &self.gain * (&left + &slopes * &scores);
            let step = wanted - &scores;
            let longest = step.amax();
            let mut stride = STRIDE / longest.max(STRIDE);
            let worth = self.worth(&scores, &left);
            // Beyond a kink in the model the derivatives may differ strongly: a step that does not reduce the misfit is
            // halved.
            for tries in 0..8 {
                let there = &scores + &step * stride;
                let moved = self.moved(&there);
                if let Ok(next) = self.left(&moved)
                    && (self.worth(&there, &next) < worth || tries == 7)
                {
                    (scores, left, *case) = (there, next, moved);
                    break;
                }
                stride *= 0.5;
            }
            if longest * stride < 1e-4 {
                break;
            }
        }
        Ok(scores)
    }

    /// The misfit of a machine: the sum of the squared input changes and squared residuals, in standard deviations.
    fn worth(&self, scores: &DVector<f64>, left: &DVector<f64>) -> f64 {
        let each = self.anchors.iter().zip(left.iter());
        let off = each.map(|(a, left)| (left / (0.5 * a.error() / MET)).powi(2));
        scores.norm_squared() + off.sum::<f64>()
    }

    /// A machine with each input changed by its score, in standard deviations.
    fn moved(&self, scores: &DVector<f64>) -> Case {
        let mut case = self.given;
        for (input, score) in self.inputs.iter().zip(scores.iter()) {
            case = self.shifted(case, *input, *score);
        }
        case
    }

    fn shifted(&self, case: Case, input: Input, score: f64) -> Case {
        let half = self.spread.get(input).unwrap_or(0.0);
        let factor = self.spread.factors.has(input);
        let (middle, now) = (self.given.get(input), case.get(input));
        let (Some(middle), Some(now)) = (middle, now) else {
            return case;
        };
        // If the uncertainty is a factor, the standard deviation is proportional to the input's present value.
        let sigma = 0.5 * half * if factor { now / middle } else { 1.0 };
        case.with(input, sample::moved(input, now, sigma, factor, score))
    }

    /// The residual of each reading, K.
    fn left(&self, case: &Case) -> Result<DVector<f64>, Trouble> {
        let each = self.anchors.iter().map(|anchor| {
            let (there, asked) = anchor.there(case, self.asked);
            Ok(anchor.coolant.value - warm(&there, asked)?.budget.coolant_temp)
        });
        let left: Result<Vec<f64>, Trouble> = each.collect();
        Ok(DVector::from_vec(left?))
    }

    /// The change of each reading per standard deviation of each input, K.
    fn slopes(&self, case: &Case) -> Result<DMatrix<f64>, Trouble> {
        let mut slopes = DMatrix::zeros(self.anchors.len(), self.inputs.len());
        for (k, anchor) in self.anchors.iter().enumerate() {
            let (there, asked) = anchor.there(case, self.asked);
            let found = warm(&there, asked)?;
            let tangent = found.tangent(asked).ok_or_else(|| boils(anchor))?;
            let all = there.slopes(
                |input| self.inputs.contains(&input),
                |case| tangent.along(case).map_or(Vec::new(), |a| vec![a[0]]),
            );
            for (i, input) in self.inputs.iter().enumerate() {
                let along = all.along(*input).and_then(|row| row.first());
                let half = self.spread.get(*input).unwrap_or(0.0);
                let grown = match (self.spread.factors.has(*input), self.given.get(*input)) {
                    (true, Some(middle)) => case.get(*input).unwrap_or(middle) / middle,
                    _ => 1.0,
                };
                slopes[(k, i)] = 0.5 * half * grown * along.unwrap_or(&0.0);
            }
        }
        Ok(slopes.map(|s| if s.is_finite() { s } else { 0.0 }))
    }

    fn gain_of(&self, slopes: &DMatrix<f64>) -> Result<DMatrix<f64>, Trouble> {
        let mut seen = slopes * slopes.transpose();
        for (k, anchor) in self.anchors.iter().enumerate() {
            // A half-width is two standard deviations.
            seen[(k, k)] += (0.5 * anchor.error() / MET).powi(2);
        }
        let back = seen.try_inverse().ok_or_else(|| self.contradicts(0, 0.0))?;
        Ok(slopes.transpose() * back)
    }

    /// A sampled machine fitted to the readings, with `off` giving the error of each reading in standard deviations;
    /// `None` if the fit fails.
    pub fn draw(&self, drawn: &Case, near: &Warm, off: impl Fn(usize) -> f64) -> Option<Case> {
        let left = |case: &Case| {
            let each = self.anchors.iter().enumerate().map(|(k, anchor)| {
                let (there, asked) = anchor.there(case, self.asked);
                let found = warm_from(&there, asked, Some(near)).ok()?;
                let read = anchor.coolant.value + 0.5 * anchor.error() * off(k);
                Some(read - found.budget.coolant_temp)
            });
            Some(DVector::from_vec(each.collect::<Option<Vec<f64>>>()?))
        };
        let (mut case, mut stride) = (*drawn, 1.0);
        let mut off = left(&case)?;
        for _ in 0..SAMPLE_ROUNDS {
            let mut moved = case;
            for (input, score) in self.inputs.iter().zip((&self.gain * &off).iter()) {
                let score = (stride * score).clamp(-STRIDE, STRIDE);
                moved = self.shifted(moved, *input, score);
            }
            let next = left(&moved)?;
            if next.norm() < off.norm() {
                (case, off) = (moved, next);
                stride *= 1.5;
            } else {
                stride *= 0.5;
            }
        }
        let error = self.anchors.iter().map(Anchor::error).fold(0.0, f64::max);
        (off.amax() <= 0.5 * error).then_some(case)
    }

    /// Number of readings.
    pub fn readings(&self) -> usize {
        self.anchors.len()
    }

    fn told(&self, scores: &DVector<f64>, case: &Case) -> Anchored {
        let mut all: Vec<_> = self
            .inputs
            .iter()
            .zip(scores.iter())
            .filter_map(|(i, s)| Some((*i, case.get(*i)?, self.given.get(*i)?, *s)))
            .collect();
        all.sort_by(|a, b| b.3.abs().total_cmp(&a.3.abs()));
        all.truncate(TOLD);
        Anchored {
            moved: all,
            far: scores.norm(),
        }
    }

    fn contradicts(&self, k: usize, left: f64) -> Trouble {
        let which = match self.anchors.len() {
            1 => "no machine within the ± can give this reading".to_string(),
            _ => format!(
                "the readings contradict each other, starting with number {}",
                k + 1
            ),
        };
        Trouble::no_answer(
            format!("{which}: a difference of {left:+.1} K remains"),
            "readings of a healthy machine in the given condition",
        )
        .hint("is there another fault, or was the condition different?")
        .on("anchor")
    }
}

/// The error reported if the machine boils in the condition of a reading.
fn boils(anchor: &Anchor) -> Trouble {
    Trouble::no_answer(
        format!(
            "the reading is {:.0} °C, but this machine would boil in that condition",
            anchor.coolant.value - 273.15
        ),
        "a condition in which the machine as given has a steady state below boiling",
    )
    .hint(
        "first enter what else is known about the machine: its own values, a fault, the fan speed",
    )
    .on("anchor")
}
