//! Transient heat balance: the heat stored in engine metal, coolant, core and oil along a trip.
//!
//! Integrates five temperatures (Dormand and Prince 1980, fifth order with dense output); fan speed and air are in
//! quasi-steady state at every moment. A stretch runs between two rows of the trip, or to an event: the coolant crosses
//! a threshold of the thermostat, of the fan control or of a limit, or the control delay expires. Events are located on
//! the dense output, and the next stretch begins there.

use super::budget::sound_machine;
use super::follow::{Follow, turned};
use super::rates::{Moment, Rates, Stored, Y, stored};
use crate::fluid::coolant;
use crate::model::{Case, Leg};
use crate::numeric::falling_root_by_values;
use crate::part::FanControl;
use crate::trouble::{Stop, Trouble};
use ode_solvers::continuous_output_model::ContinuousOutputModel;
use ode_solvers::{Dopri5, OutputType, System};
use std::cell::{Cell, RefCell};

/// Error tolerance of a step in temperature: relative to its absolute value, and in K.
const RELATIVE: f64 = 1e-8;
const ABSOLUTE: f64 = 1e-5;

/// Maximum step, s, and so the maximum spacing of the results.
const LONGEST: f64 = 10.0;

/// Number of intervals per step that are searched for events.
const PIECES: usize = 8;

/// Maximum number of events in a trip.
const MOST_EVENTS: usize = 20_000;

/// An event.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TripEvent {
    /// The thermostat begins to open.
    ThermostatOpens,
    /// The thermostat is closed again.
    ThermostatShuts,
    /// The thermostat is fully open.
    ThermostatFull,
    /// The thermostat is no longer fully open.
    ThermostatBack,
    /// The control begins to raise the fan command.
    FanAsked,
    /// The control requests full fan command.
    FanFull,
    /// The coolant temperature has reversed: the command is held.
    CommandStands,
    /// The delay has expired and the command moves.
    CommandMoves,
    /// The coolant temperature rises above the limit.
    LimitReached,
    /// The coolant temperature falls below the limit.
    LimitLeft,
    /// The coolant may boil: it is above the lower estimate of the boiling point.
    MayBoil,
    /// The coolant boils by every estimate: the trip ends.
    Boils,
}

impl TripEvent {
    /// Key of the event in JSON output.
    pub fn key(self) -> &'static str {
        match self {
            TripEvent::ThermostatOpens => "thermostat_opens",
            TripEvent::ThermostatShuts => "thermostat_shuts",
            TripEvent::ThermostatFull => "thermostat_full",
            TripEvent::ThermostatBack => "thermostat_back",
            TripEvent::FanAsked => "fan_asked",
            TripEvent::FanFull => "fan_full",
            TripEvent::CommandStands => "command_stands",
            TripEvent::CommandMoves => "command_moves",
            TripEvent::LimitReached => "limit_reached",
            TripEvent::LimitLeft => "limit_left",
            TripEvent::MayBoil => "may_boil",
            TripEvent::Boils => "boils",
        }
    }

    /// Description of the event.
    pub fn words(self) -> &'static str {
        match self {
            TripEvent::ThermostatOpens => "the thermostat begins to open",
            TripEvent::ThermostatShuts => "the thermostat is closed",
            TripEvent::ThermostatFull => "the thermostat is fully open",
            TripEvent::ThermostatBack => "the thermostat begins to close",
            TripEvent::FanAsked => "the fan command begins to rise",
            TripEvent::FanFull => "the fan command is full",
            TripEvent::CommandStands => "the coolant temperature reverses, and the command is held",
            TripEvent::CommandMoves => "the command changes again",
            TripEvent::LimitReached => "the coolant reaches its limit",
            TripEvent::LimitLeft => "the coolant falls below its limit",
            TripEvent::MayBoil => "the coolant may boil from here",
            TripEvent::Boils => "the coolant boils",
        }
    }
}

