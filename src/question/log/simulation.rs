//! Comparison of the log with a model of a machine: measured and simulated coolant, and their difference by phase.

use crate::model::log::Signal;
use crate::model::{Fuel, Setup};
use crate::outcome;
use crate::quantity::Kind;
use crate::question::Find;
use crate::vary::log::{Digest, Phase, Simulated, unthrottled};
use serde_json::{Value, json};

/// An engine logged above this multiple of the machine's maximum speed is taken to be a different engine *(engineering
/// assumption)*.
const FASTER: f64 = 1.05;

outcome! {
    /// Difference between simulated and measured coolant temperature in one phase of the drive.
    pub struct PhaseMisfit {
        /// The phase: warming up, or a range of road speed.
        phase: Phase,
        /// Duration.
        time: f64 as Time,
        /// Mean of simulated minus measured coolant temperature.
        misfit_mean: f64 as TemperatureDifference,
        /// Root mean square of simulated minus measured coolant temperature.
        misfit_rms: f64 as TemperatureDifference,
    }
}

outcome! {
    /// A point at which the simulation stopped early.
    pub struct Stopped {
        /// Time since the first row.
        time: f64 as Time,
        /// Why the simulation stopped.
        why: String,
    }
}

/// Evidence that the log was recorded on a vehicle other than the simulated machine. Values are in SI units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum OtherVehicle {
    /// The logged engine is unthrottled at idle, although the machine's engine burns petrol.
    Unthrottled,
    /// The logged engine speed is above the maximum of the machine's engine.
    EngineSpeed {
        /// Maximum logged speed, rad/s.
        logged: f64,
        /// Maximum speed of the machine's engine, rad/s.
        full: f64,
    },
    /// The logged drive requires more power than the machine's engine can deliver.
    EnginePower {
        /// Maximum engine power required in the simulation, W.
        required: f64,
        /// The machine's rated power, W.
        rated: f64,
    },
}

outcome! {
    /// Comparison of the log with a machine simulated along it.
    pub struct Simulation {
        /// Mean of simulated minus measured coolant temperature.
        misfit_mean: Option<f64> as TemperatureDifference,
        /// Root mean square of simulated minus measured coolant temperature.
        misfit_rms: Option<f64> as TemperatureDifference,
        /// The same differences for each phase of the drive.
        phases: Vec<PhaseMisfit>,
        /// The highest simulated coolant temperature.
        simulated_peak_coolant: f64 as Temperature,
        /// Start times of the simulation: the first one, and after each gap.
        begins: Vec<f64> as Time,
        /// Points at which the simulation stopped early.
        stopped: Vec<Stopped>,
        /// Name of the machine.
        machine: String,
        /// Name of the oil.
        oil: String,
        /// Signals that a simulation needs and the log lacks.
        missing: Vec<Signal>,
        /// Evidence that the log was recorded on another vehicle.
        other_vehicle: Vec<OtherVehicle>,
    }
    beside {
        /// Simulated coolant temperature, K, in each time bin of the log.
        coolant: Vec<f64>,
        /// Total time that was simulated, s.
        time: f64,
    }
}

impl Simulation {
    /// The result of a simulation, or the signals missing from the log.
    pub(super) fn of(
        setup: &Setup,
        log: &Digest,
        missing: Vec<Signal>,
        run: Option<Simulated>,
    ) -> Self {
        let other_vehicle = run.iter().flat_map(|run| signs(log, setup, run)).collect();
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
            machine: setup.machine.name.clone(),
            oil: setup.oil.name.clone(),
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

/// The result if nothing was simulated.
const NOTHING: Simulated = Simulated {
    coolant: Vec::new(),
    phases: Vec::new(),
    whole: None,
    begins: Vec::new(),
    stopped: Vec::new(),
    engine_power: 0.0,
};

/// Evidence that the log was recorded on another vehicle.
fn signs(log: &Digest, setup: &Setup, run: &Simulated) -> Vec<OtherVehicle> {
    let petrol = setup.machine.fuel == Some(Fuel::Petrol);
    let throttle = (petrol && unthrottled(log) == Some(true)).then_some(OtherVehicle::Unthrottled);
    let logged = log.tally.seen[Signal::EngineSpeed as usize].most;
    let full = setup.machine.usual.full.value;
    let speed = (logged > FASTER * full).then_some(OtherVehicle::EngineSpeed { logged, full });
    let rated = setup.case.engine.as_ref().map(|e| e.rated_power);
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

/// A signal is written as its name.
impl Find for Signal {
    fn value(&self, _: Option<Kind>) -> Value {
        json!(self.label())
    }
    fn schema(_: Option<Kind>) -> Value {
        json!({"type": "string"})
    }
}
