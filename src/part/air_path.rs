//! The air path outside the core: ram air, grille, exit, recirculation, and the equipment upstream of the core.

use crate::input::unit::{BAR, celsius};
use crate::numeric::{Real, lesser};

crate::part! {
    /// The air path, apart from the core itself.
    AirPath {
        ram: Share [0.0, 1.0] 0.6, FanAir, "ram pressure as a fraction of the dynamic pressure at road speed";
        grille: Number [0.0, 100.0] 3.0, FanAir, "loss coefficient of the grille, referred to the face velocity of the core";
        exit: Number [0.0, 100.0] 2.0, FanAir, "loss coefficient of the air exit, referred to the face velocity of the core";
        recirculation: Share [0.0, 0.8] 0.1, Heat, "fraction of the air that recirculates at standstill (engineering assumption)";
        recirculation_speed: RoadSpeed [0.1, 50.0] 3.0, Heat, "road speed at which recirculation has fallen to about a third of its value at standstill (engineering assumption)";
        blown_back: Share [0.0, 1.0] 0.5, Heat, "recirculating fraction of the air that auxiliary fans blow back out of the core face, at standstill (engineering assumption)";
    }
}

crate::part! {
    /// A zone of the core face that has other equipment upstream, such as a condenser or an oil cooler.
    Front {
        share: Share [0.01, 1.0] f64::NAN, FanAir, "fraction of the core face that this zone covers";
        drop: AirPressure [0.0, 0.1 * BAR] 0.0, FanAir, "air pressure drop of the equipment upstream, at the core's rated air speed";
        condenser: Power [0.0, 200e3] 0.0, Heat, "heat that the condenser rejects in this zone with the air conditioning at full load; less if the air cannot carry it";
        condenser_reach: Share [0.05, 1.0] 0.65, Heat, "temperature effectiveness of the condenser: temperature rise of the air divided by condensing minus inlet air temperature (engineering assumption)";
        condenser_most: Temperature [celsius(60.0), celsius(100.0)] celsius(86.0), Heat, "condensing temperature at which the pressure switch cuts out the compressor";
        oil_cooler: Share [0.0, 1.0] 0.0, Heat, "fraction of the oil cooler that is in this zone";
        other_heat: Power [0.0, 500e3] 0.0, Heat, "heat that other coolers (charge air, transmission, work hydraulics) reject in this zone at maximum engine power";
        other_idle: Share [0.0, 1.0] 0.1, Heat, "fraction of the other coolers' heat that remains at no load; from there the heat rises linearly with engine power (engineering assumption)";
        auxiliary: Share [0.0, 1.0] 0.0, FanAir, "operating state of the auxiliary fan in this zone; 0 is off, 1 is on";
        auxiliary_pressure: AirPressure [0.0, 0.02 * BAR] 0.0, FanAir, "pressure of the auxiliary fan at zero flow; 0 if there is no fan";
        auxiliary_flow: AirFlow [0.01, 20.0] 1.0, FanAir, "free flow of the auxiliary fan, at zero pressure";
        auxiliary_linear: Share [0.0, 1.0] 0.0, FanAir, "fraction of the auxiliary fan's pressure that falls linearly with flow; the rest falls quadratically";
        auxiliary_reach: Share [0.01, 1.0] 1.0, FanAir, "fraction of this zone that the auxiliary fan covers; 1 with a shroud, otherwise disc area divided by zone area";
        auxiliary_behind: Share [0.0, 1.0] 0.0, FanAir, "position of the auxiliary fan; 0 is upstream of the core, 1 is downstream in the warmed air";
        auxiliary_drop: AirPressure [0.0, 0.02 * BAR] 0.0, FanAir, "air pressure drop of the auxiliary fan when off, at the core's rated air speed";
    }
}

impl Front<f64> {
    /// Names the equipment in this zone, for example `condenser and oil cooler`.
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
            "other equipment".into()
        } else {
            there.join(" and ")
        }
    }
}

impl<N: Real> AirPath<N> {
    /// Fraction of the air entering the core that is recirculated hot air, at road speed `v` (m/s).
    pub fn recirculated(&self, v: N) -> N {
        self.recirculation * self.standing(v)
    }

    /// Fraction of the air entering the core that is recirculated hot air, if auxiliary fans also blow air back out of
    /// the core face; `back` is that air as a fraction of the core's airflow.
    pub fn recirculated_with_fans(&self, v: N, back: N) -> N {
        let round = self.recirculated(v);
        round + (N::from(1.0) - round) * self.blown_back * self.standing(v) * back
    }

    /// Factor by which recirculation decreases with road speed `v` (m/s): 1 at standstill, towards 0 at high speed.
    fn standing(&self, v: N) -> N {
        (-(v / self.recirculation_speed).abs()).exp()
    }
}

impl<N: Real> Front<N> {
    /// Heat rejected by the other coolers in this zone, W, if the engine delivers the fraction `load` of its maximum
    /// power.
    pub fn other_heat_at(&self, load: N) -> N {
        self.other_heat * (self.other_idle + (N::from(1.0) - self.other_idle) * load)
    }

    /// Fraction of this zone that its auxiliary fan covers.
    pub fn reach(&self) -> N {
        lesser(self.auxiliary_reach, N::from(1.0))
    }
}
