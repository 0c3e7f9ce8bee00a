//! What the readings in a notebook say about the fan at present: the reading taken in the condition of a question and,
//! where there is none, the most probable cause of a fault that the readings show.

use super::basis::{self, COMMAND, ENGINE_SPEED, MACHINE, MEASURED, OIL_TEMP, WITH};
use super::own::{self, Own};
use super::suspects::{self, Candidate};
use super::values::Values;
use crate::balance::{Output, State};
use crate::fault::{self, priors::NOTHING};
use crate::model::{AsCause, Case, Caution, Machine, Setup};
use crate::probe::{Reading, Readings, What};
use crate::quantity::Kind;
use crate::trouble::{Trouble, Troubles};

/// A reading is of the condition of a question if the two engine speeds differ by no more than this fraction.
const SAME_SPEED: f64 = 0.05;
/// The same for fan commands.
const SAME_COMMAND: f64 = 0.02;
/// The same for oil temperatures, K, if the user gave one.
const SAME_OIL: f64 = 5.0;
/// The same where the oil temperature is computed: a reading with cold oil says nothing about warm oil.
const BOTH_WARM: f64 = 25.0;
/// Below this probability that nothing significant is wrong, the readings show a fault.
const FAULTY: f64 = 0.5;
/// A further cause is named if its probability is at least this fraction of that of the most probable one.
const RIVAL: f64 = 0.5;
/// Maximum number of causes named.
const CAUSES: usize = 3;

/// The readings of a notebook that apply at present.
pub struct Noted {
    /// The machine with the facts in the notebook applied.
    setup: Setup,
    /// The readings since the last repair.
    now: Readings,
    /// The readings taken when the machine was healthy.
    well: Readings,
}

impl Noted {
    /// The readings of the notebook that is given in place of a machine; `None` if a machine is given, if there are no
    /// readings to diagnose, or if the notebook has errors, which are reported where the machine is resolved.
    pub fn of(values: &Values) -> Option<Self> {
        let own = Own::of(&basis::ask(values), values).ok()??;
        let setup = own.learned(values).ok()?;
        let (mut now, well) = own.readings(&setup).ok()?;
        own::since_work(&mut now);
        (!now.all.is_empty()).then_some(Self { setup, now, well })
    }

    /// The last fan speed read that meets a condition. One of which it is uncertain that full fan was commanded does not
    /// count.
    fn last(&self, fits: impl Fn(&Reading) -> bool) -> Option<Reading> {
        let of_fan = |r: &&Reading| r.probe.what == What::Output(Output::FAN_SPEED);
        let sure = |r: &&Reading| !r.unsure && !r.at_least && !r.setting.unplugged;
        let all = self.now.all.iter().rev().filter(of_fan).filter(sure);
        all.copied().find(|r| fits(r))
    }

    /// The last fan speed read in the condition of a case at a given command, with the oil warm.
    pub fn at(&self, case: &Case, command: f64) -> Option<Reading> {
        let now = &case.now;
        self.last(|r| self.is_near(r, now.engine_speed, command, (now.oil_temp, BOTH_WARM)))
    }

    /// Whether a reading was taken at an engine speed, command and oil temperature; the latter with its tolerance.
    fn is_near(&self, r: &Reading, engine: f64, command: f64, (oil, by): (f64, f64)) -> bool {
        let machine = &self.setup.machine;
        (r.setting.engine_speed(machine) / engine - 1.0).abs() <= SAME_SPEED
            && (r.setting.command - command).abs() <= SAME_COMMAND
            && (r.setting.oil_temp(machine) - oil).abs() <= by
    }

