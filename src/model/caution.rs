//! Cautions about an answer: each has a key and the related figures. The code that prints answers puts them into words.

#[cfg(feature = "logs")]
use super::log::LogCaution;
use crate::input::Input;
use crate::quantity::Kind;

/// A caution. Figures are in SI; the comment of a variant names them in order.
#[expect(missing_docs, reason = "the comment of a variant names its figures")]
#[derive(Clone, Debug, PartialEq)]
pub enum Caution {
    /// The oil is colder than its coldest viscosity point: oil temperature, temperature of that point.
    OilBelowData { at: f64, coldest: f64 },
    /// The viscosity is extrapolated: oil temperature, and the range of the data.
    OilOutsideData { at: f64, from: f64, to: f64 },
    /// The oil is hotter than usual for hydraulic fan drives.
    OilHot { at: f64, limit: f64 },
    /// The belt slips by this fraction.
    BeltSlips { fraction: f64 },
    /// The engine is off.
    EngineOff,
    /// The pressure is too low to keep the fan turning.
    FanStalled,
    /// The pump inlet is starved, or close to it.
    InletStarved,
    /// The oil is so thick that the vanes of a vane pump may stick.
    VanesMayStick,
    /// Above this viscosity, the viscous friction and the filling of the pump are extrapolated.
    FrictionExtrapolated { limit: f64 },
    /// The oil is thinner than pump makers allow.
    OilThin { recommended: f64 },
    /// The pressure at the motor outlet is higher than common shaft seals withstand.
    SealPressure { limit: f64 },
    /// Inputs that affect the answer but are missing from the machine file.
    LeftOut { inputs: Vec<Input> },
    /// Two limits meet at this operating point, so that thinner and thicker oil have different effects: the change of
    /// fan speed for 1 % less viscosity, and for 1 % more.
    TwoLimitsMeet { thinner: f64, thicker: f64 },
    /// A heat exchanger was sized, but its air resistance kept: the input that was sized, and that of the resistance.
    ResistanceKept { input: Input, kept: Input },
    /// At idle the alternator cannot supply the electric fans.
    AlternatorShort,
    /// The machine file has no alternator: usual values are assumed.
    AlternatorUsual,
    /// Electric fans blow this fraction of the air back out through the core face beside them.
    AirBlownBack { fraction: f64 },
    /// The pressure downstream of the core opposes the electric fans.
    AirAgainstFans,
    /// With the electric fans on, the total airflow is smaller.
    MainFanStarved,
    /// The curve fitted to a fan deviates from its points: the fan's name, and the deviation as a fraction of its
    /// maximum pressure.
    FanCurveMisfit { fan: String, fraction: f64 },
    /// A fan operates outside the range of the points in its data sheet.
    FanBeyondData,
    /// Electric fans are rated at free flow and deliver less through stacked cores.
    FansRatedFree,
    /// The oil exceeds the stated temperature before the coolant reaches its limit.
    OilGivesOutFirst { limit: f64 },
    /// The computed temperatures at standstill are of limited accuracy.
    AccuracyStanding,
    /// Two oils may be incompatible when mixed.
    OilsMayDisagree,
    /// Steering or brake boost may share the circuit; `shares` is true if the steering certainly does.
    SteeringAtRisk { shares: bool },
    /// The system must be bled after an oil change, and the used oil taken to a collection point.
    BleedAndCheck,
    /// How much of the oil stagnates, how much mixes, and how much is exchanged are engineering assumptions.
    ExchangeAssumed,
    /// The pump must not run dry while fresh oil is poured in and the old oil runs out.
    PumpMayRunDry,
    /// Coolant or oil heats up without limit: the reason in words.
    NoSteadyState { why: &'static str },
    /// The search found no steady state: the figures are those at which it ended.
    EndOfSearch,
    /// The coolant boils.
    CoolantBoils,
    /// The coolant may boil; sources differ.
    CoolantMayBoil,
    /// There is a second, hotter steady state, or boiling, for a machine that is already hot: the temperature at which
    /// it stays hot, the steady temperature of one that warms up from cold.
    StaysHot { at: f64, cool: f64 },
    /// The readings used as anchors are this many standard deviations from the machine's class.
    AnchorsFar { far: f64 },
    /// The coolant is above its limit.
    CoolantAboveLimit { limit: f64 },
    /// The ambient air is below the freezing point of the coolant: glycol fraction, freezing point.
    CoolantFreezes { glycol: f64, at: f64 },
    /// The engine lacks the required power.
    EngineLacksPower,
    /// Because the airflow drives the fan, the balance has more than one solution for the fan speed.
    SeveralFanSpeeds,
    /// At standstill the answer depends on how much hot air recirculates.
    Recirculation,
    /// The machine has no vehicle data, so driving on the road puts no load on its engine.
    NoVehicle,
    /// The pump's inlet is starved at times.
    InletStarvedAtTimes,
    /// The fan is stopped at times, with the engine running.
    FanStandsAtTimes,
    /// A field was given that has no effect: its key.
    NoEffect { field: &'static str },
    /// A field was given that has an effect only on the road, for a machine at a standstill: its key.
    OnTheRoadOnly { field: &'static str },
    /// A caution about a log.
    #[cfg(feature = "logs")]
    Log(LogCaution),
    /// A test made twice in the same condition: its key, its reading, the two values with their half-widths, and
    /// whether they contradict each other.
    ReadTwice {
        test: &'static str,
        kind: Kind,
        values: [(f64, f64); 2],
        contradict: bool,
    },
    /// The readings file names a machine other than the one used: the machine named, and the one used.
    OtherMachine { named: String, here: String },
    /// The fan speed follows a reading in the notebook: fan speed and engine speed of the reading.
    FanAsRead { speed: f64, engine_speed: f64 },
    /// The notebook's readings show a fault, and none was taken in this condition, so that the answer is for the most
    /// probable cause: the causes, most probable first.
    ByCause { causes: Vec<AsCause> },
    /// The notebook's readings show a fault that no single listed cause explains, so that none is applied.
    Unexplained,
    /// There are too few readings to narrow the uncertainties much.
    FewReadings,
    /// The model does not fit the readings, so the machine that was fitted to them is not a valid baseline.
    NoFit,
    /// The notebook names a log that is not read here, because only the command-line program reads it: its file name.
    LogNotRead { file: String },
    /// The readings shifted this input by more than its ±.
    MovedFar { input: Input },
    /// The probabilities depend on assumed weights, which state how common each cause is; `status` is the source of the
    /// weights and may be empty.
    PriorsJudged { status: String },
    /// The thresholds of "nothing wrong that matters": the change of fan speed as a fraction, and the rise of coolant
    /// temperature if the heat side is included.
    NothingMeans { change: f64, warmer: Option<f64> },
    /// There are no readings of this machine in healthy condition.
    NoBaseline,
    /// All readings are of one kind, so they are not conclusive.
    OneKind,
    /// Faults that were not considered: their keys.
    FaultsLeftOut { faults: Vec<&'static str> },
    /// The viscosity ranges used are those common for gear pumps.
    CommonWindows,
    /// The machine's maker decides which oils are approved.
    ApprovedOil,
    /// The oil has no viscosity point at low temperature: its coldest point.
    NoColdPoint { coldest: f64 },
    /// Viscosities do not show whether two oils are compatible.
    Compatibility,
    /// The machine is invented.
    InventedMachine,
    /// A caution about something other than the main subject of the answer, such as the baseline of a comparison, the
    /// old oil, or the log after the repair.
    Of { whose: Whose, caution: Box<Caution> },
}

/// A fault as the cause of readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AsCause {
    /// Key of the fault.
    pub fault: &'static str,
    /// Its most probable severity.
    pub severity: f64,
    /// Its probability, given the readings.
    pub probability: f64,
}

impl AsCause {
    /// The fault with its severity as typed: `worn-pump=0.4`.
    pub fn typed(&self) -> String {
        format!("{}={:.2}", self.fault, self.severity)
    }
}

/// The subject of a caution.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Whose {
    /// The baseline of the comparison.
    Baseline,
    /// The old oil, which is in the machine.
    OldOil,
    /// The log after the repair.
    LogAfter,
}

impl Caution {
    /// Key of the caution in JSON output.
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
            Self::ResistanceKept { .. } => "resistance_kept",
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
            Self::StaysHot { .. } => "stays_hot",
            Self::AnchorsFar { .. } => "anchors_far",
            Self::CoolantAboveLimit { .. } => "coolant_above_limit",
            Self::CoolantFreezes { .. } => "coolant_freezes",
            Self::EngineLacksPower => "engine_lacks_power",
            Self::SeveralFanSpeeds => "several_fan_speeds",
            Self::Recirculation => "recirculation",
            Self::NoVehicle => "no_vehicle",
            Self::InletStarvedAtTimes => "inlet_starved_at_times",
            Self::FanStandsAtTimes => "fan_stands_at_times",
            Self::NoEffect { .. } => "no_effect",
            Self::OnTheRoadOnly { .. } => "on_the_road_only",
            #[cfg(feature = "logs")]
            Self::Log(caution) => caution.key(),
            Self::ReadTwice { .. } => "read_twice",
            Self::OtherMachine { .. } => "other_machine",
            Self::FanAsRead { .. } => "fan_as_read",
            Self::ByCause { .. } => "by_cause",
            Self::Unexplained => "unexplained",
            Self::FewReadings => "few_readings",
            Self::NoFit => "no_fit",
            Self::LogNotRead { .. } => "log_not_read",
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

    /// The same caution, marked as referring to another subject.
    pub fn of(self, whose: Whose) -> Self {
        Self::Of {
            whose,
            caution: Box::new(self),
        }
    }
}
