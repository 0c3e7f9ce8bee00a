//! An answer for programs.

use super::super::words;
use super::sides::{Found, Outcome, Side, Working, alternator};
use super::told::named;
use super::{Question, STARTING};
use crate::balance::COLDEST;
use crate::quantity::Kind;
use serde_json::{Map, Value, json};

/// All that does not belong to the set to look at alone.
pub(super) fn put(
    numbers: &mut Map<String, Value>,
    question: &Question,
    found: &Found,
    front: &[&Outcome],
) {
    let chosen = found.chosen.as_ref();
    let current = chosen.map_or(0.0, |o| o.current);
    let target = question.target;
    words::put(numbers, "target_ambient", Kind::Temperature, target);
    numbers.insert("already_met".into(), json!(found.met));
    numbers.insert("target_met".into(), json!(found.meets(target)));
    numbers.insert("sets_tried".into(), json!(found.all.len()));
    let set = chosen.map(|o| named(question, &o.set));
    numbers.insert("set".into(), json!(set));
    let starting = STARTING * current;
    let spare = alternator(&question.posed.case).spare();
    words::put(numbers, "set_current", Kind::Current, current);
    words::put(numbers, "set_starting_current", Kind::Current, starting);
    words::put(numbers, "alternator_spare", Kind::Current, spare);
    let sides = found.sides.iter().map(|s| side(found, s)).collect();
    numbers.insert("side_by_side".into(), Value::Array(sides));
    let front = front.iter().map(|o| set_of_front(question, found, o));
    numbers.insert("front".into(), Value::Array(front.collect()));
}

/// A limiting ambient temperature; none where no day is cold enough.
fn day(t: f64) -> Option<f64> {
    (t > COLDEST).then(|| Kind::Temperature.to_json(t))
}

fn side(found: &Found, s: &Side) -> Value {
    let steady = s.warm.heats.is_none();
    json!({
        "key": s.key,
        "name": s.name,
        "fan_speed_rpm": Kind::Speed.to_json(s.warm.fan_speed),
        "airflow_m3_per_s": s.warm.budget.draft.flow,
        "current_a": s.current,
        "limiting_ambient_c": day(s.hottest_day),
        "gained_k": found.gained(s.hottest_day),
        "steady": steady,
        "coolant_temp_c": steady.then(|| Kind::Temperature.to_json(s.warm.budget.coolant_temp)),
    })
}

fn set_of_front(question: &Question, found: &Found, one: &Outcome) -> Value {
    json!({
        "set": named(question, &one.set),
        "current_a": one.current,
        "mass_kg": one.mass,
        "limiting_ambient_c": day(one.hottest_day),
        "gained_k": found.gained(one.hottest_day),
    })
}

/// Where the fans at one spot work.
pub(super) fn point(question: &Question, working: &Working) -> Value {
    json!({
        "place": question.spots.get(working.spot).map(|s| s.key.clone()),
        "fans": working.count,
        "flow_each_m3_per_s": working.flow,
        "static_pressure_pa": working.pressure,
        "current_each_a": working.current,
        "of_free_flow": working.of_free,
        "pressure_over_core_pa": working.helped,
    })
}
