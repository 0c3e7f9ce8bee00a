//! Computes the answer to the heat question.

use super::days::Moves;
use super::draws::Drawn;
use super::reading::Put;
use super::{
    FAR, Found, GEAR, GRADE, Heat, LOAD, Look, Ratio, Residuals, TRAILER, Variant, days, looks,
    noted,
};
use crate::balance::{Asked, NoSteadyState, Warm, stays_hot, time_to_boil};
use crate::law::limiting_ambient_sae_j1393 as j1393;
use crate::model::{Case, Caution, Setup};
use crate::part::Coolant;
use crate::quantity::Kind;
use crate::question::state::warm_cautions;
use crate::question::{Ends, condition};
use crate::trouble::Trouble;
use crate::vary::rating;
use crate::vary::settled::{boiling, warm_up};

impl Found {
    /// Computes the answer to the request.
    pub(super) fn of(request: &Heat) -> Result<Self, Trouble> {
        let setup = &request.setup;
        let mut asked = Asked {
            automatic: !request.command_given && setup.case.fan_control.is_some(),
            fan_speed: request.fan_speed.map(|m| m.value),
            hold_oil: request.is_slowed(),
            ..Asked::STEADY
        };
        let (mut healthy, mut spread) = (on_the_road(&request.healthy, request)?, setup.spread);
        let rated = match &request.rating[..] {
            [] => None,
            points => Some(rating::fit(&healthy, points)?),
        };
        for told in rated.iter().flat_map(|r| &r.told) {
            healthy = healthy.with(told.input, told.value);
            let kept = spread.get(told.input).unwrap_or(0.0);
            spread = spread.with(told.input, told.half.unwrap_or(kept));
        }
        let put = match &request.anchors[..] {
            [] => None,
            anchors => Some(Put::on(&mut healthy, &spread, asked, anchors)?),
        };
        if let Some(ratio) = &request.ratio {
            asked.fan_ratio = ratio.of(&setup.machine, &healthy, 0.0)?;
        }
        let case = request.faulty(&healthy);
        let here = Look::at(Variant::Asked, &case, asked, None)?;
        enough_fuel(request, &here.warm, &spread)?;
        within_power(request, &here.warm, &spread)?;
        setup.stop.check()?;
        let mut side_by_side = looks::side_by_side(request, &healthy, asked, here)?;
        let warm = side_by_side[0].warm;
        let fitted = put.as_ref().map(|p| (&p.0, &warm));
        let drawn = request
            .bands
            .then(|| Drawn::of(request, (&healthy, &spread), fitted));
        if let Some(drawn) = &drawn {
            drawn.judge(&mut side_by_side, asked);
        }
        setup.stop.check()?;
        let moves = drawn.as_ref().map(|drawn| Moves::of(&case, &spread, drawn));
        let map = match request.map {
            true => days::map(request, &case, asked, moves.as_ref())?,
            false => Vec::new(),
        };
        let cool = warm.budget.coolant_temp;
        let hot = stays_hot(&warm, asked).map(|at| Caution::StaysHot { at, cool });
        let fit = put
            .as_ref()
            .map(|(_, fit)| fit.far)
            .filter(|far| *far > FAR);
        let further = hot
            .into_iter()
            .chain(fit.map(|far| Caution::AnchorsFar { far }));
        let opens = |t: &Case| Some(t.thermostat.as_ref()?.is_open(t.coolant.as_ref()?.limit));
        let mut found = Self::of_balance(request, side_by_side);
        found.cautions.extend(further);
        Ok(Self {
            oil_warm_up: warm_up(&case, asked, &warm),
            rating: rated.as_ref().map(Into::into),
            series: days::along_ambient(&case, asked, &warm),
            map,
            opens_at_limit: opens(&case).unwrap_or(false),
            anchored: put.map(|p| p.1),
            time_to_boil: Ends(boils_after(&case, asked, &warm)),
            ..found
        })
    }

