//! How warm do coolant and oil get, how far is that from boiling, and how hot may the day be?

use super::answer::{Answer, Bar, Bars, Block, Chart, Curve, Mark, Table};
use super::words;
use crate::balance::{
    Asked, BARE, COLDEST, Find, Heats, State, Warm, at_limit, crossings, warm, warm_from,
};
use crate::fault;
use crate::fluid::coolant;
use crate::input::Input;
use crate::input::unit::celsius;
use crate::law::fuel_heat_stoichiometric as petrol;
use crate::law::limiting_ambient_sae_j1393 as j1393;
use crate::model::{Ask, Case, Fuel, Machine, OilSheet, Posed, RatingPoint, Shelf};
use crate::numeric::falling_root_by_values;
use crate::part::LUGGING;
use crate::quantity::{Kind, Measure, Units, parse};
use crate::trouble::{Trouble, Troubles};
use crate::vary::rating::{self, Rated, Told};
use crate::vary::sample;
use rayon::prelude::*;
use serde_json::{Value, json};

/// How many cases are drawn for the band.
const DRAWN: usize = 120;
/// The seed they are drawn with.
const SEED: u64 = 20_261_126;
/// Steps along the ambient temperature in the picture.
const STEPS: usize = 31;
/// Points of the map along each axis.
pub const MAP: usize = 40;

/// What is asked.
#[derive(Clone, Debug)]
pub struct Question {
    /// Machine, oil, condition.
    pub posed: Posed,
    /// The command is as the condition says; else the fan's control gives it.
    pub command_given: bool,
    /// The engine speed is as the condition says; else gear and road speed give it on the road.
    pub engine_given: bool,
    /// The gear; else the highest that pulls.
    pub gear: Option<usize>,
    /// A fan speed that is imposed, rad/s.
    pub fan_speed: Option<f64>,
    /// Rating points of the core; none where the machine's own figures hold.
    pub rating: Vec<RatingPoint>,
    /// A reading that sets what is known worst.
    pub anchor: Option<Anchor>,
    /// Oils to hold against this one.
    pub oils: Vec<OilSheet>,
    /// The limiting ambient temperature over road speed and grade as well.
    pub map: bool,
}

/// A reading of the machine at this condition: coolant at a fan speed on a day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Anchor {
    /// Coolant temperature, K.
    pub coolant: Measure,
    /// Fan speed, rad/s.
    pub fan_speed: f64,
    /// Ambient temperature, K.
    pub ambient: f64,
}

/// What `heat` takes beside machine and condition, as typed; nothing where nothing was.
#[derive(Clone, Debug, Default)]
pub struct Typed {
    /// Temperature of the outer air.
    pub ambient: Option<String>,
    /// Road speed.
    pub road_speed: Option<String>,
    /// The gear, from 1.
    pub gear: Option<String>,
    /// Grade of the road.
    pub grade: Option<String>,
    /// Mass of a trailer.
    pub trailer: Option<String>,
    /// Air conditioning is on.
    pub air_conditioning: bool,
    /// Measured fuel flow of a petrol engine.
    pub fuel_flow: Option<String>,
    /// Measured air flow of a petrol engine.
    pub air_flow: Option<String>,
    /// Rating points of the core: what messages call their table, and its text.
    pub rating: Option<(String, String)>,
    /// A fan speed that is imposed.
    pub fan_speed: Option<String>,
    /// A reading such as `98 C at 700 rpm, 30 C ambient`.
    pub anchor: Option<String>,
    /// Oils to hold against this one.
    pub against_oils: Vec<String>,
    /// The limiting ambient temperature over road speed and grade as well.
    pub map: bool,
}

