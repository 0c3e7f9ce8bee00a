//! The radiator core: its air-side pressure drop and its heat transfer.

use crate::fluid::{air, coolant};
use crate::input::unit::L_MIN;
use crate::law::effectiveness_kays_london as exchanger;
use crate::numeric::{Real, lesser};

crate::part! {
    /// The radiator core, described by one rating point.
    Core {
        face: Area [0.01, 6.0] f64::NAN, FanAir, "face area";
        width: Length [0.0, 4.0] 0.0, FanAir, "width of the face, used to check whether fans fit; the height follows from the area. 0 if unknown; a face twice as wide as high is then assumed";
        rated_air_speed: AirSpeed [0.5, 20.0] f64::NAN, FanAir, "face velocity of the air at the rating point";
        rated_drop: AirPressure [5.0, 3000.0] f64::NAN, FanAir, "air pressure drop at the rating point, in air of 1.2 kg/m3";
        linear: Share [0.05, 1.0] 0.5, FanAir, "fraction of the rated air pressure drop that is linear in air speed; the rest is quadratic";
        conductance: Conductance [20.0, 100e3] f64::NAN, Heat, "thermal conductance (UA) at the rating point: heat divided by the mean temperature difference between coolant and air. A machine file may give rated_heat and rated_difference from a data sheet instead";
        rated_coolant_flow: Flow [L_MIN, 3000.0 * L_MIN] f64::NAN, Heat, "coolant flow at the rating point";
        air_side: Share [0.3, 0.99] 0.85, Heat, "air-side fraction of the thermal resistance at the rating point";
        air_exponent: Number [0.1, 0.9] 0.5, Heat, "exponent of air speed in the air-side conductance";
        blocked: Share [0.0, 0.95] 0.0, FanAir, "fraction of the face that is blocked on the outside; 0 when clean";
        fouling: Number [1.0, 30.0] 1.0, FanAir, "factor by which dirt in the fins raises the air resistance; 1 when clean";
        blocked_tubes: Share [0.0, 0.95] 0.0, Heat, "fraction of the tubes that are blocked on the inside; 0 when clean";
        heat_capacity: HeatCapacity [200.0, 2e6] 18e3, Heat, "heat capacity of the core's metal and the coolant in it (default quoted from memory)";
    }
}

/// Exponent of coolant flow in the liquid-side conductance, for turbulent flow in the tubes.
const LIQUID_EXPONENT: f64 = 0.8;

/// Heat transfer coefficient between the two faces of the core and still air at a temperature difference of
/// [`PARKED_AT`], W/(m² K) *(engineering assumption; free convection in gases has 2 to 25 by F. P. Incropera and D. P.
/// DeWitt, Fundamentals of Heat and Mass Transfer, table 1.1, quoted from memory)*.
const PARKED: f64 = 10.0;

/// The temperature difference, K, that [`PARKED`] is stated for.
const PARKED_AT: f64 = 70.0;

/// Exponent of the temperature difference in this coefficient: that of turbulent free convection.
const PARKED_EXPONENT: f64 = 1.0 / 3.0;

/// Fraction of the coolant circuit's flow resistance that is in the core's tubes *(engineering assumption)*.
const TUBES: f64 = 0.4;

impl Core {
    /// Width and height of the face, m; if the width is unknown, a face twice as wide as high is assumed.
    pub fn sides(&self) -> [f64; 2] {
        let width = if self.width > 0.0 {
            self.width
        } else {
            (2.0 * self.face).sqrt()
        };
        [width, self.face / width]
    }
}

impl Core {
    /// Heat, W, that the faces of the core give off to still air while the engine is off, if the core is warmer than the
    /// ambient air by `over` (K).
    pub fn parked_heat(&self, over: f64) -> f64 {
        let open = 2.0 * self.face * (1.0 - self.blocked);
        open * PARKED * (over.abs() / PARKED_AT).powf(PARKED_EXPONENT) * over
    }
}