    /// The part of the answer that follows from the heat balances; everything else is left empty.
    fn of_balance(request: &Heat, side_by_side: Vec<Look>) -> Self {
        let here = &side_by_side[0];
        let (warm, steady, limiting_ambient) = (here.warm, here.steady, here.limiting_ambient);
        let b = &warm.budget;
        let [coolant, oil, air] = b.left;
        let limit = warm.case.coolant.as_ref().map_or(f64::NAN, |c| c.limit);
        let [boiling_low, boiling_high] = boiling(&warm.case);
        let by_formula = by_formula(request, here, limit);
        let settled = |x: f64| steady.then_some(x);
        Self {
            coolant_temp: settled(b.coolant_temp),
            coolant_band: here.coolant_band,
            chance_of_limit: here.chance_of_limit,
            chance_to_boil: here.chance_to_boil,
            coolant_return_temp: settled(b.return_temp),
            oil_temp: settled(b.oil_temp),
            air_temp: settled(b.air_temp),
            fan_speed: warm.fan_speed,
            command: warm.operating.command,
            airflow: b.airflow.flow,
            face_velocity: b.airflow.speed[..4].to_vec(),
            fan_static_pressure: b.airflow.pressure,
            fuel_heat: b.fuel_heat,
            engine_power: b.engine_power,
            engine_heat: b.engine_heat,
            radiator_heat: b.radiator_heat,
            surface_heat: b.surface_heat,
            cabin_heater_heat: b.cabin_heat,
            condenser_heat: b.condenser_heat,
            condensing_temp: (b.condenser_heat > 0.0).then_some(b.condensing_temp),
            condenser_share: b.condenser_share,
            oil_heat: b.oil_heat,
            oil_engine_heat: b.oil_engine_heat,
            oil_cooler_heat: b.oil_cooler_heat,
            oil_surface_heat: b.oil_surface_heat,
            ahead_heat: b.ahead_heat,
            residuals: Residuals { coolant, oil, air },
            limiting_ambient,
            limiting_band: here.limiting_band,
            limiting_ambient_by_formula: by_formula.map(|f| f.0),
            air_to_boil: by_formula.map(|f| f.1),
            boiling_low,
            boiling_high,
            margin_to_limit: settled(limit - b.coolant_temp),
            margin_to_boiling: settled(boiling_low - b.coolant_temp),
            ambient: warm.case.now.ambient,
            engine_speed: warm.case.now.engine_speed,
            intake_temp: settled(b.intake_temp),
            coolant_flow: b.coolant_flow,
            radiator_flow: b.radiator_flow,
            oil_warm_up: None,
            rating: None,
            steady,
            circuit_solves: warm.solves,
            series: Vec::new(),
            map: Vec::new(),
            setup: Setup {
                case: warm.case,
                ..request.setup.clone()
            },
            gear: condition::gear_on_the_road(&warm.case, request.gear, &request.setup)
                .filter(|_| !request.engine_given),
            limit,
            opens_at_limit: false,
            anchored: None,
            time_to_boil: Ends(None),
            cautions: cautions(request, &warm),
            side_by_side,
        }
    }
}

/// Limiting ambient and air-to-boil temperature, K, by the formula of SAE J1393; `None` where the formula is not valid.
fn by_formula(request: &Heat, here: &Look, limit: f64) -> Option<(f64, f64)> {
    let b = &here.warm.budget;
    let open = here.warm.case.thermostat.as_ref()?.is_open(b.coolant_temp);
    let full = here.warm.operating.command >= 1.0 - 1e-9 || request.fan_speed.is_some();
    // If the coolant cuts out the air conditioning, the heat is not that at the limit.
    let now = &here.warm.case.now;
    let lets = |c: &Coolant| c.lets_air_conditioning(b.coolant_temp) >= 1.0;
    let same = now.air_conditioning <= 0.0 || here.warm.case.coolant.as_ref().is_some_and(lets);
    (here.steady && open && full && same).then(|| {
        (
            j1393::limiting_ambient(limit, b.coolant_temp, b.ambient),
            j1393::air_to_boil(b.coolant_temp, b.ambient),
        )
    })
}