/// A computed trip.
#[derive(Clone, Debug)]
pub struct SimulatedTrip {
    /// Moments at the solver's own steps.
    pub moments: Vec<Moment>,
    /// Coolant and oil temperature, including points between the steps: s, K, K.
    pub track: Vec<(f64, f64, f64)>,
    /// The events.
    pub events: Vec<(f64, TripEvent)>,
    /// Heat supplied by engine and drive, J.
    pub heat_in: f64,
    /// Heat carried away by the air, J.
    pub heat_out: f64,
    /// Heat stored, J.
    pub heat_stored: f64,
    /// Whether the trip ended early because the coolant boiled.
    pub boiled: bool,
    /// Number of evaluations of the rates.
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

/// One completed step.
struct Step {
    time: f64,
    y: Y,
    moment: Moment,
}

/// A stretch, as seen by the solver.
struct Stretch<'a, 'r> {
    rates: &'r Rates<'a>,
    legs: (&'r Leg, &'r Leg),
    begins: f64,
    /// An imposed command, or `None` if the control rules.
    given: Option<f64>,
    control: Option<(&'a FanControl, Follow)>,
    /// The control mode that ends when the coolant temperature reverses.
    watched: Option<Follow>,
    /// The thresholds that end the stretch.
    edges: &'r [Edge],
    last: Cell<Option<Moment>>,
    steps: &'r RefCell<Vec<Step>>,
    trouble: &'r RefCell<Option<Trouble>>,
}

impl Stretch<'_, '_> {
    /// The moment at a time with these temperatures.
    fn moment(&self, time: f64, y: &Y) -> Result<Moment, Trouble> {
        let mut now = self.legs.0.towards(self.legs.1, time);
        now.command = match (self.given, &self.control) {
            (Some(given), _) => given,
            (None, Some((control, mode))) => {
                control.with_air_conditioning(mode.asks(control, y[1]), now.air_conditioning)
            }
            (None, None) => self.rates.case.now.command,
        };
        self.rates.moment(time, &now, stored(y))
    }
}

impl System<f64, Y> for Stretch<'_, '_> {
    fn system(&self, x: f64, y: &Y, rates: &mut Y) {
        match self.moment(self.begins + x, y) {
            Ok(moment) => {
                *rates = self.rates.along(&moment);
                self.last.set(Some(moment));
            }
            Err(trouble) => {
                // NaN makes the solver try a shorter step.
                rates.fill(f64::NAN);
                *self.trouble.borrow_mut() = Some(trouble);
            }
        }
    }

    fn solout(&mut self, x: f64, y: &Y, rates: &Y) -> bool {
        *self.trouble.borrow_mut() = None;
        if let Some(moment) = self.last.get() {
            self.steps.borrow_mut().push(Step {
                time: self.begins + x,
                y: *y,
                moment,
            });
        }
        self.edges.iter().any(|e| e.passed(y[1])) || turned(self.watched, rates[1])
    }
}

/// Why a stretch ends at a threshold.
#[derive(Clone, Copy, Debug, PartialEq)]
enum What {
    /// The crossing is reported as an event: rising, and falling.
    Reported(Option<TripEvent>, Option<TripEvent>),
    /// The coolant leaves the band in which the command is held; `true` for upwards.
    Leaves(bool),
    /// The coolant returns to the band before the delay expires.
    Returns,
}

/// A coolant temperature at which a stretch ends.
#[derive(Clone, Copy, Debug)]
struct Edge {
    /// The temperature, K.
    at: f64,
    /// Side on which the stretch begins: 1 above, -1 below.
    side: f64,
    what: What,
}

impl Edge {
    /// Whether coolant at `t` (K) is on the other side.
    fn passed(&self, t: f64) -> bool {
        self.side * (t - self.at) < 0.0
    }
}

/// Computes a machine along a trip, from initial temperatures.
pub fn travel(
    case: &Case,
    legs: &[Leg],
    start: Stored,
    rules: Rules,
) -> Result<SimulatedTrip, Trouble> {
    travel_while(case, legs, start, rules, &Stop::default())
}

/// The same, with cancellation.
pub fn travel_while(
    case: &Case,
    legs: &[Leg],
    start: Stored,
    rules: Rules,
    stop: &Stop,
) -> Result<SimulatedTrip, Trouble> {
    Travel::new(case, start, rules)?.along(legs, stop)
}

/// A trip being computed.
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
    /// Length of the last steps, s.
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
                        "a stable control",
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

    /// Adds the time of occurrence to a problem.
    fn at(&self, mut trouble: Trouble) -> Trouble {
        let (minutes, seconds) = ((self.time / 60.0).floor(), self.time % 60.0);
        trouble.found = format!(
            "after {minutes:.0} min {seconds:.1} s of the trip: {}",
            trouble.found
        );
        trouble
    }

    /// The fan control, if active.
    fn ruling(&self, from: &Leg) -> Option<&'a FanControl> {
        let case: &'a Case = self.case;
        case.fan_control.as_ref().filter(|_| from.command.is_none())
    }

    /// Coolant temperatures, K, at which a stretch ends.
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

    /// Switches the control to another mode.
    fn turn(&mut self, control: Follow) {
        self.control = control;
        let event = match control {
            Follow::Stands { .. } => TripEvent::CommandStands,
            Follow::Up | Follow::Down => TripEvent::CommandMoves,
            Follow::Waits { .. } => return,
        };
        self.course.events.push((self.time, event));
    }

