//! Rates of temperature change at one moment for all bodies that store heat; fan and air are in quasi-steady state.

use super::budget::{Bodies, Budget, Drive, Parts, Passing, drifting, missing};
use super::heat::Warm;
use super::limit::Limit;
use super::state::State;
use crate::fluid::coolant;
use crate::input::unit::celsius;
use crate::model::{Case, Condition};
use crate::trouble::Trouble;
use nalgebra::SVector;
use std::cell::Cell;

/// Specific heat of oil, J/(kg K) *(common practice, no source)*.
const OIL_HEAT: f64 = 2000.0;

/// Temperature at which the coolant's heat capacity is evaluated, K; it varies by only 4 % between 0 and 100 °C.
const COOLANT_AT: f64 = celsius(90.0);

/// Convergence limit of the air temperature downstream of the core, K.
const AIR_SETTLED: f64 = 1e-3;

/// Convergence limit of the air temperature for which the oil circuit is solved, K; it affects the fan speed by 0.005
/// %.
const CIRCUIT_SETTLED: f64 = 0.03;

/// Temperature difference between core and ambient air, K, above which the first guess of the air temperature
/// downstream is derived from that difference.
const SOME_EXCESS: f64 = 5.0;

/// Maximum number of iterations that solve for the air temperature.
const ROUNDS: usize = 40;

/// The state variables of the integration: temperatures of fast engine metal, coolant, core, oil and slow engine metal,
/// then heat supplied and heat carried away since the start, both divided by the total heat capacity.
pub(super) type Y = SVector<f64, 7>;

/// Temperatures of the bodies that store heat, K.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stored {
    /// Temperature of the engine metal that responds fast.
    pub metal: f64,
    /// Temperature of the engine metal that responds slowly.
    pub slow: f64,
    /// Temperature of the coolant in the engine.
    pub coolant: f64,
    /// Temperature of the core and the coolant inside it.
    pub core: f64,
    /// Temperature of the oil and of the metal that warms up with it.
    pub oil: f64,
}

impl Stored {
    /// The state with all bodies at temperature `t` (K).
    pub fn even(t: f64) -> Self {
        Self {
            metal: t,
            slow: t,
            coolant: t,
            core: t,
            oil: t,
        }
    }

    /// The temperatures of all bodies in a steady state; `None` if a part needed for the heat balance is missing.
    pub fn settled(warm: &Warm) -> Option<Self> {
        let drive = Drive {
            omega: warm.fan_speed,
            pump_power: warm.state.pump_shaft_power,
            fan_power: warm.state.fan_shaft_power,
            air: warm.operating.air,
        };
        let b = &warm.budget;
        // Any core temperature may be given here, because the conductances of the core do not depend on it.
        let bodies = Bodies {
            metal: b.metal_temp,
            core: b.coolant_temp,
        };
        let Passing {
            to_air, arriving, ..
        } = Budget::of(&warm.case, &drive, b.coolant_temp, Some(bodies))?.passing;
        Some(Self {
            metal: b.metal_temp,
            slow: b.metal_temp,
            coolant: b.coolant_temp,
            core: arriving + b.radiator_heat / to_air,
            oil: b.oil_temp,
        })
    }
}

/// Heat capacities of the bodies that store heat, J/K.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Capacities {
    /// Heat capacity of the engine metal that responds fast.
    pub metal: f64,
    /// Heat capacity of the engine metal that responds slowly.
    pub slow: f64,
    /// Heat capacity of the coolant in the engine.
    pub coolant: f64,
    /// Heat capacity of the core and the coolant inside it.
    pub core: f64,
    /// Heat capacity of the oil and of the metal that warms up with it.
    pub oil: f64,
}