/// Understands what is asked, as typed.
pub fn pose(ask: &Ask, with: &[String], typed: &Typed, shelf: Shelf) -> Result<Question, Troubles> {
    let mut ask = ask.clone();
    let automatic = ask.command.as_deref().map(str::trim) == Some("automatic");
    let given = ask.set.clone();
    if automatic {
        ask.command = None;
    }
    let mut troubles = Vec::new();
    for (key, words) in [
        ("ambient", &typed.ambient),
        ("road_speed", &typed.road_speed),
        ("grade", &typed.grade),
        ("trailer", &typed.trailer),
    ] {
        ask.set
            .extend(words.iter().map(|w| format!("now.{key}={w}")));
    }
    if typed.air_conditioning {
        ask.set.push("now.air_conditioning=1".into());
    }
    let gear = typed.gear.as_ref().and_then(|words| {
        let wrong = |_| Trouble::input(format!("gear `{words}`"), "a whole number from 1");
        let read = words.trim().parse::<usize>().map_err(wrong);
        read.map_err(|t| troubles.push(t.at("--gear"))).ok()
    });
    if typed.fuel_flow.is_some() && typed.air_flow.is_some() {
        let twice = Trouble::input("an air flow beside a fuel flow", "one of the two");
        troubles.push(twice.at("--air-flow"));
    }
    let mut read = |flag: &str, kind: Kind, words: &Option<String>| {
        let read = parse(kind, words.as_ref()?).and_then(|m| {
            let high = m.value >= 0.0 && m.value.is_finite();
            high.then_some(m.value)
                .ok_or_else(|| Trouble::input("a negative value", "0 or more"))
        });
        read.map_err(|t| troubles.push(t.at(flag))).ok()
    };
    let fan_speed = read("--fan-speed", Kind::Speed, &typed.fan_speed);
    let fuel_flow =
        read("--fuel-flow", Kind::Flow, &typed.fuel_flow).map(|q| petrol::from_fuel(PETROL * q));
    let air_flow = read("--air-flow", Kind::MassFlow, &typed.air_flow).map(petrol::from_air);
    let anchor = typed
        .anchor
        .as_deref()
        .and_then(|words| anchor(words).map_err(|t| troubles.push(t)).ok());
    let oils: Vec<OilSheet> = typed
        .against_oils
        .iter()
        .filter_map(|o| shelf.oil(o.trim()).map_err(|t| troubles.extend(t)).ok())
        .collect();
    let rating = typed.rating.as_ref();
    let rating = rating.map(|(source, text)| RatingPoint::all_from_text(source, text));
    let rating = rating.transpose().map_err(|t| troubles.extend(t));
    // What was typed behind a flag is told of that flag.
    let told = |mut trouble: Trouble| {
        if let Some(key) = trouble.spot.source.strip_prefix("--set now.")
            && !given.iter().any(|s| s.contains(key))
        {
            trouble.spot.source = format!("--{}", key.replace('_', "-"));
        }
        trouble
    };
    let posed = ask
        .pose(shelf)
        .map_err(|all| troubles.extend(all.into_iter().map(told)))
        .ok();
    let (Some(mut posed), true) = (posed, troubles.is_empty()) else {
        return Err(troubles);
    };
    fault::put_on(&mut posed, with, "--with")?;
    for (flag, heat) in [("--fuel-flow", fuel_flow), ("--air-flow", air_flow)] {
        if let Some(heat) = heat {
            burns_petrol(flag, &posed.machine).map_err(|t| vec![t])?;
            posed.case.now.fuel_heat = heat;
            let heat = posed.units.show(Kind::Power, heat);
            posed
                .said
                .push(("heat of the fuel, as measured".into(), heat));
        }
    }
    Ok(Question {
        rating: rating.ok().flatten().unwrap_or_default(),
        posed,
        command_given: ask.unplugged || ask.command.is_some(),
        engine_given: ask.engine_speed.is_some(),
        gear,
        fan_speed,
        anchor,
        oils,
        map: typed.map,
    })
}

/// Density of petrol, kg/m³ *(common practice, no source)*.
const PETROL: f64 = 745.0;

/// Whether the heat of what a machine's engine burns can be told from a flow.
fn burns_petrol(flag: &str, machine: &Machine) -> Result<(), Trouble> {
    let (found, hint) = match machine.fuel {
        Some(Fuel::Petrol) => return Ok(()),
        Some(Fuel::Diesel) if flag == "--air-flow" => (
            "the air flow of a diesel, which draws more air than it burns: its fuel does not follow from it",
            "the fuel's heat itself: --set \"now.fuel_heat=30 kW\"",
        ),
        Some(Fuel::Diesel) => (
            "the fuel flow of a diesel: only petrol's heat stands here with a source",
            "the fuel's heat itself (about 10 kWh a litre): --set \"now.fuel_heat=30 kW\"",
        ),
        None => (
            "a flow for an engine of which it is not said what it burns",
            "in the machine file under [choices]: fuel = \"petrol\"; or --set choices.fuel=petrol",
        ),
    };
    Err(Trouble::input(found, "an engine that burns petrol")
        .hint(hint)
        .at(flag))
}

/// A reading such as `98 C at 700 rpm, 30 C ambient`.
fn anchor(words: &str) -> Result<Anchor, Trouble> {
    let wrong = || {
        Trouble::input(
            format!("`{words}`"),
            "coolant, fan speed and outer air, such as \"98 C at 700 rpm, 30 C ambient\"",
        )
        .at("--anchor")
    };
    let (coolant, rest) = words.split_once(" at ").ok_or_else(wrong)?;
    let (fan, ambient) = rest.split_once(',').ok_or_else(wrong)?;
    let ambient = ambient.trim().trim_end_matches("ambient").trim();
    Ok(Anchor {
        coolant: parse(Kind::Temperature, coolant).map_err(|t| t.at("--anchor"))?,
        fan_speed: parse(Kind::Speed, fan).map_err(|t| t.at("--anchor"))?.value,
        ambient: parse(Kind::Temperature, ambient)
            .map_err(|t| t.at("--anchor"))?
            .value,
    })
}

/// A condition with what it comes to.
struct Look {
    name: String,
    warm: Warm,
    /// The state on the day on which the coolant reaches its limit, be there such a day or not.
    limit: Option<Warm>,
}

impl Look {
    /// A case as asked; sought from another look's state where one is near.
    fn at(name: &str, case: &Case, asked: Asked, near: Option<&Look>) -> Result<Self, Trouble> {
        let settled = near.filter(|l| l.warm.heats.is_none());
        Ok(Self {
            name: name.into(),
            warm: warm_from(case, asked, settled.map(|l| &l.warm))?,
            limit: at_limit(case, asked, near.and_then(|l| l.limit.as_ref())),
        })
    }

    /// The ambient temperature at which the coolant reaches its limit, unless no day is that cold.
    fn limiting(&self) -> Option<f64> {
        limiting(self.limit.as_ref()?)
    }
}