    /// Computes from here to the next row or event; returns whether the trip continues.
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
        // Without hysteresis the control follows the coolant in both directions.
        let watched = control.filter(|c| c.hysteresis > 0.0).map(|_| self.control);
        if let (Some(control), true) = (control, turned(watched, rate)) {
            self.turn(self.control.stand(control, self.y[1]));
            return Ok(true);
        }
        let coolant = self.y[1];
        let edges: Vec<Edge> = self
            .edges(control, first.now.air_conditioning)
            .into_iter()
            .map(|(at, what)| Edge {
                at,
                // On a threshold the coolant belongs to the side towards which it moves.
                side: if (coolant - at).abs() > 1e-6 {
                    (coolant - at).signum()
                } else {
                    rate.signum()
                },
                what,
            })
            .collect();
        let goes_on = self.course.moments.last().is_some_and(|m| {
            (m.time - first.time).abs() < 1e-9
                && (m.command - first.command).abs() < 1e-9
                && (m.fan_speed - first.fan_speed).abs() < 1e-6 * m.fan_speed
        });
        if !goes_on {
            self.course.moments.push(first);
        }
        self.course.track.push((self.time, coolant, self.y[3]));
        let mut ends = to.time;
        if let (Some(_), Follow::Waits { until, .. }) = (control, self.control) {
            ends = ends.min(until);
        }
        let length = ends - self.time;
        let (h, scale) = (self.pace.min(length), self.rules.tolerance);
        let (steps, trouble) = (RefCell::default(), RefCell::default());
        let mut solver = Dopri5::from_param(
            self.view(from, to, &edges, watched, &steps, &trouble),
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
            LONGEST,
            h,
            100_000,
            // Steps limited by stability are acceptable here: they are cheap and few.
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
        self.walk(&steps, &dense, &edges, watched)
    }

    /// The stretch that begins now, as seen by the solver.
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

    /// Steps through a stretch up to the first event.
    fn walk(
        &mut self,
        steps: &[Step],
        dense: &ContinuousOutputModel<f64, Y>,
        edges: &[Edge],
        watched: Option<Follow>,
    ) -> Result<bool, Trouble> {
        let begins = self.time;
        if steps.is_empty() {
            return Ok(true);
        }
        // Outside the step there is no dense output, and times are rounded on the way here.
        let (first, last) = dense.bounds();
        let at = |time: f64| {
            let known = dense.evaluate((time - begins).clamp(first, last));
            known.unwrap_or(self.y)
        };
        let (mut time, mut coolant) = (begins, self.y[1]);
        let mut found: Option<(f64, Option<Edge>)> = None;
        let mut track = Vec::new();
        let mut kept = 0;
        'steps: for step in steps {
            let from = time;
            for piece in 1..=PIECES {
                let next = from + (step.time - from) * piece as f64 / PIECES as f64;
                let y = if piece == PIECES { step.y } else { at(next) };
                let mut first: Option<(f64, Option<Edge>)> = None;
                for edge in edges.iter().filter(|e| e.passed(y[1])) {
                    let ahead = |t| Ok::<_, Trouble>(edge.side * (at(t)[1] - edge.at));
                    let root = falling_root_by_values(ahead, time, next)?.unwrap_or(next);
                    if first.is_none_or(|(t, _)| root < t) {
                        first = Some((root, Some(*edge)));
                    }
                }
                let slope = (y[1] - coolant) / (next - time).max(1e-9);
                if first.is_none() && turned(watched, slope) {
                    // The slope crosses zero within this interval and the previous one.
                    let wide = 1e-3 * (next - time);
                    let back = (2.0 * time - next).max(begins);
                    let rises = -slope.signum();
                    let root = falling_root_by_values(
                        |t| Ok::<_, Trouble>(rises * (at(t + wide)[1] - at(t - wide)[1])),
                        back + wide,
                        next - wide,
                    )?;
                    first = Some((root.unwrap_or(time).max(time), None));
                }
                if let Some((root, what)) = first {
                    found = Some((root, what));
                    break 'steps;
                }
                (time, coolant) = (next, y[1]);
                track.push((next, y[1], y[3]));
            }
            kept += 1;
        }
        for step in steps.iter().take(kept) {
            self.course.moments.push(step.moment);
        }
        self.course.track.extend(track);
        let lengths = steps
            .iter()
            .scan(begins, |before, s| {
                let length = s.time - *before;
                *before = s.time;
                Some(length)
            })
            .fold(0.0, f64::max);
        // Where rows are close together, step lengths grow from one row to the next.
        self.pace = (1.5 * lengths).clamp(1e-3, LONGEST);
        let Some((root, edge)) = found else {
            if let Some(last) = steps.last() {
                (self.time, self.y) = (last.time, last.y);
            }
            return Ok(true);
        };
        let y = at(root);
        (self.time, self.y) = (root, y);
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
                        return Ok(false);
                    }
                    if event == TripEvent::LimitReached && self.rules.stop_at_limit {
                        return Ok(false);
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
        Ok(true)
    }
}
