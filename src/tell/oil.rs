//! Presents the outcome of `oil` in words and pictures.

use super::Presentation;
use super::answer::{Block, Chart, Curve, Mark, Stretch, Table};
use crate::model::{OilSheet, Setup};
use crate::quantity::{Kind, Units};
use crate::question::Series;
use crate::question::oil::{
    About, AtShare, AtTemperature, Blend, COLDEST, Figures, Found, Library, Oil, One, Window,
    verdict,
};

/// Presents the outcome of the question.
pub fn tell(request: &Oil, found: &Found) -> Presentation {
    let units = request.units;
    let mut told = match (&request.about, found) {
        (About::One(setup), Found::One(found)) => one(setup, found),
        (About::Blend(oils, share), Found::Blend(found)) => blend(oils, *share, found, units),
        (_, Found::Library(found)) => library(found, units),
        _ => Presentation::default(),
    };
    told.cautions = request.cautions();
    told
}

/// A viscosity as a number for a table with the unit in the heading.
fn number(units: Units, nu: f64) -> String {
    let shown = units.show(Kind::KinematicViscosity, nu);
    shown.split(' ').next().unwrap_or(&shown).to_string()
}

/// The main properties of an oil: `35 mm²/s at 40 °C and 7.4 mm²/s at 100 °C, viscosity index 180`.
fn in_short(units: Units, figures: &Figures) -> String {
    let nu = |si| units.show(Kind::KinematicViscosity, si);
    let degrees = |t: f64| units.show(Kind::Temperature, Kind::Temperature.from_json(t));
    let index = figures.viscosity_index;
    format!(
        "{} at {} and {} at {}, {}",
        nu(figures.viscosity_at_40),
        degrees(40.0),
        nu(figures.viscosity_at_100),
        degrees(100.0),
        index.map_or("no viscosity index".into(), |i| format!(
            "viscosity index {i:.0}"
        ))
    )
}

/// A table of the oils in the library.
fn library(found: &Library, units: Units) -> Presentation {
    let mut told = Presentation::default();
    told.headline(format!(
        "The library has {} oils, by class; no brand is implied.",
        found.oils.len()
    ));
    let degrees = |t| units.show(Kind::Temperature, t);
    let at = |t: f64| format!("at {}", degrees(Kind::Temperature.from_json(t)));
    let row = |oil: &crate::question::oil::Listed| {
        let figures = &oil.figures.0;
        let coldest = number(units, figures.viscosity_at_coldest_point);
        let index = figures.viscosity_index;
        vec![
            oil.key.clone(),
            number(units, figures.viscosity_at_40),
            number(units, figures.viscosity_at_100),
            index.map_or("–".into(), |i| format!("{i:.0}")),
            format!("{coldest} at {}", degrees(figures.coldest_point)),
        ]
    };
    told.show(Block::Table(Table {
        title: format!(
            "Viscosity by class, {}",
            units.unit(Kind::KinematicViscosity)
        ),
        heads: vec![
            "key".into(),
            at(40.0),
            at(100.0),
            "viscosity index".into(),
            "coldest value given".into(),
        ],
        rows: found.oils.iter().map(row).collect(),
        numeric: vec![1, 2, 3, 4],
    }));
    let source = |oil: &crate::question::oil::Listed| {
        vec![oil.key.clone(), oil.name.clone(), oil.status.clone()]
    };
    told.show(Block::Table(Table {
        title: "Description and source".into(),
        heads: vec!["key".into(), "oil".into(), "source".into()],
        rows: found.oils.iter().map(source).collect(),
        numeric: Vec::new(),
    }));
    told.say("Viscosity index by ASTM D2270. A fluid of a class may differ from these values by a tenth or more: use its data sheet.");
    told
}

