//! Heat in time: what the engine's metal, the coolant, the core and the oil store, along a trip.
//!
//! Five temperatures are integrated (Dormand and Prince 1980, of the fifth order with dense output); the fan's speed and the air
//! are taken as settled at every moment. A stretch runs between two rows of the trip, or to an event: the coolant passing an edge
//! of the thermostat, of the fan's control or of a limit, the control's delay running out. Events are found on the dense output
//! and the next stretch begins there.

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

/// Error that a step may make in a temperature: share of its absolute value, and K.
const RELATIVE: f64 = 1e-8;
const ABSOLUTE: f64 = 1e-5;

/// Longest step, s: what is shown lies no farther apart.
const LONGEST: f64 = 10.0;

/// Pieces of a step in which events are looked for.
const PIECES: usize = 8;

/// Most events of a trip.
const MOST_EVENTS: usize = 20_000;

/// What happens at a moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Happening {
    /// The thermostat begins to open.
    ThermostatOpens,
    /// The thermostat is shut again.
    ThermostatShuts,
    /// The thermostat is full open.
    ThermostatFull,
    /// The thermostat is no longer full open.
    ThermostatBack,
    /// The control begins to ask the fan for more.
    FanAsked,
    /// The control asks the fan for all.
    FanFull,
    /// The coolant has turned: the command stands.
    CommandStands,
    /// The delay is over and the command moves.
    CommandMoves,
    /// The coolant passes its limit on the way up.
    LimitReached,
    /// The coolant comes below its limit.
    LimitLeft,
    /// The coolant may boil.
    MayBoil,
    /// The coolant boils, whatever the source: the trip ends.
    Boils,
}

impl Happening {
    /// Its key in answers.
    pub fn key(self) -> &'static str {
        match self {
            Happening::ThermostatOpens => "thermostat_opens",
            Happening::ThermostatShuts => "thermostat_shuts",
            Happening::ThermostatFull => "thermostat_full",
            Happening::ThermostatBack => "thermostat_back",
            Happening::FanAsked => "fan_asked",
            Happening::FanFull => "fan_full",
            Happening::CommandStands => "command_stands",
            Happening::CommandMoves => "command_moves",
            Happening::LimitReached => "limit_reached",
            Happening::LimitLeft => "limit_left",
            Happening::MayBoil => "may_boil",
            Happening::Boils => "boils",
        }
    }

    /// It in words.
    pub fn words(self) -> &'static str {
        match self {
            Happening::ThermostatOpens => "the thermostat begins to open",
            Happening::ThermostatShuts => "the thermostat is shut",
            Happening::ThermostatFull => "the thermostat is full open",
            Happening::ThermostatBack => "the thermostat begins to close",
            Happening::FanAsked => "the coolant begins to ask for more fan",
            Happening::FanFull => "the coolant asks for all the fan",
            Happening::CommandStands => "the coolant turns, and the command stands",
            Happening::CommandMoves => "the command moves again",
            Happening::LimitReached => "the coolant reaches its limit",
            Happening::LimitLeft => "the coolant comes below its limit",
            Happening::MayBoil => "the coolant may boil from here",
            Happening::Boils => "the coolant boils",
        }
    }
}

/// A trip as it went.
#[derive(Clone, Debug)]
pub struct Course {
    /// Moments, the solver's own steps.
    pub moments: Vec<Moment>,
    /// Coolant and oil temperature between them as well: s, K, K.
    pub track: Vec<(f64, f64, f64)>,
    /// What happened.
    pub events: Vec<(f64, Happening)>,
    /// Heat that came in from engine and drive, J.
    pub heat_in: f64,
    /// Heat that air carried away, J.
    pub heat_out: f64,
    /// Heat that stayed, J.
    pub heat_stored: f64,
    /// Whether it ended before its time, as the coolant boiled.
    pub boiled: bool,
    /// How often the rates were worked out.
    pub evaluations: usize,
    /// How often the oil circuit was solved.
    pub solves: usize,
}

/// How a trip is computed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rules {
    /// Factor on the error that a step may make.
    pub tolerance: f64,
    /// Whether the trip ends where the coolant reaches its limit.
    pub stop_at_limit: bool,
}

impl Rules {
    /// The usual ones.
    pub const USUAL: Rules = Rules {
        tolerance: 1.0,
        stop_at_limit: false,
    };
}

/// One step that was taken.
struct Step {
    time: f64,
    y: Y,
    moment: Moment,
}