impl Capacities {
    /// The heat capacities of a machine.
    pub fn of(case: &Case) -> Option<Self> {
        let parts = Parts::of(case)?;
        Some(Self {
            metal: parts.engine.metal,
            slow: parts.engine.slow_metal,
            coolant: parts.coolant.volume * coolant::capacity(parts.coolant.glycol, COOLANT_AT),
            core: parts.core.heat_capacity,
            oil: parts.oil.metal + case.reservoir.volume * case.oil.density * OIL_HEAT,
        })
    }

    /// Difference in stored heat, J, between two sets of temperatures.
    pub fn between(&self, from: &Stored, to: &Stored) -> f64 {
        self.metal * (to.metal - from.metal)
            + self.slow * (to.slow - from.slow)
            + self.coolant * (to.coolant - from.coolant)
            + self.core * (to.core - from.core)
            + self.oil * (to.oil - from.oil)
    }

    pub(super) fn whole(&self) -> f64 {
        self.metal + self.slow + self.coolant + self.core + self.oil
    }
}

/// The state of the machine at one moment of a trip.
#[derive(Clone, Copy, Debug)]
pub struct Moment {
    /// Time, s.
    pub time: f64,
    /// Temperatures of the bodies that store heat.
    pub stored: Stored,
    /// The operating condition, with the command that is requested of the valve.
    pub now: Condition,
    /// Fan speed, rad/s.
    pub fan_speed: f64,
    /// The command that takes effect at the valve.
    pub command: f64,
    /// What limits the fan speed.
    pub limit: Limit,
    /// All heat flows.
    pub budget: Budget,
}

/// Results of the last solution, used as starting values of the next.
#[derive(Clone, Copy, Debug)]
struct Near {
    omega: f64,
    /// Mass flow of air divided by fan speed, kg/rad.
    drawn: f64,
    /// Air temperature downstream of the core, K.
    air: f64,
    /// Temperature rise of that air above ambient, as a fraction of the core's; NaN if the core is near ambient
    /// temperature.
    share: f64,
    /// Derivative of the air's heat residual with respect to its temperature, divided by the air's heat capacity flow.
    slope: f64,
}

/// Computes the rates of change of the temperatures during a trip.
pub(super) struct Rates<'a> {
    pub case: &'a Case,
    pub parts: Parts<'a, f64>,
    pub capacities: Capacities,
    near: Cell<Near>,
    /// The moment computed last.
    last: Cell<Option<Moment>>,
    pub evaluations: Cell<usize>,
    pub solves: Cell<usize>,
}

impl<'a> Rates<'a> {
    /// Prepares the computation for a machine that starts at given temperatures.
    pub fn new(case: &'a Case, start: &Stored) -> Result<Self, Trouble> {
        Ok(Self {
            case,
            parts: Parts::of(case).ok_or_else(|| missing(case))?,
            capacities: Capacities::of(case).ok_or_else(|| missing(case))?,
            near: Cell::new(Near {
                omega: f64::NAN,
                drawn: f64::NAN,
                air: start.core,
                share: f64::NAN,
                slope: -1.0,
            }),
            last: Cell::new(None),
            evaluations: Cell::new(0),
            solves: Cell::new(0),
        })
    }