/// One oil, and whether it suits a machine's pump.
fn one(setup: &Setup, found: &One) -> Presentation {
    let (units, oil) = (setup.units, &setup.oil);
    let show = |kind, si| units.show(kind, si);
    let mut told = Presentation {
        assumptions: vec![
            ("oil".into(), oil.name.clone()),
            ("machine".into(), setup.machine.name.clone()),
        ],
        ..Presentation::default()
    };
    let figures = &found.figures.0;
    told.headline(format!("{}: {}.", oil.name, in_short(units, figures)));
    told.say(format!(
        "At the machine's usual oil temperature of {} its viscosity is {}: {}.",
        show(Kind::Temperature, found.usual_temp),
        show(Kind::KinematicViscosity, found.usual_viscosity),
        at_work(found.usual_verdict).replace("mm²/s", units.unit(Kind::KinematicViscosity))
    ));
    let fills = |key: &str, warm: bool, from: Option<f64>| match from {
        _ if !warm => format!(
            "At {key} engine speed this machine's pump does not fill completely even with warm oil."
        ),
        Some(t) => format!(
            "At {key} engine speed this machine's pump fills completely with oil at about {} or warmer.",
            show(Kind::Temperature, t)
        ),
        None => format!(
            "At {key} engine speed this machine's pump fills completely even with oil at {}.",
            show(Kind::Temperature, COLDEST)
        ),
    };
    told.say(format!(
        "{} {}",
        fills("idle", found.idle_warm, found.idle),
        fills("raised", found.raised_warm, found.raised)
    ));
    told.say(format!(
        "The oil's viscosity is given from {} to {}; outside this range the curve is extrapolated.",
        show(Kind::Temperature, figures.data_from),
        show(Kind::Temperature, figures.data_to)
    ));
    told.show(Block::Chart(versus_temperature(units, oil, found)));
    told.show(Block::Table(windows(units, &found.windows)));
    told.show(Block::Table(listing(units, found)));
    if !oil.status.is_empty() {
        told.say(format!("Source of its values: {}", oil.status));
    }
    told.series = Series::of(&found.series);
    told
}

/// What a viscosity means for a gear pump, in words.
fn at_work(verdict: &str) -> &'static str {
    match verdict {
        "too thin" => "thinner than gear pump makers allow when hot (7.4 to 12 mm²/s)",
        "thin for some makers" => {
            "sufficient for some gear pump makers when hot, too thin for others (7.4 to 12 mm²/s)"
        }
        "good" => "in the optimum range of gear pumps (16 to 40 mm²/s)",
        "runs" => "outside the optimum range of gear pumps (16 to 40 mm²/s), but permissible",
        "thick for some makers" => {
            "thicker than some gear pump makers allow in operation (100 to 500 mm²/s)"
        }
        _ => "thicker than gear pump makers allow in operation (100 to 500 mm²/s)",
    }
}

/// The recommended ranges of viscosity (windows), and the temperature range in which the oil is within each.
fn windows(units: Units, found: &[Window]) -> Table {
    let row = |w: &Window| {
        let (thin, thick) = (number(units, w.viscosity_low), w.viscosity_high);
        let thick = units.show(Kind::KinematicViscosity, thick);
        let [from, to] = [w.from, w.to].map(|t| units.show(Kind::Temperature, t));
        let (name, range, when) = match w.window {
            "good" => (
                "good",
                format!("{thin} to {thick}"),
                format!("from {from} to {to}"),
            ),
            "cold_start" => (
                "maximum at cold start",
                thick,
                format!("from {from} upwards"),
            ),
            "running_maximum" => (
                "maximum in operation",
                format!("{thin} to {thick}, depending on the maker"),
                format!("from {from} or {to} upwards"),
            ),
            _ => (
                "minimum when hot",
                format!("{thin} to {thick}, depending on the maker"),
                format!("up to {from} or {to}"),
            ),
        };
        vec![name.into(), range, when]
    };
    Table {
        title: "Temperatures at which this oil is within the usual viscosity windows of gear pumps (common practice, no source)"
            .into(),
        heads: vec!["window".into(), "viscosity".into(), "this oil".into()],
        rows: found.iter().map(row).collect(),
        numeric: Vec::new(),
    }
}

/// A table of the oil's properties at some temperatures.
fn listing(units: Units, found: &One) -> Table {
    let figures = &found.figures.0;
    let row = |at: &AtTemperature| {
        let t = at.temperature;
        let inside = t > figures.data_from - 0.5 && t < figures.data_to + 0.5;
        vec![
            units.show(Kind::Temperature, t),
            units.show(Kind::KinematicViscosity, at.viscosity),
            units.show(Kind::Density, at.density),
            verdict(at.viscosity).into(),
            if inside { "" } else { "extrapolated" }.into(),
        ]
    };
    Table {
        title: "Properties versus temperature".into(),
        heads: ["temperature", "viscosity", "density", "for a gear pump", ""]
            .map(String::from)
            .to_vec(),
        rows: found.viscosities.iter().map(row).collect(),
        numeric: vec![0, 1, 2],
    }
}