/// An error if the fuel, where its heat is given, is less than even an engine at the ends of twice the ± needs for its
/// power and friction.
fn enough_fuel(request: &Heat, warm: &Warm, spread: &Case) -> Result<(), Trouble> {
    let (now, power) = (&warm.case.now, warm.budget.engine_power);
    let (Some(mut engine), Some(half)) = (warm.case.engine, spread.engine) else {
        return Ok(());
    };
    engine.friction -= 2.0 * half.friction;
    engine.efficiency += 2.0 * half.efficiency;
    let least = engine.fired(now.engine_speed, power, 0.0).fuel;
    if now.fuel_heat <= 0.0 || now.fuel_heat >= least {
        return Ok(());
    }
    let show = |w| request.setup.units.show(Kind::Power, w);
    let found = format!(
        "{} of fuel heat for {} of shaft power",
        show(now.fuel_heat),
        show(power)
    );
    let expected = format!(
        "at least {}, which is shaft power plus friction of this engine divided by its efficiency, even at twice the ±",
        show(least)
    );
    let key = request.fuel_heat.map_or("set", |f| f.0);
    Err(Trouble::input(found, expected)
        .hint("are the unit and the load right?")
        .on(key))
}

/// An error if the work, or the fuel where its heat is given, is more than the engine can do or burn at its speed, even at
/// the end of twice the ±.
fn within_power(request: &Heat, warm: &Warm, spread: &Case) -> Result<(), Trouble> {
    let now = &warm.case.now;
    let (Some(mut engine), Some(half)) = (warm.case.engine, spread.engine) else {
        return Ok(());
    };
    engine.rated_power += 2.0 * half.rated_power;
    let full = request.setup.machine.usual.full.value;
    let show = |w| request.setup.units.show(Kind::Power, w);
    let speed = request.setup.units.show(Kind::Speed, now.engine_speed);
    let most = engine.most_power(now.engine_speed, full);
    let refused = |found: String, most: f64, key: &str| {
        let expected = format!("at most {}, what this engine can at {speed}", show(most));
        let hint = "is the unit right, and the engine speed?";
        Err(Trouble::input(found, expected).hint(hint).on(key))
    };
    if now.work > most {
        return refused(format!("{} of work", show(now.work)), most, LOAD.key);
    }
    engine.friction += 2.0 * half.friction;
    engine.efficiency -= 2.0 * half.efficiency;
    let burnt = engine.fired(now.engine_speed, most, 0.0).fuel;
    if now.fuel_heat > burnt {
        let key = request.fuel_heat.map_or("set", |f| f.0);
        return refused(format!("{} of fuel heat", show(now.fuel_heat)), burnt, key);
    }
    Ok(())
}

/// Minimum and maximum time, s, for coolant at the opening temperature of the thermostat to boil; `None` if it does not
/// boil.
fn boils_after(case: &Case, asked: Asked, warm: &Warm) -> Option<(f64, f64)> {
    match warm.heats? {
        NoSteadyState::Oil => None,
        _ => time_to_boil(case, asked, case.thermostat?.opens).map(|[least, most]| (least, most)),
    }
}

/// Sets the engine speed of a case from gear and road speed, unless the engine speed was given.
pub(super) fn on_the_road(case: &Case, request: &Heat) -> Result<Case, Trouble> {
    if request.engine_given {
        return Ok(*case);
    }
    condition::on_the_road(case, request.gear, &request.setup)
}

/// Collects the cautions to be shown with the result.
fn cautions(request: &Heat, warm: &Warm) -> Vec<Caution> {
    let mut all = warm_cautions(&request.setup, warm);
    let mut add = |when: bool, caution: Caution| {
        if when {
            all.push(caution);
        }
    };
    if let Some(Ratio::Read(reading)) = request.ratio {
        add(true, noted::as_read(&reading, &request.setup.machine));
    }
    if let Some(caution) = request.noted.clone() {
        add(true, caution);
    }
    let typed = |key: &str| request.setup.typed.contains(&key);
    let free = !request.is_slowed();
    let field = "oil_temp";
    add(typed(field) && free, Caution::NoEffect { field });
    let field = "air_temp";
    add(typed(field), Caution::NoEffect { field });
    let now = &warm.case.now;
    let stands = warm.case.vehicle.is_none() || now.road_speed <= 0.0;
    for (given, field) in [
        (now.grade.abs() > 0.0, GRADE.key),
        (now.trailer > 0.0, TRAILER.key),
        (request.gear.is_some(), GEAR.key),
    ] {
        add(given && stands, Caution::OnTheRoadOnly { field });
    }
    all
}
