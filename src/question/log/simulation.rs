//! Comparison of the log with a model of a machine: measured and simulated coolant, and their difference by phase.

use crate::model::log::Signal;
use crate::model::{Fuel, Posed};
use crate::outcome;
use crate::quantity::Kind;
use crate::question::Find;
use crate::vary::log::{Digest, Phase, Simulated, unthrottled};
use serde_json::{Value, json};

/// An engine that exceeds the machine's maximum speed by this factor is a different engine *(engineering assumption)*.
const FASTER: f64 = 1.05;

outcome! {
    /// How far simulated and measured coolant lie apart in one phase.
    pub struct PhaseMisfit {
        /// What the vehicle does.
        phase: Phase,
        /// For how long.
        time: f64 as Time,
        /// Simulated less measured, on average.
        misfit_mean: f64 as TemperatureDifference,
        /// Root mean square of that difference.
        misfit_rms: f64 as TemperatureDifference,
    }
}

outcome! {
    /// Where a simulation ended before the log.
    pub struct Stopped {
        /// When, since the first row.
        time: f64 as Time,
        /// Why.
        why: String,
    }
}

/// A sign that the log is of another vehicle than the machine. Figures are in SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum OtherVehicle {
    /// The logged engine is unthrottled at idle, but the machine's engine burns petrol.
    Unthrottled,
    /// The logged engine turns faster than the machine's can: both speeds.
    EngineSpeed {
        /// Maximum logged speed, rad/s.
        logged: f64,
        /// Maximum speed of the machine's engine, rad/s.
        full: f64,
    },
    /// The road requires more power than the machine's engine has: both powers.
    EnginePower {
        /// Power required by the road, W.
        required: f64,
        /// The machine's rated power, W.
        rated: f64,
    },
}

outcome! {
    /// The log and a model of a machine taken along it.
    pub struct Simulation {
        /// Simulated less measured coolant, on average.
        misfit_mean: Option<f64> as TemperatureDifference,
        /// Root mean square of that difference.
        misfit_rms: Option<f64> as TemperatureDifference,
        /// The same by phase.
        phases: Vec<PhaseMisfit>,
        /// The highest simulated coolant temperature.
        simulated_peak_coolant: f64 as Temperature,
        /// When the simulation began: at first, and after each gap.
        begins: Vec<f64> as Time,
        /// Where it ended before the log.
        stopped: Vec<Stopped>,
        /// The machine.
        machine: String,
        /// The oil.
        oil: String,
        /// What the log lacks for a simulation.
        missing: Vec<Signal>,
        /// Signs that the log is of another vehicle.
        other_vehicle: Vec<OtherVehicle>,
    }
    beside {
        /// Simulated coolant temperature by bin of the log's curve, K.
        coolant: Vec<f64>,
        /// For how long it was simulated, s.
        time: f64,
    }
}

impl Simulation {
    /// The result of a simulation, or the signals missing from the log.
    pub(super) fn of(
        posed: &Posed,
        log: &Digest,
        missing: Vec<Signal>,
        run: Option<Simulated>,
    ) -> Self {
        let other_vehicle = run.iter().flat_map(|run| signs(log, posed, run)).collect();
        let run = run.unwrap_or(NOTHING);
        let peak = run.coolant.iter().copied().filter(|t| t.is_finite());
        let phases = run.phases.iter().map(|(phase, m)| PhaseMisfit {
            phase: *phase,
            time: m.time,
            misfit_mean: m.mean,
            misfit_rms: m.rms,
        });
        Self {
            misfit_mean: run.whole.map(|m| m.mean),
            misfit_rms: run.whole.map(|m| m.rms),
            time: run.whole.map_or(0.0, |m| m.time),
            phases: phases.collect(),
            simulated_peak_coolant: peak.fold(f64::NAN, f64::max),
            begins: run.begins,
            stopped: run
                .stopped
                .into_iter()
                .map(|(time, why)| Stopped { time, why })
                .collect(),
            machine: posed.machine.name.clone(),
            oil: posed.oil.name.clone(),
            missing,
            other_vehicle,
            coolant: run.coolant,
        }
    }

    /// Whether the log had all required signals.
    pub fn ran(&self) -> bool {
        self.missing.is_empty()
    }
}

/// No simulation.
const NOTHING: Simulated = Simulated {
    coolant: Vec::new(),
    phases: Vec::new(),
    whole: None,
    begins: Vec::new(),
    stopped: Vec::new(),
    engine_power: 0.0,
};

/// Signs that the log is of another vehicle.
fn signs(log: &Digest, posed: &Posed, run: &Simulated) -> Vec<OtherVehicle> {
    let petrol = posed.machine.fuel == Some(Fuel::Petrol);
    let throttle = (petrol && unthrottled(log) == Some(true)).then_some(OtherVehicle::Unthrottled);
    let logged = log.tally.seen[Signal::EngineSpeed as usize].most;
    let full = posed.machine.usual.full.value;
    let speed = (logged > FASTER * full).then_some(OtherVehicle::EngineSpeed { logged, full });
    let rated = posed.case.engine.as_ref().map(|e| e.rated_power);
    let required = run.engine_power;
    let power = rated.filter(|rated| required > *rated);
    let power = power.map(|rated| OtherVehicle::EnginePower { required, rated });
    [throttle, speed, power].into_iter().flatten().collect()
}

impl Find for OtherVehicle {
    fn value(&self, _: Option<Kind>) -> Value {
        json!(match self {
            Self::Unthrottled => "unthrottled",
            Self::EngineSpeed { .. } => "engine_speed",
            Self::EnginePower { .. } => "engine_power",
        })
    }
    fn schema(_: Option<Kind>) -> Value {
        json!({"type": "string", "enum": ["unthrottled", "engine_speed", "engine_power"]})
    }
}

impl Find for Phase {
    fn value(&self, _: Option<Kind>) -> Value {
        json!(self.label())
    }
    fn schema(_: Option<Kind>) -> Value {
        json!({"type": "string", "enum": Phase::ALL.map(Phase::label)})
    }
}

/// A signal by its name.
impl Find for Signal {
    fn value(&self, _: Option<Kind>) -> Value {
        json!(self.label())
    }
    fn schema(_: Option<Kind>) -> Value {
        json!({"type": "string"})
    }
}
