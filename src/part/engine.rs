//! The engine as a heat source, and the vehicle that it drives.

use crate::input::unit::{BAR, L, RPM};
use crate::law::road_load_steady as road;
use crate::numeric::{Real, greater, lesser, positive};
use std::f64::consts::PI;

crate::part! {
    /// The engine as a heat source: the fuel heat is linear in power, and a fraction of it goes into the coolant.
    Engine {
        displacement: Volume [0.2 * L, 30.0 * L] f64::NAN, Heat, "swept volume of a four-stroke engine";
        friction: Pressure [0.3 * BAR, 5.0 * BAR] 1.7 * BAR, Heat, "mean effective pressure of friction and pumping";
        efficiency: Share [0.2, 0.55] 0.36, Heat, "indicated efficiency: fraction of the fuel's heat that becomes work in the cylinders";
        rated_power: Power [5e3, 1000e3] f64::NAN, Heat, "maximum engine power";
        idle_share: Share [0.05, 0.7] 0.55, Heat, "fraction of the fuel's heat that goes into coolant, engine oil and metal at no load, before the block loses any of it to the air";
        full_share: Share [0.05, 0.7] 0.28, Heat, "fraction of the fuel's heat that goes into coolant, engine oil and metal at maximum power";
        accessories: Power [0.0, 50e3] 1e3, Heat, "power taken by the alternator and other accessories, without the fan drive's pump";
        air_conditioning: Power [0.0, 50e3] 3e3, Heat, "compressor power with the air conditioning at full load";
        excess: Number [0.5, 3.0] 1.0, Heat, "factor by which the heat into the coolant is multiplied; 1 when healthy";
        metal: HeatCapacity [2e3, 5e6] 40e3, Heat, "heat capacity of the metal that follows the coolant temperature quickly (engineering assumption)";
        metal_to_coolant: Conductance [20.0, 500e3] 2.5e3, Heat, "conductance between the coolant and the metal that follows its temperature quickly (default quoted from memory)";
        slow_metal: HeatCapacity [2e3, 5e6] 40e3, Heat, "heat capacity of the metal and engine oil that follow the coolant temperature slowly (engineering assumption)";
        slow_joined: Conductance [1.0, 500e3] 300.0, Heat, "conductance between the metal that follows quickly and the metal that follows slowly (engineering assumption)";
        surface: Conductance [0.0, 500.0] 11.0, Heat, "conductance from block, sump and hoses to the surrounding air when parked, for a temperature difference of 70 K (engineering assumption)";
        surface_running: Number [1.0, 6.0] 2.5, Heat, "factor by which a running engine raises the surface conductance (engineering assumption)";
    }
}

crate::part! {
    /// The vehicle, whose driving resistance loads the engine.
    Vehicle {
        mass: Mass [50.0, 60e3] f64::NAN, Heat, "laden mass of the vehicle";
        rolling: Number [0.002, 0.5] 0.011, Heat, "coefficient of rolling resistance";
        drag_area: Area [0.1, 20.0] f64::NAN, Heat, "drag coefficient times frontal area";
        trailer_drag_area: Area [0.0, 20.0] 0.0, Heat, "additional drag area of a trailer";
        driveline: Share [0.4, 1.0] 0.85, Heat, "driveline efficiency: fraction of the engine's power that reaches the road";
        tyre_radius: Length [0.1, 1.2] f64::NAN, Heat, "rolling radius of the tyres";
        final_drive: Number [0.5, 30.0] f64::NAN, Heat, "final drive ratio";
        gear_1: Number [0.0, 20.0] 0.0, Heat, "ratio of the first gear; 0 if there is none";
        gear_2: Number [0.0, 20.0] 0.0, Heat, "ratio of the second gear";
        gear_3: Number [0.0, 20.0] 0.0, Heat, "ratio of the third gear";
        gear_4: Number [0.0, 20.0] 0.0, Heat, "ratio of the fourth gear";
        gear_5: Number [0.0, 20.0] 0.0, Heat, "ratio of the fifth gear";
        gear_6: Number [0.0, 20.0] 0.0, Heat, "ratio of the sixth gear";
    }
}

crate::part! {
    /// How the hydraulic oil exchanges heat with its surroundings.
    OilHeat {
        cooler: Conductance [0.0, 20e3] 0.0, Heat, "conductance of the oil cooler to the air, at the core's rated air speed";
        surface: Conductance [0.0, 2e3] f64::NAN, Heat, "conductance of reservoir, lines and housings to the air downstream of the core";
        metal: HeatCapacity [0.0, 1e7] 4e3, Heat, "heat capacity of the metal that follows the oil temperature";
        engine: Conductance [0.0, 2e3] 0.0, Heat, "conductance from the engine's metal to the oil, through pump, brackets and hoses";
    }
}

/// Maximum torque of an engine as a multiple of its torque at rated power *(common practice, no source: diesels 1.2 to
/// 1.5, petrol engines 1.1 to 1.3)*.
const TORQUE_RISE: f64 = 1.3;

/// Temperature difference between engine block and surrounding air, K, for which the surface conductance is stated.
const SURFACE_AT: f64 = 70.0;

/// Exponent of this temperature difference in the surface conductance, for free convection and radiation; fitted to the
/// cooling of a parked car (`validation/parked_cooling_car`).
const SURFACE_EXPONENT: f64 = 0.33;

/// Heat released by the fuel, and the part of it that goes into the engine's metal.
#[derive(Clone, Copy, Debug)]
pub struct Fired<N> {
    /// Heat released by the fuel, W.
    pub fuel: N,
    /// Heat into the metal, and from there into the coolant, W.
    pub metal: N,
}

