//! Published equations, one per file, each with its symbols, range and source.
//!
//! All values are in plain SI units, and the functions accept any number type that implements
//! [`Real`](crate::numeric::Real). The module `part` applies the equations to components.

/// Valid range of one symbol of an equation, as data.
#[derive(Clone, Copy, Debug)]
pub struct Bound {
    /// The symbol as written in the equation.
    pub symbol: &'static str,
    /// Minimum.
    pub low: f64,
    /// Maximum.
    pub high: f64,
    /// Unit.
    pub unit: &'static str,
}

pub mod air_density_ideal_gas;
pub mod air_heat_capacity_wark_1983;
pub mod atmosphere_isa_1975;
pub mod blend_viscosity_astm_d7152;
pub mod blend_viscosity_refutas;
pub mod boiling_raoult;
pub mod conductor_resistance_iec_60028;
pub mod coolant_properties_ashrae_2001;
pub mod diagnostic_scaling_sae_j1979;
pub mod dilution_well_mixed;
pub mod discharge_coefficient_mccloy_1980;
pub mod dynamic_viscosity_barus_1893;
pub mod effectiveness_kays_london;
pub mod efficiency_iso_4391;
pub mod fan_affinity_iso_5801;
pub mod fan_curve_quadratic;
pub mod free_air_polytropic;
pub mod friction_factor_churchill_1977;
pub mod fuel_heat_stoichiometric;
pub mod kinematic_viscosity_astm_d341;
pub mod leakage_schlosser_1961;
pub mod leakage_wilson_1950;
pub mod limiting_ambient_sae_j1393;
pub mod oil_density_astm_d1250_54d;
pub mod oil_density_linear;
pub mod orifice_flow_merritt_1967;
pub mod road_load_steady;
pub mod steam_saturation_iapws_1997;
pub mod torque_loss_wilson_1950;
pub mod viscosity_index_astm_d2270;
pub mod wire_gauge_astm_b258;

/// A published law: its key, its text, and the valid range of its symbols.
#[derive(Clone, Copy, Debug)]
pub struct Law {
    /// Name of the law's source file and of its folder in `validation/`.
    pub key: &'static str,
    /// Valid range of each symbol.
    pub range: &'static [Bound],
    text: &'static str,
}

/// One equation with its symbols, range and source, taken from the doc comment of its function.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Written {
    /// The computed quantity.
    pub gives: String,
    /// The equation.
    pub equation: String,
    /// The symbols, each with its unit.
    pub symbols: String,
    /// The valid range.
    pub range: String,
    /// The source.
    pub source: String,
}

impl Law {
    /// The law with a given key.
    pub fn find(key: &str) -> Option<&'static Law> {
        CATALOGUE.iter().find(|law| law.key == key)
    }

    /// Title of the law: the first line of its file.
    pub fn title(&self) -> String {
        let line = self.text.lines().next().unwrap_or_default();
        line.trim_start_matches("//!")
            .trim()
            .trim_end_matches('.')
            .into()
    }

    /// Equations of the law, taken from its doc comments.
    pub fn written(&self) -> Vec<Written> {
        let mut all: Vec<Written> = Vec::new();
        let mut doc = String::new();
        for line in self.text.lines() {
            match line.strip_prefix("///") {
                Some("") => doc.push('\n'),
                Some(words) => doc.push_str(words),
                None => all.extend(written(&std::mem::take(&mut doc))),
            }
        }
        all
    }
}

/// The equation in a doc comment; `doc` has one paragraph per line.
fn written(doc: &str) -> Option<Written> {
    // One paragraph may stand for several headings, as in `**Range, source.** As for …`.
    let part = |name: &str| {
        let found = doc.lines().find_map(|line| {
            let (head, words) = line.trim().strip_prefix("**")?.split_once(".**")?;
            head.split(", ")
                .any(|h| h.eq_ignore_ascii_case(name))
                .then_some(words)
        });
        found.map_or_else(String::new, |words| plain(words.trim()))
    };
    let equation = part("Equation");
    (!equation.is_empty()).then(|| Written {
        gives: plain(doc.lines().next().unwrap_or_default().trim()),
        equation,
        symbols: part("Symbols"),
        range: part("Range"),
        source: part("Source"),
    })
}

