//! Transient heat balance: the heat stored in engine metal, coolant, core and oil during a trip.
//!
//! Integrates five temperatures (Dormand and Prince 1980, fifth order with dense output); fan speed and air are in
//! quasi-steady state at every moment. Each interval of integration ends at the next row of the trip or at an event:
//! the coolant temperature crosses a threshold of the thermostat or the fan control or a limit, or the control delay
//! expires. Events are located on the dense output, and the next interval begins there.

mod event;
mod stretch;

use super::budget::sound_machine;
use super::follow::{Follow, turned};
use super::rates::{Moment, Rates, Stored, Y, stored};
use crate::fluid::coolant;
use crate::model::{Case, Leg};
use crate::part::FanControl;
use crate::trouble::{Stop, Trouble};
pub use event::TripEvent;
use event::{Edge, What, first_event};
use ode_solvers::continuous_output_model::ContinuousOutputModel;
use ode_solvers::{Dopri5, OutputType};
use std::cell::{Cell, RefCell};
use stretch::{Step, Stretch};

/// Error tolerance of a step in temperature: relative to its absolute value, and in K.
const RELATIVE: f64 = 1e-8;
const ABSOLUTE: f64 = 1e-5;

/// Maximum step, s; thus also the maximum spacing of the results.
const LONGEST: f64 = 10.0;

/// Number of intervals into which each step is divided for the search for events.
const PIECES: usize = 8;

/// Maximum number of events in a trip.
const MOST_EVENTS: usize = 20_000;

/// A computed trip.
#[derive(Clone, Debug)]
pub struct SimulatedTrip {
    /// The state of the machine at each step of the solver.
    pub moments: Vec<Moment>,
    /// Time, s, coolant temperature, K, and oil temperature, K, at the steps and at points between them.
    pub track: Vec<(f64, f64, f64)>,
    /// The events, each with its time, s.
    pub events: Vec<(f64, TripEvent)>,
    /// Heat supplied by the engine, the drive and the coolers upstream of the core, J.
    pub heat_in: f64,
    /// Heat carried away by the air, J.
    pub heat_out: f64,
    /// Increase of the heat stored in the machine, J.
    pub heat_stored: f64,
    /// Whether the trip ended early because the coolant boiled.
    pub boiled: bool,
    /// Number of evaluations of the rates of change.
    pub evaluations: usize,
    /// Number of solutions of the oil circuit.
    pub solves: usize,
}

/// Settings of the trip computation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rules {
    /// Factor on the error tolerance of a step.
    pub tolerance: f64,
    /// Whether the trip ends when the coolant reaches its limit.
    pub stop_at_limit: bool,
}

impl Rules {
    /// The default settings.
    pub const USUAL: Rules = Rules {
        tolerance: 1.0,
        stop_at_limit: false,
    };
}

/// Computes the temperatures of a machine during a trip that starts with the temperatures `start`.
pub fn travel(
    case: &Case,
    legs: &[Leg],
    start: Stored,
    rules: Rules,
) -> Result<SimulatedTrip, Trouble> {
    travel_while(case, legs, start, rules, &Stop::default())
}

/// The same as [`travel`], but can be cancelled.
pub fn travel_while(
    case: &Case,
    legs: &[Leg],
    start: Stored,
    rules: Rules,
    stop: &Stop,
) -> Result<SimulatedTrip, Trouble> {
    Travel::new(case, start, rules)?.along(legs, stop)
}

/// The state of a trip computation in progress.
struct Travel<'a> {
    case: &'a Case,
    rates: Rates<'a>,
    rules: Rules,
    start: Stored,
    y: Y,
    time: f64,
    control: Follow,
    boils: [f64; 2],
    course: SimulatedTrip,
    /// Length of the first step of the next interval, s, derived from the last steps.
    pace: f64,
}

