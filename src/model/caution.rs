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
    /// Coolant or oil heats without end: why, in words.
    NoSteadyState { why: &'static str },
    /// The figures are those at the end of the search for a steady state.
    EndOfSearch,
    /// The coolant boils.
    CoolantBoils,
    /// The coolant may boil, as sources differ.
    CoolantMayBoil,
    /// The coolant is above its limit.
    CoolantAboveLimit { limit: f64 },
    /// The ambient air is below the freezing point of the coolant: its glycol, and that point.
    CoolantFreezes { glycol: f64, at: f64 },
    /// The engine does not have the power that is asked of it.
    EngineLacksPower,
    /// More than one fan speed balances, as air drives the fan.
    SeveralFanSpeeds,
    /// At a standstill the answer depends on the air that recirculates.
    Recirculation,
    /// The road does not load the engine of a machine without a vehicle.
    NoVehicle,
    /// The pump's inlet is starved at times.
    InletStarvedAtTimes,
    /// The fan stands at times, with the engine running.
    FanStandsAtTimes,
    /// A field that was given and changes nothing, by its key.
    NoEffect { field: &'static str },
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
            Self::NoSteadyState { .. } => "no_steady_state",
            Self::EndOfSearch => "end_of_search",
            Self::CoolantBoils => "coolant_boils",
            Self::CoolantMayBoil => "coolant_may_boil",
            Self::CoolantAboveLimit { .. } => "coolant_above_limit",
            Self::CoolantFreezes { .. } => "coolant_freezes",
            Self::EngineLacksPower => "engine_lacks_power",
            Self::SeveralFanSpeeds => "several_fan_speeds",
            Self::Recirculation => "recirculation",
            Self::NoVehicle => "no_vehicle",
            Self::InletStarvedAtTimes => "inlet_starved_at_times",
            Self::FanStandsAtTimes => "fan_stands_at_times",
            Self::NoEffect { .. } => "no_effect",
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
