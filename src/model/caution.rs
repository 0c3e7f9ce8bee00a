//! What must be borne in mind about an answer: a key and the figures that belong to it. The words are made where answers are told.

use crate::input::Input;
use crate::quantity::Kind;

/// What must be borne in mind. Figures are in SI; the comment of a variant names them in order.
#[expect(missing_docs, reason = "the comment of a variant names its figures")]
#[derive(Clone, Debug, PartialEq)]
pub enum Caution {
    /// The oil is colder than its coldest viscosity point: where it is, and that point.
    OilBelowData { at: f64, coldest: f64 },
    /// The viscosity is extrapolated: where the oil is, and the range of its data.
    OilOutsideData { at: f64, from: f64, to: f64 },
    /// The oil is hotter than drives of this kind are kept.
    OilHot { at: f64, limit: f64 },
    /// The belt slips by this fraction.
    BeltSlips { fraction: f64 },
    /// The engine is off.
    EngineOff,
    /// The pressure does not keep the fan turning.
    FanStalled,
    /// The pump's inlet is starved, or nearly so.
    InletStarved,
    /// So thick an oil may keep a vane pump's vanes in.
    VanesMayStick,
    /// So thin an oil is below what pump makers allow.
    OilThin { recommended: f64 },
    /// The pressure at the motor outlet is above what common shaft seals hold.
    SealPressure { limit: f64 },
    /// Inputs that the machine file leaves out, and that matter here.
    LeftOut { inputs: Vec<Input> },
    /// Two limits meet here: the change for 1 % less viscosity, and for 1 % more.
    TwoLimitsMeet { thinner: f64, thicker: f64 },
    /// A field that was given and changes nothing, by its key.
    NoEffect { field: &'static str },
    /// A test that was made twice in one condition: its key, what it reads, the two values with their half-widths, and whether
    /// they contradict each other.
    ReadTwice {
        test: &'static str,
        kind: Kind,
        values: [(f64, f64); 2],
        contradict: bool,
    },
    /// The readings name another machine than this one.
    OtherMachine { named: String, here: String },
    /// So few readings narrow little.
    FewReadings,
    /// The readings do not fit, so what they narrow is no baseline.
    NoFit,
    /// An input that readings moved by more than its ±.
    MovedFar { input: Input },
    /// The probabilities rest on how common each cause is: where that comes from; may be empty.
    PriorsJudged { status: String },
    /// What "nothing wrong that matters" means: the change of fan speed as a fraction, and of coolant temperature where the heat
    /// side is in question.
    NothingMeans { change: f64, warmer: Option<f64> },
    /// There are no readings of this machine from when it was healthy.
    NoBaseline,
    /// Faults that are not weighed, by key.
    FaultsLeftOut { faults: Vec<&'static str> },
    /// A caution about something other than what was asked: the other side of a comparison, the old oil, the log after.
    Of { whose: Whose, caution: Box<Caution> },
}

/// What a caution is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Whose {
    /// The case that this one is compared with.
    Baseline,
    /// The oil that is in the machine.
    OldOil,
    /// The log after the repair.
    LogAfter,
}

impl Caution {
    /// Its key for a program.
    pub fn key(&self) -> &'static str {
        match self {
            Self::OilBelowData { .. } => "oil_below_data",
            Self::OilOutsideData { .. } => "oil_outside_data",
            Self::OilHot { .. } => "oil_hot",
            Self::BeltSlips { .. } => "belt_slips",
            Self::EngineOff => "engine_off",
            Self::FanStalled => "fan_stalled",
            Self::InletStarved => "inlet_starved",
            Self::VanesMayStick => "vanes_may_stick",
            Self::OilThin { .. } => "oil_thin",
            Self::SealPressure { .. } => "seal_pressure",
            Self::LeftOut { .. } => "left_out",
            Self::TwoLimitsMeet { .. } => "two_limits_meet",
            Self::NoEffect { .. } => "no_effect",
            Self::ReadTwice { .. } => "read_twice",
            Self::OtherMachine { .. } => "other_machine",
            Self::FewReadings => "few_readings",
            Self::NoFit => "no_fit",
            Self::MovedFar { .. } => "moved_far",
            Self::PriorsJudged { .. } => "priors_judged",
            Self::NothingMeans { .. } => "nothing_means",
            Self::NoBaseline => "no_baseline",
            Self::FaultsLeftOut { .. } => "faults_left_out",
            Self::Of { caution, .. } => caution.key(),
        }
    }

    /// The same about something else.
    pub fn of(self, whose: Whose) -> Self {
        Self::Of {
            whose,
            caution: Box::new(self),
        }
    }
}