    /// Computes a moment of the trip: the state for a given time, condition and set of temperatures.
    pub fn moment(&self, time: f64, now: &Condition, stored: Stored) -> Result<Moment, Trouble> {
        // The state is reused if a new interval of integration begins where the previous one ended.
        if let Some(last) = self.last.get().filter(|m| m.stored == stored)
            && last.now
                == (Condition {
                    oil_temp: stored.oil,
                    air_temp: last.now.air_temp,
                    ..*now
                })
        {
            return Ok(Moment { time, ..last });
        }
        self.evaluations.set(self.evaluations.get() + 1);
        let mut case = *self.case;
        case.now = *now;
        case.now.oil_temp = stored.oil;
        let mut near = self.near.get();
        let excess = stored.core - now.ambient;
        if near.share.is_finite() && excess.abs() > SOME_EXCESS {
            near.air = now.ambient + near.share * excess;
        }
        for _ in 0..ROUNDS {
            let before = near.air;
            case.now.air_temp = before;
            let (state, operating) = State::about(&case, (near.omega, near.drawn))?;
            self.solves.set(self.solves.get() + 1);
            if operating.omega > 0.0 {
                (near.omega, near.drawn) = (operating.omega, operating.air);
            }
            let drive = Drive {
                omega: state.fan_speed,
                pump_power: state.pump_shaft_power,
                fan_power: state.fan_shaft_power,
                air: operating.air,
            };
            let budget = self.settled(&mut case, &mut near, &drive, &stored)?;
            if (near.air - before).abs() < CIRCUIT_SETTLED {
                let moment = Moment {
                    time,
                    stored,
                    now: case.now,
                    fan_speed: state.fan_speed,
                    command: case.control.passes(now.command, case.shape.unplugged),
                    limit: operating.limit,
                    budget,
                };
                near.share = (near.air - now.ambient) / excess;
                if excess.abs() <= SOME_EXCESS {
                    near.share = f64::NAN;
                }
                self.near.set(near);
                self.last.set(Some(moment));
                return Ok(moment);
            }
        }
        Err(unsettled())
    }

    /// The heat flows after solving for the quasi-steady air temperature downstream of the core, for an unchanged oil
    /// circuit.
    fn settled(
        &self,
        case: &mut Case,
        near: &mut Near,
        drive: &Drive<f64>,
        stored: &Stored,
    ) -> Result<Budget, Trouble> {
        let mut before: Option<(f64, f64)> = None;
        let bodies = Bodies {
            metal: stored.metal,
            core: stored.core,
        };
        for _ in 0..ROUNDS {
            case.now.air_temp = near.air;
            let budget = Budget::of(case, drive, stored.coolant, Some(bodies))
                .ok_or_else(|| missing(self.case))?;
            let flow = budget.air_capacity_flow;
            let off = budget.left[2] / (flow + drifting(flow));
            if let Some((air, left)) = before
                && (near.air - air).abs() > 1e-9
            {
                near.slope = ((off - left) / (near.air - air)).clamp(-3.0, -0.3);
            }
            let step = -off / near.slope;
            if !step.is_finite() {
                break;
            }
            before = Some((near.air, off));
            near.air = (near.air + step).clamp(celsius(-120.0), celsius(400.0));
            if step.abs() < AIR_SETTLED {
                return Ok(budget);
            }
        }
        Err(unsettled())
    }

    /// The rates of change of all state variables at a moment.
    pub fn along(&self, moment: &Moment) -> Y {
        let (b, s, c) = (&moment.budget, &moment.stored, &self.capacities);
        let engine = self.parts.engine;
        let from_metal = engine.metal_to_coolant * (s.metal - s.coolant);
        let to_slow = engine.slow_joined * (s.metal - s.slow);
        let whole = c.whole();
        // With the engine running, this is part of what the air through the core takes up.
        let parked = match moment.now.engine_speed > 0.0 {
            true => 0.0,
            false => self.parts.core.parked_heat(s.core - moment.now.ambient),
        };
        Y::from([
            (b.engine_heat - from_metal - to_slow - b.surface_heat - b.oil_engine_heat) / c.metal,
            (from_metal - b.core_heat - b.cabin_heat) / c.coolant,
            (b.core_heat - b.radiator_heat - parked) / c.core,
            (b.oil_heat + b.oil_engine_heat - b.oil_cooler_heat - b.oil_surface_heat) / c.oil,
            to_slow / c.slow,
            (b.engine_heat + b.oil_heat + b.ahead_heat) / whole,
            (b.carried_heat + b.oil_surface_heat + b.surface_heat + b.cabin_heat + parked) / whole,
        ])
    }
}

fn unsettled() -> Trouble {
    Trouble::no_answer(
        "the air temperature downstream of the core did not converge",
        "an air temperature at which heat in equals heat out",
    )
    .hint("check for an input far outside its usual range")
}