fn input(key: &str) -> Input {
    Input::find(key).unwrap_or(Input(0))
}

/// The case on the road: engine speed by gear and road speed.
fn on_the_road(case: &Case, question: &Question) -> Result<Case, Trouble> {
    let mut case = *case;
    let speed = case.now.road_speed;
    let Some(vehicle) = case
        .vehicle
        .filter(|_| speed > 0.0 && !question.engine_given)
    else {
        return Ok(case);
    };
    let idle = question.posed.machine.usual("idle").value;
    let gear = question
        .gear
        .unwrap_or_else(|| vehicle.gear(speed, LUGGING));
    case.now.engine_speed = vehicle.engine_speed(gear, speed, idle).ok_or_else(|| {
        Trouble::input(
            format!("gear {gear}"),
            "a gear that [vehicle] gives a ratio for",
        )
        .at("--gear")
    })?;
    let full = question.posed.machine.usual("full").value;
    if case.now.engine_speed > full {
        let show = |n| question.posed.units.show(Kind::Speed, n);
        return Err(Trouble::input(
            format!(
                "an engine at {} in gear {gear}",
                show(case.now.engine_speed)
            ),
            format!("no more than its full speed, {}", show(full)),
        )
        .hint("a higher gear, or a lower road speed"));
    }
    Ok(case)
}

/// The day of a state at the coolant's limit, unless no day is that cold.
fn limiting(at: &Warm) -> Option<f64> {
    let ambient = at.budget.ambient;
    (ambient > COLDEST).then_some(ambient)
}

/// The input that a reading sets, and its value: at a standstill what comes round again, else the core's conductance.
fn anchored(case: &Case, anchor: &Anchor) -> Result<(Input, f64), Trouble> {
    let standing = case.now.road_speed < 1.0;
    let (key, low, high) = if standing {
        ("air.recirculation", 0.0, 0.8)
    } else {
        ("core.conductance", 0.2, 5.0)
    };
    let set = input(key);
    let now = case.get(set).unwrap_or(0.0);
    let (low, high, sign) = if standing {
        (low, high, 1.0)
    } else {
        (low * now, high * now, -1.0)
    };
    let asked = Asked {
        fan_speed: Some(anchor.fan_speed),
        hold_oil: true,
        ..Asked::STEADY
    };
    let mut there = *case;
    there.now.ambient = anchor.ambient;
    let found = falling_root_by_values(
        |value| {
            let temp = warm(&there.with(set, value), asked)?.budget.coolant_temp;
            Ok::<_, Trouble>(sign * (anchor.coolant.value - temp))
        },
        low,
        high,
    )?;
    match found {
        Ok(value) => Ok((set, value)),
        Err(_) => Err(Trouble::no_answer(
            "an anchor reading that no value of the machine's least known input explains",
            format!("a reading that some {key} between {low:.2} and {high:.2} gives"),
        )
        .hint("is another fault at work, or the condition another than that of the reading?")
        .at("--anchor")),
    }
}

