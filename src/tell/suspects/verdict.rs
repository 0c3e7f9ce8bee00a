//! The headline, and the sentences below it.

use super::{extent, name, percent};
use crate::fault::priors::NOTHING;
use crate::probe::Reading;
use crate::quantity::{Kind, Units};
use crate::question::suspects::{Found, Outlier, Strength, Suspects};
use crate::tell::Figure;
use crate::tell::readings;

/// Minimum probability of a cause for the headline to call it almost certain.
const SURE: f64 = 0.97;

/// The headline.
pub(super) fn headline(request: &Suspects, found: &Found) -> String {
    let next = found.next().map(|t| t.probe.name);
    let measure = next.map_or(String::new(), |test| format!(" Next: {test}."));
    if let Some(work) = request.readings.book.works.last()
        && found.readings == 0
    {
        return format!(
            "Nothing has been measured since “{}” ({}), so nothing is known of the machine as it is now. A reading without a date counts as earlier.{measure}",
            work.what, work.date
        );
    }
    if found.readings == 0 {
        return format!(
            "Nothing has been measured yet, so nothing is known about this machine.{measure}"
        );
    }
    if request.readings.all.iter().all(|r| r.unsure) && !found.unexplained {
        return format!("Cannot tell yet: it is not certain that full fan was commanded.{measure}");
    }
    if found.stands {
        return "The fan hardly turns, so its speed does not tell the cause. With the engine off, check first: the plug and wiring of the control valve, the belt, the oil level, and whether the fan turns by hand.".into();
    }
    if found.unexplained {
        return "None of these causes explains the readings.".into();
    }
    let Some(first) = found.candidates.first() else {
        return "No listed cause applies to this machine.".into();
    };
    let (p, one) = (first.probability, name(first.fault));
    let likely = percent(p);
    let severity = match extent(first) {
        none if none.is_empty() => none,
        extent => format!(": {extent}"),
    };
    match found.strength {
        Strength::Settled if p >= SURE => {
            return format!("Almost certainly {one} ({likely}){severity}.");
        }
        Strength::Settled | Strength::Likely => {
            return format!("Likely {one} ({likely}){severity}.{measure}");
        }
        Strength::LeansTo => return format!("The readings point to {one} ({likely}).{measure}"),
        Strength::CannotTell => {}
    }
    let wrong = 1.0 - nothing(found);
    if wrong >= SURE
        && let Some(test) = next
    {
        let asked = match request.readings.all.iter().any(taken_as_full) {
            true => ", if full fan was commanded",
            false => "",
        };
        return format!(
            "Something is wrong ({}){asked}, but the cause is not clear yet. Next: {test}.",
            percent(wrong)
        );
    }
    match (found.candidates.get(1), next) {
        (Some(second), _) if p + second.probability >= 0.8 => format!(
            "Either {one} ({likely}) or {} ({}).{measure}",
            name(second.fault),
            percent(second.probability)
        ),
        (_, Some(test)) => format!("Cannot tell yet. Next: {test}."),
        (_, None) => format!(
            "Cannot tell, and no listed test would tell more: the most likely cause is {one} ({likely})."
        ),
    }
}

/// Whether a reading is a speed that is taken as measured at full command although it does not say so.
fn taken_as_full(r: &Reading) -> bool {
    let speed = r.probe.what.kind() == Kind::Speed;
    let full = r.setting.command >= 1.0 && !r.setting.unplugged;
    speed && full && !r.unsure && !r.commanded
}

/// Whether the headline names a cause or says that something is wrong.
pub(in crate::tell) fn names_cause(found: &Found) -> bool {
    let first = found.candidates.first();
    let fault = first.is_some_and(|c| c.fault != NOTHING);
    found.unexplained
        || fault && (found.strength != Strength::CannotTell || 1.0 - nothing(found) >= SURE)
}

/// The probability that there is no significant fault.
fn nothing(found: &Found) -> f64 {
    let all = found.candidates.iter();
    let own = all.filter(|c| c.fault == NOTHING);
    own.map(|c| c.probability).sum()
}

/// The probability of the most probable explanation.
pub(super) fn figure(found: &Found) -> Figure {
    let (figure, label) = match found.candidates.first() {
        _ if found.readings == 0 => (
            "No reading yet".into(),
            "so there is no finding: below are the common causes on such machines, and the test to begin with".into(),
        ),
        _ if found.stands => (
            "The fan hardly turns".into(),
            "which several simple defects can cause".into(),
        ),
        Some(first) if !found.unexplained => (
            percent(first.probability),
            format!("probability of {}", name(first.fault)),
        ),
        _ => (
            "No cause".into(),
            "on the list explains these readings".into(),
        ),
    };
    let key = "probability";
    Figure { figure, label, key }
}

