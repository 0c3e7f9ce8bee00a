//! What are the oils like: the library, one oil over temperature and in a pump's window, a blend of two.

use super::answer::{Answer, Block, Chart, Curve, Mark, Stretch, Table};
use super::words;
use crate::fluid::oil::Curve as Viscosity;
use crate::input::Input;
use crate::input::unit::{MM2_S, celsius};
use crate::law::viscosity_index_astm_d2270 as d2270;
use crate::model::{OilSheet, Posed};
use crate::quantity::{Kind, Units};
use crate::trouble::Trouble;
use crate::vary::sweep::{self, Step};
use serde_json::{Map, Value, json};

/// What gear pumps usually want, m²/s, from thin to thick; the two ends of a pair are different makers' figures. Common
/// practice, no source.
const WINDOWS: [(&str, &str, f64, f64); 4] = [
    ("hot_minimum", "thinnest when hot", 7.4e-6, 12e-6),
    ("good", "good", 16e-6, 40e-6),
    ("running_maximum", "thickest while running", 100e-6, 500e-6),
    ("cold_start", "thickest at a cold start", 1650e-6, 1650e-6),
];

/// What an oil is for such a pump, by the viscosity (m²/s) up to which it is so.
const VERDICTS: [(&str, f64); 7] = [
    ("too thin", 7.4e-6),
    ("thin for some makers", 12e-6),
    ("runs", 16e-6),
    ("good", 40e-6),
    ("runs", 100e-6),
    ("thick for some makers", 500e-6),
    ("start only", 1650e-6),
];

/// Temperatures that are listed, °C.
const LISTED: [f64; 11] = [
    -40.0, -30.0, -20.0, -10.0, 0.0, 20.0, 40.0, 60.0, 80.0, 100.0, 120.0,
];

/// The library as a table.
pub fn library(oils: &[OilSheet], units: Units) -> Answer {
    let mut answer = Answer {
        question: "oil",
        ..Answer::default()
    };
    answer.blocks.push(Block::Headline(format!(
        "{} oils come with the program, by class; no brand is meant.",
        oils.len()
    )));
    let at = |t: f64| format!("at {}", units.show(Kind::Temperature, celsius(t)));
    let mut table = Table {
        title: format!(
            "Viscosity by class, {}",
            units.unit(Kind::KinematicViscosity)
        ),
        heads: vec![
            "key".into(),
            at(40.0),
            at(100.0),
            "index".into(),
            "coldest point".into(),
        ],
        rows: Vec::new(),
        numeric: vec![1, 2, 3, 4],
    };
    let mut sources = Table {
        title: "What they are, and where the numbers come from".into(),
        heads: vec!["key".into(), "oil".into(), "status".into()],
        ..Table::default()
    };
    let mut listed = Vec::new();
    for oil in oils {
        let [nu40, nu100] = [40.0, 100.0].map(|t| viscosity(oil, celsius(t)));
        let (t, nu) = coldest(&oil.curve);
        let index = d2270::viscosity_index(nu40, nu100).map(f64::round);
        table.rows.push(vec![
            oil.key.clone(),
            number(units, nu40),
            number(units, nu100),
            index.map_or("–".into(), |i| format!("{i:.0}")),
            format!(
                "{} at {}",
                number(units, nu),
                units.show(Kind::Temperature, t)
            ),
        ]);
        sources
            .rows
            .push(vec![oil.key.clone(), oil.name.clone(), oil.status.clone()]);
        let mut one = Map::new();
        one.insert("key".into(), json!(oil.key));
        one.insert("name".into(), json!(oil.name));
        put_sheet(&mut one, oil);
        one.insert("status".into(), json!(oil.status));
        listed.push(Value::Object(one));
    }
    answer.blocks.push(Block::Table(table));
    answer.blocks.push(Block::Table(sources));
    answer.blocks.push(Block::Sentence(
        "Viscosity index by ASTM D2270. A fluid of a class may differ from these figures by a tenth and more: its data sheet knows better.".into(),
    ));
    answer.numbers.insert("oils".into(), Value::Array(listed));
    answer
}

