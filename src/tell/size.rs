//! Presents the outcome of `size` in words, with tables of the requirements and of the conditions.

use super::answer::{Block, Table};
use super::{Presentation, caution, words};
use crate::balance::Limit;
use crate::input::Input;
use crate::model::machine_text;
use crate::quantity::{Kind, Units};
use crate::question::Series;
use crate::question::size::{Found, Met, OUT, Other, Part, Size, Stands};
use crate::question::want::Situation;
use serde_json::json;

/// That a wider range gives a better design is said if a tenth more gains more than this fraction.
const WORTH: f64 = 0.01;
/// At most this many other combinations of sizes are named.
const OTHERS: usize = 4;

/// Presents the outcome of the question.
pub fn tell(request: &Size, found: &Found) -> Presentation {
    let setup = &request.setup;
    let units = setup.units;
    let mut told = Presentation::about(setup);
    let value = |i: Input| Some((i.key(), json!(found.case.get(i)?)));
    told.case = Input::all().filter_map(value).collect();
    told.headline(headline(units, found));
    told.blocks
        .extend(missed(units, found).into_iter().map(Block::Sentence));
    told.say(goal(units, found));
    told.blocks
        .extend(others(units, found).map(Block::Sentence));
    let worth = |p: &&Part| p.wider.is_some_and(|gain| gain > WORTH);
    for part in found.design.iter().filter(worth) {
        told.say(match part.listed {
            true => format!(
                "{} is at the end of its list of sizes: a size beyond it gives a better design.",
                part.input
            ),
            false => format!(
                "{} is at a limit of its range: a wider range gives a better design.",
                part.input
            ),
        });
    }
    for slips in found
        .conditions
        .iter()
        .filter(|s| s.limited_by == Limit::Belt)
    {
        told.say(format!(
            "The belt slips ({}): this is not a usable design. Require belt_slip <= 2 %, or use the design rules.",
            slips.condition
        ));
    }
    for met in found.wants.iter().filter(|m| found.met && m.buys.is_some()) {
        told.say(buys(units, found, met));
    }
    told.say(holds(units, found));
    told.show(Block::Table(wants(units, found)));
    told.show(Block::Table(conditions(units, found)));
    told.blocks
        .extend(temperatures(units, found).map(Block::Table));
    told.blocks.extend(rules(found).map(Block::Table));
    told.say(format!(
        "The search starts from many points and finds a local optimum; a better design elsewhere cannot be excluded. What relaxing a requirement gains is valid for small changes only. {}",
        match &request.out {
            Some(path) => format!("The machine is written to {path}."),
            None => format!("{} writes the machine to a file.", OUT.mention()),
        }
    ));
    told.show(Block::Safety(caution::safety()));
    told.cautions.clone_from(&found.cautions);
    told.assumptions.extend(assumed(request, found));
    told.series = Series::of(&found.wants);
    told.unmet = !found.met;
    told.made = Some(heading(units, found) + &machine_text(&found.machine));
    told
}

/// The comment at the head of the designed machine's file: what was required, and what of it is met.
fn heading(units: Units, found: &Found) -> String {
    let mut lines = vec![headline(units, found)];
    for met in &found.wants {
        let kind = met.figure.kind();
        let holds = if met.holds { "met" } else { "MISSED" };
        let value = if met.boils {
            "boils".into()
        } else {
            units.show(kind, met.si[1])
        };
        lines.push(format!("{holds}: {} ({value})", met.want));
    }
    lines.push(goal(units, found));
    let line = |line: String| format!("# {}\n", line.replace('\n', " "));
    lines.into_iter().map(line).collect::<String>() + "\n"
}

