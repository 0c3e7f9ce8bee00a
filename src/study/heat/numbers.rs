//! An answer for programs.

use super::super::words;
use super::looks::Found;
use super::told::worst;
use crate::quantity::Kind;
use crate::vary::rating::Rated;
use serde_json::{Map, Value, json};

/// All numbers of the answer.
pub(super) fn put(n: &mut Map<String, Value>, found: &Found) {
    let here = found.here();
    let (steady, b) = (here.steady(), &here.warm.budget);
    let [boiling_low, boiling_high] = found.boiling;
    let settled = |t: f64| if steady { t } else { f64::NAN };
    temp(n, "coolant_temp", settled(b.coolant_temp));
    if let Some((low, high)) = found.band {
        temp(n, "coolant_temp_low", low);
        temp(n, "coolant_temp_high", high);
    }
    temp(n, "coolant_return_temp", settled(b.return_temp));
    temp(n, "oil_temp", settled(b.oil_temp));
    temp(n, "air_temp", settled(b.air_temp));
    words::put(n, "fan_speed", Kind::Speed, here.warm.fan_speed);
    n.insert("command".into(), json!(here.warm.operating.command));
    words::put(n, "airflow", Kind::AirFlow, b.draft.flow);
    n.insert("face_velocity_m_per_s".into(), json!(b.draft.speed[..4]));
    n.insert("fan_static_pressure_pa".into(), json!(b.draft.pressure));
    for (key, power) in [
        ("fuel_heat", b.fuel_heat),
        ("engine_power", b.engine_power),
        ("engine_heat", b.engine_heat),
        ("radiator_heat", b.radiator_heat),
        ("oil_heat", b.oil_heat),
        ("oil_cooler_heat", b.oil_cooler_heat),
        ("oil_surface_heat", b.oil_surface_heat),
        ("ahead_heat", b.ahead_heat),
    ] {
        words::put(n, key, Kind::Power, power);
    }
    n.insert(
        "residuals_w".into(),
        json!({"coolant": b.left[0], "oil": b.left[1], "air": b.left[2]}),
    );
    temp(n, "limiting_ambient", here.limiting().unwrap_or(f64::NAN));
    temp(
        n,
        "limiting_ambient_by_formula",
        found.by_formula.map_or(f64::NAN, |f| f.0),
    );
    temp(n, "air_to_boil", found.by_formula.map_or(f64::NAN, |f| f.1));
    temp(n, "boiling_low", boiling_low);
    temp(n, "boiling_high", boiling_high);
    words::put(
        n,
        "margin_to_limit",
        Kind::TemperatureDifference,
        settled(found.limit - b.coolant_temp),
    );
    words::put(
        n,
        "margin_to_boiling",
        Kind::TemperatureDifference,
        settled(boiling_low - b.coolant_temp),
    );
    let now = &here.warm.case.now;
    temp(n, "ambient", now.ambient);
    words::put(n, "engine_speed", Kind::Speed, now.engine_speed);
    temp(n, "intake_temp", settled(b.intake_temp));
    words::put(n, "coolant_flow", Kind::Flow, b.coolant_flow);
    words::put(n, "radiator_flow", Kind::Flow, b.radiator_flow);
    words::put(
        n,
        "oil_warm_up",
        Kind::Time,
        found.warm_up.unwrap_or(f64::NAN),
    );
    if let Some(rated) = &found.rated {
        n.insert("rating".into(), rated_numbers(rated));
    }
    n.insert("steady".into(), json!(steady));
    n.insert("circuit_solves".into(), json!(here.warm.solves));
    let list: Vec<Value> = found
        .looks
        .iter()
        .map(|l| {
            let steady = l.steady();
            let celsius = |t: f64| Kind::Temperature.to_json(t);
            json!({
                "name": l.name,
                "steady": steady,
                "fan_speed_rpm": Kind::Speed.to_json(l.warm.fan_speed),
                "coolant_temp_c": steady.then(|| celsius(l.warm.budget.coolant_temp)),
                "oil_temp_c": steady.then(|| celsius(l.warm.budget.oil_temp)),
                "limiting_ambient_c": l.limiting().map(celsius),
            })
        })
        .collect();
    n.insert("side_by_side".into(), Value::Array(list));
}

fn temp(n: &mut Map<String, Value>, key: &str, t: f64) {
    words::put(n, key, Kind::Temperature, t);
}

/// What the rating points said.
fn rated_numbers(rated: &Rated) -> Value {
    let told: Vec<Value> = rated
        .told
        .iter()
        .map(|t| {
            let kind = t.input.field().kind;
            json!({
                "input": t.input.key(),
                "value": kind.to_json(t.value),
                "half_width": t.half.map(|h| kind.to_json(h)),
                "unit": kind.json_suffix(),
                "told": t.half.is_some(),
            })
        })
        .collect();
    json!({
        "points": rated.off.len(),
        "rank": rated.rank,
        "singular_values": rated.singular,
        "inputs": told,
        "misfit_share": worst(&rated.off),
        "held_out_misfit_share": (!rated.held_out.is_empty()).then(|| worst(&rated.held_out)),
    })
}