/// One oil, and how a machine's pump takes it.
pub fn one(posed: &Posed) -> Result<Answer, Trouble> {
    let (units, oil) = (posed.units, &posed.oil);
    let show = |kind, si| units.show(kind, si);
    let mut answer = Answer {
        question: "oil",
        case: vec![
            ("oil".into(), oil.name.clone()),
            ("machine".into(), posed.machine.name.clone()),
        ],
        ..Answer::default()
    };
    let [nu40, nu100] = [40.0, 100.0].map(|t| viscosity(oil, celsius(t)));
    let index = d2270::viscosity_index(nu40, nu100);
    let warm = posed.machine.usual("oil_temp").value;
    let nu = viscosity(oil, warm);
    answer.blocks.push(Block::Headline(format!(
        "{}: {} at {} and {} at {}, {}.",
        oil.name,
        show(Kind::KinematicViscosity, nu40),
        show(Kind::Temperature, celsius(40.0)),
        show(Kind::KinematicViscosity, nu100),
        show(Kind::Temperature, celsius(100.0)),
        index.map_or("no viscosity index".into(), |i| format!(
            "viscosity index {i:.0}"
        ))
    )));
    let mut say = |text: String| answer.blocks.push(Block::Sentence(text));
    say(format!(
        "At the machine's usual oil temperature of {} it has {}: {}.",
        show(Kind::Temperature, warm),
        show(Kind::KinematicViscosity, nu),
        at_work(nu).replace("mm²/s", units.unit(Kind::KinematicViscosity))
    ));
    let fills = fills_from(posed);
    say(fills
        .iter()
        .map(|(key, t)| match t {
            Some(t) => format!(
                "At {key} engine speed this machine's pump fills once the oil is at about {} or warmer.",
                show(Kind::Temperature, *t)
            ),
            None => format!(
                "At {key} engine speed this machine's pump fills on oil of {} already.",
                show(Kind::Temperature, COLDEST)
            ),
        })
        .collect::<Vec<_>>()
        .join(" "));
    let (cold, hot) = oil.curve.range;
    say(format!(
        "The oil's data reach from {} to {}; beyond them the curve goes on in the same direction.",
        show(Kind::Temperature, cold),
        show(Kind::Temperature, hot)
    ));
    let (chart, series) = over_temperature(units, oil);
    answer.blocks.push(Block::Chart(chart));
    answer.series = series;
    answer.blocks.push(Block::Table(windows(units, oil)));
    answer.blocks.push(Block::Table(listing(units, oil)));
    if !oil.status.is_empty() {
        answer.blocks.push(Block::Sentence(format!(
            "Where its numbers come from: {}",
            oil.status
        )));
    }
    answer.cautions = vec![
        "The windows are those usual for gear pumps, by makers' guides: common practice, no source. This pump's own figures are in its maker's papers.".into(),
        "Only oil that the machine's maker approves: viscosity says nothing of seals, friction and additives.".into(),
    ];
    if cold > celsius(-10.0) {
        answer.cautions.push(format!(
            "This oil has no viscosity point colder than {}: in the cold it may be off by half of the viscosity or more.",
            show(Kind::Temperature, cold)
        ));
    }
    let n = &mut answer.numbers;
    n.insert("name".into(), json!(oil.name));
    put_sheet(n, oil);
    words::put(n, "usual_oil_temperature", Kind::Temperature, warm);
    words::put(n, "usual_viscosity", Kind::KinematicViscosity, nu);
    n.insert("usual_verdict".into(), json!(verdict(nu)));
    for (key, t) in fills {
        let t = t.map(|t| Kind::Temperature.to_json(t));
        n.insert(format!("pump_fills_from_{key}_c"), json!(t));
    }
    let listed = WINDOWS.map(|(key, _, thin, thick)| {
        json!({
            "window": key,
            "viscosity_low_mm2_per_s": Kind::KinematicViscosity.to_json(thin),
            "viscosity_high_mm2_per_s": Kind::KinematicViscosity.to_json(thick),
            "from_c": Kind::Temperature.to_json(oil.curve.temperature(thick)),
            "to_c": Kind::Temperature.to_json(oil.curve.temperature(thin)),
        })
    });
    n.insert("windows".into(), json!(listed));
    n.insert("viscosities".into(), listed_numbers(oil));
    Ok(answer)
}

