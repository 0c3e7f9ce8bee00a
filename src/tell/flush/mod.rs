//! An answer in words.

use super::super::words;
use super::{Method, PAYS, Question, Rounds, asked, volume};
use crate::balance::State;
use crate::quantity::{Kind, Units};
use crate::trouble::Trouble;

/// What was taken, in words.
pub(super) fn said(question: &Question) -> Vec<(String, String)> {
    let (plan, units) = (&question.plan, question.fresh.units);
    let mut case = question.fresh.said.clone();
    for (label, _) in &mut case {
        if label == "oil" {
            *label = "fresh oil".into();
        }
    }
    let percent = |x| units.show(Kind::Share, x);
    case.insert(1, ("old oil".into(), question.old.oil.name.clone()));
    case.push(("method".into(), plan.method.round().into()));
    case.push((
        "exchanged each round".into(),
        format!(
            "{}, {} of the fill",
            units.show(Kind::Volume, volume(question, 1.0)),
            percent(plan.exchanged)
        ),
    ));
    case.push((
        "standing still meanwhile".into(),
        format!(
            "{}, which mixes by {} while the engine runs between rounds",
            percent(plan.fill.still),
            percent(plan.fill.mixing)
        ),
    ));
    case.push(("asked".into(), asked(question)));
    case
}

/// How many rounds, how much oil, what is left.
pub(super) fn headline(
    question: &Question,
    rounds: &Rounds,
    hopeful: &Rounds,
    left: f64,
) -> String {
    let units = question.fresh.units;
    let plan = &question.plan;
    if rounds.needed == 0 {
        return "No flush is needed: the old oil already gives what is asked.".into();
    }
    let price = question.cost_per_litre.map_or(String::new(), |price| {
        let cost = |v: f64| units.show(Kind::Cost, price * v * 1e3);
        format!(
            ", at a cost of {}",
            from_to(hopeful.volume, rounds.volume, cost)
        )
    });
    let litres = |v| units.show(Kind::Volume, v);
    match plan.method {
        Method::ReturnLine => {
            format!(
                "{} of fresh oil through the return line, in {}, leave {}{price}.",
                from_to(hopeful.volume, rounds.volume, litres),
                counted(rounds.needed, "pour"),
                asked(question)
            )
        }
        method => format!(
            "{} of {} ({} in all{price}) leave {} of the old oil.",
            match (method, rounds.needed) {
                (Method::Drain, 1) => "1 drain and refill".into(),
                (Method::Drain, n) => format!("{n} drains and refills"),
                (_, n) => format!("{} of the reservoir", counted(n, "exchange")),
            },
            litres(volume(question, 1.0)),
            litres(rounds.volume),
            units.show(Kind::Share, left)
        ),
    }
}

/// From one value to another, or one where they hardly differ.
pub(super) fn from_to(low: f64, high: f64, show: impl Fn(f64) -> String) -> String {
    if high - low > 0.005 * high {
        format!("{} to {}", show(low), show(high))
    } else {
        show(high)
    }
}

/// So many of something.
fn counted(n: usize, what: &str) -> String {
    format!("{n} {what}{}", if n == 1 { "" } else { "s" })
}

/// A change of speed in words.
pub(super) fn makes(units: Units, change: f64) -> String {
    if units.show(Kind::Speed, change.abs()) == units.show(Kind::Speed, 0.0) {
        "neither faster nor slower".into()
    } else {
        words::faster_or_slower(units, change)
    }
}

/// Where another round buys nothing.
pub(super) fn worth(question: &Question, pays: usize, speeds: &[f64], fresh: f64) -> String {
    let units = question.fresh.units;
    let at = |n: usize| speeds.get(n).copied().unwrap_or(fresh);
    let least = units.show(Kind::Share, PAYS);
    let all = makes(units, fresh - at(0));
    if fresh <= 0.0 {
        return "The fan stands in this condition, so no round changes its speed.".into();
    }
    if pays == 0 {
        return format!(
            "For the fan's speed in this condition no round buys anything: fresh oil alone makes it {all}, and no single round changes it by {least}. What a flush buys here is clean oil of the right kind."
        );
    }
    format!(
        "Fresh oil alone makes the fan {all} in this condition. After round {pays} none of the later ones changes its speed by {least}, and all of them together change it by {}. From there on a round buys less old oil, hardly another speed.",
        units.show(Kind::Speed, (fresh - at(pays)).abs())
    )
}

/// What was assumed, in a sentence.
pub(super) fn assumptions(question: &Question) -> String {
    let plan = &question.plan;
    let percent = |x| question.fresh.units.show(Kind::Share, x);
    let mut text = match plan.method {
        Method::ReturnLine => {
            "Between the two limits, old oil pushed out ahead of the fresh and both mixed at once, lies what really happens; rounds and amounts are by the worse one. ".to_string()
        }
        _ => format!(
            "Each round takes out {} of the fill, as it then is in what circulates; the engine runs between rounds, or the fresh oil in the reservoir is drawn off again. ",
            percent(plan.exchanged)
        ),
    };
    if plan.fill.still > 0.0 {
        text.push_str(&format!(
            "{} of the fill (steering, cooler, hoses) stands still during an exchange and then mixes by {}. The old share is that of the whole fill, and viscosity and speed are those once it has all mixed.",
            percent(plan.fill.still),
            percent(plan.fill.mixing)
        ));
    }
    text
}

/// What must be borne in mind.
pub(super) fn cautions(question: &Question, fresh_state: &State) -> Result<Vec<String>, Trouble> {
    let posed = &question.fresh;
    let steering = if posed.case.steering.is_some() {
        "Steering shares this circuit, and brake boost may: an oil that its seals do not stand, or air left in it, is a steering or brake fault."
    } else {
        "Where steering or brake boost shares the circuit, an oil that its seals do not stand, or air left in it, is a steering or brake fault."
    };
    let mut said = vec![
        format!("{} Pour in only what the machine's maker approves, and ask whether it may meet the old oil at all.", words::COMPATIBILITY),
        steering.to_string(),
        "Bleed the circuit as the service information says, and check level and foam after every round. Catch the old oil and hand it in.".into(),
        "How much stands still and how far it mixes are a judgment, and so is the share exchanged where it was not measured: measure what comes out and give it with --drained or --pour.".into(),
    ];
    if question.plan.method == Method::ReturnLine {
        said.push("The pump must never run dry: pour as fast as the old oil runs out, or stop the engine.".into());
    }
    let (_, operating) = State::of(&posed.case)?;
    said.extend(words::cautions(posed, fresh_state, operating.limit));
    for caution in &question.old.cautions {
        if !said.contains(caution) {
            said.push(format!("Of the old oil: {caution}"));
        }
    }
    Ok(said)
}