/// The headline: whether all requirements can be met, and the design found.
fn headline(units: Units, found: &Found) -> String {
    let parts = parts(units, &found.design);
    if found.met {
        format!("All requirements are met with {parts}.")
    } else {
        let missed: Vec<String> = found.against.iter().map(|w| format!("`{w}`")).collect();
        format!(
            "Not all requirements can be met in these ranges. Not met: {}. The {} is {parts}.",
            missed.join(", "),
            match found
                .wants
                .iter()
                .any(|m| m.beyond.is_some_and(|b| b.hardly))
            {
                true => "best design for the others",
                false => "closest design",
            }
        )
    }
}

/// Says which value of the goal the design reaches.
fn goal(units: Units, found: &Found) -> String {
    let of = match found.choices {
        1 => String::new(),
        n => format!(", the best of {n} combinations of sizes"),
    };
    let (kind, value) = found.goal_si;
    format!("Goal, {}: {}{of}.", found.goal, units.show(kind, value))
}

/// Says which other sizes are about as good; `None` if there are none.
fn others(units: Units, found: &Found) -> Option<String> {
    let one = |other: &Other| {
        let goal = units.show(found.goal_si.0, other.goal);
        format!("{} ({goal})", parts(units, &other.design))
    };
    let all: Vec<String> = found.others.iter().take(OTHERS).map(one).collect();
    (!all.is_empty()).then(|| format!("Other designs within 1 % of this goal: {}.", all.join("; ")))
}

/// The values of the free inputs.
fn parts(units: Units, design: &[Part]) -> String {
    let part = |p: &Part| {
        let kind = Input::find(&p.input).map_or(Kind::Number, |i| i.field().kind);
        format!("{} {}", p.input, units.show(kind, p.si))
    };
    design.iter().map(part).collect::<Vec<_>>().join(", ")
}

/// Says which requirements cannot be met by themselves, which conflict, and by how much they are missed.
fn missed(units: Units, found: &Found) -> Vec<String> {
    let missed = |m: &&Met| found.against.contains(&m.want);
    let missed = found.wants.iter().filter(missed);
    let (alone, together): (Vec<&Met>, Vec<&Met>) = missed.partition(|m| m.beyond.is_some());
    let mut all: Vec<String> = Vec::new();
    let sure = found.sure.map_or_else(String::new, |sure| {
        format!(" in {} of machines", percent(sure))
    });
    all.extend(alone.iter().filter_map(|m| beyond(units, m, &sure)));
    let off = |m: &&Met| match m.share.filter(|_| found.sure.is_some()) {
        Some(share) => format!("`{}` in {}", m.want, percent(share)),
        None => {
            let by = units.show(m.figure.kind().difference(), -m.si[2]);
            format!("`{}` by {by}", m.want)
        }
    };
    let off = together.iter().map(off).collect::<Vec<_>>().join(", ");
    let does = match found.sure {
        Some(_) => "meets",
        None => "misses",
    };
    all.extend(match together.len() {
        0 => None,
        1 => Some(format!(
            "This requirement cannot be met{sure} together with the others. The closest design {does} {off}."
        )),
        _ => Some(format!(
            "These requirements cannot be met together{sure}. The closest design {does} {off}."
        )),
    });
    if !all.is_empty() && found.wants.len() > found.against.len() {
        all.push("The closest design meets all other requirements.".into());
    }
    all
}

/// Says that a requirement cannot be met even by itself; `None` if it can.
fn beyond(units: Units, met: &Met, sure: &str) -> Option<String> {
    let beyond = met.beyond?;
    if let Some(share) = met.share.filter(|_| !sure.is_empty()) {
        return Some(format!(
            "`{}` cannot be met{sure} in these ranges, even by itself: the design meets it in {}.",
            met.want,
            percent(share)
        ));
    }
    let show = |value| units.show(met.figure.kind(), value);
    let (near, far) = (show(beyond.nearest), show(beyond.furthest));
    let want = &met.want;
    Some(match beyond.hardly {
        true if met.boils => {
            format!("`{want}` cannot be met: the coolant boils with every design tried.")
        }
        true if near == far => {
            format!("`{want}` cannot be met: no free input changes it ({near}).")
        }
        true => format!(
            "`{want}` cannot be met in these ranges, even by itself: {near} at best, {} with this design. To come nearer would hardly help, so the design is the best one for the other requirements.",
            show(met.si[1])
        ),
        false => format!("`{want}` cannot be met in these ranges, even by itself: {near} at best."),
    })
}

