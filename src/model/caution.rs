//! What must be borne in mind about an answer: a key and the figures that belong to it. The words are made where answers are told.

#[cfg(feature = "logs")]
use super::log::LogCaution;
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
    /// Above this viscosity friction and filling are extrapolated.
    FrictionExtrapolated { limit: f64 },
    /// So thin an oil is below what pump makers allow.
    OilThin { recommended: f64 },
    /// The pressure at the motor outlet is above what common shaft seals hold.
    SealPressure { limit: f64 },
    /// Inputs that the machine file leaves out, and that matter here.
    LeftOut { inputs: Vec<Input> },
    /// Two limits meet here: the change for 1 % less viscosity, and for 1 % more.
    TwoLimitsMeet { thinner: f64, thicker: f64 },
    /// The alternator has too little left for the electric fans at idle.
    AlternatorShort,
    /// The machine file has no alternator: usual values are taken.
    AlternatorUsual,
    /// Electric fans blow this fraction of the air back out of the face beside them.
    AirBlownBack { fraction: f64 },
    /// The air downstream of the core is against the electric fans.
    AirAgainstFans,
    /// With the electric fans on, less air comes through in all.
    MainFanStarved,
    /// The curve that is fitted to a fan lies off its points: its name, and by how much of its greatest pressure.
    FanCurveMisfit { fan: String, fraction: f64 },
    /// A fan works outside the points of its data sheet.
    FanBeyondData,
    /// Electric fans are rated with nothing before them.
    FansRatedFree,
    /// The oil passes this temperature before the coolant reaches its limit.
    OilGivesOutFirst { limit: f64 },
    /// How accurate the temperatures of a standing machine are.
    AccuracyStanding,
    /// Two oils that meet may not agree with each other.
    OilsMayDisagree,
    /// Steering or brake boost may share the circuit; whether steering surely does.
    SteeringAtRisk { shares: bool },
    /// Air must be let out after an exchange of oil, and the old oil handed in.
    BleedAndCheck,
    /// How much oil stands still, mixes, and is exchanged are engineering assumptions.
    ExchangeAssumed,
    /// The pump must not run dry while oil is poured through.
    PumpMayRunDry,
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
    /// About a log.
    #[cfg(feature = "logs")]
    Log(LogCaution),
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
    /// All readings are of one kind, which settles nothing.
    OneKind,
    /// Faults that are not weighed, by key.
    FaultsLeftOut { faults: Vec<&'static str> },
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
            Self::FrictionExtrapolated { .. } => "friction_extrapolated",
            Self::OilThin { .. } => "oil_thin",
            Self::SealPressure { .. } => "seal_pressure",
            Self::LeftOut { .. } => "left_out",
            Self::TwoLimitsMeet { .. } => "two_limits_meet",
            Self::AlternatorShort => "alternator_short",
            Self::AlternatorUsual => "alternator_usual",
            Self::AirBlownBack { .. } => "air_blown_back",
            Self::AirAgainstFans => "air_against_fans",
            Self::MainFanStarved => "main_fan_starved",
            Self::FanCurveMisfit { .. } => "fan_curve_misfit",
            Self::FanBeyondData => "fan_beyond_data",
            Self::FansRatedFree => "fans_rated_free",
            Self::OilGivesOutFirst { .. } => "oil_gives_out_first",
            Self::AccuracyStanding => "accuracy_standing",
            Self::OilsMayDisagree => "oils_may_disagree",
            Self::SteeringAtRisk { .. } => "steering_at_risk",
            Self::BleedAndCheck => "bleed_and_check",
            Self::ExchangeAssumed => "exchange_assumed",
            Self::PumpMayRunDry => "pump_may_run_dry",
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
            #[cfg(feature = "logs")]
            Self::Log(caution) => caution.key(),
            Self::ReadTwice { .. } => "read_twice",
            Self::OtherMachine { .. } => "other_machine",
            Self::FewReadings => "few_readings",
            Self::NoFit => "no_fit",
            Self::MovedFar { .. } => "moved_far",
            Self::PriorsJudged { .. } => "priors_judged",
            Self::NothingMeans { .. } => "nothing_means",
            Self::NoBaseline => "no_baseline",
            Self::OneKind => "one_kind_of_reading",
            Self::FaultsLeftOut { .. } => "faults_left_out",
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