impl<N: Real> Engine<N> {
    /// Fuel heat, and heat into the metal, at engine speed `n` (rad/s) and shaft power `power` (W). `measured` is the
    /// measured fuel heat (W), or 0 if it was not measured. Both results are 0 if the engine is stopped.
    pub fn fired(&self, n: N, power: N, measured: N) -> Fired<N> {
        if n.re() <= 0.0 {
            let nothing = N::from(0.0);
            return Fired {
                fuel: nothing,
                metal: nothing,
            };
        }
        let friction = self.friction * self.displacement * n / (4.0 * PI);
        let power = positive(power);
        let fuel = if measured.re() > 0.0 {
            measured
        } else {
            (power + friction) / self.efficiency
        };
        // If the fuel heat is measured, the shaft power follows from it: indicated power less friction.
        let power = if measured.re() > 0.0 {
            positive(measured * self.efficiency - friction)
        } else {
            power
        };
        // The heat into the metal is linear in shaft power, as the fuel heat is.
        let idles = friction * (N::from(1.0) - self.load(power)) / (friction + power);
        let share = self.full_share + (self.idle_share - self.full_share) * idles;
        Fired {
            fuel,
            metal: share * fuel * self.excess,
        }
    }

    /// Fuel heat, W, at maximum power and engine speed `n` (rad/s).
    pub fn most_fuel(&self, n: N) -> N {
        let friction = self.friction * self.displacement * n / (4.0 * PI);
        (self.rated_power + friction) / self.efficiency
    }

    /// Maximum power, W, at engine speed `n` (rad/s), if the rated power is that at the full speed `full` (rad/s).
    pub fn most_power(&self, n: N, full: f64) -> N {
        self.rated_power * lesser(n / full * TORQUE_RISE, N::from(1.0))
    }

    /// The shaft power `power` (W) as a fraction of the maximum power, at most 1.
    pub fn load(&self, power: N) -> N {
        lesser(positive(power) / self.rated_power, N::from(1.0))
    }

    /// Heat rejected by block, sump and hoses to the surrounding air, W, if their temperature exceeds that of the air
    /// by `over` (K); and the derivative of this heat with respect to `over`, W/K.
    pub fn surface_heat(&self, n: N, over: N) -> (N, N) {
        let runs = if n.re() > 0.0 {
            self.surface_running
        } else {
            N::from(1.0)
        };
        let size = over.abs();
        let grown = if size.re() > 1e-9 {
            (size / SURFACE_AT).powd(N::from(SURFACE_EXPONENT))
        } else {
            N::from(0.0)
        };
        let conductance = self.surface * runs * grown;
        (conductance * over, conductance * (1.0 + SURFACE_EXPONENT))
    }

    /// Metal temperature, K, at which the metal gives off as much heat to the coolant, to the fan drive's oil and to
    /// the surrounding air as it receives from the fuel. `gets` is that heat, W; `around` the temperature of the
    /// surrounding air, K; `to_oil` the conductance to the oil, W/K.
    pub fn metal_temp(&self, n: N, gets: N, [coolant, oil, around]: [N; 3], to_oil: N) -> N {
        let mut t = coolant + gets / self.metal_to_coolant;
        for _ in 0..METAL_STEPS {
            let (lost, slope) = self.surface_heat(n, t - around);
            let left = self.metal_to_coolant * (t - coolant) + to_oil * (t - oil) + lost - gets;
            t = t - left / (self.metal_to_coolant + to_oil + slope);
        }
        t
    }
}

impl<N: Real> Vehicle<N> {
    /// Engine power needed to drive at road speed `v` (m/s), W; zero if the vehicle would roll downhill by itself.
    pub fn road_power(&self, v: N, grade: N, trailer: N, rho: N) -> N {
        let area = if trailer.re() > 0.0 {
            self.drag_area + self.trailer_drag_area
        } else {
            self.drag_area
        };
        let force = road::force(self.mass + trailer, self.rolling, grade, rho, area, v);
        positive(force * v) / self.driveline
    }

    /// Engine speed, rad/s, in a gear (the first is 1) at road speed `v` (m/s), but at least `idle`; `None` if the gear
    /// does not exist.
    pub fn engine_speed(&self, gear: usize, v: N, idle: N) -> Option<N> {
        let ratio = *self.gears().get(gear.checked_sub(1)?)?;
        (ratio.re() > 0.0).then(|| greater(v / self.tyre_radius * self.final_drive * ratio, idle))
    }

    /// The highest gear that keeps the engine at or above `least` (rad/s) at road speed `v` (m/s); the first gear if
    /// none does. Where the engine would then turn faster than `most` (rad/s), the lowest gear in which it does not, if
    /// there is one.
    pub fn gear(&self, v: N, [least, most]: [f64; 2]) -> usize {
        let turns = |gear: usize| self.engine_speed(gear, v, N::from(0.0)).map(|n| n.re());
        let gears = 1..=self.gears().len();
        let mut falling = gears.clone().rev();
        let pulls = falling
            .find(|g| turns(*g).is_some_and(|n| n >= least))
            .unwrap_or(1);
        let mut higher = gears.skip(pulls - 1);
        higher
            .find(|g| turns(*g).is_some_and(|n| n <= most))
            .unwrap_or(pulls)
    }

    fn gears(&self) -> [N; 6] {
        [
            self.gear_1,
            self.gear_2,
            self.gear_3,
            self.gear_4,
            self.gear_5,
            self.gear_6,
        ]
    }
}

/// Number of Newton iterations for the metal temperature; few suffice because the heat loss is nearly linear.
const METAL_STEPS: usize = 6;

/// A gear is used only if it keeps the engine at or above this speed, rad/s, unless the engine would turn faster than
/// its full speed in every such gear *(engineering assumption)*.
pub const LUGGING: f64 = 1300.0 * RPM;
