//! One interval of integration, which contains no event, as a system of differential equations.

use super::event::Edge;
use crate::balance::follow::{Follow, turned};
use crate::balance::rates::{Moment, Rates, Y, stored};
use crate::model::Leg;
use crate::part::FanControl;
use crate::trouble::Trouble;
use ode_solvers::System;
use std::cell::{Cell, RefCell};

/// One interval of integration, in the form that the solver needs.
pub(super) struct Stretch<'a, 'r> {
    pub(super) rates: &'r Rates<'a>,
    pub(super) legs: (&'r Leg, &'r Leg),
    pub(super) begins: f64,
    /// The imposed command; `None` if the fan control sets it.
    pub(super) given: Option<f64>,
    pub(super) control: Option<(&'a FanControl, Follow)>,
    /// The mode of the fan control, if a reversal of the coolant temperature must end the interval.
    pub(super) watched: Option<Follow>,
    /// The thresholds that end the interval.
    pub(super) edges: &'r [Edge],
    pub(super) last: Cell<Option<Moment>>,
    pub(super) steps: &'r RefCell<Vec<Step>>,
    pub(super) trouble: &'r RefCell<Option<Trouble>>,
}

impl Stretch<'_, '_> {
    /// The state of the machine at a given time with the temperatures in `y`.
    pub(super) fn moment(&self, time: f64, y: &Y) -> Result<Moment, Trouble> {
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
                // NaN rates make the solver try a shorter step.
                rates.fill(f64::NAN);
                *self.trouble.borrow_mut() = Some(trouble);
            }
        }
    }

    fn solout(&mut self, x: f64, y: &Y, rates: &Y) -> bool {
        *self.trouble.borrow_mut() = None;
        let turned = turned(self.watched, rates[1]);
        if let Some(moment) = self.last.get() {
            self.steps.borrow_mut().push(Step {
                time: self.begins + x,
                y: *y,
                moment,
                turned,
            });
        }
        turned || self.edges.iter().any(|e| e.passed(y[1]))
    }
}

/// One completed step.
pub(super) struct Step {
    pub(super) time: f64,
    pub(super) y: Y,
    pub(super) moment: Moment,
    /// Whether the coolant temperature has reversed at the end of the step.
    pub(super) turned: bool,
}