/// Viscosity versus temperature, with the recommended ranges shaded.
fn versus_temperature(units: Units, oil: &OilSheet, found: &One) -> Chart {
    let x = |t| units.number(Kind::Temperature, t);
    let y = |nu| units.number(Kind::KinematicViscosity, nu);
    let mut stretches: Vec<Stretch> = Vec::new();
    for at in &found.series {
        let (name, here) = (verdict(at.viscosity), x(at.temperature));
        let mut from = here;
        match stretches.last_mut() {
            Some(last) if last.name == name => {
                last.to = here;
                continue;
            }
            Some(last) => {
                from = x(at.temperature - 0.5);
                last.to = from;
            }
            None => {}
        }
        stretches.push(Stretch {
            name: name.into(),
            from,
            to: here,
        });
    }
    let mark = |(t, nu): (f64, f64)| Mark {
        name: String::new(),
        x: x(t),
        y: y(nu * oil.oil.thickness),
        spread: 0.0,
    };
    let points = found.series.iter();
    Chart {
        title: "Viscosity versus temperature, with the windows of a gear pump".into(),
        x_label: format!("oil temperature, {}", units.unit(Kind::Temperature)),
        y_label: format!("viscosity, {}", units.unit(Kind::KinematicViscosity)),
        y_log: true,
        curves: vec![Curve {
            name: oil.name.clone(),
            points: points.map(|p| (x(p.temperature), y(p.viscosity))).collect(),
            band: Vec::new(),
        }],
        stretches,
        marks: oil.curve.points().map(mark).collect(),
        ..Chart::default()
    }
}

/// A blend of two oils.
fn blend(oils: &[OilSheet; 2], share: f64, found: &Blend, units: Units) -> Presentation {
    let degrees = |t| units.show(Kind::Temperature, t);
    let shown = units.show(Kind::Share, share);
    let mut told = Presentation {
        assumptions: vec![
            ("first oil".into(), oils[0].name.clone()),
            ("second oil".into(), oils[1].name.clone()),
            ("fraction of the second oil".into(), shown.clone()),
        ],
        ..Presentation::default()
    };
    told.headline(format!(
        "With {shown} of the second oil: {}.",
        in_short(units, &found.figures.0)
    ));
    told.show(Block::Chart(versus_share(units, &oils[1].name, found)));
    let [first, second] = &found.parts;
    let rows = first.iter().zip(second).zip(&found.viscosities);
    let row = |((a, b), both): ((&AtTemperature, &AtTemperature), &AtTemperature)| {
        let mut row = vec![degrees(a.temperature)];
        row.extend([a, b, both].map(|o| number(units, o.viscosity)));
        row
    };
    told.show(Block::Table(Table {
        title: format!(
            "Viscosity versus temperature, {}",
            units.unit(Kind::KinematicViscosity)
        ),
        heads: ["temperature", "first oil", "second oil", "blend"]
            .map(String::from)
            .to_vec(),
        rows: rows.map(row).collect(),
        numeric: vec![0, 1, 2, 3],
    }));
    told.say("The blend is computed by ASTM D7152, from fractions by volume, at each temperature separately. If one of the oils is polymer-thickened, the error may reach 15 %.");
    told.series = Series::of(&found.series);
    told
}

/// A temperature, °C, with the function that reads the viscosity at it.
type Isotherm = (f64, fn(&AtShare) -> f64);

/// Viscosity of the blend versus the fraction of the second oil, for some temperatures.
fn versus_share(units: Units, second: &str, found: &Blend) -> Chart {
    let y = |nu| units.number(Kind::KinematicViscosity, nu);
    let all: [Isotherm; 4] = [
        (-20.0, |s| s.at_minus_20),
        (0.0, |s| s.at_0),
        (40.0, |s| s.at_40),
        (100.0, |s| s.at_100),
    ];
    let curve = |(t, nu): &Isotherm| Curve {
        name: format!(
            "at {}",
            units.show(Kind::Temperature, Kind::Temperature.from_json(*t))
        ),
        points: found
            .series
            .iter()
            .map(|s| (100.0 * s.share, y(nu(s))))
            .collect(),
        band: Vec::new(),
    };
    let mark = |(_, nu): &(f64, fn(&AtShare) -> f64)| Mark {
        name: number(units, nu(&found.chosen)),
        x: 100.0 * found.share,
        y: y(nu(&found.chosen)),
        spread: 0.0,
    };
    Chart {
        title: "Viscosity of the blend versus the fraction of the second oil".into(),
        x_label: format!("fraction of {second}, %"),
        y_label: format!("viscosity, {}", units.unit(Kind::KinematicViscosity)),
        y_log: true,
        curves: all.iter().map(curve).collect(),
        marks: all.iter().map(mark).collect(),
        ..Chart::default()
    }
}
