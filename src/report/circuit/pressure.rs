//! Draws the pressure side of the circuit: pump, regulator, valves, steering, motor and fan.

use super::symbols::Way;
use super::{Drawing, HALF, OUTLINE, PRESSURE, PUMP, RETURN};
use crate::report::svg::{Held, INK, Look};

impl<'a> Drawing<'a> {
    /// Draws the line from the pump outlet along the top to the motor.
    pub(super) fn supply_line(&mut self, supply: f64, middle: f64) {
        // A control valve that discharges into the reservoir is at the pump outlet; otherwise it is downstream of the
        // supply line.
        let (from, to) = self.supply_ends();
        let whole = [
            (PUMP, middle),
            (PUMP, supply),
            (self.motor, supply),
            (self.motor, middle),
        ];
        self.picture.path(&whole, Look::line(INK, PRESSURE));
        let look = self.line("supply", PRESSURE);
        if self.limits("supply") {
            self.picture.path(&[(from, supply), (to, supply)], look);
        }
        self.arrow((self.motor, supply + 34.0), Way::Down);
        self.arrow((PUMP, middle - 46.0), Way::Up);
        let top = supply - 10.0 - self.height("supply");
        self.write("supply", (from + to) / 2.0, top, Held::Middle);
    }

    /// Horizontal positions between which the supply line itself runs.
    fn supply_ends(&self) -> (f64, f64) {
        if self.circuit.valve_to_motor_outlet {
            (self.relief, self.valve)
        } else {
            (self.valve, self.motor)
        }
    }

    pub(super) fn pump(&mut self, middle: f64) {
        let look = self.outline("pump");
        self.picture.circle((PUMP, middle), 28.0, look);
        // The triangle at the outlet points out of the circle.
        self.triangle((PUMP, middle - 27.0), Way::Up, 14.0);
        self.shaft(PUMP - 28.0, PUMP - 52.0, middle);
        self.write("pump", PUMP + 38.0, middle - 18.0, Held::Left);
    }

    /// Draws a flow regulator: a throttle with an arrow across it, in a frame.
    pub(super) fn regulator(&mut self, supply: f64) {
        let x = PUMP + 72.0;
        let look = self.outline("regulator");
        self.picture
            .rectangle((x - 24.0, supply - HALF), (48.0, 2.0 * HALF), look);
        self.picture.path(
            &[(x - 24.0, supply), (x + 24.0, supply)],
            Look::line(INK, PRESSURE),
        );
        for side in [-1.0, 1.0] {
            let bow: Vec<(f64, f64)> = (-8..=8)
                .map(|i| {
                    let t = f64::from(i) / 8.0;
                    (x + 13.0 * t, supply + side * (5.0 + 7.0 * t * t))
                })
                .collect();
            self.picture.path(&bow, Look::line(INK, OUTLINE));
        }
        self.slanted_arrow((x - 15.0, supply + 16.0), (x + 15.0, supply - 16.0));
        let top = supply - HALF - 6.0 - self.height("regulator");
        self.write("regulator", x, top, Held::Middle);
    }

    /// Draws a pressure valve: a square with an arrow, a spring, and a dashed pilot line from its inlet.
    fn pressure_valve(&mut self, place: &str, x: f64, middle: f64) {
        let look = self.outline(place);
        self.picture
            .rectangle((x - HALF, middle - HALF), (2.0 * HALF, 2.0 * HALF), look);
        // The arrow is drawn offset from the lines, because the valve is normally closed.
        let passage = x - 7.0;
        self.picture.path(
            &[(passage, middle - HALF), (passage, middle + HALF)],
            Look::line(INK, OUTLINE),
        );
        self.triangle((passage, middle + HALF - 1.0), Way::Down, 8.0);
        // The pilot pressure acts from the left, the spring from the right.
        let pilot = [
            (x, middle - HALF - 14.0),
            (x - HALF - 12.0, middle - HALF - 14.0),
            (x - HALF - 12.0, middle),
            (x - HALF, middle),
        ];
        self.picture
            .path(&pilot, Look::line(INK, 1.2).dashed("5 3"));
        let coil: Vec<(f64, f64)> = (0..=6)
            .map(|i| {
                let side = if i % 2 == 0 { -6.0 } else { 6.0 };
                (x + HALF + 3.0 * f64::from(i), middle + side)
            })
            .collect();
        self.picture.path(&coil, Look::line(INK, 1.4));
    }

    /// Draws the main relief valve at the pump, which discharges into the reservoir.
    pub(super) fn relief_valve(&mut self, supply: f64, middle: f64) {
        let x = self.relief;
        self.picture.path(
            &[(x, supply), (x, middle - HALF)],
            Look::line(INK, PRESSURE),
        );
        self.dot(x, supply);
        self.picture.path(
            &[(x, middle + HALF), (x, middle + 44.0)],
            Look::line(INK, RETURN),
        );
        self.pressure_valve("relief", x, middle);
        self.tank(x, middle + 40.0);
        self.write("relief", x + 44.0, middle - 34.0, Held::Left);
    }