/// What happens in a stretch, as the solver sees it.
struct Stretch<'a, 'r> {
    rates: &'r Rates<'a>,
    legs: (&'r Leg, &'r Leg),
    begins: f64,
    /// A command that is imposed, or none where the machine has a control.
    given: Option<f64>,
    control: Option<(&'a FanControl, Follow)>,
    /// The way of the control that ends where the coolant turns.
    watched: Option<Follow>,
    /// What ends the stretch.
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
                // What is no number makes the solver try a shorter step.
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

/// Why a stretch ends at an edge.
#[derive(Clone, Copy, Debug, PartialEq)]
enum What {
    /// It is told: on the way up, and down.
    Told(Option<Happening>, Option<Happening>),
    /// The coolant leaves the temperatures between which the command stands; upwards?
    Leaves(bool),
    /// The coolant comes back among them before the delay is over.
    Returns,
}

/// A coolant temperature at which a stretch ends.
#[derive(Clone, Copy, Debug)]
struct Edge {
    /// The temperature, K.
    at: f64,
    /// On which side the stretch begins: 1 above, -1 below.
    side: f64,
    what: What,
}

impl Edge {
    /// Whether coolant at `t` (K) lies on the other side.
    fn passed(&self, t: f64) -> bool {
        self.side * (t - self.at) < 0.0
    }
}

/// The course of a machine along a trip, from temperatures.
pub fn travel(case: &Case, legs: &[Leg], start: Stored, rules: Rules) -> Result<Course, Trouble> {
    travel_while(case, legs, start, rules, &Stop::default())
}

/// The same while somebody waits for it.
pub fn travel_while(
    case: &Case,
    legs: &[Leg],
    start: Stored,
    rules: Rules,
    stop: &Stop,
) -> Result<Course, Trouble> {
    Travel::new(case, start, rules)?.along(legs, stop)
}

/// A trip under way.
struct Travel<'a> {
    case: &'a Case,
    rates: Rates<'a>,
    rules: Rules,
    start: Stored,
    y: Y,
    time: f64,
    control: Follow,
    boils: [f64; 2],
    course: Course,
    /// The length of the last steps, s.
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
            course: Course {
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

    fn along(mut self, legs: &[Leg], stop: &Stop) -> Result<Course, Trouble> {
        'trip: for pair in legs.windows(2) {
            let (from, to) = (&pair[0], &pair[1]);
            while self.time < to.time - 1e-9 {
                stop.ask()?;
                if !self.stretch(from, to)? {
                    break 'trip;
                }
                if self.course.events.len() > MOST_EVENTS {
                    return Err(self.at(Trouble::no_answer(
                        "more events than can be: the control hunts",
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

    /// A trouble with the time at which it came.
    fn at(&self, mut trouble: Trouble) -> Trouble {
        let (minutes, seconds) = ((self.time / 60.0).floor(), self.time % 60.0);
        trouble.found = format!(
            "after {minutes:.0} min {seconds:.1} s of the trip: {}",
            trouble.found
        );
        trouble
    }

    /// The control, where it rules.
    fn ruling(&self, from: &Leg) -> Option<&'a FanControl> {
        let case: &'a Case = self.case;
        case.fan_control.as_ref().filter(|_| from.command.is_none())
    }

    /// Coolant temperatures, K, at which something happens.
    fn edges(&self, control: Option<&FanControl>, air_conditioning: f64) -> Vec<(f64, What)> {
        let thermostat = self.rates.parts.thermostat;
        let told = |up, down| What::Told(Some(up), Some(down));
        let mut edges = vec![
            (
                thermostat.opens,
                told(Happening::ThermostatOpens, Happening::ThermostatShuts),
            ),
            (
                thermostat.full,
                told(Happening::ThermostatFull, Happening::ThermostatBack),
            ),
            (
                self.rates.parts.coolant.limit,
                told(Happening::LimitReached, Happening::LimitLeft),
            ),
            (self.boils[0], What::Told(Some(Happening::MayBoil), None)),
            (self.boils[1], What::Told(Some(Happening::Boils), None)),
        ];
        let Some(control) = control else { return edges };
        let floor = control.begins
            + (control.full - control.begins) * control.air_conditioning * air_conditioning;
        match self.control {
            Follow::Up => edges.extend([
                (control.begins, What::Told(Some(Happening::FanAsked), None)),
                (floor, What::Told(None, None)),
                (control.full, What::Told(Some(Happening::FanFull), None)),
            ]),
            Follow::Down => edges.extend(
                [control.begins, floor, control.full]
                    .map(|t| (t - control.hysteresis, What::Told(None, None))),
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

    /// The control takes another way.
    fn turn(&mut self, control: Follow) {
        self.control = control;
        let happening = match control {
            Follow::Stands { .. } => Happening::CommandStands,
            Follow::Up | Follow::Down => Happening::CommandMoves,
            Follow::Waits { .. } => return,
        };
        self.course.events.push((self.time, happening));
    }

    /// From here to the next row or event; whether the trip goes on.
    fn stretch(&mut self, from: &Leg, to: &Leg) -> Result<bool, Trouble> {
        let control = self.ruling(from);
        // A delay that is over.
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
        // A control without a band follows the coolant both ways.
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
                // On an edge the coolant lies on the side to which it moves.
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
            // Steps as long as stability lets them are no trouble here: they are cheap and few.
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
                    format!("the integration did not get on: {error}"),
                    "temperatures that change no faster than the solver can follow",
                )
            });
            return Err(self.at(found));
        }
        self.walk(&steps, &dense, &edges, watched)
    }

    /// The stretch that begins now, as the solver sees it.
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

    /// Goes along the steps of a stretch up to the first event.
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
        // Beyond its last bit there is no dense output, and times lose their last bits on the way here.
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
                    // Where the slope passes zero, within this piece and the one before.
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
        // Where rows lie close together, steps grow from one to the next.
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
            Some(What::Told(up, down)) => {
                let rising = edge.is_some_and(|e| e.side < 0.0);
                if let Some(happening) = if rising { up } else { down } {
                    self.course.events.push((self.time, happening));
                    if happening == Happening::Boils {
                        self.course.boiled = true;
                        return Ok(false);
                    }
                    if happening == Happening::LimitReached && self.rules.stop_at_limit {
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