/// The blend of `share` (by volume) of `b` with the rest of `a`.
pub fn blend(a: &OilSheet, b: &OilSheet, share: f64, units: Units) -> Result<Answer, Trouble> {
    let oil = OilSheet::blend(a, b, share)?;
    let [nu40, nu100] = [40.0, 100.0].map(|t| viscosity(&oil, celsius(t)));
    let index = d2270::viscosity_index(nu40, nu100);
    let show = |si| units.show(Kind::KinematicViscosity, si);
    let degrees = |t: f64| units.show(Kind::Temperature, celsius(t));
    let mut answer = Answer {
        question: "oil",
        case: vec![
            ("first oil".into(), a.name.clone()),
            ("second oil".into(), b.name.clone()),
            ("share of the second".into(), units.show(Kind::Share, share)),
        ],
        ..Answer::default()
    };
    answer.blocks.push(Block::Headline(format!(
        "With {} of the second oil: {} at {} and {} at {}, {}.",
        units.show(Kind::Share, share),
        show(nu40),
        degrees(40.0),
        show(nu100),
        degrees(100.0),
        index.map_or("no viscosity index".into(), |i| format!(
            "viscosity index {i:.0}"
        ))
    )));
    let mut table = Table {
        title: format!(
            "Viscosity over temperature, {}",
            units.unit(Kind::KinematicViscosity)
        ),
        heads: vec![
            "temperature".into(),
            "first oil".into(),
            "second oil".into(),
            "blend".into(),
        ],
        rows: Vec::new(),
        numeric: vec![0, 1, 2, 3],
    };
    for t in LISTED {
        let mut row = vec![degrees(t)];
        row.extend([a, b, &oil].map(|o| number(units, viscosity(o, celsius(t)))));
        table.rows.push(row);
    }
    let (chart, series) = over_share(units, a, b, share)?;
    answer.blocks.push(Block::Chart(chart));
    answer.series = series;
    answer.blocks.push(Block::Table(table));
    answer.blocks.push(Block::Sentence(
        "Blend by ASTM D7152: shares by volume, at each temperature by itself. Where one of the oils is thickened with polymer the rule may be off by 15 %.".into(),
    ));
    answer.cautions = vec![words::COMPATIBILITY.into()];
    let n = &mut answer.numbers;
    n.insert("share".into(), json!(share));
    put_sheet(n, &oil);
    n.insert("viscosities".into(), listed_numbers(&oil));
    Ok(answer)
}

/// Kinematic viscosity of an oil at a temperature (K), m²/s.
fn viscosity(oil: &OilSheet, t: f64) -> f64 {
    oil.oil.now(&oil.curve, t).nu
}

/// A viscosity as a figure for a table whose head has the unit.
fn number(units: Units, nu: f64) -> String {
    let shown = units.show(Kind::KinematicViscosity, nu);
    shown.split(' ').next().unwrap_or(&shown).to_string()
}

/// The coldest point of a curve.
fn coldest(curve: &Viscosity) -> (f64, f64) {
    let first = curve.points().next();
    first.unwrap_or((curve.range.0, curve.viscosity(curve.range.0)))
}

/// What a viscosity is for a gear pump, in a word or two.
fn verdict(nu: f64) -> &'static str {
    let found = VERDICTS.iter().find(|(_, to)| nu < *to);
    found.map_or("too thick to start", |(word, _)| word)
}

/// What a viscosity is for a gear pump, in a sentence.
fn at_work(nu: f64) -> &'static str {
    match verdict(nu) {
        "too thin" => "thinner than makers of gear pumps allow when hot (7.4 to 12 mm²/s)",
        "thin for some makers" => {
            "enough for some makers of gear pumps when hot, too thin for others (7.4 to 12 mm²/s)"
        }
        "good" => "in the window that is good for gear pumps (16 to 40 mm²/s)",
        "runs" => "outside the best window of gear pumps (16 to 40 mm²/s), inside what they run on",
        "thick for some makers" => {
            "thicker than some makers of gear pumps allow while running (100 to 500 mm²/s)"
        }
        _ => "thicker than makers of gear pumps allow while running (100 to 500 mm²/s)",
    }
}

/// The coldest oil at which filling is looked at, K.
const COLDEST: f64 = celsius(-45.0);

