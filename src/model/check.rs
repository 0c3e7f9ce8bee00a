//! Checks the inputs of a case. The checks are the same whether the inputs come from files, flags, forms or the
//! library.

use super::case::{Case, INPUTS};
use super::read::in_range;
use crate::input::Input;
use crate::quantity::{Kind, Measure, Units};
use crate::trouble::Trouble;

/// A conflict between inputs.
pub(super) struct Clash {
    /// The inputs involved; the error is reported at the first one.
    pub inputs: &'static [Input],
    /// The error.
    pub trouble: Trouble,
}

/// A function that returns the value of an input, if present.
type Value<'a> = &'a dyn Fn(Input) -> Option<f64>;

/// One check: the inputs involved, and a function that returns the error if the check fails.
struct Check {
    inputs: &'static [Input],
    failed: fn(Value<'_>) -> Option<Trouble>,
}

const SHARES: [Input; 3] = [
    INPUTS.front_1.share,
    INPUTS.front_2.share,
    INPUTS.front_3.share,
];
const COOLERS: [Input; 3] = [
    INPUTS.front_1.oil_cooler,
    INPUTS.front_2.oil_cooler,
    INPUTS.front_3.oil_cooler,
];

/// The sum of the values of some inputs; missing values count as zero.
fn sum(value: Value<'_>, inputs: [Input; 3]) -> f64 {
    inputs.into_iter().filter_map(value).sum()
}

/// A pressure as text, with its unit.
fn pressure(si: f64) -> String {
    Units::Si.show(Kind::Pressure, si)
}

const CHECKS: &[Check] = &[
    Check {
        inputs: &SHARES,
        failed: |value| {
            let covered = sum(value, SHARES);
            (covered > 1.0 + 1e-9).then(|| {
                Trouble::input(
                    format!(
                        "zones with equipment upstream cover {:.0} % of the core face",
                        100.0 * covered
                    ),
                    "values of `share` that add up to at most 100 %",
                )
            })
        },
    },
    Check {
        inputs: &COOLERS,
        failed: |value| {
            let coolers = sum(value, COOLERS);
            (coolers > 1.0 + 1e-9).then(|| {
                Trouble::input(
                    format!(
                        "the zones contain {:.0} % of the oil cooler",
                        100.0 * coolers
                    ),
                    "values of `oil_cooler` that add up to at most 100 %",
                )
            })
        },
    },
    Check {
        inputs: &[INPUTS.oil_heat.cooler, COOLERS[0], COOLERS[1], COOLERS[2]],
        failed: |value| {
            let nowhere = sum(value, COOLERS) <= 0.0 && value(INPUTS.oil_heat.cooler)? > 0.0;
            nowhere.then(|| {
                Trouble::input(
                    "the oil cooler is in none of the zones",
                    "oil_cooler = \"1\" in the zone where it is mounted: [front_1], [front_2] or [front_3]",
                )
                .hint("if there is no air-cooled oil cooler, set cooler = \"0 W/K\" in [oil_heat]")
            })
        },
    },
    Check {
        inputs: &[
            INPUTS.fan_curve.shut_pressure,
            INPUTS.fan_curve.pressure_slope,
        ],
        failed: |value| {
            let (shut, slope) = (
                value(INPUTS.fan_curve.shut_pressure)?,
                value(INPUTS.fan_curve.pressure_slope)?,
            );
            (shut + slope <= 1.0).then(|| {
                Trouble::input(
                    "the pressure of the fan curve is not a concave function of flow",
                    "shut_pressure + pressure_slope above 1",
                )
            })
        },
    },
    Check {
        inputs: &[INPUTS.fan_curve.shut_torque, INPUTS.fan_curve.torque_slope],
        failed: |value| {
            let (shut, slope) = (
                value(INPUTS.fan_curve.shut_torque)?,
                value(INPUTS.fan_curve.torque_slope)?,
            );
            (2.0 * shut + 1.5 * slope <= 0.0).then(|| {
                Trouble::input(
                    "the torque of the fan curve falls as the speed rises",
                    "2 · shut_torque + 1.5 · torque_slope above 0; torque then rises with speed up to 1.5 times the rated flow",
                )
            })
        },
    },
    Check {
        inputs: &[INPUTS.thermostat.full, INPUTS.thermostat.opens],
        failed: |value| {
            (value(INPUTS.thermostat.full)? <= value(INPUTS.thermostat.opens)?).then(|| {
                Trouble::input(
                    "the thermostat is fully open at or below its opening temperature",
                    "`full` above `opens` in [thermostat]",
                )
            })
        },
    },
    Check {
        inputs: &[INPUTS.valve.high, INPUTS.valve.low],
        failed: |value| {
            let (low, high) = (value(INPUTS.valve.low)?, value(INPUTS.valve.high)?);
            (high <= low).then(|| {
                let found = format!(
                    "[valve] high {} is not above low {}",
                    pressure(high),
                    pressure(low)
                );
                Trouble::input(
                    found,
                    "a cracking pressure at full command above that at zero command",
                )
            })
        },
    },
    Check {
        inputs: &[INPUTS.relief.setting, INPUTS.valve.low],
        failed: |value| {
            let (low, relief) = (value(INPUTS.valve.low)?, value(INPUTS.relief.setting)?);
            (relief <= low).then(|| {
                let found = format!(
                    "[relief] setting {} is not above [valve] low {}",
                    pressure(relief),
                    pressure(low)
                );
                Trouble::input(
                    found,
                    "a relief setting above the control valve's cracking pressure at zero command",
                )
                .hint("otherwise the relief valve would always be open")
            })
        },
    },
    Check {
        inputs: &[INPUTS.pump.least_inlet, INPUTS.oil.air_release],
        failed: |value| {
            let (least, release) = (
                value(INPUTS.pump.least_inlet)?,
                value(INPUTS.oil.air_release)?,
            );
            (least < release).then(|| {
                let show = |v| Units::Si.show(Kind::AbsolutePressure, v);
                let found = format!(
                    "`pump.least_inlet` is {}, below {}, the air release pressure of the oil",
                    show(least),
                    show(release)
                );
                Trouble::input(
                    found,
                    "a minimum inlet pressure of at least `oil.air_release`",
                )
            })
        },
    },
    Check {
        inputs: &[INPUTS.motor.breakaway, INPUTS.motor.dry_torque],
        failed: |value| {
            let (starts, turns) = (
                value(INPUTS.motor.breakaway)?,
                value(INPUTS.motor.dry_torque)?,
            );
            (starts < turns).then(|| {
                let torque = |si| Units::Si.show(Kind::Torque, si);
                let found = format!(
                    "[motor] breakaway torque {} is below {}, the torque needed to keep it turning",
                    torque(starts),
                    torque(turns)
                );
                Trouble::input(found, "a breakaway torque of at least `dry_torque`")
            })
        },
    },
];

/// Finds the conflicts between the input values of a machine or a case.
pub(super) fn clashes(value: Value<'_>) -> impl Iterator<Item = Clash> {
    CHECKS.iter().filter_map(move |check| {
        (check.failed)(value).map(|trouble| Clash {
            inputs: check.inputs,
            trouble,
        })
    })
}

impl Case {
    /// All errors in a case and in the half-widths of its inputs (`spread`), each with the inputs involved: values out
    /// of range, unreasonable ±, and conflicts between inputs.
    pub fn wrong(&self, spread: &Case) -> Vec<(Vec<Input>, Trouble)> {
        let ranges = Input::all().filter_map(|input| {
            let measure = Measure {
                factor: spread.factors.has(input),
                ..Measure::within(self.get(input)?, spread.get(input)?)
            };
            let checked = in_range(input.field(), measure, Units::Si);
            checked.err().map(|trouble| (vec![input], trouble))
        });
        let mut wrong: Vec<_> = ranges.collect();
        let value = |input| self.get(input);
        wrong.extend(clashes(&value).map(|clash| (clash.inputs.to_vec(), clash.trouble)));
        wrong
    }

    /// The first conflict between the inputs of the case, if there is any.
    pub fn clash(&self) -> Option<Trouble> {
        let value = |input| self.get(input);
        clashes(&value).next().map(|clash| clash.trouble)
    }

    /// A copy of the case with one input set. The result is an error if the case lacks the part, the value is out of
    /// range, or it conflicts with other inputs.
    pub fn set(&self, input: Input, value: f64) -> Result<Case, Trouble> {
        if self.get(input).is_none() {
            return Err(missing(input));
        }
        let measure = Measure::exact(value);
        in_range(input.field(), measure, Units::Si).map_err(|t| t.at(input.key()))?;
        let case = self.with(input, value);
        let value = |input| case.get(input);
        match clashes(&value).find(|clash| clash.inputs.contains(&input)) {
            Some(clash) => Err(clash.trouble.at(input.key())),
            None => Ok(case),
        }
    }
}

/// The error for an input whose part the machine lacks.
pub(super) fn missing(input: Input) -> Trouble {
    Trouble::input(
        format!(
            "`{}` was given, but the machine file has no [{}]",
            input.key(),
            input.part()
        ),
        "an input of a part that the machine has",
    )
}
