//! The pump side of the circuit: suction line, filling of the pump, belt, and delivery as a function of pressure.

use super::ready::{Bound, Point, Ready};
use crate::fluid::oil::OilNow;
use crate::law::free_air_polytropic as free_air;
use crate::model::Case;
use crate::numeric::{
    Dual64, NoRoot, Over, Real, carries, falling_root, greater, lesser, positive, settle,
};
use crate::part::{Element, Line};

/// The suction path of the oil from the reservoir into the pump's chambers.
#[derive(Clone, Copy, Debug)]
pub(super) struct Suction<N> {
    line: Line<N>,
    screen: Option<Element<N>>,
    nu: N,
    rho: N,
    /// Pressure in the reservoir, Pa absolute.
    pub tank: N,
    /// Pressure at which the oil releases its air, Pa absolute; at or below it, no pressure is available to fill the
    /// chambers.
    release: N,
    /// Pressure, in excess of the air release pressure, that is needed to fill the chambers, divided by the flow
    /// squared, Pa s²/m⁶.
    port: N,
}

impl<N: Real> Suction<N> {
    /// The suction path of a case, for a given oil of density `rho` and an ambient air pressure `atmosphere` (Pa
    /// absolute).
    pub fn of(case: &Case<N>, oil: &OilNow<N>, rho: N, atmosphere: N) -> Self {
        let (pump, release) = (&case.pump, oil.air_release);
        let rated = pump.displacement * pump.fill_speed;
        Self {
            line: case.suction,
            screen: case.screen,
            nu: oil.nu,
            rho,
            tank: atmosphere + case.reservoir.pressure,
            release,
            port: (greater(pump.least_inlet, release) - release) / (rated * rated),
        }
    }

    /// The suction path without derivatives.
    pub fn still(&self) -> Suction<f64> {
        Suction {
            line: self.line.map(&mut |_, v| v.re()),
            screen: self.screen.as_ref().map(|s| s.map(&mut |_, v| v.re())),
            nu: self.nu.re(),
            rho: self.rho.re(),
            tank: self.tank.re(),
            release: self.release.re(),
            port: self.port.re(),
        }
    }

    /// Pressure at the pump inlet, Pa absolute, with a flow `q` (m³/s) through the suction hose.
    pub fn inlet<M: Over<N>>(&self, q: M) -> M {
        let screen = self.screen.as_ref();
        let screen = screen.map_or(M::from(0.0), |s| s.drop(q, self.nu * self.rho));
        -(self.line.drop(q, M::still(self.nu), self.rho) + screen) + self.tank
    }

    /// Inlet pressure minus the pressure needed to fill the chambers, Pa. It falls with increasing flow and is zero at
    /// the flow of a starved pump.
    fn spare<M: Over<N>>(&self, q: M) -> M {
        self.inlet(q) - self.release - q * q * self.port
    }

    /// The maximum flow that the suction path allows, m³/s; `None` if the path allows more than `most` (m³/s).
    pub fn limit(&self, most: f64) -> Option<N> {
        let still = self.still();
        let full = still.spare(Dual64::new(most, 1.0));
        if full.re >= 0.0 {
            return None;
        }
        let whole = still.tank - still.release;
        if whole <= 0.0 {
            return Some(N::from(0.0));
        }
        // The starting value takes the pressure loss as proportional to a power of the flow.
        let spent = whole - full.re;
        let power = -full.eps * most / spent;
        let start = most * (whole / spent).powf(power.recip());
        Some(
            match falling_root(|q| still.spare(q), 0.0, most, start, whole) {
                Ok(root) => settle(root.x, root.slope, self.spare(N::from(root.x))),
                Err(NoRoot::Below(_)) => N::from(0.0),
                Err(_) => N::from(most),
            },
        )
    }
}

/// The operating state of the pump at one outlet pressure.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pumped<N> {
    /// Volume flow in the suction hose, measured at inlet pressure, m³/s.
    pub hose: N,
    /// Pressure at the pump inlet, Pa absolute.
    pub inlet: N,
    /// Pressure difference across the pump, Pa.
    pub drop: N,
    /// The regulator's internal pressure drop, Pa.
    pub regulator_drop: N,
    pub slip: N,
    /// Pump speed, rad/s; it may exceed the speed that the engine provides if the circuit is computed with a single
    /// limit.
    pub speed: N,
    /// Volume flow swept by the pump's chambers, m³/s.
    pub swept: N,
    /// Fraction of the swept volume that remains at outlet pressure after the free air in the oil is compressed.
    pub liquid: N,
    /// Flow that the pump would deliver with all chambers filled and without any other limit, m³/s.
    pub displaced: N,
    /// Flow delivered by the pump, m³/s.
    pub flow: N,
    /// Whether the pump's chambers fill only partly.
    pub starved: bool,
}