/// Answers the question.
pub fn answer(question: &Question) -> Result<Answer, Trouble> {
    let posed = &question.posed;
    let units = posed.units;
    let temp = |t: f64| units.show(Kind::Temperature, t);
    let asked = Asked {
        automatic: !question.command_given && posed.case.fan_control.is_some(),
        fan_speed: question.fan_speed,
        hold_oil: question.fan_speed.is_some(),
        find: Find::Coolant,
    };
    let (mut case, mut spread) = (on_the_road(&posed.case, question)?, posed.spread);
    let rated = match &question.rating[..] {
        [] => None,
        points => Some(rating::fit(&case, points)?),
    };
    for told in rated.iter().flat_map(|r| &r.told) {
        case = case.with(told.input, told.value);
        let kept = spread.get(told.input).unwrap_or(0.0);
        spread = spread.with(told.input, told.half.unwrap_or(kept));
    }
    let given = case;
    let mut anchor = None;
    if let Some(reading) = &question.anchor {
        let (set, value) = anchored(&case, reading)?;
        // What the reading's error leaves of the ±: its share of the effect.
        let slope = {
            let one = Asked {
                fan_speed: Some(reading.fan_speed),
                hold_oil: true,
                ..asked
            };
            let mut there = case.with(set, value);
            there.now.ambient = reading.ambient;
            let step = 0.01 * value.abs().max(0.05);
            let at = |v: f64| Ok::<_, Trouble>(warm(&there.with(set, v), one)?.budget.coolant_temp);
            (at(value + step)? - at(value - step)?) / (2.0 * step)
        };
        let half = reading.coolant.spread.max(0.5) / slope.abs().max(1e-9);
        case = case.with(set, value);
        // One reading pins the sum of all that heat depends on; the rest keeps no ± of its own here.
        spread = Input::all()
            .filter(|i| {
                i.place() == crate::input::Place::Heat || i.part() == "core" || i.part() == "air"
            })
            .fold(spread, |s, i| s.with(i, 0.0))
            .with(set, half);
        anchor = Some((set, value));
    }

    let here = Look::at("as asked", &case, asked, None)?;
    let b = &here.warm.budget;
    let mut answer = Answer {
        question: "heat",
        case: said(posed, &here.warm.case),
        ..Answer::default()
    };
    let band = if here.warm.heats.is_none() {
        spread_of(posed, &case, &spread, asked, &here.warm)
    } else {
        None
    };
    answer
        .blocks
        .push(Block::Headline(headline(posed, &here, band)));

    let limit = case.coolant.as_ref().map_or(f64::NAN, |c| c.limit);
    let [boiling_low, boiling_high] = words::boiling(&case);
    let steady = here.warm.heats.is_none();
    let oil_heats = here.warm.heats == Some(Heats::Oil);
    let open_at_limit = case.thermostat.as_ref().is_some_and(|t| t.is_open(limit));
    let mut say = |text: String| answer.blocks.push(Block::Sentence(text));
    say(format!(
        "The coolant boils between {} and {} with this cap, mix and altitude (sources differ){}.",
        temp(boiling_low),
        temp(boiling_high),
        match b.coolant_temp {
            _ if oil_heats => String::new(),
            _ if !steady => ", which it reaches".to_string(),
            t if t < boiling_low => format!(
                "; that is {} away at least",
                units.show(Kind::TemperatureDifference, boiling_low - t)
            ),
            t if t < boiling_high => ": it may boil already".to_string(),
            _ => ": it boils".to_string(),
        }
    ));
    say(match here.limiting() {
        Some(ambient) => format!(
            "Limiting ambient temperature: with thermostat open and fan at full command the coolant reaches its limit of {} on a day of {}.",
            temp(limit),
            temp(ambient)
        ),
        None if steady && b.coolant_temp < limit && open_at_limit => format!(
            "No limiting ambient temperature: on hotter days the oil passes {}, where the computation ends, before the coolant reaches its limit.",
            temp(celsius(200.0))
        ),
        None if oil_heats => "No limiting ambient temperature: the oil heats without end before the coolant reaches its limit.".into(),
        None => "No limiting ambient temperature: no day is cold enough, or at the coolant's limit the thermostat would not be full open.".into(),
    });
    let open = case
        .thermostat
        .as_ref()
        .is_some_and(|t| t.is_open(b.coolant_temp));
    let full = here.warm.operating.command >= 1.0 - 1e-9 || question.fan_speed.is_some();
    let by_formula = (steady && open && full).then(|| {
        (
            j1393::limiting_ambient(limit, b.coolant_temp, b.ambient),
            j1393::air_to_boil(b.coolant_temp, b.ambient),
        )
    });
    say(match by_formula {
        Some((formula, boil)) => format!(
            "By the formula of SAE J1393 the limiting ambient temperature is {}, and air-to-boil {}.",
            temp(formula),
            temp(boil)
        ),
        None => "The formula of SAE J1393 and its air-to-boil hold with the thermostat full open and the fan at full command; here they are not.".into(),
    });
    if question.fan_speed.is_some() {
        say(format!(
            "The fan's speed is imposed, so the oil keeps its {}.",
            temp(b.oil_temp)
        ));
    }
    let warm_up = words::warm_up(&case, asked, &here.warm);
    if let Some(time) = warm_up {
        say(format!(
            "From a start at the day's {} the oil takes about {:.0} min to come within {} of its {}.",
            temp(b.ambient),
            (time / 60.0).max(1.0),
            units.show(Kind::TemperatureDifference, words::NEAR),
            temp(b.oil_temp)
        ));
    }
    if let Some(rated) = &rated {
        for text in rated_words(units, rated) {
            say(text);
        }
    }
    say(match anchor {
        Some((set, value)) => format!(
            "Your reading sets {} to {} (given: {}).",
            set.key(),
            units.show(set.field().kind, value),
            units.show(set.field().kind, given.get(set).unwrap_or(f64::NAN))
        ),
        None => format!(
            "Without a reading of your own to anchor them, temperatures and the limiting ambient are credible to about {}; differences between the lines below are better than that.",
            words::credible(units)
        ),
    });

    posed.stop.check()?;
    let looks = what_ifs(question, &case, asked, here)?;
    posed.stop.check()?;
    let here = &looks[0];
    answer
        .blocks
        .push(Block::Table(side_by_side(posed, &looks)));
    let (chart, series) = over_ambient(posed, &case, asked, here, boiling_low, limit);
    answer.blocks.push(Block::Chart(chart));
    answer.series = series;
    let heat = budgets(posed, &here.warm);
    answer.blocks.extend(heat.map(Block::Bars));
    answer.blocks.push(Block::Table(air(posed, &here.warm)));
    if question.map {
        let (chart, series) = map(question, &case, asked)?;
        answer.blocks.push(Block::Chart(chart));
        answer.blocks.push(Block::Sentence(format!(
            "Fan at full command and thermostat open, in the gear that the road speed asks for: a line steps where the gear changes, and ends where the engine lacks the power; a gap is where no such day was found, as where the oil would heat without end. Beyond {} it only says that heat is no worry there.",
            temp(celsius(50.0))
        )));
        answer.series = series;
    }
    answer.blocks.push(Block::Safety(words::safety()));
    answer.cautions = cautions(posed, here, boiling_low);

    let n = &mut answer.numbers;
    let b = &here.warm.budget;
    let or_null = |known: bool, t: f64| if known { t } else { f64::NAN };
    words::put(
        n,
        "coolant_temp",
        Kind::Temperature,
        or_null(steady, b.coolant_temp),
    );
    if let Some((low, high)) = band {
        words::put(n, "coolant_temp_low", Kind::Temperature, low);
        words::put(n, "coolant_temp_high", Kind::Temperature, high);
    }
    words::put(
        n,
        "coolant_return_temp",
        Kind::Temperature,
        or_null(steady, b.return_temp),
    );
    words::put(
        n,
        "oil_temp",
        Kind::Temperature,
        or_null(steady, b.oil_temp),
    );
    words::put(
        n,
        "air_temp",
        Kind::Temperature,
        or_null(steady, b.air_temp),
    );
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
    words::put(
        n,
        "limiting_ambient",
        Kind::Temperature,
        here.limiting().unwrap_or(f64::NAN),
    );
    words::put(
        n,
        "limiting_ambient_by_formula",
        Kind::Temperature,
        by_formula.map_or(f64::NAN, |f| f.0),
    );
    words::put(
        n,
        "air_to_boil",
        Kind::Temperature,
        by_formula.map_or(f64::NAN, |f| f.1),
    );
    words::put(n, "boiling_low", Kind::Temperature, boiling_low);
    words::put(n, "boiling_high", Kind::Temperature, boiling_high);
    words::put(
        n,
        "margin_to_limit",
        Kind::TemperatureDifference,
        or_null(steady, limit - b.coolant_temp),
    );
    words::put(
        n,
        "margin_to_boiling",
        Kind::TemperatureDifference,
        or_null(steady, boiling_low - b.coolant_temp),
    );
    let now = &here.warm.case.now;
    words::put(n, "ambient", Kind::Temperature, now.ambient);
    words::put(n, "engine_speed", Kind::Speed, now.engine_speed);
    words::put(
        n,
        "intake_temp",
        Kind::Temperature,
        or_null(steady, b.intake_temp),
    );
    words::put(n, "coolant_flow", Kind::Flow, b.coolant_flow);
    words::put(n, "radiator_flow", Kind::Flow, b.radiator_flow);
    words::put(n, "oil_warm_up", Kind::Time, warm_up.unwrap_or(f64::NAN));
    if let Some(rated) = &rated {
        n.insert("rating".into(), rated_numbers(rated));
    }
    n.insert("steady".into(), json!(steady));
    n.insert("circuit_solves".into(), json!(here.warm.solves));
    let list: Vec<Value> = looks
        .iter()
        .map(|l| {
            let settled = l.warm.heats.is_none();
            let celsius = |t: f64| Kind::Temperature.to_json(t);
            json!({
                "name": l.name,
                "steady": settled,
                "fan_speed_rpm": Kind::Speed.to_json(l.warm.fan_speed),
                "coolant_temp_c": settled.then(|| celsius(l.warm.budget.coolant_temp)),
                "oil_temp_c": settled.then(|| celsius(l.warm.budget.oil_temp)),
                "limiting_ambient_c": l.limiting().map(celsius),
            })
        })
        .collect();
    n.insert("side_by_side".into(), Value::Array(list));
    Ok(answer)
}