/// From which oil temperature upwards the pump fills, at idle and at raised engine speed; nothing where it always does.
fn fills_from(posed: &Posed) -> [(&'static str, Option<f64>); 2] {
    let temperature = Input::find("now.oil_temp").unwrap_or(Input(0));
    let warm = posed.machine.usual("oil_temp").value.max(celsius(40.0));
    let steps = (warm - COLDEST).ceil();
    let grid = sweep::values(COLDEST, COLDEST + steps, steps as usize + 1, false);
    ["idle", "raised"].map(|key| {
        let mut case = posed.case;
        case.now.engine_speed = posed.machine.usual(key).value;
        let steps: Vec<Step> = sweep::sweep(&case, temperature, &grid)
            .into_iter()
            .flatten()
            .collect();
        // Something else may limit a fan whose pump does not fill.
        let last = steps.iter().rposition(|s| s.state.starved());
        (key, last.and_then(|i| steps.get(i + 1)).map(|s| s.x))
    })
}

/// The windows, and between which temperatures the oil lies in each.
fn windows(units: Units, oil: &OilSheet) -> Table {
    let nu = |si| units.show(Kind::KinematicViscosity, si);
    let at = |si| {
        units.show(
            Kind::Temperature,
            oil.curve.temperature(si / oil.oil.thickness),
        )
    };
    Table {
        title: "When the oil lies in the usual windows of gear pumps (common practice, no source)"
            .into(),
        heads: vec!["window".into(), "viscosity".into(), "this oil".into()],
        rows: WINDOWS
            .iter()
            .map(|(key, name, thin, thick)| {
                let (range, when) = match *key {
                    "good" => (
                        format!("{} to {}", number(units, *thin), nu(*thick)),
                        format!("from {} to {}", at(*thick), at(*thin)),
                    ),
                    "cold_start" => (nu(*thick), format!("from {} upwards", at(*thick))),
                    "running_maximum" => (
                        format!("{} to {} by maker", number(units, *thin), nu(*thick)),
                        format!("from {} or {} upwards", at(*thick), at(*thin)),
                    ),
                    _ => (
                        format!("{} to {} by maker", number(units, *thin), nu(*thick)),
                        format!("up to {} or {}", at(*thick), at(*thin)),
                    ),
                };
                vec![(*name).into(), range, when]
            })
            .collect(),
        numeric: Vec::new(),
    }
}

/// The oil at the listed temperatures.
fn listing(units: Units, oil: &OilSheet) -> Table {
    let (cold, hot) = oil.curve.range;
    Table {
        title: "Over temperature".into(),
        heads: vec![
            "temperature".into(),
            "viscosity".into(),
            "density".into(),
            "for a gear pump".into(),
            "".into(),
        ],
        rows: LISTED
            .iter()
            .map(|t| {
                let t = celsius(*t);
                let now = oil.oil.now(&oil.curve, t);
                let inside = t > cold - 0.5 && t < hot + 0.5;
                vec![
                    units.show(Kind::Temperature, t),
                    units.show(Kind::KinematicViscosity, now.nu),
                    units.show(Kind::Density, now.rho),
                    verdict(now.nu).into(),
                    if inside { "" } else { "beyond its data" }.into(),
                ]
            })
            .collect(),
        numeric: vec![0, 1, 2],
    }
}

/// Viscosity over temperature with the windows, and the same as a series.
fn over_temperature(units: Units, oil: &OilSheet) -> (Chart, Table) {
    let grid = sweep::values(celsius(-40.0), celsius(120.0), 161, false);
    let (x, y) = (
        |t| units.number(Kind::Temperature, t),
        |nu| units.number(Kind::KinematicViscosity, nu),
    );
    let mut stretches: Vec<Stretch> = Vec::new();
    for t in &grid {
        let name = verdict(viscosity(oil, *t));
        match stretches.last_mut() {
            Some(last) if last.name == name => last.to = x(*t),
            Some(last) => {
                let border = x(*t - 0.5);
                last.to = border;
                stretches.push(Stretch {
                    name: name.into(),
                    from: border,
                    to: x(*t),
                });
            }
            None => stretches.push(Stretch {
                name: name.into(),
                from: x(*t),
                to: x(*t),
            }),
        }
    }
    let chart = Chart {
        title: "Viscosity over temperature, and what it is for a gear pump".into(),
        x_label: format!("oil temperature, {}", units.unit(Kind::Temperature)),
        y_label: format!("viscosity, {}", units.unit(Kind::KinematicViscosity)),
        y_log: true,
        curves: vec![Curve {
            name: oil.name.clone(),
            points: grid
                .iter()
                .map(|t| (x(*t), y(viscosity(oil, *t))))
                .collect(),
            band: Vec::new(),
        }],
        stretches,
        marks: oil
            .curve
            .points()
            .map(|(t, nu)| Mark {
                name: String::new(),
                x: x(t),
                y: y(nu * oil.oil.thickness),
                spread: 0.0,
            })
            .collect(),
        ..Chart::default()
    };
    let series = Table {
        title: String::new(),
        heads: vec!["temperature_c".into(), "viscosity_mm2_per_s".into()],
        rows: grid
            .iter()
            .map(|t| {
                vec![
                    format!("{:.1}", Kind::Temperature.to_json(*t)),
                    format!("{:.4}", viscosity(oil, *t) / MM2_S),
                ]
            })
            .collect(),
        numeric: vec![0, 1],
    };
    (chart, series)
}

/// Viscosity of the blend over the share of the second oil at a few temperatures, and the same as a series.
fn over_share(
    units: Units,
    a: &OilSheet,
    b: &OilSheet,
    share: f64,
) -> Result<(Chart, Table), Trouble> {
    let temperatures = [-20.0, 0.0, 40.0, 100.0].map(celsius);
    let percent = |x: f64| 100.0 * x;
    let y = |nu| units.number(Kind::KinematicViscosity, nu);
    let blends = sweep::values(0.0, 1.0, 51, false)
        .into_iter()
        .map(|x| Ok((x, OilSheet::blend(a, b, x)?)))
        .collect::<Result<Vec<_>, Trouble>>()?;
    let chosen = OilSheet::blend(a, b, share)?;
    let chart = Chart {
        title: "Viscosity of the blend over the share of the second oil".into(),
        x_label: format!("share of {}, %", b.name),
        y_label: format!("viscosity, {}", units.unit(Kind::KinematicViscosity)),
        y_log: true,
        curves: temperatures
            .iter()
            .map(|t| Curve {
                name: format!("at {}", units.show(Kind::Temperature, *t)),
                points: blends
                    .iter()
                    .map(|(x, oil)| (percent(*x), y(viscosity(oil, *t))))
                    .collect(),
                band: Vec::new(),
            })
            .collect(),
        marks: temperatures
            .iter()
            .map(|t| Mark {
                name: number(units, viscosity(&chosen, *t)),
                x: percent(share),
                y: y(viscosity(&chosen, *t)),
                spread: 0.0,
            })
            .collect(),
        ..Chart::default()
    };
    let mut heads = vec!["share".to_string()];
    heads.extend(temperatures.map(|t| {
        let t = format!("{:.0}", Kind::Temperature.to_json(t)).replace('-', "minus_");
        format!("viscosity_at_{t}_c_mm2_per_s")
    }));
    let series = Table {
        title: String::new(),
        heads,
        rows: blends
            .iter()
            .map(|(x, oil)| {
                let mut row = vec![format!("{x:.2}")];
                row.extend(temperatures.map(|t| format!("{:.4}", viscosity(oil, t) / MM2_S)));
                row
            })
            .collect(),
        numeric: vec![0, 1, 2, 3, 4],
    };
    Ok((chart, series))
}

/// The main figures of an oil under their keys.
fn put_sheet(n: &mut Map<String, Value>, oil: &OilSheet) {
    let [nu40, nu100] = [40.0, 100.0].map(|t| viscosity(oil, celsius(t)));
    words::put(n, "viscosity_at_40_c", Kind::KinematicViscosity, nu40);
    words::put(n, "viscosity_at_100_c", Kind::KinematicViscosity, nu100);
    n.insert(
        "viscosity_index".into(),
        json!(d2270::viscosity_index(nu40, nu100)),
    );
    let (t, nu) = coldest(&oil.curve);
    words::put(n, "coldest_point", Kind::Temperature, t);
    words::put(
        n,
        "viscosity_at_coldest_point",
        Kind::KinematicViscosity,
        nu,
    );
    words::put(n, "data_from", Kind::Temperature, oil.curve.range.0);
    words::put(n, "data_to", Kind::Temperature, oil.curve.range.1);
    words::put(n, "density_at_15_c", Kind::Density, oil.oil.density);
}

/// The viscosities at the listed temperatures.
fn listed_numbers(oil: &OilSheet) -> Value {
    let row = |t: &f64| {
        json!({
            "temperature_c": t,
            "viscosity_mm2_per_s": Kind::KinematicViscosity.to_json(viscosity(oil, celsius(*t))),
        })
    };
    Value::Array(LISTED.iter().map(row).collect())
}