impl<N: Real> Core<N> {
    /// Thermal conductance of the whole core, W/K, with uniform air speed `v` (m/s) and coolant flow `q` (m³/s);
    /// `liquid` is the conductance of the coolant film relative to its value at the rating point.
    pub fn conductance_at(&self, v: N, q: N, liquid: N) -> N {
        (self.air_side_at(v).recip() + self.liquid_side_at(q, liquid).recip()).recip()
    }

    /// Thermal conductance of the air side alone, W/K, at uniform air speed `v` (m/s).
    pub fn air_side_at(&self, v: N) -> N {
        self.conductance / self.air_side * (v / self.rated_air_speed).powd(self.air_exponent)
    }

    /// Thermal conductance of the liquid side alone, W/K, at coolant flow `q` (m³/s).
    pub fn liquid_side_at(&self, q: N, liquid: N) -> N {
        let tubes = (q / self.rated_coolant_flow).powf(LIQUID_EXPONENT) * liquid;
        self.conductance / (N::from(1.0) - self.air_side) * tubes
    }

    /// Heat, W, that the core rejects in a test at sea level with uniform air speed `v` (m/s) and coolant flow `q`
    /// (m³/s); the coolant enters at temperature `hot`, the air at `cold` (K).
    pub fn heat_at(&self, [v, q]: [N; 2], [hot, cold]: [N; 2], glycol: N) -> N {
        let ua = self.conductance_at(v, q, coolant::film(glycol, hot));
        let (least, most) = self.carries([v, q], [hot, cold], glycol);
        exchanger::crossflow(ua / least, least / most) * least * (hot - cold)
    }

    /// Heat capacity rates of air and coolant, W/K, in the test described at `heat_at`; the smaller of the two comes
    /// first.
    pub fn carries(&self, [v, q]: [N; 2], [hot, cold]: [N; 2], glycol: N) -> (N, N) {
        let air = air::density(N::from(0.0), cold) * self.face * v * air::heat_capacity(cold);
        let liquid = q * coolant::capacity(glycol, hot);
        if air.re() < liquid.re() {
            (air, liquid)
        } else {
            (liquid, air)
        }
    }

    /// Coolant flow with some tubes blocked, as a fraction of the flow with all tubes open; the resistance of the rest
    /// of the circuit is unchanged.
    pub fn flow_left(&self) -> N {
        let open = N::from(1.0) - self.blocked_tubes;
        lesser(
            (open * open * (1.0 - TUBES) + TUBES).sqrt().recip() * open,
            N::from(1.0),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ONE: Core = Core {
        face: 0.3,
        width: 0.0,
        rated_air_speed: 5.0,
        rated_drop: 200.0,
        linear: 0.5,
        conductance: 2000.0,
        rated_coolant_flow: 2e-3,
        air_side: 0.8,
        air_exponent: 0.5,
        blocked: 0.0,
        fouling: 1.0,
        blocked_tubes: 0.0,
        heat_capacity: 18e3,
    };

    #[test]
    fn passes_its_rating_point_and_each_side_alone_limits() {
        assert!((ONE.conductance_at(5.0, 2e-3, 1.0) - 2000.0).abs() < 1e-9);
        // Calculated by hand: at four times the air speed the air-side resistance halves, from 0.8 to 0.4 of the total;
        // the liquid side keeps its 0.2.
        assert!((ONE.conductance_at(20.0, 2e-3, 1.0) - 2000.0 / 0.6).abs() < 1e-9);
        assert!((ONE.conductance_at(5.0, 1e9, 1.0) - 2500.0).abs() < 1e-3);
    }

    #[test]
    fn blocked_tubes_cost_flow() {
        assert!((ONE.flow_left() - 1.0).abs() < 1e-12);
        let half = Core {
            blocked_tubes: 0.5,
            ..ONE
        };
        // Calculated by hand: half the tubes have four times the resistance, so the circuit has 0.6 + 0.4 · 4 = 2.2
        // times its resistance.
        assert!((half.flow_left() - 2.2_f64.powf(-0.5)).abs() < 1e-12);
    }
}