/// Greatest of some shares, without their sign.
fn worst(shares: &[f64]) -> f64 {
    shares.iter().fold(0.0, |most, x| x.abs().max(most))
}

/// What the rating points said.
fn rated_words(units: Units, rated: &Rated) -> Vec<String> {
    let share = |x: f64| units.show(Kind::Share, x);
    let (told, kept): (Vec<&Told>, Vec<&Told>) = rated.told.iter().partition(|t| t.half.is_some());
    let told: Vec<String> = told
        .iter()
        .map(|t| {
            let show = units.show_spread(t.input.field().kind, t.value, t.half.unwrap_or(0.0));
            format!("{} {show}", t.input.key())
        })
        .collect();
    let held = if rated.held_out.is_empty() {
        "no point could be left out to check the rest".to_string()
    } else {
        format!(
            "a point left out is met to within {}",
            share(worst(&rated.held_out))
        )
    };
    let mut said = vec![format!(
        "Your {} rating points set {}; they are met to within {}, and {held}.",
        rated.off.len(),
        told.join(", "),
        share(worst(&rated.off))
    )];
    for one in kept {
        said.push(format!(
            "They do not tell {} ({}), which keeps the machine's {}: points at other {} would.",
            one.input.key(),
            one.input.field().help,
            units.show(one.input.field().kind, one.value),
            if one.input.key() == "core.air_exponent" {
                "air speeds"
            } else {
                "coolant flows"
            }
        ));
    }
    if worst(&rated.held_out) > 0.1 {
        said.push("A point left out is missed by more than a tenth: look for a wrong row, or a core that such a curve does not fit.".into());
    }
    said
}

/// What the rating points said, as numbers.
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

/// What was assumed, with the road's conditions.
fn said(posed: &Posed, case: &Case) -> Vec<(String, String)> {
    let units = posed.units;
    let dropped = [
        "oil temperature",
        "command",
        "air at the fan",
        "engine speed",
    ];
    let mut said: Vec<(String, String)> = posed
        .said
        .iter()
        .filter(|(label, _)| !dropped.contains(&label.as_str()) && !label.starts_with("now."))
        .cloned()
        .collect();
    let now = &case.now;
    let mut say = |label: &str, value: String| said.push((label.into(), value));
    say("engine speed", units.show(Kind::Speed, now.engine_speed));
    say("outer air", units.show(Kind::Temperature, now.ambient));
    say("road speed", units.show(Kind::RoadSpeed, now.road_speed));
    if now.road_speed > 0.0 {
        say("grade", units.show(Kind::Share, now.grade));
    }
    if now.trailer > 0.0 {
        say("trailer", units.show(Kind::Mass, now.trailer));
    }
    say(
        "air conditioning",
        units.show(Kind::Share, now.air_conditioning),
    );
    say("command", units.show(Kind::Share, now.command));
    said
}