    /// The most probable cause of the fault that the readings show, and the caution that the answer is for this cause, or
    /// that none explains the readings; neither if the readings are those of a healthy machine.
    pub fn cause(&self) -> Result<(Option<AsCause>, Option<Caution>), Troubles> {
        let here = |all: Troubles| {
            all.into_iter()
                .map(|t| t.on(MACHINE.key))
                .collect::<Troubles>()
        };
        let all = suspects::candidates(&self.setup, &self.now, &self.well).map_err(here)?;
        let Some(all) = all else {
            return Ok((None, Some(Caution::Unexplained)));
        };
        let nothing = all.iter().find(|c| c.fault == NOTHING);
        if nothing.is_none_or(|c| c.probability >= FAULTY) {
            return Ok((None, None));
        }
        let of_drive = |c: &Candidate| {
            let fault = fault::ALL.iter().find(|f| f.key == c.fault)?;
            Some(AsCause {
                fault: fault.key,
                severity: c.severity?,
                probability: c.probability,
            })
        };
        let mut causes: Vec<AsCause> = all.iter().filter_map(of_drive).collect();
        let first = causes.first().copied();
        causes.retain(|c| first.is_some_and(|most| c.probability >= RIVAL * most.probability));
        causes.truncate(CAUSES);
        Ok((first, first.map(|_| Caution::ByCause { causes })))
    }
}

/// The ratio of a fan speed that was read to the one computed in the condition of the reading. `off` is the error of the
/// reading in standard deviations.
pub fn ratio(reading: &Reading, machine: &Machine, case: &Case, off: f64) -> Result<f64, Trouble> {
    let computed = State::of(&reading.setting.on(machine, case))?.0.fan_speed;
    let read = (reading.value + off * reading.sigma()).max(0.0);
    Ok(if computed > 0.0 { read / computed } else { 1.0 })
}

/// The caution that an answer follows a reading in the notebook.
pub fn as_read(reading: &Reading, machine: &Machine) -> Caution {
    Caution::FanAsRead {
        speed: reading.value,
        engine_speed: reading.setting.engine_speed(machine),
    }
}

/// Adds to the values of a question the fan speed from the notebook, with the condition in which it was read: the last
/// one in the given condition or, if no condition is given, at idle and full command, else the last of all. The values
/// stay as they are if a measured speed is given.
pub fn with_reading(values: &Values) -> Values {
    let mut filled = values.clone();
    if values.has(&MEASURED) {
        return filled;
    }
    let Some(noted) = Noted::of(values) else {
        return filled;
    };
    let (machine, now) = (&noted.setup.machine, &noted.setup.case.now);
    let oil = match values.has(&OIL_TEMP) {
        true => (now.oil_temp, SAME_OIL),
        false => (now.oil_temp, f64::INFINITY),
    };
    let given = [&ENGINE_SPEED, &OIL_TEMP, &COMMAND].map(|f| values.has(f));
    let here = noted.last(|r| noted.is_near(r, now.engine_speed, now.command, oil));
    let any = || noted.last(|_| !given.contains(&true));
    let Some(reading) = here.or_else(any) else {
        return filled;
    };
    let rpm = |omega: f64| Kind::Speed.typed(omega);
    let read = format!("{} ± {}", rpm(reading.value), rpm(reading.half));
    filled.push(MEASURED.key, &read);
    let (setting, kind) = (&reading.setting, Kind::Temperature);
    for (field, words) in [
        (&ENGINE_SPEED, rpm(setting.engine_speed(machine))),
        (&OIL_TEMP, kind.typed(setting.oil_temp(machine))),
        (&COMMAND, setting.command.to_string()),
    ] {
        if !values.has(field) {
            filled.push(field.key, &words);
        }
    }
    filled
}

/// Adds to the values of a question the most probable cause of the fault that the notebook's readings show, and returns
/// the caution that says so. The values stay as they are if a fault is given, or if the readings show none.
pub fn with_cause(values: &Values) -> Result<(Values, Option<Caution>), Troubles> {
    let mut filled = values.clone();
    if values.has(&WITH) {
        return Ok((filled, None));
    }
    let Some(noted) = Noted::of(values) else {
        return Ok((filled, None));
    };
    let (cause, caution) = noted.cause()?;
    if let Some(cause) = cause {
        filled.push(WITH.key, &cause.typed());
    }
    Ok((filled, caution))
}