impl<'a> Travel<'a> {
    fn new(case: &'a Case, start: Stored, rules: Rules) -> Result<Self, Trouble> {
        let rates = Rates::new(case, &start)?;
        sound_machine(case)?;
        let c = rates.parts.coolant;
        Ok(Self {
            case,
            boils: coolant::boiling(c.glycol, c.cap, case.now.altitude),
            rates,
            rules,
            start,
            y: Y::from([
                start.metal,
                start.coolant,
                start.core,
                start.oil,
                start.slow,
                0.0,
                0.0,
            ]),
            time: 0.0,
            control: Follow::Up,
            course: SimulatedTrip {
                moments: Vec::new(),
                track: Vec::new(),
                events: Vec::new(),
                heat_in: 0.0,
                heat_out: 0.0,
                heat_stored: 0.0,
                boiled: false,
                evaluations: 0,
                solves: 0,
            },
            pace: 1.0,
        })
    }

    fn along(mut self, legs: &[Leg], stop: &Stop) -> Result<SimulatedTrip, Trouble> {
        'trip: for pair in legs.windows(2) {
            let (from, to) = (&pair[0], &pair[1]);
            while self.time < to.time - 1e-9 {
                stop.ask()?;
                if !self.stretch(from, to)? {
                    break 'trip;
                }
                if self.course.events.len() > MOST_EVENTS {
                    return Err(self.at(Trouble::no_answer(
                        "too many events: the control is hunting",
                        "a control that settles",
                    )));
                }
            }
        }
        let whole = self.rates.capacities.whole();
        self.course.heat_in = self.y[5] * whole;
        self.course.heat_out = self.y[6] * whole;
        self.course.heat_stored = self.rates.capacities.between(&self.start, &stored(&self.y));
        self.course.evaluations = self.rates.evaluations.get();
        self.course.solves = self.rates.solves.get();
        Ok(self.course)
    }

    /// Adds to an error the time of the trip at which it occurred.
    fn at(&self, mut trouble: Trouble) -> Trouble {
        let (minutes, seconds) = ((self.time / 60.0).floor(), self.time % 60.0);
        trouble.found = format!(
            "after {minutes:.0} min {seconds:.1} s of the trip: {}",
            trouble.found
        );
        trouble
    }

    /// The fan control; `None` if the trip imposes the command or the machine has no control.
    fn ruling(&self, from: &Leg) -> Option<&'a FanControl> {
        let case: &'a Case = self.case;
        case.fan_control.as_ref().filter(|_| from.command.is_none())
    }

    /// Coolant temperatures, K, at which an interval of integration ends, each with its meaning.
    fn edges(&self, control: Option<&FanControl>, air_conditioning: f64) -> Vec<(f64, What)> {
        let thermostat = self.rates.parts.thermostat;
        let told = |up, down| What::Reported(Some(up), Some(down));
        let mut edges = vec![
            (
                thermostat.opens,
                told(TripEvent::ThermostatOpens, TripEvent::ThermostatShuts),
            ),
            (
                thermostat.full,
                told(TripEvent::ThermostatFull, TripEvent::ThermostatBack),
            ),
            (
                self.rates.parts.coolant.limit,
                told(TripEvent::LimitReached, TripEvent::LimitLeft),
            ),
            (
                self.boils[0],
                What::Reported(Some(TripEvent::MayBoil), None),
            ),
            (self.boils[1], What::Reported(Some(TripEvent::Boils), None)),
        ];
        let Some(control) = control else { return edges };
        let floor = control.begins
            + (control.full - control.begins) * control.air_conditioning * air_conditioning;
        match self.control {
            Follow::Up => edges.extend([
                (
                    control.begins,
                    What::Reported(Some(TripEvent::FanAsked), None),
                ),
                (floor, What::Reported(None, None)),
                (control.full, What::Reported(Some(TripEvent::FanFull), None)),
            ]),
            Follow::Down => edges.extend(
                [control.begins, floor, control.full]
                    .map(|t| (t - control.hysteresis, What::Reported(None, None))),
            ),
            Follow::Stands { low, high, .. } => {
                edges.extend([(low, What::Leaves(false)), (high, What::Leaves(true))]);
            }
            Follow::Waits { low, high, up, .. } => {
                edges.push((if up { high } else { low }, What::Returns));
            }
        }
        edges.retain(|(at, _)| at.is_finite());
        edges
    }

    /// Switches the fan control to another mode and records the event.
    fn turn(&mut self, control: Follow) {
        self.control = control;
        let event = match control {
            Follow::Stands { .. } => TripEvent::CommandStands,
            Follow::Up | Follow::Down => TripEvent::CommandMoves,
            Follow::Waits { .. } => return,
        };
        self.course.events.push((self.time, event));
    }

    /// Integrates up to the next row or event; returns whether the trip continues.
    fn stretch(&mut self, from: &Leg, to: &Leg) -> Result<bool, Trouble> {
        let control = self.ruling(from);
        // The delay has expired.
        if let (Some(_), Follow::Waits { until, up, .. }) = (control, self.control)
            && self.time >= until - 1e-9
        {
            self.turn(if up { Follow::Up } else { Follow::Down });
        }
        let first = self
            .view(
                from,
                to,
                &[],
                None,
                &RefCell::default(),
                &RefCell::default(),
            )
            .moment(self.time, &self.y)
            .map_err(|t| self.at(t))?;
        let rate = self.rates.along(&first)[1];
        // Without hysteresis, a reversal needs no attention: the command follows the coolant temperature in both
        // directions.
        let watched = control.filter(|c| c.hysteresis > 0.0).map(|_| self.control);
        if let (Some(control), true) = (control, turned(watched, rate)) {
            self.turn(self.control.stand(control, self.y[1]));
            return Ok(true);
        }
        let edges = self.edges_ahead(control, first.now.air_conditioning, rate);
        let goes_on = self.course.moments.last().is_some_and(|m| {
            (m.time - first.time).abs() < 1e-9
                && (m.command - first.command).abs() < 1e-9
                && (m.fan_speed - first.fan_speed).abs() < 1e-6 * m.fan_speed
        });
        if !goes_on {
            self.course.moments.push(first);
        }
        self.course.track.push((self.time, self.y[1], self.y[3]));
        let mut ends = to.time;
        if let (Some(_), Follow::Waits { until, .. }) = (control, self.control) {
            ends = ends.min(until);
        }
        let (steps, dense) = self.integrated(from, to, (&edges, watched), ends)?;
        self.walk(&steps, &dense, &edges, watched)
    }

    /// The thresholds of the interval that begins now; `rate` is the rate of change of the coolant temperature.
    fn edges_ahead(
        &self,
        control: Option<&FanControl>,
        air_conditioning: f64,
        rate: f64,
    ) -> Vec<Edge> {
        let coolant = self.y[1];
        let edges = self.edges(control, air_conditioning).into_iter();
        edges
            .map(|(at, what)| Edge {
                at,
                // A temperature exactly at a threshold counts as being on the side towards which it changes.
                side: if (coolant - at).abs() > 1e-6 {
                    (coolant - at).signum()
                } else {
                    rate.signum()
                },
                what,
            })
            .collect()
    }

    /// The solver's steps from the current time to `ends` or just past the first event, and the dense output between
    /// them.
    fn integrated(
        &mut self,
        from: &Leg,
        to: &Leg,
        (edges, watched): (&[Edge], Option<Follow>),
        ends: f64,
    ) -> Result<(Vec<Step>, ContinuousOutputModel<f64, Y>), Trouble> {
        let length = ends - self.time;
        let (h, scale) = (self.pace.min(length), self.rules.tolerance);
        let (steps, trouble) = (RefCell::default(), RefCell::default());
        let mut solver = Dopri5::from_param(
            self.view(from, to, edges, watched, &steps, &trouble),
            0.0,
            length,
            0.0,
            self.y,
            RELATIVE * scale,
            ABSOLUTE * scale,
            0.9,
            0.04,
            0.2,
            10.0,
            // Step length scales with the fifth root of the tolerance for a method of fifth order.
            LONGEST * scale.powf(0.2),
            h,
            100_000,
            // No test for stiffness: steps limited by stability are few and cheap.
            u32::MAX,
            OutputType::Continuous,
        );
        let mut dense = ContinuousOutputModel::default();
        let done = solver.integrate_with_continuous_output_model(&mut dense);
        drop(solver);
        let steps: Vec<Step> = steps.into_inner();
        if let Err(error) = done {
            self.time = steps.last().map_or(self.time, |s| s.time);
            let found = trouble.into_inner().unwrap_or_else(|| {
                Trouble::no_answer(
                    format!("the integration failed: {error}"),
                    "temperatures that the solver can follow",
                )
            });
            return Err(self.at(found));
        }
        Ok((steps, dense))
    }

    /// The interval that begins now, in the form that the solver needs.
    fn view<'r>(
        &'r self,
        from: &'r Leg,
        to: &'r Leg,
        edges: &'r [Edge],
        watched: Option<Follow>,
        steps: &'r RefCell<Vec<Step>>,
        trouble: &'r RefCell<Option<Trouble>>,
    ) -> Stretch<'a, 'r> {
        Stretch {
            rates: &self.rates,
            legs: (from, to),
            begins: self.time,
            given: from.command,
            control: self.ruling(from).map(|c| (c, self.control)),
            watched,
            edges,
            last: Cell::new(None),
            steps,
            trouble,
        }
    }

    /// Processes the steps of an interval up to the first event.
    fn walk(
        &mut self,
        steps: &[Step],
        dense: &ContinuousOutputModel<f64, Y>,
        edges: &[Edge],
        watched: Option<Follow>,
    ) -> Result<bool, Trouble> {
        let (begins, start) = (self.time, self.y);
        let Some(last) = steps.last() else {
            return Ok(true);
        };
        // The dense output ends at the last step, and rounding may put a time slightly outside it.
        let (first, end) = dense.bounds();
        let at = |time: f64| {
            let known = dense.evaluate((time - begins).clamp(first, end));
            known.unwrap_or(start)
        };
        let (mut time, mut coolant, mut found) = (begins, start[1], None);
        'steps: for step in steps {
            let from = time;
            // A reversal is sought only in the step that the solver ended with one. Between the ends of a step, the
            // dense output of a steady temperature wavers; each of its reversals would discard all later steps.
            let watched = watched.filter(|_| step.turned);
            for piece in 1..=PIECES {
                let next = from + (step.time - from) * piece as f64 / PIECES as f64;
                let y = if piece == PIECES { step.y } else { at(next) };
                let piece = [(time, coolant), (next, y[1])];
                found = first_event(edges, watched, |t| at(t)[1], begins, piece)?;
                if found.is_some() {
                    break 'steps;
                }
                (time, coolant) = (next, y[1]);
                self.course.track.push((next, y[1], y[3]));
            }
            self.course.moments.push(step.moment);
        }
        let times = std::iter::once(begins).chain(steps.iter().map(|s| s.time));
        let lengths = steps.iter().zip(times).map(|(s, before)| s.time - before);
        // The factor lets the steps grow from one interval to the next where rows are close together.
        self.pace = (1.5 * lengths.fold(0.0, f64::max)).clamp(1e-3, LONGEST);
        let Some((root, edge)) = found else {
            (self.time, self.y) = (last.time, last.y);
            return Ok(true);
        };
        (self.time, self.y) = (root, at(root));
        Ok(self.meet(edge))
    }

    /// Handles an event: the crossing of the threshold `edge` or, if `None`, a reversal of the coolant temperature.
    /// Returns whether the trip continues.
    fn meet(&mut self, edge: Option<Edge>) -> bool {
        match edge.map(|e| e.what) {
            None => {
                if let Some(control) = self.case.fan_control.as_ref() {
                    self.turn(self.control.stand(control, self.y[1]));
                }
            }
            Some(What::Reported(up, down)) => {
                let rising = edge.is_some_and(|e| e.side < 0.0);
                if let Some(event) = if rising { up } else { down } {
                    self.course.events.push((self.time, event));
                    if event == TripEvent::Boils {
                        self.course.boiled = true;
                        return false;
                    }
                    if event == TripEvent::LimitReached && self.rules.stop_at_limit {
                        return false;
                    }
                }
            }
            Some(What::Leaves(up)) => {
                if let (Follow::Stands { asked, low, high }, Some(control)) =
                    (self.control, self.case.fan_control.as_ref())
                {
                    let until = self.time + control.delay;
                    self.turn(Follow::Waits {
                        asked,
                        low,
                        high,
                        until,
                        up,
                    });
                }
            }
            Some(What::Returns) => {
                if let Follow::Waits {
                    asked, low, high, ..
                } = self.control
                {
                    self.control = Follow::Stands { asked, low, high };
                }
            }
        }
        true
    }
}
