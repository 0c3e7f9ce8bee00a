//! Presents `sheet` as a form to fill in by hand.

use super::answer::{Block, Form};
use super::{Presentation, caution, hazard, inputs, words};
use crate::model::{Hazard, Setup};
use crate::probe::{Engine, INSTRUMENTS, Probe, Setting, Use, What};
use crate::quantity::{Kind, Units};
use crate::question::sheet::{Found, Sheet, SheetTest};

/// The visual inspections to be made before any measurement.
const FIRST: [&str; 8] = [
    "oil level (cold or warm mark, according to the service information)",
    "oil: colour, smell, foam, metal particles",
    "belt: tension, glaze, cracks; pulleys wet with oil",
    "hoses: soft, kinked, chafed; suction hose collapsed",
    "leaks: look with cardboard, never with a hand",
    "core: clogged outside, fins bent",
    "fan: blades intact, turns freely by hand with the engine off",
    "connector and wires of the control valve",
];

/// Presents the outcome, with the tests ordered from cheap to expensive.
pub fn tell(request: &Sheet, found: &Found) -> Presentation {
    let setup = &request.setup;
    let mut told = Presentation {
        case: inputs(setup),
        ..Presentation::default()
    };
    told.headline(format!("Test sheet: {}", setup.machine.name));
    if !request.all {
        told.say("These tests need reflecting tape and a tachometer. Keep the completed sheet: readings from when the machine is healthy are worth most.");
    }
    if request.all {
        told.say("The tests go from cheap to expensive. Fan speeds with warm and with cold oil tell more than any gauge. So do readings from when the same machine was healthy: keep the completed sheet. Enter the readings in a readings file under the names in small print; `oilwheel fit` and `oilwheel suspects` read that file.");
        told.say(format!(
        "With every reading note its error or the instrument (for a gauge, its class and full scale), and the oil temperature at that moment. An infrared thermometer reads {} too low on bare aluminium: aim it at a matt black spot.",
        words::kelvins(setup.units, 10.0, 30.0)
    ));
    }
    let [machine, look, safety] = before(request, found);
    told.show(Block::Form(machine));
    if request.all {
        told.show(Block::Form(look));
    }
    told.show(Block::Form(safety));
    let mut tests: Vec<&SheetTest> = found.tests.iter().collect();
    tests.sort_by(|a, b| a.effort_minutes.total_cmp(&b.effort_minutes));
    while let Some(first) = tests.first().map(|t| t.probe) {
        let alike = |t: &&SheetTest| {
            let p = t.probe;
            // The single page saves room; the whole sheet goes strictly from cheap to expensive.
            let cost = p.effort_minutes.total_cmp(&first.effort_minutes);
            p.what == first.what
                && p.how == first.how
                && p.instrument == first.instrument
                && (cost.is_eq() || !request.all)
        };
        let (group, rest): (Vec<_>, Vec<_>) = tests.into_iter().partition(alike);
        tests = rest;
        let probes: Vec<&Probe> = group.iter().map(|t| t.probe).collect();
        let mut form = form(setup, first, &probes);
        if !request.all {
            form.cautions.clear();
        }
        told.show(Block::Form(form));
    }
    told
}

/// The parts of the form that come before the tests.
fn before(request: &Sheet, found: &Found) -> [Form; 3] {
    let setup = &request.setup;
    let line = |name: &str, printed: String| [name.to_string(), String::new(), printed];
    let oil = line("oil", format!("(usual: {})", setup.machine.fill));
    let rows = match request.all {
        true => vec![
            line("machine, date, hours or km", String::new()),
            oil,
            line("air temperature, altitude", String::new()),
            line(
                "number of blades, if the tachometer counted each",
                String::new(),
            ),
            line("tachometer", String::new()),
            line("thermometer", String::new()),
        ],
        false => vec![
            line("machine, date, hours or km", String::new()),
            oil,
            line(
                "air temperature; number of blades, if counted",
                String::new(),
            ),
        ],
    };
    let machine = Form {
        title: "The machine".into(),
        rows,
        ..Form::default()
    };
    let look = Form {
        title: "Look first".into(),
        ticks: FIRST.map(String::from).to_vec(),
        ..Form::default()
    };
    // The single page lists the hazards of its own tests, each once.
    let mut own: Vec<Hazard> = Vec::new();
    for hazard in found.tests.iter().flat_map(|t| &t.hazards) {
        if !own.contains(hazard) {
            own.push(*hazard);
        }
    }
    let safety = Form {
        title: "Before the engine runs".into(),
        about: match request.all {
            true => caution::safety(),
            false => hazard::lines(&own),
        },
        ..Form::default()
    };
    [machine, look, safety]
}

/// The form for tests of one kind.
fn form(setup: &Setup, first: &Probe, group: &[&Probe]) -> Form {
    let units = setup.units;
    let rows = group.iter().map(|p| {
        // Non-breaking spaces keep a number and its unit on one line.
        let at = condition(setup, p)
            .replace(" °", "\u{a0}°")
            .replace(" rpm", "\u{a0}rpm");
        [at, p.key.to_string(), String::new()]
    });
    Form {
        title: format!("{}{}", title(first.what), common(group)),
        about: about(setup, first, group),
        ticks: Vec::new(),
        heads: heads(units, first),
        rows: rows.collect(),
        cautions: hazard::lines(first.hazards),
    }
}