/// What was assumed beyond machine and condition: the day of a limiting ambient temperature, and what follows the
/// displacements.
fn assumed(request: &Size, found: &Found) -> Vec<(String, String)> {
    let units = request.setup.units;
    let warm = request.conditions.iter().filter(|s| s.heat.is_some());
    let day = |s: &Situation| {
        let case = s.on(&request.setup.case).case;
        let named = s.condition.sets(Input::AMBIENT) && !s.day;
        let remark = match s.day {
            true => "the limiting ambient required, with the fan at full command",
            false => "the usual value, because none is given",
        };
        let value = units.show(Kind::Temperature, case.now.ambient);
        let label = format!("ambient, {}", s.condition.words);
        (!named).then(|| (label, format!("{value} ({remark})")))
    };
    let follows = found.follows.iter().map(|f| {
        let kind = Input::find(&f.input).map_or(Kind::Number, |i| i.field().kind);
        let value = units.show(kind, f.si);
        (
            f.input.clone(),
            format!("{value} (follows from the displacement)"),
        )
    });
    warm.filter_map(day).chain(follows).collect()
}

/// Says what the goal would gain if a requirement were relaxed.
fn buys(units: Units, found: &Found, met: &Met) -> String {
    let (kind, _) = found.goal_si;
    let own = met.figure.kind();
    let one = match own {
        Kind::Temperature => 1.0,
        _ => 0.01 * met.si[0].abs(),
    };
    let shown = units.show(own.difference(), one);
    let by = match own {
        Kind::Temperature => shown,
        _ => format!("1 % ({shown})"),
    };
    // The values are in the units of the JSON keys; convert them to SI.
    let per = met.buys.unwrap_or(0.0) * own.json_factor() / kind.json_factor();
    let change = units.show(kind.difference(), (per * one).abs());
    let word = if per > 0.0 { "more" } else { "less" };
    format!(
        "`{}` limits the design: if it is relaxed by {by}, the goal is {change} {word}.",
        met.want
    )
}

/// Says in what percentage of the sampled machines the requirements are met.
fn holds(units: Units, found: &Found) -> String {
    let worst = found
        .worst
        .as_ref()
        .map_or_else(String::new, |(want, kind, value)| {
            format!(
                "; in the worst case, `{want}` is at {}",
                units.show(*kind, *value)
            )
        });
    match found.share {
        None => "No machines were sampled.".into(),
        Some(share) if found.sure.is_some() => format!(
            "Each requirement was to be met in {} of machines within the ± of machine, oil and condition; all of them are met in {} of {} sampled machines{worst}.",
            percent(found.sure.unwrap_or(0.0)),
            percent(share),
            found.machines
        ),
        Some(share) => format!(
            "Within the ± of machine, oil and condition, all requirements are met in {} of {} sampled machines{worst}.",
            percent(share),
            found.machines
        ),
    }
}

/// A fraction in percent, rounded down to a tenth: what is just missed does not look as if it were met.
fn percent(share: f64) -> String {
    format!("{} %", (1e3 * share + 1e-9).floor() / 10.0)
}