fn headline(posed: &Posed, here: &Look, band: Option<(f64, f64)>) -> String {
    let units = posed.units;
    let b = &here.warm.budget;
    let fan = units.show(Kind::Speed, here.warm.fan_speed);
    if let Some(heats) = here.warm.heats {
        return format!("No steady state with the fan at {fan}: {}.", heats.words());
    }
    let [_, boils] = words::boiling(&here.warm.case);
    if b.coolant_temp > boils {
        return format!(
            "The coolant boils: with the fan at {fan} moving {} of air the core gives off what the engine puts in only where the coolant would be hotter than that.",
            units.show(Kind::AirFlow, b.draft.flow)
        );
    }
    let range = band.map_or(String::new(), |(low, high)| {
        format!(
            " ({} to {} within the machine's ±)",
            units.show(Kind::Temperature, low),
            units.show(Kind::Temperature, high)
        )
    });
    format!(
        "The coolant settles at {}{range} and the oil at {}, with the fan at {fan} moving {} of air.",
        units.show(Kind::Temperature, b.coolant_temp),
        units.show(Kind::Temperature, b.oil_temp),
        units.show(Kind::AirFlow, b.draft.flow)
    )
}

/// The band of the coolant's temperature, about 95 %, by sampling; a case without a steady state counts as hottest.
fn spread_of(
    posed: &Posed,
    case: &Case,
    spread: &Case,
    asked: Asked,
    near: &Warm,
) -> Option<(f64, f64)> {
    let together = &posed.machine.correlations;
    let drawn = sample::draw(case, spread, together, DRAWN, SEED);
    let mut found: Vec<f64> = drawn
        .par_iter()
        .filter_map(|c| {
            posed.stop.check().ok()?;
            Some(warm_from(c, asked, Some(near)).ok()?.budget.coolant_temp)
        })
        .collect();
    found.sort_by(f64::total_cmp);
    let at = |p: f64| {
        found
            .get((p * (found.len().max(1) - 1) as f64).round() as usize)
            .copied()
    };
    Some((at(0.025)?, at(0.975)?))
}

fn what_ifs(
    question: &Question,
    case: &Case,
    asked: Asked,
    here: Look,
) -> Result<Vec<Look>, Trouble> {
    let units = question.posed.units;
    let mut others: Vec<(String, Case, Asked)> = Vec::new();
    for oil in &question.oils {
        let mut poured = *case;
        (poured.oil, poured.curve) = (oil.oil, oil.curve);
        others.push((format!("on {}", oil.name), poured, asked));
    }
    if question.fan_speed.is_some() {
        let free = Asked {
            fan_speed: None,
            hold_oil: false,
            ..asked
        };
        others.push(("fan as it should be".into(), *case, free));
    } else {
        let mut full = *case;
        full.now.command = 1.0;
        full.now.oil_temp = here.warm.budget.oil_temp;
        let third = State::of(&full)?.0.fan_speed / 3.0;
        let held = Asked {
            fan_speed: Some(third),
            hold_oil: true,
            ..asked
        };
        let third = units.show(Kind::Speed, third);
        let name = format!("fan at a third of its full speed, {third}");
        others.push((name, *case, held));
    }
    let half = case.with(input("core.blocked"), 0.5);
    others.push(("core half blocked outside".into(), half, asked));
    let looks: Result<Vec<Look>, Trouble> = others
        .par_iter()
        .map(|(name, case, asked)| Look::at(name, case, *asked, Some(&here)))
        .collect();
    let looks = looks?;
    Ok(std::iter::once(here).chain(looks).collect())
}

fn side_by_side(posed: &Posed, looks: &[Look]) -> Table {
    let units = posed.units;
    let temp = |t: f64| units.show(Kind::Temperature, t);
    Table {
        title: "Side by side".into(),
        heads: ["", "fan", "air", "coolant", "oil", "hottest day"]
            .map(String::from)
            .to_vec(),
        rows: looks
            .iter()
            .map(|l| {
                let b = &l.warm.budget;
                let settled = l.warm.heats.is_none();
                vec![
                    l.name.clone(),
                    units.show(Kind::Speed, l.warm.fan_speed),
                    units.show(Kind::AirFlow, b.draft.flow),
                    words::coolant(units, &l.warm),
                    if settled {
                        temp(b.oil_temp)
                    } else {
                        "-".into()
                    },
                    l.limiting().map_or("-".into(), temp),
                ]
            })
            .collect(),
        numeric: vec![1, 2, 3, 4, 5],
    }
}

