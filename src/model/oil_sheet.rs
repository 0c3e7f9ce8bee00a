//! An oil as its data sheet describes it: from a file, or from a line such as `40C=35 cSt, 100C=7.4 cSt, 15C=850
//! kg/m3`.

use super::caution::Caution;
use super::read::{Reader, Section, in_range};
use crate::fluid::oil::{Curve, Oil};
use crate::input::unit::{BAR, celsius};
use crate::quantity::{Kind, Measure, Units, parse};
use crate::trouble::{Trouble, Troubles};

/// An oil: its curve and properties, with their uncertainty.
#[derive(Clone, Debug, PartialEq)]
pub struct OilSheet {
    /// Key by which the oil is selected; empty for an oil typed as a line.
    pub key: String,
    /// Name of the oil.
    pub name: String,
    /// Source of the oil's values.
    pub status: String,
    /// Viscosity curve of the oil.
    pub curve: Curve,
    /// Other properties of the oil.
    pub oil: Oil,
    /// The uncertainty of these properties, as half-widths of about 95 %.
    pub spread: Oil,
    /// For each property, in the order of the fields: whether its uncertainty is a factor.
    pub factors: Vec<bool>,
}

/// One entry of a data sheet.
enum Entry {
    Viscosity(f64, f64),
    Density(f64, f64),
}

/// Parses `40 °C = 35 mm2/s` or `15 °C = 850 kg/m3`.
fn entry(words: &str) -> Result<Entry, Trouble> {
    let Some((temperature, value)) = words.split_once('=') else {
        return Err(Trouble::input(
            format!("`{}`", words.trim()),
            "temperature = viscosity, such as 40 °C = 35 mm2/s",
        ));
    };
    let t = parse(Kind::Temperature, temperature.trim())?.value;
    let value = value.trim();
    match (
        parse(Kind::KinematicViscosity, value),
        parse(Kind::Density, value),
    ) {
        (Ok(nu), _) => Ok(Entry::Viscosity(t, nu.value)),
        (_, Ok(rho)) => Ok(Entry::Density(t, rho.value)),
        (Err(trouble), _) => Err(Trouble {
            expected: "a viscosity such as 35 mm2/s (35 cSt) or a density such as 850 kg/m3".into(),
            ..trouble
        }),
    }
}

/// The density at 15 °C of an oil that has the density `rho` at temperature `t` (K), from its coefficient of thermal
/// expansion.
fn density_at_15(oil: &Oil, t: f64, rho: f64) -> f64 {
    rho / (1.0 - oil.expansion * (t - celsius(15.0)))
}

impl OilSheet {
    /// Parses a line such as `40C=35 cSt, 100C=7.4 cSt, 15C=850 kg/m3`.
    pub fn from_line(line: &str) -> Result<Self, Troubles> {
        let mut troubles = Vec::new();
        let mut points = Vec::new();
        let (mut oil, spread) = usual();
        for words in line.split([',', ';']).filter(|w| !w.trim().is_empty()) {
            match entry(words) {
                Ok(Entry::Viscosity(t, nu)) => points.push((t, nu)),
                Ok(Entry::Density(t, rho)) => oil.density = density_at_15(&oil, t, rho),
                Err(trouble) => troubles.push(trouble),
            }
        }
        let density = Oil::<f64>::FIELDS.iter().find(|f| f.key == "density");
        if let Some(Err(t)) = density.map(|f| in_range(f, Measure::exact(oil.density), Units::Si)) {
            troubles.push(t);
        }
        if !troubles.is_empty() {
            return Err(troubles);
        }
        let curve = Curve::new(&points).map_err(|t| vec![t])?;
        Ok(Self {
            key: String::new(),
            name: format!("oil of {}", line.trim()),
            status: "as typed".into(),
            curve,
            oil,
            spread,
            factors: Vec::new(),
        })
    }

