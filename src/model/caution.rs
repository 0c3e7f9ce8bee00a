//! What must be borne in mind about an answer: a key and the figures that belong to it. The words are made where answers are told.

use crate::input::Input;

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
    /// The windows of viscosity are those common for gear pumps.
    CommonWindows,
    /// Which oils a machine may have is for its maker to say.
    ApprovedOil,
    /// The oil has no viscosity point in the cold: its coldest.
    NoColdPoint { coldest: f64 },
    /// Whether two oils may meet is not known from their viscosities.
    Compatibility,
    /// The machine is invented.
    InventedMachine,
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
            Self::CommonWindows => "common_windows",
            Self::ApprovedOil => "approved_oil",
            Self::NoColdPoint { .. } => "no_cold_point",
            Self::Compatibility => "compatibility",
            Self::InventedMachine => "invented_machine",
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