/// The air: what the fan moves against what, and how fast it passes each part of the core's face.
fn air(posed: &Posed, warm: &Warm) -> Table {
    let units = posed.units;
    let draft = &warm.budget.draft;
    let speed = |k: usize| units.show(Kind::AirSpeed, draft.speed[k]);
    let mut rows = vec![
        vec![
            "airflow at the fan".into(),
            units.show(Kind::AirFlow, draft.flow),
        ],
        vec![
            "static pressure of the fan".into(),
            units.show(Kind::AirPressure, draft.pressure),
        ],
    ];
    let fronts = [&warm.case.front_1, &warm.case.front_2, &warm.case.front_3];
    let mut open = 1.0;
    for (k, front) in fronts.into_iter().enumerate() {
        let Some(front) = front else { continue };
        open -= front.share;
        rows.push(vec![
            format!(
                "face velocity behind {}, {} of the face",
                front.words(),
                units.show(Kind::Share, front.share)
            ),
            speed(k),
        ]);
    }
    if open > 1e-6 {
        let share = units.show(Kind::Share, open);
        rows.push(vec![
            format!("face velocity where nothing stands ahead, {share} of the face"),
            speed(BARE),
        ]);
    }
    Table {
        title: "The air".into(),
        heads: vec!["what".into(), "value".into()],
        rows,
        numeric: vec![1],
    }
}

/// Heat into the coolant and out of it, and the same of the oil; what comes in is positive.
fn budgets(posed: &Posed, warm: &Warm) -> [Bars; 2] {
    let units = posed.units;
    let b = &warm.budget;
    let bars = |title: &str, rows: &[(&str, f64)]| Bars {
        title: title.into(),
        label: format!("heat, {}", units.unit(Kind::Power)),
        rows: rows
            .iter()
            .map(|(name, w)| Bar {
                name: (*name).into(),
                value: units.number(Kind::Power, *w),
                range: None,
                note: String::new(),
            })
            .collect(),
    };
    [
        bars(
            "Heat in and out of the coolant, and into the air ahead of the core",
            &[
                ("engine into coolant", b.engine_heat),
                ("core to air", -b.radiator_heat),
                ("other coolers ahead", b.ahead_heat),
            ],
        ),
        bars(
            "Heat in and out of the oil",
            &[
                ("drive's losses", b.oil_heat),
                ("oil cooler to air", -b.oil_cooler_heat),
                ("surfaces to air", -b.oil_surface_heat),
            ],
        ),
    ]
}

/// Coolant temperature, K, on each of some days, colder ones first; no number where it does not settle. Each day is sought
/// from the one before.
fn coolant_on(days: &[f64], case: &Case, asked: Asked, near: &Warm) -> Vec<f64> {
    const TOO_HOT: f64 = 150.0 + 273.15;
    let mut last = near.heats.is_none().then_some(*near);
    let mut on = |day: &f64| {
        let mut case = *case;
        case.now.ambient = *day;
        let found = warm_from(&case, asked, last.as_ref()).ok()?;
        if found.heats.is_some() {
            return None;
        }
        last = Some(found);
        let temp = found.budget.coolant_temp;
        (temp < TOO_HOT).then_some(temp)
    };
    days.iter().map(|day| on(day).unwrap_or(f64::NAN)).collect()
}

/// Coolant temperature over the day's, as asked and with the core half blocked.
fn over_ambient(
    posed: &Posed,
    case: &Case,
    asked: Asked,
    here: &Look,
    boiling: f64,
    limit: f64,
) -> (Chart, Table) {
    let units = posed.units;
    let y = |t: f64| units.number(Kind::Temperature, t);
    let days: Vec<f64> = (0..STEPS)
        .map(|k| 273.15 - 10.0 + 60.0 * k as f64 / (STEPS - 1) as f64)
        .collect();
    let half = case.with(input("core.blocked"), 0.5);
    let line = |case: &Case| coolant_on(&days, case, asked, &here.warm);
    let (now, blocked) = rayon::join(|| line(case), || line(&half));
    let curve = |name: &str, ys: &[f64]| Curve {
        name: name.into(),
        points: days.iter().zip(ys).map(|(x, t)| (y(*x), y(*t))).collect(),
        band: Vec::new(),
    };
    let marks = if here.warm.heats.is_none() {
        vec![Mark {
            name: "this day".into(),
            x: y(case.now.ambient),
            y: y(here.warm.budget.coolant_temp),
            spread: 0.0,
        }]
    } else {
        Vec::new()
    };
    let unit = units.unit(Kind::Temperature);
    let chart = Chart {
        title: "Coolant over the day's temperature".into(),
        x_label: format!("outer air, {unit}"),
        y_label: format!("coolant, {unit}"),
        curves: vec![
            curve("as asked", &now),
            curve("core half blocked", &blocked),
        ],
        marks,
        levels: vec![
            ("may boil from here".into(), y(boiling)),
            ("limit".into(), y(limit)),
        ],
        ..Chart::default()
    };
    let celsius = |t: f64| {
        if t.is_finite() {
            format!("{:.2}", t - 273.15)
        } else {
            String::new()
        }
    };
    let table = Table {
        title: String::new(),
        heads: ["ambient_c", "coolant_temp_c", "coolant_temp_half_blocked_c"]
            .map(String::from)
            .to_vec(),
        rows: days
            .iter()
            .zip(now.iter().zip(&blocked))
            .map(|(x, (a, b))| vec![celsius(*x), celsius(*a), celsius(*b)])
            .collect(),
        numeric: vec![0, 1, 2],
    };
    (chart, table)
}