/// A table of the requirements.
fn wants(units: Units, found: &Found) -> Table {
    let row = |met: &Met| {
        let kind = met.figure.kind();
        let value = match met.boils {
            true => "boils".into(),
            false => units.show(kind, met.si[1]),
        };
        let band = met.band.map_or_else(String::new, |(low, high)| {
            format!("{} to {}", units.show(kind, low), units.show(kind, high))
        });
        vec![
            plain(met),
            value,
            units.show(kind.difference(), met.si[2]),
            match (met.holds, met.binds) {
                (false, _) => "missed",
                (true, true) => "limits",
                (true, false) => "",
            }
            .into(),
            band,
            met.share.map_or_else(String::new, percent),
        ]
    };
    Table {
        title: "Requirements".into(),
        heads: [
            "Requirement",
            "Value",
            "Margin",
            "",
            "95 % of machines",
            "Met in",
        ]
        .map(String::from)
        .to_vec(),
        rows: found.wants.iter().map(row).collect(),
        numeric: vec![1, 2, 5],
    }
}

/// The text of a requirement with spaces, so that lines can break within it.
fn plain(met: &Met) -> String {
    met.want.replace('_', " ")
}

/// A table of the sources of the design rules; `None` if the rules were not requested.
fn rules(found: &Found) -> Option<Table> {
    let mut rows: Vec<Vec<String>> = Vec::new();
    for (met, source) in found
        .wants
        .iter()
        .filter_map(|m| Some((m, m.source.as_ref()?)))
    {
        let plain = plain(met);
        let rule = plain.split(" at ").next().unwrap_or_default().to_string();
        if !rows.iter().any(|row| row[0] == rule) {
            rows.push(vec![rule, source.clone()]);
        }
    }
    let table = Table {
        title: "Design rules: a maker's own value takes precedence".into(),
        heads: ["Rule", "Source"].map(String::from).to_vec(),
        rows,
        numeric: Vec::new(),
    };
    (!table.rows.is_empty()).then_some(table)
}

/// A table of the design's results in each condition.
fn conditions(units: Units, found: &Found) -> Table {
    let heads = [
        "Condition",
        "Fan speed",
        "Pump outlet pressure",
        "Pump power",
        "Fan power",
        "Efficiency",
        "Limited by",
    ];
    let row = |s: &Stands| {
        vec![
            s.condition.clone(),
            units.show(Kind::Speed, s.fan_speed),
            units.show(Kind::Pressure, s.supply_gauge_pressure),
            units.show(Kind::Power, s.pump_shaft_power),
            units.show(Kind::Power, s.fan_shaft_power),
            units.show(Kind::Share, s.drive_efficiency),
            s.limited_by.key().into(),
        ]
    };
    Table {
        title: "The design in each condition".into(),
        heads: heads.map(String::from).to_vec(),
        rows: found.conditions.iter().map(row).collect(),
        numeric: (1..6).collect(),
    }
}

/// A table of the design's temperatures; `None` if the heat balance is not solved in any condition.
fn temperatures(units: Units, found: &Found) -> Option<Table> {
    let heads = ["Condition", "Coolant", "Oil", "Limiting ambient"];
    let row = |s: &Stands| {
        let shown = |t: Option<f64>| t.map_or_else(String::new, |t| words::degrees(units, t));
        let coolant = match s.boils {
            true => "boils".into(),
            false => shown(s.coolant_temp),
        };
        let limiting = match s.limiting_ambient {
            None => "none".into(),
            Some(t) => words::day(units, t),
        };
        vec![s.condition.clone(), coolant, shown(s.oil_temp), limiting]
    };
    let warm = found
        .conditions
        .iter()
        .filter(|s| s.boils || s.coolant_temp.is_some());
    let table = Table {
        title:
            "Temperatures of the design in conditions with a heat balance, computed as in `heat`"
                .into(),
        heads: heads.map(String::from).to_vec(),
        rows: warm.map(row).collect(),
        numeric: (1..4).collect(),
    };
    (!table.rows.is_empty()).then_some(table)
}

#[cfg(test)]
mod tests {
    use super::percent;

    #[test]
    fn what_is_just_missed_does_not_look_met() {
        assert_eq!(
            [0.9, 0.8999, 0.895, 1.0, 0.0].map(percent),
            ["90 %", "89.9 %", "89.5 %", "100 %", "0 %"]
        );
    }
}