/// The sentences below the headline.
pub(super) fn sentences(request: &Suspects, found: &Found) -> Vec<String> {
    let slip = found.misread.map(|m| {
        let (p, slip) = (percent(m.probability), readings::slip(m.slip));
        match m.assumed {
            true => format!("All readings of one kind seem to be wrong by the same factor (probability {p}). {slip} What follows assumes this error."),
            false => format!("A mistake in all readings of one kind is possible (probability {p}). {slip} What follows takes the readings as they were entered."),
        }
    });
    let outlier = |o: &Outlier| outlier(request, request.setup.units, o);
    let mut all: Vec<String> = unsure(request).into_iter().collect();
    all.extend(found.outliers.iter().filter_map(outlier));
    all.extend(slip);
    if found.unexplained && found.readings == 0 {
        all.push("The healthy readings are far from what machines of this class make. Check the readings, the class and the conditions, and add what is known of this machine, such as its pump displacement.".into());
        return all;
    }
    if found.unexplained && all.is_empty() && found.pairs.is_empty() {
        all.push("No listed cause fits, alone or in pairs, and no single reading looks wrong: check the machine file, the oil and the conditions, then look for an unlisted cause.".into());
    }
    all.extend(pairs(found));
    all.extend(twins(found));
    all.extend(oil_first(found));
    all
}

/// Lists the readings for which it is not certain that full fan was commanded.
fn unsure(request: &Suspects) -> Option<String> {
    let units = request.setup.units;
    let all = request.readings.all.iter().filter(|r| r.unsure);
    let all: Vec<String> = all.map(|r| readings::value(units, r)).collect();
    (!all.is_empty()).then(|| {
        format!(
            "It is not certain that full fan was commanded for {}. At full command the fan may be faster, so it is not called slow. Command full fan and read again.",
            all.join(" and ")
        )
    })
}

/// Describes a reading that does not fit although all others do, and the error that may have been made.
fn outlier(request: &Suspects, units: Units, outlier: &Outlier) -> Option<String> {
    let reading = request.readings.all.get(outlier.reading)?;
    let slip = outlier.slip.map(|s| format!(" {}", readings::slip(s)));
    Some(format!(
        "The readings agree if “{}” is left out: {} was read, about {} would fit.{}",
        reading.probe.name,
        readings::value(units, reading),
        units.show(reading.probe.what.kind(), outlier.would_fit),
        slip.unwrap_or_default()
    ))
}

fn pairs(found: &Found) -> Option<String> {
    let both = |faults: &[&str]| {
        let names: Vec<&str> = faults.iter().map(|key| name(key)).collect();
        names.join(" with ")
    };
    let all = found.pairs.iter().take(3);
    let all = all.map(|p| format!("{} ({})", both(&p.faults), percent(p.probability)));
    let all: Vec<String> = all.collect();
    (!all.is_empty()).then(|| {
        format!(
            "Two causes at once would fit: {}. (The probabilities compare only such pairs. The effects of two causes are assumed to multiply.)",
            all.join("; ")
        )
    })
}

/// Names pairs of causes that the readings hardly distinguish. Pairs with the same first cause are joined: `A from B or
/// C`.
fn twins(found: &Found) -> Option<String> {
    let mut all: Vec<(&str, Vec<&str>)> = Vec::new();
    for pair in found.twins.iter().take(4) {
        let [one, other] = pair[..] else { continue };
        match all.iter_mut().find(|t| t.0 == one) {
            Some(known) => known.1.push(name(other)),
            None => all.push((one, vec![name(other)])),
        }
    }
    let each =
        |(one, others): &(&str, Vec<&str>)| format!("{} from {}", name(one), others.join(" or "));
    let all: Vec<String> = all.iter().map(each).collect();
    (!all.is_empty() && !found.unexplained && found.readings > 0)
        .then(|| format!("These readings hardly distinguish {}.", all.join("; nor ")))
}

/// Advises to check the oil first, because that is cheap and reversible.
fn oil_first(found: &Found) -> Option<String> {
    let p = found.oil_probability;
    (p >= 0.1 && !found.unexplained && found.readings > 0).then(|| {
        format!(
            "The oil itself may be the cause ({}). Check level and foam and try fresh oil of the right kind before replacing any part: that is cheap and reversible.",
            percent(p)
        )
    })
}