    /// Draws the control valve, which discharges to the motor outlet or into the reservoir.
    pub(super) fn control_valve(&mut self, supply: f64, middle: f64, junction: f64) {
        let x = self.valve;
        self.picture.path(
            &[(x, supply), (x, middle - HALF)],
            Look::line(INK, PRESSURE),
        );
        self.dot(x, supply);
        if self.circuit.valve_to_motor_outlet {
            let out = [(x, middle + HALF), (x, junction), (self.motor, junction)];
            self.picture.path(&out, Look::line(INK, RETURN));
            self.dot(self.motor, junction);
            self.arrow((x + 60.0, junction), Way::Right);
        } else {
            self.picture.path(
                &[(x, middle + HALF), (x, middle + 44.0)],
                Look::line(INK, RETURN),
            );
            self.tank(x, middle + 40.0);
        }
        self.pressure_valve("valve", x, middle);
        // An arrow across the spring means that the command adjusts the setting.
        self.slanted_arrow(
            (x + HALF + 2.0, middle + 15.0),
            (x + HALF + 18.0, middle - 15.0),
        );
        self.write("valve", x + 44.0, middle - 34.0, Held::Left);
    }

    /// Draws priority steering: a priority valve in the supply line, and the steering unit, which returns to the
    /// reservoir.
    pub(super) fn fed_first(&mut self, x: f64, supply: f64, middle: f64) {
        self.picture.path(
            &[(x, supply), (x, middle - HALF)],
            Look::line(INK, PRESSURE),
        );
        self.picture.rectangle(
            (x - 18.0, supply - 18.0),
            (36.0, 36.0),
            Look::line(INK, OUTLINE).inside("#ffffff"),
        );
        self.picture.path(
            &[(x - 18.0, supply), (x + 18.0, supply)],
            Look::line(INK, OUTLINE),
        );
        self.picture
            .path(&[(x, supply), (x, supply + 18.0)], Look::line(INK, OUTLINE));
        self.triangle((x, supply + 18.0), Way::Down, 9.0);
        self.triangle((x + 18.0, supply), Way::Right, 7.0);
        self.picture
            .soft((x, supply - 24.0), Held::Middle, "priority steering");
        self.picture.path(
            &[(x, middle + HALF), (x, middle + 44.0)],
            Look::line(INK, RETURN),
        );
        self.steering_unit(x, middle);
        self.tank(x, middle + 40.0);
        self.write("steering", x + 30.0, middle - 34.0, Held::Left);
    }

    /// Draws a steering unit: a frame with a steering wheel.
    pub(super) fn steering_unit(&mut self, x: f64, y: f64) {
        let look = self.outline("steering");
        self.picture.rectangle(
            (x - HALF - 2.0, y - HALF),
            (2.0 * HALF + 4.0, 2.0 * HALF),
            look,
        );
        self.picture.circle((x, y), 13.0, Look::line(INK, OUTLINE));
        self.picture.circle((x, y), 2.5, Look::filled(INK));
        for (dx, dy) in [(0.0, 13.0), (-12.0, -4.0), (12.0, -4.0)] {
            self.picture
                .path(&[(x, y), (x + dx, y + dy)], Look::line(INK, OUTLINE));
        }
    }

    pub(super) fn motor_and_fan(&mut self, middle: f64, back: f64) {
        let x = self.motor;
        let fan = x + 92.0;
        self.shaft(x + 28.0, fan, middle);
        let look = self.outline("motor");
        self.picture.circle((x, middle), 28.0, look);
        // The triangle at the inlet points into the circle.
        self.triangle((x, middle - 13.0), Way::Down, 14.0);
        self.write("motor", x + 14.0, middle + 34.0, Held::Left);

        // The fan is drawn as a hub between two blades.
        let look = self.outline("fan");
        for side in [-1.0, 1.0] {
            let blade: Vec<(f64, f64)> = (0..=24)
                .map(|i| {
                    let turn = f64::from(i) / 24.0 * std::f64::consts::TAU;
                    (
                        fan + 8.0 * turn.sin(),
                        middle + side * (22.0 - 18.0 * turn.cos()),
                    )
                })
                .collect();
            self.picture.shape(&blade, look);
        }
        self.picture.circle((fan, middle), 5.0, look.inside(INK));
        let top = middle - 48.0 - self.height("fan");
        self.write("fan", x + 16.0, top, Held::Left);

        // The text of the return line is written below its corner.
        let top = back + 8.0;
        self.write("return", x - 26.0, top, Held::Left);
    }
}