/// The instructions for a group of tests.
fn about(setup: &Setup, first: &Probe, group: &[&Probe]) -> Vec<String> {
    let (machine, units) = (&setup.machine, setup.units);
    let scale = first.full_scale(machine).map_or(String::new(), |scale| {
        let scale = units.show(first.what.kind(), scale);
        format!(" Full scale of the instrument: about {scale}.")
    });
    let longest = group.iter().map(|p| p.effort_minutes).fold(0.0, f64::max);
    let upto = match longest > first.effort_minutes {
        true => format!(" to {longest:.0}"),
        false => String::new(),
    };
    let mut about = vec![
        format!(
            "About {:.0}{upto} min each. Tools: {}.{scale}",
            first.effort_minutes, first.tools
        ),
        first.how.to_string(),
    ];
    if !first.only_where.is_empty() {
        about.push(format!("Possible only if {}.", first.only_where));
    }
    if first.setting.unplugged {
        about.push(format!(
            "According to the machine file, the unpowered valve is at {} command; look this up for your machine.",
            units.show(Kind::Share, setup.case.control.fail_safe)
        ));
    }
    about
}

/// The headings of the boxes.
fn heads(units: Units, first: &Probe) -> Vec<String> {
    let unit = |kind: Kind| units.unit(kind);
    let instrument = INSTRUMENTS.iter().find(|i| i.key == first.instrument);
    let of_scale = instrument.is_some_and(|i| i.of_full_scale > 0.0);
    let mut heads = vec![
        format!("reading, {}", unit(first.what.kind())),
        match of_scale {
            true => "class, full scale".into(),
            false => "error, or instrument".into(),
        },
    ];
    if first.what != What::Viscosity {
        heads.push(format!("engine, {}", unit(Kind::Speed)));
    }
    let of = match first.setting.settled {
        Some(_) => "ambient air",
        None => "oil",
    };
    heads.push(format!("{of}, {}", unit(Kind::Temperature)));
    heads
}

/// The measured quantity, as a title.
fn title(what: What) -> String {
    words::capitalized(match what {
        What::Output(output) => output.declaration().help,
        What::InletVacuum => "vacuum at the pump inlet",
        What::FreeAir => "free air in the oil",
        What::Viscosity => "viscosity of the oil",
        What::CoolantTemp => "steady coolant temperature",
        What::HoseDifference => "temperature of the upper minus the lower radiator hose",
        What::Fact(input) => input.field().help,
    })
}

/// What the conditions of a group of tests have in common, in words.
fn common(group: &[&Probe]) -> String {
    let all = |f: fn(&Setting) -> bool| group.iter().all(|p| f(&p.setting));
    let asked = if all(|s| s.unplugged) {
        ", control valve unplugged"
    } else if all(|s| s.command <= 0.0) {
        ", minimum command"
    } else if all(|s| s.command < 1.0) {
        ", part command"
    } else {
        ""
    };
    let warm = match group.first().map(|p| p.what) {
        Some(What::Viscosity | What::FreeAir | What::CoolantTemp | What::HoseDifference) => "",
        _ if all(|s| s.oil_temp.is_none()) => ", oil warm",
        _ if all(|s| s.oil_temp.is_some()) => ", oil cold",
        _ => "",
    };
    let place = if all(driven) {
        ", on the road"
    } else if all(|s| s.settled.is_some()) {
        ", at standstill"
    } else {
        ""
    };
    format!("{warm}{asked}{place}")
}

/// Whether a test is made while driving.
fn driven(setting: &Setting) -> bool {
    setting.settled.is_some_and(|used| used.road_speed > 0.0)
}

/// The condition of a test, in words.
fn condition(setup: &Setup, probe: &Probe) -> String {
    let (machine, units, setting) = (&setup.machine, setup.units, &probe.setting);
    let mut at = Vec::new();
    if probe.what != What::Viscosity && !driven(setting) {
        let engine = match setting.engine {
            Engine::Idle => "idle",
            Engine::Raised => "raised",
            Engine::At(_) => "engine",
        };
        let speed = units.show(Kind::Speed, setting.engine_speed(machine));
        at.push(format!("{engine} {speed}"));
    }
    if setting.command <= 0.0 {
        at.push("minimum fan command".into());
    } else if setting.command < 1.0 {
        at.push("half fan command".into());
    }
    match &setting.settled {
        Some(used) => at.extend(uses(units, used)),
        None => {
            let oil = units.show(Kind::Temperature, setting.oil_temp(machine));
            at.push(format!("oil {oil}"));
        }
    }
    at.join(", ")
}

/// How to operate the machine until the coolant temperature is steady, in words.
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
    let ambient = units.show(Kind::Temperature, used.ambient);
    at.push(format!("ambient air {ambient}"));
    at
}
