//! The air path outside the core: ram air, grille, exit, recirculation, and the equipment upstream of the core.

use crate::input::unit::{BAR, celsius};
use crate::numeric::{Real, lesser};

crate::part! {
    /// The way of the air, the core apart.
    AirPath {
        ram: Share [0.0, 1.0] 0.6, FanAir, "share of the road speed's dynamic pressure that drives air through";
        grille: Number [0.0, 100.0] 3.0, FanAir, "loss coefficient of the grille, on the air speed at the core's face";
        exit: Number [0.0, 100.0] 2.0, FanAir, "loss coefficient of the way out, on the air speed at the core's face";
        recirculation: Share [0.0, 0.8] 0.1, Heat, "share of the air that comes round again from behind the core at a standstill (judgment)";
        recirculation_speed: RoadSpeed [0.1, 50.0] 3.0, Heat, "road speed at which that is down to a third (judgment)";
        blown_back: Share [0.0, 1.0] 0.5, Heat, "share of what auxiliary fans blow back through the core's front that comes round again at a standstill (judgment)";
    }
}

crate::part! {
    /// A part of the core's face with something ahead of it.
    Front {
        share: Share [0.01, 1.0] f64::NAN, FanAir, "share of the core's face";
        drop: AirPressure [0.0, 0.1 * BAR] 0.0, FanAir, "air pressure drop of what stands ahead, at the core's rated air speed";
        condenser: Power [0.0, 200e3] 0.0, Heat, "heat that the condenser gives off here with air conditioning full on, as long as the air can take it";
        condenser_reach: Share [0.05, 1.0] 0.65, Heat, "how near the air comes to the temperature at which the refrigerant condenses (engineering assumption)";
        condenser_most: Temperature [celsius(60.0), celsius(100.0)] celsius(86.0), Heat, "temperature of condensing at which the pressure cuts the compressor out";
        oil_cooler: Share [0.0, 1.0] 0.0, Heat, "share of the oil cooler that stands here";
        other_heat: Power [0.0, 500e3] 0.0, Heat, "heat that other coolers (charge air, transmission, work oil) give off here at greatest power";
        other_idle: Share [0.0, 1.0] 0.1, Heat, "share of it that is left at no load; between the two it follows the engine's power (engineering assumption)";
        auxiliary: Share [0.0, 1.0] 0.0, FanAir, "how far an auxiliary fan here is on: 0 off, 1 on";
        auxiliary_pressure: AirPressure [0.0, 0.02 * BAR] 0.0, FanAir, "pressure of the auxiliary fan with no flow; 0 where there is none";
        auxiliary_flow: AirFlow [0.01, 20.0] 1.0, FanAir, "flow of the auxiliary fan against no pressure";
        auxiliary_linear: Share [0.0, 1.0] 0.0, FanAir, "share of the fall of the auxiliary fan's pressure that goes with flow itself; the rest goes with its square";
        auxiliary_reach: Share [0.01, 1.0] 1.0, FanAir, "share of this part of the face that the auxiliary fan serves: all under a shroud, else its disc";
        auxiliary_behind: Share [0.0, 1.0] 0.0, FanAir, "where the auxiliary fan stands: 0 ahead of the core, 1 behind it in the warmed air";
        auxiliary_drop: AirPressure [0.0, 0.02 * BAR] 0.0, FanAir, "air pressure drop of the auxiliary fan when off, at the core's rated air speed";
    }
}

impl Front<f64> {
    /// The equipment in this zone, in words: `condenser and oil cooler`.
    pub fn words(&self) -> String {
        let there: Vec<&str> = [
            (self.condenser > 0.0, "condenser"),
            (self.oil_cooler > 0.0, "oil cooler"),
            (self.other_heat > 0.0, "another cooler"),
            (self.auxiliary_pressure > 0.0, "auxiliary fan"),
        ]
        .into_iter()
        .filter_map(|(there, name)| there.then_some(name))
        .collect();
        if there.is_empty() {
            "something else".into()
        } else {
            there.join(" and ")
        }
    }
}

impl<N: Real> AirPath<N> {
    /// Fraction of the air that recirculates, at road speed `v` (m/s).
    pub fn recirculated(&self, v: N) -> N {
        self.recirculation * self.standing(v)
    }

    /// Fraction of the air that recirculates, if auxiliary fans also blow a fraction `back` of the core's airflow back
    /// out of its front.
    pub fn comes_round(&self, v: N, back: N) -> N {
        let round = self.recirculated(v);
        round + (N::from(1.0) - round) * self.blown_back * self.standing(v) * back
    }

    /// How close the vehicle is to standstill, 0 to 1, at road speed `v` (m/s).
    fn standing(&self, v: N) -> N {
        (-(v / self.recirculation_speed).abs()).exp()
    }
}

impl<N: Real> Front<N> {
    /// Heat of other coolers, W, at a fraction of the engine's maximum power.
    pub fn other_heat_at(&self, load: N) -> N {
        self.other_heat * (self.other_idle + (N::from(1.0) - self.other_idle) * load)
    }

    /// Fraction of this zone that its auxiliary fan covers.
    pub fn reach(&self) -> N {
        lesser(self.auxiliary_reach, N::from(1.0))
    }
}
