//! A test sheet to print: what to read, in which condition, with what, and boxes for it.

use super::answer::{Answer, Block, Form};
use super::words;
use crate::model::Posed;
use crate::probe::{ALL, Engine, INSTRUMENTS, Probe, Setting, Use, What};
use crate::quantity::{Kind, Units};
use serde_json::{Map, Value, json};

/// The looks that come before any instrument.
const FIRST: [&str; 8] = [
    "oil level (cold or warm mark, as the service information says)",
    "oil: colour, smell, foam, metal in it",
    "belt: tension, glaze, cracks; pulleys wet with oil",
    "hoses: soft, kinked, rubbed; suction hose drawn flat",
    "leaks: look with cardboard, never with a hand",
    "core: clogged from outside, fins bent",
    "fan: blades whole, turns freely by hand with the engine off",
    "plug and wires of the control valve",
];

/// The tests of a machine in the order of what they cost.
pub fn answer(posed: &Posed) -> Answer {
    let machine = &posed.machine;
    let mut answer = Answer {
        question: "sheet",
        ..Answer::default()
    };
    let blocks = &mut answer.blocks;
    blocks.push(Block::Headline(format!("Test sheet: {}", machine.name)));
    blocks.push(Block::Sentence(
        "From cheap to dear. Fan speed, warm and cold, is worth more than any gauge; so are readings of the same machine when it was well, so keep the filled sheet. What is read goes into a readings file under the names printed small: oilwheel fit and oilwheel suspects take it.".into(),
    ));
    blocks.push(Block::Sentence(
        format!(
            "Every reading needs its error or its instrument (of a gauge class and full scale) and the oil's temperature at that moment; infrared on bare aluminium reads {} too low, so use a dull black spot.",
            words::kelvins(posed.units, 10.0, 30.0)
        ),
    ));
    let line = |name: &str, printed: String| [name.to_string(), String::new(), printed];
    blocks.push(Block::Form(Form {
        title: "The machine".into(),
        rows: vec![
            line("machine, date, hours or km", String::new()),
            line("oil in it", format!("(usual: {})", machine.fill)),
            line("air temperature, altitude", String::new()),
            line("blades, if each was counted", String::new()),
            line("tachometer", String::new()),
            line("thermometer", String::new()),
        ],
        ..Form::default()
    }));
    blocks.push(Block::Form(Form {
        title: "Look first".into(),
        ticks: FIRST.map(String::from).to_vec(),
        ..Form::default()
    }));
    blocks.push(Block::Form(Form {
        title: "Before the engine runs".into(),
        about: words::safety(),
        ..Form::default()
    }));

    let mut tests: Vec<&Probe> = ALL.iter().filter(|p| p.runs_on(machine)).collect();
    tests.sort_by(|a, b| a.effort_minutes.total_cmp(&b.effort_minutes));
    while let Some(first) = tests.first().copied() {
        let (group, rest) = tests.into_iter().partition(|p| {
            p.what == first.what && p.how == first.how && p.instrument == first.instrument
        });
        tests = rest;
        answer.blocks.push(Block::Form(form(posed, &group)));
    }
    answer.numbers.insert(
        "tests".into(),
        ALL.iter()
            .filter(|p| p.runs_on(machine))
            .map(|p| number(posed, p))
            .collect(),
    );
    answer
}

/// What is read, as a title.
fn title(what: What) -> String {
    let words = match what {
        What::Output(output) => output.declaration().help,
        What::InletVacuum => "vacuum at the pump's inlet",
        What::FreeAir => "free air in the oil",
        What::Viscosity => "viscosity of the oil",
        What::CoolantTemp => "coolant temperature where it settles",
        What::HoseDifference => "upper less lower radiator hose",
    };
    let mut letters = words.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string());
    format!("{}{}", first.unwrap_or_default(), letters.as_str())
}

/// What a group of tests has in common, in words.
fn common(group: &[&Probe]) -> String {
    let all = |f: fn(&Setting) -> bool| group.iter().all(|p| f(&p.setting));
    let asked = if all(|s| s.unplugged) {
        ", control valve unplugged"
    } else if all(|s| s.command <= 0.0) {
        ", least fan asked for"
    } else if all(|s| s.command < 1.0) {
        ", less than full fan asked for"
    } else {
        ""
    };
    let warm = match group.first().map(|p| p.what) {
        Some(What::Viscosity | What::FreeAir | What::CoolantTemp | What::HoseDifference) => "",
        _ if all(|s| s.oil_temp.is_none()) => ", oil warm",
        _ if all(|s| s.oil_temp.is_some()) => ", oil cold",
        _ => "",
    };
    let settled = |s: &Setting| s.settled.is_some();
    let driven = |s: &Setting| s.settled.is_some_and(|used| used.road_speed > 0.0);
    let where_ = if all(driven) {
        ", on the road"
    } else if all(settled) {
        ", standing"
    } else {
        ""
    };
    format!("{warm}{asked}{where_}")
}

