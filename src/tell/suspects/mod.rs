//! Presents the outcome of `suspects` in words and pictures.
//! | file | content |
//! |---|---|
//! | `verdict.rs` | the headline and the accompanying sentences |
//! | `next.rs` | the test to make next |
//! | `explains.rs` | how well each cause explains each reading |

mod explains;
mod next;
mod verdict;

use super::answer::{Bar, Bars, Block, Next, Table};
use super::{Presentation, hazard, inputs, words};
use crate::fault::{
    self,
    priors::{NOT_LISTED, NOTHING},
};
use crate::question::Series;
use crate::question::suspects::{Candidate, Found, Suspects};
pub(super) use verdict::names_cause;

/// Presents the outcome of the question.
pub fn tell(request: &Suspects, found: &Found) -> Presentation {
    let mut told = Presentation {
        figure: Some(verdict::figure(found)),
        assumptions: assumptions(request),
        cautions: found.cautions.clone(),
        case: inputs(&request.setup),
        series: Series::of(&found.candidates),
        ..Presentation::default()
    };
    told.headline(verdict::headline(request, found));
    let mut sentences = verdict::sentences(request, found).into_iter();
    if let Some(first) = sentences.next() {
        told.why(first);
    }
    sentences.for_each(|s| told.say(s));
    told.show(Block::Bars(odds(found)));
    if let Some(test) = found.next() {
        next::tell(request, found, test, &mut told);
    }
    if !request.readings.all.is_empty() {
        let title = "How well each cause explains each reading";
        told.show(Block::Heading(title.into()));
        told.show(Block::Table(explains::table(request, found)));
        if let Some(chart) = explains::chart(found) {
            told.show(Block::Chart(chart));
        }
    }
    if let Some(table) = severities(found) {
        told.show(Block::Table(table));
    }
    confirm(found, &mut told);
    told
}

/// The assumptions.
fn assumptions(request: &Suspects) -> Vec<(String, String)> {
    let mut all = words::lasting(&request.setup);
    let mut count = |what: &str, readings: usize| all.push((what.into(), readings.to_string()));
    count("readings", request.readings.all.len());
    if let Some(well) = &request.well {
        count("readings when healthy", well.all.len());
    }
    all
}

/// The name of a cause.
pub(super) fn name(key: &str) -> &str {
    match key {
        NOTHING => "nothing wrong that matters",
        NOT_LISTED => "an unlisted cause",
        key => fault::name(key),
    }
}

/// A probability as a percentage.
pub(super) fn percent(p: f64) -> String {
    match 100.0 * p {
        p if p > 99.0 && p < 100.0 => "over 99 %".into(),
        p if p > 0.0 && p < 1.0 => "under 1 %".into(),
        p => format!("{p:.0} %"),
    }
}

/// What the severity of a cause means in practice; empty if the cause has no severity.
fn extent(candidate: &Candidate) -> String {
    let said = ends(candidate).zip(fault::find(candidate.fault).ok());
    said.map_or(String::new(), |(ends, fault)| fault.meaning(ends))
}

/// The severity of a cause: lower limit, middle, upper limit of its range.
fn ends(candidate: &Candidate) -> Option<[f64; 3]> {
    Some([
        candidate.severity_low?,
        candidate.severity?,
        candidate.severity_high?,
    ])
}

/// A table of the severity of each cause.
fn severities(found: &Found) -> Option<Table> {
    let row = |c: &Candidate| {
        let ([low, middle, high], fault) = ends(c).zip(fault::find(c.fault).ok())?;
        Some(vec![
            fault.name.into(),
            format!("{middle:.2} ({low:.2} to {high:.2})"),
            fault.severity.into(),
        ])
    };
    let worth = found.worth();
    let rows: Vec<Vec<String>> = worth.iter().filter_map(row).collect();
    (!rows.is_empty() && found.readings > 0).then(|| Table {
        title: "Severity of each cause with its 90 % range, and what 0 and 1 mean".into(),
        heads: ["cause", "severity", "meaning"].map(String::from).to_vec(),
        rows,
        numeric: Vec::new(),
    })
}

/// A bar chart of the probability of each cause.
fn odds(found: &Found) -> Bars {
    // To a tenth of a per cent; 100 % is shown only if exact.
    let shown = |p: f64| {
        let tenths = (1000.0 * p).round() / 10.0;
        if p < 1.0 { tenths.min(99.9) } else { tenths }
    };
    let none = found.readings == 0;
    let row = |c: &Candidate| Bar {
        name: name(c.fault).into(),
        value: shown(c.probability),
        range: None,
        note: if none { String::new() } else { extent(c) },
    };
    let title = match none {
        true => "How common each cause is, before any reading: no finding yet",
        false => "Probability of each cause",
    };
    Bars {
        title: title.into(),
        label: "probability, %".into(),
        rows: found.worth().iter().map(row).collect(),
    }
}

/// Adds the test that would confirm the most probable cause before anything is taken apart.
fn confirm(found: &Found, told: &mut Presentation) {
    let likely = found.candidates.first().filter(|c| c.probability >= 0.5);
    let Some(fault) = likely.and_then(|c| fault::find(c.fault).ok()) else {
        return;
    };
    if found.unexplained || found.stands {
        return;
    }
    let title = format!("Before replacing a part: confirm {}", fault.name);
    let cautions = hazard::lines(fault.hazards);
    let look = format!(
        "{} (about {:.0} minutes). Symptoms: {}.",
        words::capitalized(fault.confirm),
        fault.effort_minutes,
        fault.shows,
    );
    told.show(Block::Heading(title));
    if found.next().is_none() {
        told.show(Block::Next(Next {
            words: look,
            cautions: cautions.clone(),
            ..Next::default()
        }));
    } else {
        told.say(look);
    }
    told.show(Block::Safety(cautions));
}
