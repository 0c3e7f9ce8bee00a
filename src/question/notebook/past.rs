//! Readings over time, and the effect of repairs.

use super::{Changed, Done, Notebook, Past};
use crate::input::Input;
use crate::model::Setup;
use crate::probe::{Reading, Work};
use crate::quantity::Kind;
use crate::question::Request;
use crate::question::suspects::{Candidate, Suspects};
use crate::trouble::{Trouble, Troubles};
use crate::vary::fit::expect;
use crate::vary::forecast::{REPEATS, model};
use crate::vary::sample::uncertain;

/// A test is reported as unchanged only if the uncertainty of the relative change is at most this.
const COARSE: f64 = 0.04;

/// Each reading of the oil circuit, with the value expected on the healthy machine.
pub(super) fn past(book: &Notebook) -> Result<Vec<Past>, Trouble> {
    let of_oil = |r: &&Reading| r.setting.settled.is_none();
    let readings: Vec<Reading> = book.all.iter().filter(of_oil).copied().collect();
    if readings.is_empty() {
        return Ok(Vec::new());
    }
    let setup = &book.narrowed;
    let should = expect(&setup.machine, &setup.case, &setup.spread, &readings)?;
    let row = |(reading, should): (&Reading, (f64, f64))| {
        let kind = reading.probe.what.kind();
        let half = kind.to_json(should.0 + should.1) - kind.to_json(should.0);
        Past {
            test: reading.probe.key,
            unit: kind.json_suffix(),
            read: kind.to_json(reading.value),
            expected: kind.to_json(should.0),
            expected_half: half,
            healthy: reading.healthy,
            day: reading.date.map(|d| d.to_string()),
            reading: *reading,
            should,
        }
    };
    Ok(readings.iter().zip(should).map(row).collect())
}

/// Each repair, with the tests that it changed and the likely causes before it.
pub(super) fn works(book: &Notebook) -> Result<Vec<Done>, Troubles> {
    let works = &book.now.readings.book.works;
    let one = |(n, work): (usize, &Work)| {
        let made = |works: usize| {
            let all = book.all.iter();
            let all = all.filter(|r| r.date.is_some() && r.works == works);
            all.copied().collect::<Vec<Reading>>()
        };
        let (before, after) = (made(n), made(n + 1));
        Ok(Done {
            what: work.what.clone(),
            day: work.date.to_string(),
            changed: changed(&book.narrowed, &before, &after).map_err(|t| vec![t])?,
            causes_before: causes(&book.now, &before)?,
            date: work.date,
        })
    };
    works.iter().enumerate().map(one).collect()
}

/// The likely causes according to those of the readings that were not taken on the healthy machine.
fn causes(now: &Suspects, readings: &[Reading]) -> Result<Vec<Candidate>, Troubles> {
    let mut asked = now.clone();
    asked.readings.all = readings.iter().filter(|r| !r.healthy).copied().collect();
    if asked.readings.all.is_empty() {
        return Ok(Vec::new());
    }
    let found = asked.answer()?;
    Ok(found.worth().iter().take(4).cloned().collect())
}

/// Compares each test made both before and after a repair: its last reading before with its first reading after.
fn changed(setup: &Setup, before: &[Reading], after: &[Reading]) -> Result<Vec<Changed>, Trouble> {
    let mut all = Vec::new();
    for (n, new) in after.iter().enumerate() {
        let again = after[..n].iter().any(|r| r.probe.key == new.probe.key);
        let same =
            |r: &&Reading| r.probe.key == new.probe.key && r.setting.settled.is_none() && !r.unsure;
        if let (Some(old), false) = (before.iter().rev().find(same), again || new.unsure) {
            all.push(one(setup, *old, *new)?);
        }
    }
    Ok(all)
}

fn one(setup: &Setup, old: Reading, new: Reading) -> Result<Changed, Trouble> {
    // The uncertainty of the machine is set to zero here, because the machine is the same before and after.
    let mut exact = setup.spread;
    for input in uncertain(&setup.spread) {
        if input != Input::AIR_TEMP {
            exact = exact.with(input, 0.0);
        }
    }
    let should = expect(&setup.machine, &setup.case, &exact, &[old, new])?;
    let ratio = |reading: &Reading, n: usize| reading.value / should[n].0;
    let (was, is) = (ratio(&old, 0), ratio(&new, 1));
    let change = is / was - 1.0;
    let error = |reading: &Reading, n: usize| {
        let (middle, half) = should[n];
        let own = 2.0 * reading.sigma() / reading.value.abs().max(1e-12);
        let model = 2.0 * REPEATS * model(reading.probe.what, middle) / middle.abs();
        own.hypot(half / middle.abs()).hypot(model)
    };
    let half = (1.0 + change) * error(&old, 0).hypot(error(&new, 1));
    let nearer = (is - 1.0).abs() < (was - 1.0).abs();
    let verdict = match () {
        () if change.abs() <= half && half > COARSE => "cannot_tell",
        () if change.abs() <= half => "same",
        () if new.probe.what.kind() == Kind::Speed && was < 1.0 && change > 0.0 => "better",
        () if nearer => "better",
        () => "worse",
    };
    Ok(Changed {
        test: new.probe.key,
        change,
        half,
        verdict,
        ends: [(old, should[0].0), (new, should[1].0)],
    })
}