/// Removes the markup for code, emphasis and links from a text.
fn plain(words: &str) -> String {
    words
        .replace("[`", "")
        .replace("`]", "")
        .replace(['`', '*'], "")
}

macro_rules! catalogue {
    ($($law:ident)*) => {
        /// All laws.
        pub const CATALOGUE: &[Law] = &[$(Law {
            key: stringify!($law),
            range: $law::RANGE,
            text: include_str!(concat!(stringify!($law), ".rs")),
        },)*];
    };
}

catalogue! {
    air_density_ideal_gas
    air_heat_capacity_wark_1983
    atmosphere_isa_1975
    blend_viscosity_astm_d7152
    blend_viscosity_refutas
    boiling_raoult
    conductor_resistance_iec_60028
    coolant_properties_ashrae_2001
    diagnostic_scaling_sae_j1979
    dilution_well_mixed
    discharge_coefficient_mccloy_1980
    dynamic_viscosity_barus_1893
    effectiveness_kays_london
    efficiency_iso_4391
    fan_affinity_iso_5801
    fan_curve_quadratic
    free_air_polytropic
    friction_factor_churchill_1977
    fuel_heat_stoichiometric
    kinematic_viscosity_astm_d341
    leakage_schlosser_1961
    leakage_wilson_1950
    limiting_ambient_sae_j1393
    oil_density_astm_d1250_54d
    oil_density_linear
    orifice_flow_merritt_1967
    road_load_steady
    steam_saturation_iapws_1997
    torque_loss_wilson_1950
    viscosity_index_astm_d2270
    wire_gauge_astm_b258
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_law_is_in_the_catalogue_and_written_down_in_full() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src/law");
        let mut files: Vec<String> = std::fs::read_dir(folder)
            .unwrap()
            .map(|f| f.unwrap().file_name().into_string().unwrap())
            .filter_map(|f| f.strip_suffix(".rs").map(String::from))
            .filter(|f| f != "mod")
            .collect();
        files.sort();
        let keys: Vec<&str> = CATALOGUE.iter().map(|law| law.key).collect();
        assert_eq!(files, keys);
        for law in CATALOGUE {
            let all = law.written();
            assert!(!all.is_empty() && !law.title().is_empty(), "{}", law.key);
            for w in all {
                for part in [&w.gives, &w.equation, &w.symbols, &w.range, &w.source] {
                    assert!(!part.is_empty(), "{}: {w:?}", law.key);
                }
            }
        }
    }

    #[test]
    fn an_equation_is_read_as_it_stands() {
        let law = Law::find("torque_loss_wilson_1950").unwrap();
        let w = &law.written()[0];
        assert_eq!(w.equation, "T = Cf V |Δp| + Cv V μ ω + T0.");
        assert_eq!(law.title(), "Torque lost in a pump or motor: Wilson 1950");
    }
}

#[cfg(test)]
mod check {
    //! A helper for the tests of all laws.

    use crate::numeric::Dual64;

    /// Asserts that the exact derivative of `f` at `x` agrees with a finite difference to one part in 10⁵.
    pub fn derivative(f: impl Fn(Dual64) -> Dual64, x: f64) {
        let step = 1e-5 * x.abs();
        let difference =
            (f(Dual64::from(x + step)).re - f(Dual64::from(x - step)).re) / (2.0 * step);
        let exact = f(Dual64::new(x, 1.0)).eps;
        assert!(
            (exact - difference).abs() <= 1e-5 * exact.abs() + 1e-300,
            "at {x}: {exact} for {difference}"
        );
    }
}
