//! Results of the heat question.

use super::reading::Anchored;
use crate::balance::Warm;
use crate::model::{AsCause, Caution, OilSheet, Setup};
use crate::outcome;
use crate::quantity::Kind;
use crate::question::{Ends, Find};
use crate::vary::rating::{Rated, RatedInput};
use serde_json::{Value, json};

/// A variant of the requested condition, for comparison.
#[derive(Clone, Debug, PartialEq)]
pub enum Variant {
    /// The condition as requested.
    Asked,
    /// With another oil.
    Oil(Box<OilSheet>),
    /// Without the faults.
    Healthy,
    /// With the air conditioning fully on, or off.
    AirConditioning(bool),
    /// With another cause of the readings in place of the most probable one.
    Cause(AsCause),
    /// With the fan driven by the oil circuit, if the request imposes a fan speed.
    FanAsComputed,
    /// With the fan fixed at a third of its full speed: this speed, rad/s.
    FanAtThird(f64),
    /// With the cabin heater fully on.
    HeaterOn,
    /// With the core half blocked on the outside.
    HalfBlocked,
}

impl Variant {
    /// Name of the condition in JSON output.
    pub fn name(&self) -> String {
        match self {
            Self::Asked => "as requested".into(),
            Self::Oil(oil) => format!("on {}", oil.name),
            Self::Healthy => "without the fault".into(),
            Self::AirConditioning(true) => "air conditioning full on".into(),
            Self::AirConditioning(false) => "air conditioning off".into(),
            Self::Cause(cause) => format!("with {}", cause.typed()),
            Self::FanAsComputed => "fan as computed".into(),
            Self::FanAtThird(_) => "fan at a third of its full speed".into(),
            Self::HeaterOn => "cabin heater fully on".into(),
            Self::HalfBlocked => "core half blocked outside".into(),
        }
    }
}

impl Find for Variant {
    fn value(&self, _: Option<Kind>) -> Value {
        json!(self.name())
    }
    fn schema(_: Option<Kind>) -> Value {
        json!({"type": "string"})
    }
}

outcome! {
    /// The results for one condition of the comparison.
    pub struct Look {
        /// Name of the condition.
        name: Variant,
        /// Whether there is a steady state.
        steady: bool,
        /// Fan speed.
        fan_speed: f64 as Speed,
        /// Steady coolant temperature.
        coolant_temp: Option<f64> as Temperature,
        /// Uncertainty band (95 %) of the coolant temperature, in which a sampled machine that boils counts as being at
        /// its boiling point.
        coolant_band: Ends as Temperature = "coolant_temp",
        /// Probability that the coolant reaches its limit or boils, from machines sampled within the ±.
        chance_of_limit: Option<f64> as Share,
        /// Probability that the coolant boils, if its boiling point is uniformly distributed between the lower and the
        /// upper estimate.
        chance_to_boil: Option<f64> as Share,
        /// Coolant temperature in this condition minus that in the condition as requested.
        coolant_difference: Option<f64> as TemperatureDifference,
        /// Uncertainty band (95 %) of the difference in coolant temperature, with each sampled machine compared with
        /// itself.
        difference_band: Ends as TemperatureDifference = "coolant_difference",
        /// Steady oil temperature.
        oil_temp: Option<f64> as Temperature,
        /// Ambient temperature at which the coolant reaches its limit.
        limiting_ambient: Option<f64> as Temperature,
        /// Uncertainty band (95 %) of the limiting ambient temperature.
        limiting_band: Ends as Temperature = "limiting_ambient",
        /// Limiting ambient temperature in this condition minus that in the condition as requested.
        limiting_difference: Option<f64> as TemperatureDifference = "limiting_ambient_difference",
        /// Uncertainty band (95 %) of the difference in limiting ambient temperature, with each sampled machine
        /// compared with itself.
        limiting_difference_band: Ends as TemperatureDifference = "limiting_ambient_difference",
    }
    beside {
        /// The solved heat balance.
        warm: Warm,
        /// The solved heat balance at the limiting ambient temperature, even if it does not occur in practice.
        limit: Option<Warm>,
    }
}

outcome! {
    /// Residuals of the heat balances.
    pub struct Residuals {
        /// Residual of the coolant's heat balance, W.
        coolant: f64,
        /// Residual of the oil's heat balance, W.
        oil: f64,
        /// Residual of the air's heat balance, W.
        air: f64,
    }
}

