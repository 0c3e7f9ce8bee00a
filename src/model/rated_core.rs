//! A core described by the heat that it rejects at its rating point, as in a data sheet, instead of by its conductance.
//!
//! A data sheet states the heat for a given difference between the inlet temperatures of coolant and air (JIS D 1614).
//! The conductance is heat per kelvin of the local temperature difference between the two streams. The effectiveness of
//! the core relates one to the other.

use super::case::INPUTS;
use super::machine::Machine;
use super::read::{Reader, Section, in_range};
use crate::input::unit::celsius;
use crate::input::{Field, Input, Place};
use crate::numeric::falling_root_by_values;
use crate::part::Core;
use crate::quantity::{Kind, Measure, Units};
use crate::trouble::Trouble;
use std::convert::Infallible;

/// The fields for the heat at the rating point, and for the difference of the inlet temperatures there.
pub(super) static RATED: [Field; 2] = [
    Field {
        key: "rated_heat",
        kind: Kind::Power,
        low: 100.0,
        high: 5e6,
        usual: f64::NAN,
        place: Place::Heat,
        help: "heat rejected at the rating point, given instead of conductance",
    },
    Field {
        key: "rated_difference",
        kind: Kind::TemperatureDifference,
        low: 5.0,
        high: 120.0,
        usual: f64::NAN,
        place: Place::Heat,
        help: "coolant inlet temperature minus air inlet temperature at the rating point",
    },
];

/// Key of the conductance in the section of the core.
pub(super) const CONDUCTANCE: &str = "conductance";

/// Air inlet temperature at the rating point, K *(engineering assumption; a difference of 20 K changes the conductance
/// by less than a tenth)*.
const AIR_AT: f64 = celsius(30.0);

/// Two values of a conductance that differ by no more than this fraction agree, however small their ±.
const AGREE: f64 = 0.02;

/// The field with a key such as `core.rated_heat`.
pub(super) fn find(key: &str) -> Option<&'static Field> {
    let key = key.strip_prefix("core.")?;
    RATED.iter().find(|f| f.key == key)
}

/// Computes the conductance of a core from the heat and the temperature difference at its rating point, which are both
/// required; `given` is a conductance that is stated as well and must agree with the result.
pub(super) fn conductance(
    machine: &Machine,
    rated: [Option<Measure>; 2],
    given: Option<Measure>,
) -> Result<Option<Measure>, Trouble> {
    let (heat, difference) = match rated {
        [None, None] => return Ok(None),
        [Some(heat), Some(difference)] => (heat, difference),
        _ => {
            let [has, lacks] = match rated[0] {
                Some(_) => [&RATED[0], &RATED[1]],
                None => [&RATED[1], &RATED[0]],
            };
            let found = format!("`{}` is given without `{}`", has.key, lacks.key);
            let expected = format!("both of them: `{}` is the {}", lacks.key, lacks.help);
            return Err(Trouble::input(found, expected));
        }
    };
    let value = |input: Input| machine.value(input).map(|m| m.value);
    let glycol = value(INPUTS.coolant.glycol);
    let (Some(core), Some(glycol)) = (core(&value), glycol) else {
        return Err(Trouble::input(
            "the heat at the rating point is given, but other values of this point are missing",
            "[core] with face, rated_air_speed and rated_coolant_flow, and [coolant]",
        ));
    };
    let at = |heat: f64, difference: f64| solved(&core, glycol, heat, difference);
    let middle = at(heat.value, difference.value)?;
    // The derivatives are computed from small steps, because with a step of the whole ± the heat might exceed what the
    // air can carry.
    let slope = |up: f64| (up - middle) / 1e-4;
    let by_heat = slope(at(heat.value * (1.0 + 1e-4), difference.value).unwrap_or(middle));
    let by_difference = slope(at(heat.value, difference.value * (1.0 + 1e-4))?);
    let half = (by_heat * heat.spread / heat.value)
        .hypot(by_difference * difference.spread / difference.value);
    let found = Measure::within(middle, half);
    match given {
        None => in_range(INPUTS.core.conductance.field(), found, Units::Si).map(Some),
        Some(given) => agrees(given, found, heat).map(Some),
    }
}

