//! The air's way outside the core: ram, grille, exit, recirculation, and what stands ahead of the core.

use crate::input::unit::BAR;
use crate::numeric::Real;

crate::part! {
    /// The way of the air, the core apart.
    AirPath {
        ram: Share [0.0, 1.0] 0.6, FanAir, "share of the road speed's dynamic pressure that drives air through";
        grille: Number [0.0, 100.0] 3.0, FanAir, "loss coefficient of the grille, on the air speed at the core's face";
        exit: Number [0.0, 100.0] 2.0, FanAir, "loss coefficient of the way out, on the air speed at the core's face";
        recirculation: Share [0.0, 0.8] 0.1, Heat, "share of the air that comes round again from behind the core at a standstill (judgment)";
        recirculation_speed: RoadSpeed [0.1, 50.0] 3.0, Heat, "road speed at which that is down to a third (judgment)";
    }
}

crate::part! {
    /// A part of the core's face with something ahead of it.
    Front {
        share: Share [0.01, 1.0] f64::NAN, FanAir, "share of the core's face";
        drop: AirPressure [0.0, 0.1 * BAR] 0.0, FanAir, "air pressure drop of what stands ahead, at the core's rated air speed";
        condenser: Power [0.0, 200e3] 0.0, Heat, "heat that the condenser gives off here with air conditioning full on";
        oil_cooler: Share [0.0, 1.0] 0.0, Heat, "share of the oil cooler that stands here";
        other_heat: Power [0.0, 500e3] 0.0, Heat, "heat that other coolers give off here";
        auxiliary: Share [0.0, 1.0] 0.0, FanAir, "how far an auxiliary fan here is on: 0 off, 1 on";
        auxiliary_pressure: AirPressure [0.0, 0.02 * BAR] 0.0, FanAir, "pressure of the auxiliary fan with no flow; 0 where there is none";
        auxiliary_flow: AirFlow [0.01, 20.0] 1.0, FanAir, "flow of the auxiliary fan against no pressure";
        auxiliary_drop: AirPressure [0.0, 0.02 * BAR] 0.0, FanAir, "air pressure drop of the auxiliary fan when off, at the core's rated air speed";
    }
}

impl<N: Real> AirPath<N> {
    /// Share of the air that comes round again, at road speed `v` (m/s).
    pub fn recirculated(&self, v: N) -> N {
        self.recirculation * (-(v / self.recirculation_speed).abs()).exp()
    }
}