outcome! {
    /// An input of the core that the rating points may determine.
    pub struct RatingInput {
        /// The input.
        input: String,
        /// Value of the input, in `unit`.
        value: f64,
        /// Half-width of its uncertainty (95 %), in `unit`.
        half_width: Option<f64>,
        /// The unit of `value` and `half_width`.
        unit: &'static str,
        /// Whether the points determine the input; otherwise it keeps the machine's value.
        told: bool,
    }
}

outcome! {
    /// The result of the fit to the rating points of the core.
    pub struct Rating {
        /// Number of rating points.
        points: usize,
        /// Number of inputs that the points determine.
        rank: usize,
        /// Singular values of the matrix of the heat's derivatives along the inputs, largest first.
        singular_values: Vec<f64>,
        /// The inputs of the core, with their fitted values.
        inputs: Vec<RatingInput>,
        /// Maximum deviation of the fit from a point, as a fraction of the point's heat.
        misfit: f64 as Share,
        /// Maximum deviation from a point of a fit to all other points; null if there are too few points.
        held_out_misfit: Option<f64> as Share,
    }
    beside {
        /// The fitted inputs.
        told: Vec<RatedInput>,
    }
}

impl From<&Rated> for Rating {
    fn from(rated: &Rated) -> Self {
        let input = |t: &RatedInput| {
            let kind = t.input.field().kind;
            RatingInput {
                input: t.input.key(),
                value: kind.to_json(t.value),
                half_width: t.half.map(|h| kind.to_json(h)),
                unit: kind.json_suffix(),
                told: t.half.is_some(),
            }
        };
        Self {
            points: rated.off.len(),
            rank: rated.rank,
            singular_values: rated.singular.clone(),
            inputs: rated.told.iter().map(input).collect(),
            misfit: worst(&rated.off),
            held_out_misfit: (!rated.held_out.is_empty()).then(|| worst(&rated.held_out)),
            told: rated.told.clone(),
        }
    }
}

/// The largest absolute value.
fn worst(fractions: &[f64]) -> f64 {
    fractions.iter().fold(0.0, |most, x| x.abs().max(most))
}

outcome! {
    /// Coolant temperature at one ambient temperature.
    pub struct Day {
        /// Ambient temperature.
        ambient: f64 as Temperature,
        /// Coolant temperature; null if the coolant boils.
        coolant_temp: Option<f64> as Temperature,
        /// Coolant temperature with the core half blocked on the outside; null if the coolant boils.
        coolant_temp_half_blocked: Option<f64> as Temperature,
    }
}

outcome! {
    /// The limiting ambient temperature at one grade and road speed.
    pub struct MapPoint {
        /// Grade of the road, %.
        grade: f64 = "grade_percent",
        /// Road speed, km/h.
        road_speed: f64 = "road_speed_kmh",
        /// Ambient temperature at which the coolant reaches its limit; null if the engine lacks the power, or no such
        /// temperature was found.
        limiting_ambient: Option<f64> as Temperature,
        /// Uncertainty band (95 %) of the limiting ambient temperature, from a linearisation at this point.
        limiting_band: Ends as Temperature = "limiting_ambient",
    }
}