/// Returns the stated conductance if it agrees with the one computed from the heat; otherwise an error.
fn agrees(given: Measure, found: Measure, heat: Measure) -> Result<Measure, Trouble> {
    let apart = (given.value - found.value).abs();
    if apart <= given.spread.hypot(found.spread).max(AGREE * given.value) {
        return Ok(given);
    }
    let show = |kind: Kind, m: Measure| Units::Si.show_measure(kind, m);
    let found = format!(
        "the conductance is {}, but rejecting {} at the rating point takes {}",
        show(Kind::Conductance, given),
        show(Kind::Power, heat),
        show(Kind::Conductance, found)
    );
    Err(
        Trouble::input(found, "only one of conductance and heat, or two values that agree")
            .hint("do not divide the heat by the difference of the inlet temperatures: that is not the conductance, because the air warms up in the core"),
    )
}

/// A core with the machine's values for its rating point, and default values for everything else.
fn core(value: &dyn Fn(Input) -> Option<f64>) -> Option<Core> {
    let of = INPUTS.core;
    Some(Core {
        face: value(of.face)?,
        rated_air_speed: value(of.rated_air_speed)?,
        rated_coolant_flow: value(of.rated_coolant_flow)?,
        air_side: value(of.air_side)?,
        air_exponent: value(of.air_exponent)?,
        ..Core::<f64>::usual()
    })
}

/// The conductance with which a core rejects a given heat at its rating point.
fn solved(core: &Core, glycol: f64, heat: f64, difference: f64) -> Result<f64, Trouble> {
    let streams = [core.rated_air_speed, core.rated_coolant_flow];
    let temps = [AIR_AT + difference, AIR_AT];
    let field = INPUTS.core.conductance.field();
    let off = |ua: f64| {
        let core = Core {
            conductance: ua,
            ..*core
        };
        Ok::<f64, Infallible>(heat - core.heat_at(streams, temps, glycol))
    };
    let Ok(found) = falling_root_by_values(off, field.low, field.high);
    found.map_err(|_| {
        let show = |w: f64| Units::Si.show(Kind::Power, w);
        let (least, _) = core.carries(streams, temps, glycol);
        let expected = format!(
            "heat that a core with a conductance of {} to {} rejects there; this air and coolant can carry at most {}",
            Units::Si.show(field.kind, field.low),
            Units::Si.show(field.kind, field.high),
            show(least * difference)
        );
        Trouble::input(format!("the heat at the rating point is {}", show(heat)), expected)
            .hint("is core.face the face area of the rated core, and rated_air_speed the air speed at its face?")
    })
}

impl Machine {
    /// Reads the heat at the rating point from a machine file.
    pub(super) fn read_rated_core<'t>(&mut self, reader: &mut Reader<'t>, all: &Section<'_, 't>) {
        let Some(section) = reader.section(all.table, "core") else {
            return;
        };
        let rated = [0, 1].map(|k| reader.measure(&section, &RATED[k]));
        // A value that could not be read has been reported already.
        let there = RATED.iter().filter(|f| section.table.contains_key(f.key));
        if there.count() != rated.iter().flatten().count() {
            return;
        }
        let given = self.value(INPUTS.core.conductance);
        match conductance(self, rated, given) {
            Ok(Some(found)) => self.put(INPUTS.core.conductance, found),
            Ok(None) => {}
            Err(trouble) => {
                let key = |f: &Field| section.table.get_key_value(f.key);
                let span = RATED.iter().find_map(key).map(|(_, value)| value.span());
                reader.note(trouble, span.unwrap_or(section.span));
            }
        }
    }
}
