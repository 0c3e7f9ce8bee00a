//! Random machines, oils and conditions: invented, wide, and valid.

use oilwheel::fluid::oil::Curve;
use oilwheel::input::unit::{BAR, CM3_REV, L_MIN, MM, MM2_S, RPM, celsius};
use oilwheel::model::{Case, Shape};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// A source of random cases that is the same for a seed everywhere.
pub struct Random(ChaCha8Rng);

impl Random {
    /// Starts at a seed.
    pub fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// Between two values, evenly.
    pub fn even(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.0.random::<f64>()
    }

    /// Between two values, evenly in the logarithm.
    pub fn log(&mut self, low: f64, high: f64) -> f64 {
        (self.even(low.ln(), high.ln())).exp()
    }

    /// True with a chance.
    pub fn chance(&mut self, p: f64) -> bool {
        self.0.random::<f64>() < p
    }

    /// A random case.
    pub fn case(&mut self) -> Case {
        let size = self.log(6.0, 60.0) * CM3_REV;
        let flow = size * 2.0 * std::f64::consts::PI * self.even(15.0, 40.0);
        let high = self.log(40.0, 250.0) * BAR;
        let motor = size * self.log(0.4, 1.5);
        let fan_speed = self.log(1200.0, 3500.0) * RPM;
        let power = high * motor * fan_speed * self.log(0.2, 1.5);
        let nu40 = self.log(12.0, 200.0);
        let nu100 = nu40.powf(self.even(0.45, 0.6));
        let mut points = vec![
            (celsius(40.0), nu40 * MM2_S),
            (celsius(100.0), nu100 * MM2_S),
        ];
        if self.chance(0.5) {
            points.push((celsius(-20.0), nu40 * self.log(12.0, 60.0) * MM2_S));
        }
        let curve = Curve::new(&points).unwrap();
        let shape = Shape {
            recirculates: self.chance(0.5),
            valve_to_motor_outlet: self.chance(0.5),
            steering_first: self.chance(0.3),
            unplugged: self.chance(0.1),
        };
        let some = [
            self.chance(0.3),
            self.chance(0.6),
            self.chance(0.15),
            self.chance(0.5),
            self.chance(0.5),
            self.chance(0.6),
            self.chance(0.5),
        ];
        let has = |key: &str| match key {
            "belt" => some[0],
            "regulator" => some[1],
            "governor" => some[2],
            "screen" => some[3],
            "filter" => some[4],
            "cooler" => some[5],
            "steering" => some[6],
            _ => false,
        };
        let bore = (flow / 4.0).sqrt() * 1.2;
        Case::try_make(curve, shape, has, |input| {
            let v = match input.key().as_str() {
                "pump.displacement" => size,
                "pump.ratio" => self.even(0.8, 1.6),
                "motor.displacement" => motor,
                "pump.slip" | "motor.slip" => {
                    if self.chance(0.1) {
                        0.0
                    } else {
                        self.log(1e-9, 2e-7)
                    }
                }
                "pump.turbulent_slip" | "motor.turbulent_slip" => {
                    if self.chance(0.4) {
                        0.0
                    } else {
                        self.log(1e-4, 1e-2)
                    }
                }
                "pump.drag" | "motor.drag" => self.log(1e4, 5e5),
                "pump.friction" | "motor.friction" => self.even(0.0, 0.3),
                "pump.dry_torque" => self.even(0.0, 0.1) * high * size,
                "motor.dry_torque" => self.even(0.0, 0.1) * high * motor,
                "motor.breakaway" => self.even(0.0, 0.2) * high * motor,
                "pump.drag_exponent" | "motor.drag_exponent" => self.even(0.2, 1.0),
                "pump.fill_speed" => self.log(1500.0, 8000.0) * RPM,
                "oil.air_release" => self.even(0.05, 0.35) * BAR,
                "pump.least_inlet" => self.even(0.4, 0.85) * BAR,
                "motor.anti_cavitation" => 0.1 * BAR,
                "belt.torque_limit" => high * size * self.log(0.4, 3.0),
                "regulator.rated_flow" => flow * self.log(0.4, 2.0),
                "regulator.rated_viscosity" => self.log(5.0, 40.0) * MM2_S,
                "regulator.spring_drop" => self.log(2.0, 8.0) * BAR,
                "regulator.critical" => self.log(15.0, 2000.0),
                "relief.setting" => high * self.log(0.9, 2.0),
                "valve.high" => high,
                "valve.low" => self.log(2.0, 6.0) * BAR,
                "valve.slope" | "relief.slope" => self.log(0.02, 2.0) * BAR / L_MIN,
                "valve.leak" => {
                    if self.chance(0.8) {
                        0.0
                    } else {
                        self.log(0.1, 3.0) * MM
                    }
                }
                "valve.least_command" => {
                    if self.chance(0.9) {
                        0.0
                    } else {
                        self.even(0.0, 1.0)
                    }
                }
                "governor.full_speed" => fan_speed * self.log(0.3, 1.2),
                "supply.length" | "return.length" => self.log(0.5, 8.0),
                "suction.length" => self.log(0.2, 2.0),
                "supply.bore" | "return.bore" => bore * self.log(0.4, 1.3),
                "suction.bore" => bore * self.log(0.6, 3.0),
                "screen.resistance" | "filter.resistance" => {
                    self.log(0.01, 0.5) * BAR / (flow * 0.02)
                }
                "screen.bypass" => self.log(0.1, 0.5) * BAR,
                "filter.bypass" => self.log(0.5, 3.0) * BAR,
                "cooler.length" => self.log(0.5, 6.0),
                "cooler.bore" => bore * self.log(0.3, 1.0),
                "cooler.tubes" => self.even(1.0, 8.0).floor(),
                "steering.pressure" => self.log(1.0, 60.0) * BAR,
                "steering.flow" => {
                    if shape.steering_first {
                        flow * self.even(0.0, 0.3)
                    } else {
                        0.0
                    }
                }
                "fan.diameter" | "fan.rated_diameter" => 0.45,
                "fan.rated_speed" => fan_speed,
                "fan.rated_power" => power.clamp(10.0, 1e5),
                "reservoir.volume" => 3e-3,
                "reservoir.pressure" => {
                    if self.chance(0.7) {
                        0.0
                    } else {
                        self.even(-0.05, 0.5) * BAR
                    }
                }
                "oil.density" => self.even(820.0, 900.0),
                "oil.shear_loss" => self.even(0.6, 1.0),
                "oil.air" => {
                    if self.chance(0.6) {
                        0.0
                    } else {
                        self.even(0.0, 0.15)
                    }
                }
                "now.engine_speed" => self.log(300.0, 6000.0) * RPM,
                "now.oil_temp" => celsius(self.even(-40.0, 150.0)),
                "now.command" => {
                    if self.chance(0.4) {
                        1.0
                    } else {
                        self.even(0.0, 1.0)
                    }
                }
                "now.air_temp" => celsius(self.even(-40.0, 90.0)),
                "now.altitude" => self.even(0.0, 5000.0),
                _ => input.field().usual,
            };
            assert!(v.is_finite(), "{} has no value", input.key());
            Ok::<f64, ()>(v)
        })
        .unwrap()
    }
}