/// Limiting ambient temperature over road speed and grade.
fn map(question: &Question, case: &Case, asked: Asked) -> Result<(Chart, Table), Trouble> {
    let units = question.posed.units;
    if case.vehicle.is_none() {
        return Err(Trouble::input(
            "a map for a machine without [vehicle]",
            "a machine that drives",
        )
        .at("--map"));
    }
    let steps = |from: f64, by: f64| (0..MAP).map(move |k| from + by * k as f64);
    let grades: Vec<f64> = steps(0.0, 0.003).collect();
    let speeds: Vec<f64> = steps(20.0 / 3.6, 2.5 / 3.6).collect();
    let free = Question {
        engine_given: false,
        map: false,
        ..question.clone()
    };
    let rows: Vec<Vec<Option<f64>>> = grades
        .par_iter()
        .map(|grade| {
            if question.posed.stop.check().is_err() {
                return Vec::new();
            }
            let mut near: Option<Warm> = None;
            speeds
                .iter()
                .map(|speed| {
                    let mut there = *case;
                    there.now.grade = *grade;
                    // A flow that was measured belongs to its own condition.
                    there.now.fuel_heat = 0.0;
                    there.now.road_speed = *speed;
                    let there = on_the_road(&there, &free).ok()?;
                    if !within_power(&there) {
                        return None;
                    }
                    near = at_limit(&there, asked, near.as_ref());
                    limiting(near.as_ref()?)
                })
                .collect()
        })
        .collect();
    let y = |t: Option<f64>| t.map_or(f64::NAN, |t| units.number(Kind::Temperature, t));
    let curves = rows
        .iter()
        .zip(&grades)
        .step_by(MAP / 4)
        .map(|(row, grade)| Curve {
            name: format!("grade {}", units.show(Kind::Share, *grade)),
            points: speeds
                .iter()
                .zip(row)
                .map(|(v, t)| (units.number(Kind::RoadSpeed, *v), y(*t)))
                .collect(),
            band: Vec::new(),
        })
        .collect();
    let chart = Chart {
        title: "How hot the day may be, over road speed and grade".into(),
        x_label: format!("road speed, {}", units.unit(Kind::RoadSpeed)),
        y_label: format!(
            "limiting ambient temperature, {}",
            units.unit(Kind::Temperature)
        ),
        curves,
        ..Chart::default()
    };
    let table = Table {
        title: String::new(),
        heads: ["grade_percent", "road_speed_kmh", "limiting_ambient_c"]
            .map(String::from)
            .to_vec(),
        rows: grades
            .iter()
            .zip(&rows)
            .flat_map(|(grade, row)| {
                speeds.iter().zip(row).map(move |(speed, t)| {
                    vec![
                        format!("{:.3}", 100.0 * grade),
                        format!("{:.2}", 3.6 * speed),
                        t.map_or(String::new(), |t| format!("{:.2}", t - 273.15)),
                    ]
                })
            })
            .collect(),
        numeric: vec![0, 1, 2],
    };
    Ok((chart, table))
}

/// Whether the engine has the power that road and load ask for, the fan's pump apart.
fn within_power(case: &Case) -> bool {
    let (Some(engine), Some(vehicle)) = (&case.engine, &case.vehicle) else {
        return true;
    };
    let now = &case.now;
    let rho = crate::fluid::air::density(now.altitude, now.ambient);
    vehicle.road_power(now.road_speed, now.grade, now.trailer, rho) + engine.accessories
        <= engine.rated_power
}

fn cautions(posed: &Posed, here: &Look, boiling: f64) -> Vec<String> {
    let w = &here.warm;
    let mut said = words::cautions(posed, &w.state, w.operating.limit);
    if let Some(heats) = w.heats {
        said.push(format!(
            "No steady state: {}. Stop before it boils.",
            heats.words()
        ));
        if heats == Heats::Coolant || heats == Heats::Oil {
            said.push(
                "The figures below are those at the end of the search, not of a machine at rest."
                    .into(),
            );
        }
    } else if w.budget.coolant_temp > boiling {
        said.push("The coolant would boil. Past that point the heat balance means nothing.".into());
    }
    if let Some(c) = &w.case.coolant
        && w.heats.is_none()
        && w.budget.coolant_temp > c.limit
    {
        said.push(format!(
            "The coolant is above its limit of {}.",
            posed.units.show(Kind::Temperature, c.limit)
        ));
    }
    if let Some(c) = &w.case.coolant
        && w.case.now.ambient < coolant::freezing(c.glycol)
    {
        said.push(format!(
            "With {} glycol the coolant freezes at {}: on such a day it bursts what it stands in once the engine is off.",
            posed.units.show(Kind::Share, c.glycol),
            posed
                .units
                .show(Kind::Temperature, coolant::freezing(c.glycol))
        ));
    }
    if w.heats.is_none() && w.budget.oil_temp > 366.15 {
        said.push(format!(
            "The oil is above {}, more than such drives are meant for.",
            posed.units.show(Kind::Temperature, celsius(93.0))
        ));
    }
    if w.case
        .engine
        .is_some_and(|e| w.budget.engine_power > e.rated_power)
    {
        said.push("The engine does not have the power that this takes: it would slow down.".into());
    }
    if crossings(&w.case) > 1 {
        said.push("More than one fan speed balances here, as air drives the fan: the speed shown is one of them.".into());
    }
    if w.case.now.road_speed < 1.0 {
        said.push("At a standstill the temperature turns on how much air comes round again, which is a judgment, and on a few tens of fan rpm.".into());
    }
    said
}