impl<N: Real> Ready<'_, N> {
    /// Fraction of a volume of oil at inlet pressure that remains after compression to outlet pressure, both Pa
    /// absolute.
    fn liquid<M: Over<N>>(&self, inlet: M, outlet: M) -> M {
        if self.air.re() <= 0.0 && !carries::<N>() {
            return M::from(1.0);
        }
        free_air::liquid_share(self.air, inlet, outlet)
    }

    /// Flow in the suction hose, m³/s at inlet pressure, when the pump delivers a flow `leaves` (m³/s) at a gauge
    /// pressure `outlet` (Pa); for a starved pump, the maximum flow of the hose.
    fn hose<M: Over<N>>(&self, outlet: M, leaves: M) -> M {
        let (leaves, outlet) = (positive(leaves), outlet + self.atmosphere);
        // If the suction path sets no limit, the hose may carry the whole swept flow, plus a margin for rounding.
        let most = self
            .inlet_bound
            .unwrap_or(self.case.pump.displacement * self.pump_speed * (1.0 + 1e-9));
        if self.air.re() <= 0.0 {
            let hose = leaves / self.liquid(self.suction.inlet(leaves), outlet);
            return lesser(hose, M::still(most));
        }
        let (air, still) = (self.air.re(), &self.still_suction);
        let pressure = Dual64::from(outlet.re());
        let left =
            |q: Dual64| -(q * free_air::liquid_share(air, still.inlet(q), pressure)) + leaves.re();
        let most_now = most.re();
        match falling_root(left, 0.0, most_now, leaves.re(), most_now) {
            Ok(root) => {
                let q = M::from(root.x);
                let liquid = self.liquid(self.suction.inlet(q), outlet);
                settle(root.x, root.slope, leaves - q * liquid)
            }
            Err(NoRoot::Below(_)) => M::from(0.0),
            Err(_) => M::still(most),
        }
    }

    /// The state of the pump at a gauge pressure `outlet` (Pa) when the circuit demands a flow `asked` (m³/s).
    pub(super) fn pumped<M: Over<N>>(&self, outlet: M, asked: M, bound: Bound) -> Pumped<M> {
        self.at_hose_flow(self.hose(outlet, asked), outlet, asked, bound)
    }

    /// The state of the pump at a flow `hose` (m³/s) in the suction hose, with a flow `delivered` (m³/s) through the
    /// regulator.
    fn at_hose_flow<M: Over<N>>(
        &self,
        hose: M,
        outlet: M,
        delivered: M,
        bound: Bound,
    ) -> Pumped<M> {
        let (pump, rho) = (&self.case.pump, self.rho);
        let inlet = self.suction.inlet(hose);
        let outer = outlet + self.atmosphere;
        let drop = outer - inlet;
        let regulator_drop = self.regulator_drop(delivered);
        let speed = match bound {
            Bound::Displacement => M::still(self.pump_speed),
            Bound::Belt => self.belt_speed(drop + regulator_drop),
            _ => lesser(
                self.belt_speed(drop + regulator_drop),
                M::still(self.pump_speed),
            ),
        };
        let thickness = self.pump_oil.clearance(rho, drop.abs() * 0.5);
        let slip = pump.slip_flow(self.pump_gap, drop, thickness, rho);
        let (swept, liquid) = (speed * pump.displacement, self.liquid(inlet, outer));
        let displaced = swept * liquid - slip;
        let filled = self
            .inlet_bound
            .map(|q| self.liquid(M::still(self.starved_inlet), outer) * q);
        let regulated = self.regulated.map(M::still);
        let flow = match bound {
            Bound::Displacement | Bound::Belt => displaced,
            Bound::Inlet => filled.unwrap_or(displaced),
            Bound::Regulator => regulated.unwrap_or(displaced),
            Bound::Least => [filled, regulated]
                .into_iter()
                .flatten()
                .fold(displaced, lesser),
        };
        Pumped {
            hose,
            inlet,
            drop,
            regulator_drop,
            slip,
            speed,
            swept,
            liquid,
            displaced,
            flow,
            starved: filled.is_some_and(|q| q.re() <= flow.re() && q.re() < displaced.re()),
        }
    }

    /// The maximum speed, rad/s, at which the belt can drive the pump against a pressure difference `drop` (Pa); where
    /// the belt does not slip, it is extrapolated beyond the actual pump speed.
    fn belt_speed<M: Over<N>>(&self, drop: M) -> M {
        let (pump, full) = (&self.case.pump, self.pump_speed);
        match &self.case.belt {
            Some(belt) if full.re() > 0.0 => {
                let loss =
                    |drop: M, omega: N| pump.torque_loss(drop, self.pump_drag_mu, M::still(omega));
                let push = drop * pump.displacement + loss(drop, N::from(0.0));
                let drag = self.pump_drag_mu * pump.drag * pump.displacement * full;
                belt.speed(push, drag, full)
            }
            _ => M::still(full),
        }
    }

    /// The regulator's internal pressure drop, Pa, at a flow `q` (m³/s) through it; above the regulated flow, the
    /// spring keeps it constant.
    fn regulator_drop<M: Over<N>>(&self, q: M) -> M {
        match (&self.case.regulator, self.regulated) {
            (Some(r), Some(most)) => {
                let share = lesser(positive(q) / most, M::from(1.0));
                share * share * r.spring_drop
            }
            _ => M::from(0.0),
        }
    }

    /// The pump with its actual suction flow, for a balanced circuit; if the pump is starved, that flow is the limit of
    /// the suction path. If the regulator bypasses oil to the reservoir, the suction hose also carries this oil, which
    /// the balance does not compute: its flow is then the maximum that belt, displacement and filling allow.
    pub(super) fn actual_suction<M: Over<N>>(&self, point: &Point<M>) -> Pumped<M> {
        let outlet = point.outlet;
        let regulated = self.regulated.filter(|q| point.pump.flow.re() >= q.re());
        // While it regulates, the regulator is evaluated at twice the regulated flow, so that its pressure drop has the
        // full value set by the spring.
        let through = regulated.map_or(point.asked(), |q| M::still(q * 2.0));
        let bound = self.inlet_bound.filter(|_| point.pump.starved);
        let hose = bound.map_or(point.pump.hose, M::still);
        let pump = Pumped {
            flow: point.pump.flow,
            starved: point.pump.starved,
            ..self.at_hose_flow(hose, outlet, through, Bound::Least)
        };
        let pump = Pumped {
            speed: positive(pump.speed),
            swept: positive(pump.swept),
            ..pump
        };
        if self.case.shape.recirculates || regulated.is_none() {
            return pump;
        }
        let plain = self.case.map(&mut |_, v| v.re());
        let still = Ready::new(&plain);
        let (pressure, offered) = (Dual64::from(outlet.re()), Dual64::from(through.re()));
        let left = |q: Dual64| {
            let at = still.at_hose_flow(q, pressure, offered, Bound::Least);
            at.displaced - q * at.liquid
        };
        let swept = still.case.pump.displacement * still.pump_speed;
        let most = still.inlet_bound.unwrap_or(swept * (1.0 + 1e-9));
        let low = pump.hose.re().min(most);
        let (hose, starved) = match falling_root(left, low, most, low, swept) {
            Ok(root) => {
                let q = M::from(root.x);
                let at = self.at_hose_flow(q, outlet, through, Bound::Least);
                let over = at.displaced - q * at.liquid;
                // The slope is computed anew at the root, because the one from the search was computed at a nearby
                // point.
                let slope = left(Dual64::new(root.x, 1.0)).eps;
                (settle(root.x, slope, over), false)
            }
            Err(NoRoot::Above(_)) => {
                let bound = self.inlet_bound.map(M::still);
                (bound.unwrap_or(M::from(most)), bound.is_some())
            }
            Err(_) => (pump.hose, false),
        };
        Pumped {
            flow: pump.flow,
            starved,
            ..self.at_hose_flow(hose, outlet, through, Bound::Least)
        }
    }
}