/// Tests of one kind, as boxes.
fn form(posed: &Posed, group: &[&Probe]) -> Form {
    let (machine, units) = (&posed.machine, posed.units);
    let Some(first) = group.first() else {
        return Form::default();
    };
    let kind = first.what.kind();
    let instrument = INSTRUMENTS.iter().find(|i| i.key == first.instrument);
    let mut about = vec![format!(
        "About {:.0} min. Takes: {}.{}",
        first.effort_minutes,
        first.tools,
        match first.full_scale(machine) {
            Some(scale) => format!(" Full scale about {}.", units.show(kind, scale)),
            None => String::new(),
        }
    )];
    about.push(first.how.to_string());
    if !first.only_where.is_empty() {
        about.push(format!("Only where {}.", first.only_where));
    }
    if first.setting.unplugged {
        let share = machine
            .value(crate::model::INPUTS.control.fail_safe)
            .map_or(1.0, |m| m.value);
        about.push(format!(
            "The machine file says that the unpowered valve stands at {} of full fan; look it up for yours.",
            units.show(Kind::Share, share)
        ));
    }
    let unit = |kind: Kind| units.unit(kind);
    let mut heads = vec![format!("read, {}", unit(kind))];
    heads.push(match instrument {
        Some(i) if i.of_full_scale > 0.0 => "class, full scale".into(),
        _ => "error, or instrument".into(),
    });
    if first.what != What::Viscosity {
        heads.push(format!("engine, {}", unit(Kind::Speed)));
    }
    let settles = first.setting.settled.is_some();
    heads.push(format!(
        "{}, {}",
        if settles { "outer air" } else { "oil" },
        unit(Kind::Temperature)
    ));
    let rows = group
        .iter()
        .map(|p| {
            let mut at = Vec::new();
            let driven = p.setting.settled.is_some_and(|u| u.road_speed > 0.0);
            if p.what != What::Viscosity && !driven {
                let engine = match p.setting.engine {
                    Engine::Idle => "idle",
                    Engine::Raised => "raised",
                    Engine::At(_) => "engine",
                };
                let speed = p.setting.engine_speed(machine);
                at.push(format!("{engine} {}", units.show(Kind::Speed, speed)));
            }
            if p.setting.command <= 0.0 {
                at.push("least fan".into());
            } else if p.setting.command < 1.0 {
                at.push("half fan".into());
            }
            match &p.setting.settled {
                Some(used) => at.extend(uses(units, used)),
                None => at.push(format!(
                    "oil {}",
                    units.show(Kind::Temperature, p.setting.oil_temp(machine))
                )),
            }
            // A number stays with its unit at the end of a line.
            let at = at
                .join(", ")
                .replace(" °", "\u{a0}°")
                .replace(" rpm", "\u{a0}rpm");
            [at, p.key.to_string(), String::new()]
        })
        .collect();
    Form {
        title: format!("{}{}", title(first.what), common(group)),
        about,
        ticks: Vec::new(),
        heads,
        rows,
        cautions: first.cautions.iter().map(|c| (*c).to_string()).collect(),
    }
}

/// How the machine is used while its coolant settles, in words.
fn uses(units: Units, used: &Use) -> Vec<String> {
    let mut at = Vec::new();
    if used.road_speed > 0.0 {
        at.push(units.show(Kind::RoadSpeed, used.road_speed));
    }
    if used.grade > 0.0 {
        at.push(format!("grade {}", units.show(Kind::Share, used.grade)));
    }
    if used.air_conditioning > 0.0 {
        at.push("air conditioning on".into());
    }
    at.push(format!(
        "outer air {}",
        units.show(Kind::Temperature, used.ambient)
    ));
    at
}

/// A test as a program reads it.
fn number(posed: &Posed, probe: &Probe) -> Value {
    let mut one = Map::new();
    one.insert("test".into(), json!(probe.key));
    one.insert("name".into(), json!(probe.name));
    one.insert("effort_minutes".into(), json!(probe.effort_minutes));
    one.insert("instrument".into(), json!(probe.instrument));
    one.insert("unit".into(), json!(probe.what.kind().json_suffix()));
    words::put(
        &mut one,
        "engine_speed",
        Kind::Speed,
        probe.setting.engine_speed(&posed.machine),
    );
    match &probe.setting.settled {
        Some(used) => {
            words::put(&mut one, "ambient", Kind::Temperature, used.ambient);
            words::put(&mut one, "road_speed", Kind::RoadSpeed, used.road_speed);
            one.insert("grade".into(), json!(used.grade));
            one.insert("air_conditioning".into(), json!(used.air_conditioning));
        }
        None => words::put(
            &mut one,
            "oil_temp",
            Kind::Temperature,
            probe.setting.oil_temp(&posed.machine),
        ),
    }
    one.insert("command".into(), json!(probe.setting.command));
    one.insert("unplugged".into(), json!(probe.setting.unplugged));
    one.insert("only_where".into(), json!(probe.only_where));
    Value::Object(one)
}