/// The temperatures contained in the state variables.
pub(super) fn stored(y: &Y) -> Stored {
    Stored {
        metal: y[0],
        coolant: y[1],
        core: y[2],
        oil: y[3],
        slow: y[4],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::unit::RPM;
    use crate::model::{Ask, Lookup, MACHINES};
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    /// A random moment of stop-and-go driving.
    fn moment(random: &mut ChaCha8Rng, case: &Case) -> (Condition, Stored) {
        let mut pick = |of: &[f64]| of[random.random_range(0..of.len())];
        let engine = pick(&[0.0, 0.0, 0.0, 1e-6, 1e-3, 700.0, f64::NAN]);
        let road = pick(&[0.0, 0.0, 0.0, 1e-6, 1e-3, 0.1, 3.0, 25.0]);
        let conditioning = pick(&[0.0, 1.0]);
        let mut even = |low: f64, high: f64| random.random_range(low..high);
        let any = 10_f64.powf(even(-1.0, 3.0));
        let ambient = celsius(even(-30.0, 45.0));
        let coolant = celsius(even(20.0, 115.0));
        let stored = Stored {
            metal: coolant + even(0.0, 20.0),
            slow: coolant,
            coolant,
            core: ambient + even(0.0, 1.0) * (coolant - ambient),
            oil: celsius(even(-20.0, 110.0)),
        };
        let now = Condition {
            engine_speed: RPM * if engine.is_nan() { any } else { engine },
            road_speed: road,
            air_conditioning: conditioning,
            ambient,
            command: even(0.0, 1.0),
            ..case.now
        };
        (now, stored)
    }

    /// In stop-and-go driving, the result for a state does not depend on earlier results; with the engine off in still
    /// air, all flows are zero.
    #[test]
    fn stop_and_start_has_one_answer() {
        let mut random = ChaCha8Rng::seed_from_u64(19);
        let mut stood = 0;
        for (name, _) in MACHINES {
            let case = Ask::about(name).resolve(Lookup::LibraryOnly).unwrap().case;
            for _ in 0..500 {
                let (now, stored) = moment(&mut random, &case);
                let mut answers = Vec::new();
                for _ in 0..3 {
                    let rates = Rates::new(&case, &stored).unwrap();
                    rates.near.set(Near {
                        omega: random.random_range(0.0..300.0),
                        drawn: f64::NAN,
                        air: celsius(random.random_range(-30.0..200.0)),
                        share: random.random_range(0.0..1.5),
                        slope: -1.0,
                    });
                    let found = rates.moment(0.0, &now, stored);
                    answers
                        .push(found.unwrap_or_else(|t| panic!("{name}: {t}\n{now:?}\n{stored:?}")));
                }
                for m in &answers {
                    let told = || format!("{name}: {now:?}\n{stored:?}\n{m:?}\n{:?}", answers[0]);
                    let (b, first) = (&m.budget, &answers[0]);
                    assert!(
                        (b.air_temp - first.budget.air_temp).abs() < CIRCUIT_SETTLED,
                        "{}",
                        told()
                    );
                    assert!(
                        (m.fan_speed - first.fan_speed).abs() < 1e-3 + 1e-4 * m.fan_speed,
                        "{}",
                        told()
                    );
                    if now.engine_speed <= 0.0 && now.road_speed <= 0.0 {
                        stood += 1;
                        for moves in [
                            m.fan_speed,
                            b.airflow.mass,
                            b.radiator_flow,
                            b.engine_heat,
                            b.radiator_heat,
                            b.oil_heat,
                            b.ahead_heat,
                        ] {
                            assert!(moves.abs() < 1e-9, "{}", told());
                        }
                        assert!((b.air_temp - now.ambient).abs() < 0.01, "{}", told());
                    }
                }
            }
        }
        assert!(stood > 500, "{stood}");
    }
}
