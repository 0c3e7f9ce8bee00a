//! Requirements in words: which set of fans meets them, in how many machines, and which limits exclude other sets.

use super::super::answer::Table;
use super::brief;
use crate::quantity::{Kind, Units};
use crate::question::auxfan::{Auxfan, Found, InTheWay, Rung, WantMet};

/// The headline.
pub(super) fn headline(request: &Auxfan, found: &Found) -> String {
    let wants = match found.wants.len() {
        1 => "The requirement is",
        _ => "All requirements are",
    };
    let set = found.chosen.as_ref().map(|o| brief(request, o));
    match (&set, found.target_met) {
        (None, true) => format!("No electric fan is needed. {wants} met without one."),
        (None, false) => format!(
            "No set of these fans within the limits comes nearer to the requirements. {}",
            missed(request, found)
        ),
        (Some(set), true) if request.tried.is_some() => format!("{wants} met with {set}."),
        (Some(set), true) => format!("{wants} met with {set}, the smallest set that does so."),
        (Some(set), false) if request.tried.is_some() => {
            format!("Not sufficient: {set}. {}", missed(request, found))
        }
        (Some(set), false) => format!(
            "No set of these fans is sufficient; {set} comes nearest. {}",
            missed(request, found)
        ),
    }
}

/// Says by how much the requirements are missed.
fn missed(request: &Auxfan, found: &Found) -> String {
    let units = request.setup.units;
    let one = |w: &WantMet| {
        let off = (w.si[2] - w.si[0]).abs();
        match off.is_finite() {
            true => {
                let off = match w.kind {
                    Kind::Temperature => units.show(Kind::TemperatureDifference, off),
                    kind => units.show(kind, off),
                };
                format!("`{}` is missed by {off}", w.want)
            }
            false => format!("`{}`: the temperature rises without limit", w.want),
        }
    };
    let mut all: Vec<String> = found.wants.iter().filter(|w| !w.holds).map(one).collect();
    let taken = found.chosen.as_ref().map_or(0.0, |o| o.current);
    let short = found
        .current_limit
        .filter(|limit| taken > *limit && found.wants.iter().all(|w| w.kind != Kind::Current));
    all.extend(short.map(|limit| {
        format!(
            "the set takes {}, {} more than the alternator has to spare",
            units.show(Kind::Current, taken),
            units.show(Kind::Current, taken - limit)
        )
    }));
    if all.is_empty() {
        // The machine as described meets all requirements, but not enough of the sampled machines do.
        let share = units.show(Kind::Share, found.wants_share.unwrap_or_default());
        return format!(
            "The machine as described meets all requirements, but only {share} of the sampled machines do."
        );
    }
    format!("{}.", all.join(", "))
}

/// Says in how many of the sampled machines the requirements are met, and which limits exclude other sets.
pub(super) fn lines(request: &Auxfan, found: &Found) -> Vec<String> {
    let units = request.setup.units;
    let mut said = Vec::new();
    if let Some(share) = found.wants_share {
        let what = match found.chosen {
            Some(_) => "with this set",
            None => "without electric fans",
        };
        said.push(format!(
            "Within the ± of machine, oil and condition, all requirements are met {what} in {} of 200 sampled machines. This does not include the model's own error, {} for a steady temperature.",
            units.show(Kind::Share, share),
            super::words::credible(units)
        ));
    }
    said.extend(found.in_the_way.iter().map(|w| in_the_way(units, w)));
    if let Some(limit) = found.current_limit {
        let why = match found.wants.iter().any(|w| w.kind == Kind::Current) {
            true => "that is the requirement",
            false => "the alternator has no more to spare at idle",
        };
        said.push(format!(
            "A set may draw at most {}: {why}.",
            units.show(Kind::Current, limit)
        ));
    }
    if request.main.is_none() && request.setup.case.fan_control.is_some() {
        let what = "For the requirements, the fan control sets the fan command, as in `heat`; the comparison below is at full command.";
        said.push(what.into());
    }
    said
}

fn in_the_way(units: Units, one: &InTheWay) -> String {
    match (&one.set, one.si) {
        (Some(set), Some([takes, limit])) => format!(
            "The limit of {} is in the way: {set} would be sufficient, but takes {}, and the limit is {}.",
            one.what,
            units.show(one.kind, takes),
            units.show(one.kind, limit)
        ),
        _ => "The face of the core is in the way: no set of these fans that fits on it would be sufficient, whatever its current and depth.".into(),
    }
}

/// A table of the requirements.
pub(super) fn table(request: &Auxfan, found: &Found) -> Table {
    let units = request.setup.units;
    let value = |w: &WantMet, si: f64| match si.is_finite() {
        true => units.show(w.kind, si),
        false => "without limit".into(),
    };
    let row = |w: &WantMet| {
        vec![
            w.want.clone(),
            match w.share {
                Some(_) => value(w, w.si[1]),
                None => String::new(),
            },
            match found.chosen {
                Some(_) => value(w, w.si[2]),
                None => String::new(),
            },
            if w.holds { "met" } else { "missed" }.into(),
            w.share
                .map_or_else(String::new, |s| units.show(Kind::Share, s)),
        ]
    };
    let heads = ["Requirement", "as it is", "with the set", "", "of machines"];
    Table {
        title: "Requirements".into(),
        heads: heads.map(String::from).to_vec(),
        rows: found.wants.iter().map(row).collect(),
        numeric: vec![1, 2, 4],
    }
}

/// A table of those sets of fans that are better than every smaller set.
pub(super) fn ladder(request: &Auxfan, found: &Found) -> Table {
    let units = request.setup.units;
    let row = |r: &Rung| {
        vec![
            r.set.clone(),
            units.show(Kind::Current, r.current),
            units.show(Kind::Mass, r.mass),
            match r.margin.is_finite() {
                true => units.show(Kind::TemperatureDifference, r.margin),
                false => "none".into(),
            },
            units.show(Kind::Share, r.share),
        ]
    };
    let heads = ["set", "current", "mass", "margin", "all met in"];
    Table {
        title: "Sets within the limits, by size; each is better than every smaller one".into(),
        heads: heads.map(String::from).to_vec(),
        rows: found.ladder.iter().map(row).collect(),
        numeric: vec![1, 2, 3, 4],
    }
}