outcome! {
    /// The result of `heat`.
    pub struct Found {
        /// Steady coolant temperature at the engine outlet.
        coolant_temp: Option<f64> as Temperature,
        /// Uncertainty band (95 %) of the coolant temperature, in which a sampled machine that boils counts as being at
        /// its boiling point.
        coolant_band: Ends as Temperature = "coolant_temp",
        /// Probability that the coolant reaches its limit or boils, from machines sampled within the ±.
        chance_of_limit: Option<f64> as Share,
        /// Probability that the coolant boils, if its boiling point is uniformly distributed between the lower and the
        /// upper estimate.
        chance_to_boil: Option<f64> as Share,
        /// Coolant temperature at the outlet of the radiator core.
        coolant_return_temp: Option<f64> as Temperature,
        /// Steady oil temperature.
        oil_temp: Option<f64> as Temperature,
        /// Air temperature downstream of the core.
        air_temp: Option<f64> as Temperature,
        /// Fan speed.
        fan_speed: f64 as Speed,
        /// Fan command applied to the valve, 0 to 1.
        command: f64,
        /// Airflow at the fan.
        airflow: f64 as AirFlow,
        /// Air velocity at the core face in four zones, m/s: behind each of the three upstream coolers, and where
        /// nothing is in front of the core.
        face_velocity: Vec<f64> = "face_velocity_m_per_s",
        /// Static pressure of the fan.
        fan_static_pressure: f64 as AirPressure,
        /// Heat of the fuel burned.
        fuel_heat: f64 as Power,
        /// Engine shaft power.
        engine_power: f64 as Power,
        /// Heat from the engine into the coolant.
        engine_heat: f64 as Power,
        /// Heat from the core into the air.
        radiator_heat: f64 as Power,
        /// Heat from block, sump and hoses into the surrounding air.
        surface_heat: f64 as Power,
        /// Heat given off by the cabin heater.
        cabin_heater_heat: f64 as Power,
        /// Heat from the condenser into the air.
        condenser_heat: f64 as Power,
        /// Condensing temperature of the refrigerant, if it condenses.
        condensing_temp: Option<f64> as Temperature,
        /// Fraction of its heat load that the condenser rejects; less than 1 if the pressure switch cuts out the
        /// compressor.
        condenser_share: f64 as Share,
        /// Heat from the drive's losses into the oil.
        oil_heat: f64 as Power,
        /// Heat from the engine's metal into the oil.
        oil_engine_heat: f64 as Power,
        /// Heat from the oil cooler into the air.
        oil_cooler_heat: f64 as Power,
        /// Heat from the oil's surfaces into the air.
        oil_surface_heat: f64 as Power,
        /// Heat from the coolers upstream of the core into the air.
        ahead_heat: f64 as Power,
        /// Residuals of the heat balances.
        residuals: Residuals = "residuals_w",
        /// Ambient temperature at which the coolant reaches its limit, with the thermostat open and the fan at full
        /// command.
        limiting_ambient: Option<f64> as Temperature,
        /// Uncertainty band (95 %) of the limiting ambient temperature.
        limiting_band: Ends as Temperature = "limiting_ambient",
        /// Limiting ambient temperature by the formula of SAE J1393; null where the formula is not valid.
        limiting_ambient_by_formula: Option<f64> as Temperature,
        /// Air-to-boil temperature by the formula of SAE J1393; null where the formula is not valid.
        air_to_boil: Option<f64> as Temperature,
        /// Lower estimate of the coolant's boiling point; sources differ.
        boiling_low: f64 as Temperature,
        /// Upper estimate of the coolant's boiling point.
        boiling_high: f64 as Temperature,
        /// Margin from the coolant temperature to its limit.
        margin_to_limit: Option<f64> as TemperatureDifference,
        /// Margin from the coolant temperature to the lower estimate of its boiling point.
        margin_to_boiling: Option<f64> as TemperatureDifference,
        /// Ambient temperature.
        ambient: f64 as Temperature,
        /// Engine speed.
        engine_speed: f64 as Speed,
        /// Temperature of the air at the front of the core, where ambient air mixes with recirculated air.
        intake_temp: Option<f64> as Temperature,
        /// Coolant pump flow.
        coolant_flow: f64 as Flow,
        /// Coolant flow through the core.
        radiator_flow: f64 as Flow,
        /// Time for oil at ambient temperature to warm up to near its steady temperature.
        oil_warm_up: Option<f64> as Time,
        /// Time for coolant at the opening temperature of the thermostat to boil, if it boils.
        time_to_boil: Ends as Time,
        /// Result of the fit to the rating points, if given.
        rating: Option<Rating>,
        /// Whether there is a steady state.
        steady: bool,
        /// Number of times the oil circuit was solved.
        circuit_solves: usize,
        /// The results for all conditions compared; the first is the condition as requested.
        side_by_side: Vec<Look>,
        /// Coolant temperature over a range of ambient temperatures.
        series: Vec<Day>,
        /// The limiting ambient temperature versus grade and road speed, if requested.
        map: Vec<MapPoint>,
    }
    beside {
        /// Machine and condition as solved: on the road, fitted to rating points and readings, in steady state.
        setup: Setup,
        /// The gear, if the engine speed follows from it.
        gear: Option<usize>,
        /// The coolant limit, K.
        limit: f64,
        /// Whether the thermostat is fully open when the coolant is at its limit.
        opens_at_limit: bool,
        /// Result of the fit to the readings.
        anchored: Option<Anchored>,
        /// The cautions to be shown with the result.
        cautions: Vec<Caution>,
    }
}

impl Found {
    /// The results for the condition as requested.
    pub fn here(&self) -> &Look {
        &self.side_by_side[0]
    }
}
