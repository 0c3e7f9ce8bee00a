//! Which limit acts at the operating point, and the fan speeds that the other limits would give.

use super::Operating;
use crate::balance::limit::Limit;
use crate::balance::ready::{Bound, Point, Port, Ready, View};
use crate::input::Input;
use crate::model::Case;
use crate::numeric::{Dual64, Traced, falling_root};

impl Limit {
    /// The view of the circuit in which only this limit acts; `None` for air and standstill.
    pub(super) fn view<N>(self) -> Option<View<N>> {
        let shut = |bound| {
            Some(View {
                bound,
                valve: Port::Shut,
                relief: Port::Shut,
            })
        };
        match self {
            Limit::Displacement => shut(Bound::Displacement),
            Limit::Inlet => shut(Bound::Inlet),
            Limit::Regulator => shut(Bound::Regulator),
            Limit::Belt => shut(Bound::Belt),
            Limit::Valve => Some(View {
                bound: Bound::Least,
                valve: Port::Open,
                relief: Port::Shut,
            }),
            Limit::Relief => Some(View {
                bound: Bound::Least,
                valve: Port::Real,
                relief: Port::Open,
            }),
            Limit::Air | Limit::Standstill => None,
        }
    }
}

/// The limit that acts when the circuit is balanced; if two act, the later one in [`Limit::ALL`].
pub(super) fn acting(ready: &Ready<'_, f64>, point: &Point<Dual64>) -> Limit {
    if point.fan.torque.re < 0.0 {
        return Limit::Air;
    }
    if point.relief_flow.re > 0.0 {
        return Limit::Relief;
    }
    if point.valve_drop.re > ready.opens_at {
        return Limit::Valve;
    }
    let near = |q: f64| point.pump.flow.re >= q * (1.0 - 1e-12);
    if point.pump.speed.re < ready.pump_speed && near(point.pump.displaced.re) {
        return Limit::Belt;
    }
    match ready.regulated {
        Some(q) if near(q) => Limit::Regulator,
        _ if point.pump.starved => Limit::Inlet,
        _ => Limit::Displacement,
    }
}

impl Operating {
    /// The other limits, each with the fan speed (rad/s) that it would give if it acted alone; lowest speed first.
    pub fn other_limits(&self, case: &Case) -> Vec<(Limit, f64)> {
        let mut ready = Ready::new(case);
        let swept = case.pump.displacement * ready.pump_speed;
        if self.omega <= 0.0 || swept <= 0.0 {
            return Vec::new();
        }
        if ready.inlet_bound.is_none() {
            ready.bound_inlet(100.0 * swept);
        }
        let high = 100.0 * ready.most_speed();
        let mut found: Vec<_> = Limit::ALL
            .into_iter()
            .filter(|limit| match limit {
                Limit::Regulator => ready.regulated.is_some(),
                Limit::Belt => case.belt.is_some(),
                Limit::Inlet => ready.inlet_bound.is_some(),
                _ => true,
            })
            .filter(|limit| *limit != self.limit)
            .filter_map(|limit| {
                let view = limit.view()?;
                let residual = |omega| ready.point(ready.running(omega), view).residual;
                let scale = high * ready.case.motor.displacement;
                falling_root(residual, 0.0, high, self.omega, scale)
                    .ok()
                    .map(|root| (limit, root.x))
            })
            .collect();
        found.sort_by(|a, b| a.1.total_cmp(&b.1));
        found
    }

    /// The one-sided derivatives of the fan speed with respect to an input, below and above its value, if two limits
    /// coincide at the operating point; `None` if a single limit acts.
    pub fn sides(&self, case: &Case, input: Input) -> Option<(f64, f64)> {
        let (other, speed) = *self.other_limits(case).first()?;
        if (speed - self.omega).abs() > 1e-6 * self.omega {
            return None;
        }
        let slope = |limit: Limit| {
            let view = limit.view()?;
            let residual = |case: &Case<Traced>, omega| {
                let ready = Ready::new(case);
                vec![ready.point(ready.running(omega), view).residual]
            };
            let (across, along) = case.slopes_about(self.omega, |i| i == input, residual);
            Some(-along.along(input)?[0] / across[0])
        };
        let (own, others) = (slope(self.limit)?, slope(other)?);
        Some((own.max(others), own.min(others)))
    }
}