    /// Parses the text of an oil file; `source` is the file's name in messages.
    pub fn from_text(source: &str, text: &str) -> Result<Self, Troubles> {
        let mut reader = Reader::new(source, text);
        let document = reader.document();
        let all = Section::whole(&document);
        reader.refuse_unknown(
            &all,
            &["name", "status", "data", "oil"],
            "`name`, `status`, `data` or [oil]",
        );
        let word = |found: Option<(&str, _)>| found.map(|(w, _)| w.to_string()).unwrap_or_default();
        let name = word(reader.words(&all, "name"));
        let status = word(reader.words(&all, "status"));
        let (mut oil, mut spread) = usual();
        let mut factors = vec![false; Oil::<f64>::FIELDS.len()];
        if let Some(section) = reader.section(all.table, "oil") {
            let fields = reader.part(&section, "oil", Oil::<f64>::FIELDS);
            let given = |i: usize| {
                let field = Oil::<f64>::FIELDS.get(i);
                field.is_some_and(|f| section.table.contains_key(f.key))
            };
            for (i, measure) in fields.into_iter().enumerate().filter(|(i, _)| given(*i)) {
                if let (Some(m), Some(v), Some(s)) = (measure, oil.slot(i), spread.slot(i)) {
                    (*v, *s) = (m.value, m.spread);
                    factors[i] = m.factor;
                }
            }
        }
        let mut points = Vec::new();
        let mut data_span = 0..0;
        for (words, span) in reader.list(&all, "data") {
            match entry(words) {
                Ok(Entry::Viscosity(t, nu)) => points.push((t, nu)),
                Ok(Entry::Density(t, rho)) => oil.density = density_at_15(&oil, t, rho),
                Err(trouble) => reader.note(trouble, span.clone()),
            }
            data_span = span;
        }
        if all.table.get("data").is_none() {
            let expected = "data = [\"40 °C = 35 mm2/s\", \"100 °C = 7.4 mm2/s\"]";
            reader.note(Trouble::input("the oil file has no `data`", expected), 0..0);
            return Err(reader.troubles);
        }
        let curve = Curve::new(&points);
        if !reader.troubles.is_empty() {
            return Err(reader.troubles);
        }
        match curve {
            Ok(curve) => Ok(Self {
                key: source.to_string(),
                name,
                status,
                curve,
                oil,
                spread,
                factors,
            }),
            Err(trouble) => {
                reader.note(trouble, data_span);
                Err(reader.troubles)
            }
        }
    }

    /// Blends a volume fraction `share` (0 to 1) of oil `b` with oil `a` as the rest: viscosity by ASTM D7152, density
    /// by volume, all other properties in proportion. The result does not imply that the two oils are compatible.
    pub fn blend(a: &Self, b: &Self, share: f64) -> Result<Self, Trouble> {
        let of_b = share.clamp(0.0, 1.0);
        let curve = Curve::blend(&[
            (1.0 - of_b, &a.curve, a.oil.thickness),
            (of_b, &b.curve, b.oil.thickness),
        ])?;
        let mixed = |a: f64, b: f64| (1.0 - of_b) * a + of_b * b;
        let between = |a: &Oil, b: &Oil| {
            let mut b = *b;
            a.map(&mut |i, v| b.slot(i).map_or(*v, |theirs| mixed(*v, *theirs)))
        };
        let mut oil = between(&a.oil, &b.oil);
        // The blended curve already includes the viscosity factors. The expansion is chosen so that the density is the
        // average by volume at every temperature.
        oil.thickness = 1.0;
        oil.expansion = mixed(
            a.oil.density * a.oil.expansion,
            b.oil.density * b.oil.expansion,
        ) / oil.density;
        let percent = |x: f64| Units::Si.show(Kind::Share, x);
        Ok(Self {
            key: String::new(),
            name: format!(
                "{} {}, {} {}",
                percent(1.0 - of_b),
                a.name,
                percent(of_b),
                b.name
            ),
            status: format!("Blend by ASTM D7152 of: {} And of: {}", a.status, b.status),
            curve,
            oil,
            spread: between(&a.spread, &b.spread),
            factors: Vec::new(),
        })
    }

    /// The cautions for this oil at a temperature, K.
    pub fn cautions(&self, at: f64) -> Vec<Caution> {
        let (cold, warm) = self.curve.range;
        let mut all = Vec::new();
        if at < cold - 0.5 && at < celsius(0.0) {
            all.push(Caution::OilBelowData { at, coldest: cold });
        } else if at < cold - 20.0 || at > warm + 20.0 {
            let (from, to) = (cold, warm);
            all.push(Caution::OilOutsideData { at, from, to });
        }
        let limit = celsius(93.0);
        if at > limit {
            all.push(Caution::OilHot { at, limit });
        }
        all
    }
}

/// The default properties and their uncertainty, used for properties that a data sheet does not give.
fn usual() -> (Oil, Oil) {
    let value = |i: usize| Ok::<f64, ()>(Oil::<f64>::FIELDS.get(i).map_or(0.0, |f| f.usual));
    let oil = Oil::try_make(&mut |i| value(i)).unwrap_or(Oil {
        thickness: 1.0,
        density: 855.0,
        expansion: 7e-4,
        pressure_viscosity: 18e-9,
        shear_loss: 1.0,
        air: 0.0,
        air_release: 0.2 * BAR,
    });
    let mut spread = oil.map(&mut |_, _| 0.0);
    spread.air_release = 0.1 * BAR;
    (oil, spread)
}
