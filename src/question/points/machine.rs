//! Fits the coefficients of a pump or motor to points, each with the properties of its oil.

use super::{Coefficient, Found, Misfit, OIL_TEMP, Together, span};
use crate::model::{MachinePoint, OilSheet};
use crate::part::{Motor, Pump};
use crate::quantity::{Kind, Measure};
use crate::trouble::Trouble;
use crate::vary::points::{COEFFICIENTS, Fitted, OF_FLOW, Point, Sought, fit};

/// The points of a pump or motor.
#[derive(Clone, Debug)]
pub struct MachineTable {
    pub(super) points: Vec<MachinePoint>,
    pub(super) solved: Vec<Point>,
    /// Whether the machine is a pump; otherwise a motor.
    pub pump: bool,
    pub(super) displacement: Option<f64>,
}

impl MachineTable {
    /// Adds the oil's properties to each point; reports physically impossible points.
    pub(super) fn of(
        points: Vec<MachinePoint>,
        pump: bool,
        displacement: Option<f64>,
        oil: (&OilSheet, Option<f64>),
    ) -> Result<Self, Vec<Trouble>> {
        let solved: Result<Vec<Point>, Trouble> =
            points.iter().map(|p| with_oil(p, oil.0, oil.1)).collect();
        let solved = solved.map_err(|t| vec![t])?;
        let wrong: Vec<Trouble> = points
            .iter()
            .filter_map(|p| impossible(p, pump, displacement))
            .collect();
        match wrong.is_empty() {
            true => Ok(Self {
                points,
                solved,
                pump,
                displacement,
            }),
            false => Err(wrong),
        }
    }

    pub(super) fn find(&self) -> Result<Found, Trouble> {
        let sought = Sought {
            pump: self.pump,
            displacement: self.displacement,
            exponent: true,
        };
        Ok(self.told(&fit(&self.solved, &sought)?))
    }

    fn told(&self, found: &Fitted) -> Found {
        let fields = if self.pump {
            Pump::<f64>::FIELDS
        } else {
            Motor::<f64>::FIELDS
        };
        let coefficient = |k: usize| {
            let (key, one) = (COEFFICIENTS[k], found.all[k]);
            let kind = fields
                .iter()
                .find(|f| f.key == key)
                .map_or(Kind::Number, |f| f.kind);
            Coefficient {
                key: key.into(),
                unit: kind.json_suffix().into(),
                value: kind.to_json(one.value),
                half: one.half.map(|h| h * kind.json_factor()),
                at_none: one.at_none,
                told: one.half.is_some_and(|h| h < one.value),
                section: if self.pump { "pump" } else { "motor" },
                kind,
                si: (one.value, one.half),
            }
        };
        let together = |(a, b, r): &(usize, usize, f64)| Together {
            one: COEFFICIENTS[*a],
            other: COEFFICIENTS[*b],
            correlation: *r,
        };
        Found {
            coefficients: (0..COEFFICIENTS.len())
                .filter(|k| *k < OF_FLOW || found.scatter[1].is_some())
                .filter(|k| found.all[*k].value > 0.0 || found.all[*k].at_none)
                .map(coefficient)
                .collect(),
            flow_scatter: found.scatter[0],
            torque_scatter: found.scatter[1],
            flow_spare: found.spare[0],
            torque_spare: found.spare[1],
            correlations: found.correlations.iter().map(together).collect(),
            points: self.misfits(found),
            spans: vec![
                ("viscosity", span(self.solved.iter().map(|p| p.oil.nu))),
                ("speed", span(self.solved.iter().map(|p| p.speed))),
                ("pressure", span(self.solved.iter().map(|p| p.pressure))),
            ],
            ..Found::empty()
        }
    }

    /// Each point, compared with the fitted coefficients.
    fn misfits(&self, found: &Fitted) -> Vec<Misfit> {
        let one = |(k, point): (usize, &MachinePoint)| {
            let [flow, torque] = found.computed[k];
            Misfit {
                line: point.line,
                pressure: point.pressure,
                speed: point.speed,
                viscosity: self.solved[k].oil.nu,
                flow: point.flow.map(|m| m.value),
                flow_computed: flow.map(|f| f.0),
                flow_half: flow.map(|f| f.1),
                torque: point.torque.map(|m| m.value),
                torque_computed: torque.map(|t| t.0),
                torque_half: torque.map(|t| t.1),
            }
        };
        self.points.iter().enumerate().map(one).collect()
    }
}
/// Adds the oil's properties to a point, at its viscosity or oil temperature, or else at the temperature `usual`, K.
fn with_oil(point: &MachinePoint, sheet: &OilSheet, usual: Option<f64>) -> Result<Point, Trouble> {
    let place = || format!("line {}", point.line);
    let oil = match (point.viscosity, point.oil_temp.or(usual)) {
        (Some(nu), t) => {
            let t = t.unwrap_or_else(|| sheet.curve.temperature(nu));
            let mut oil = sheet.oil.now(&sheet.curve, t);
            oil.nu = nu;
            oil
        }
        (None, Some(t)) => sheet.oil.now(&sheet.curve, t),
        (None, None) => {
            let found = format!("{}: neither viscosity nor oil_temp", place());
            return Err(Trouble::input(
                found,
                format!("one of them, or {}", OIL_TEMP.mention()),
            ));
        }
    };
    let weight = |m: Measure| {
        let share = if m.spread > 0.0 {
            m.spread / m.value
        } else {
            0.01
        };
        (m.value, 0.01 / share)
    };
    Ok(Point {
        pressure: point.pressure,
        speed: point.speed,
        flow: point.flow.map(weight),
        torque: point.torque.map(weight),
        oil,
    })
}

/// The problem with a physically impossible point of a pump or motor, which has a total or volumetric efficiency above
/// 100 %; `None` if the point is possible.
fn impossible(point: &MachinePoint, pump: bool, displacement: Option<f64>) -> Option<Trouble> {
    let line = point.line;
    if let (Some(flow), Some(torque)) = (point.flow, point.torque) {
        let (oil, shaft) = (flow.value * point.pressure, torque.value * point.speed);
        let efficiency = if pump { oil / shaft } else { shaft / oil };
        if efficiency > 1.0 {
            let found = format!(
                "line {line}: a total efficiency of {:.1} %",
                100.0 * efficiency
            );
            return Some(
                Trouble::input(found, "below 100 %")
                    .hint("check that the pressure is the pressure difference, and that pump or motor is chosen correctly"),
            );
        }
    }
    let swept = displacement? * point.speed;
    let flow = point.flow?.value;
    let share = if pump { flow / swept } else { swept / flow };
    (share > 1.005).then(|| {
        let found = format!(
            "line {line}: a volumetric efficiency of {:.1} %",
            100.0 * share
        );
        Trouble::input(found, "at most 100 %").hint("check the displacement")
    })
}
