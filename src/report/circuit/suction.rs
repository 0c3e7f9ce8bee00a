//! Draws the low-pressure side from the motor back to the pump: return line, reservoir and suction hose.

use super::symbols::Way;
use super::{Drawing, OUTLINE, PUMP, RETURN};
use crate::report::svg::{Held, INK, Look, SOFT};

impl<'a> Drawing<'a> {
    /// Draws the line from the motor outlet along the bottom into the reservoir; returns the lower end of its text.
    pub(super) fn return_line(&mut self, middle: f64, back: f64) -> f64 {
        let circuit = self.circuit;
        let tank = PUMP - 4.0;
        let path = [
            (self.motor, middle),
            (self.motor, back),
            (tank + 34.0, back),
            (tank + 34.0, back + 52.0),
        ];
        let look = self.line("return", RETURN);
        self.picture.path(&path, look);
        self.arrow((self.motor - 44.0, back), Way::Left);
        let mut bottom = back + 8.0 + self.height("return");

        let there = [
            (
                "steering",
                circuit.steering_in_series && !circuit.steering_in_priority,
            ),
            ("cooler", circuit.cooler),
            ("filter", circuit.filter),
        ];
        let mut x = self.motor - 112.0;
        for (place, _) in there.into_iter().filter(|t| t.1) {
            let look = self.outline(place);
            match place {
                "steering" => self.steering_unit(x, back),
                "cooler" => {
                    self.diamond(x, back, look);
                    self.picture.path(
                        &[(x - 24.0, back), (x + 24.0, back)],
                        Look::line(INK, RETURN),
                    );
                    // Outward arrows stand for heat rejection.
                    self.picture.path(
                        &[(x, back - 32.0), (x, back + 32.0)],
                        Look::line(INK, OUTLINE),
                    );
                    self.triangle((x, back - 33.0), Way::Up, 8.0);
                    self.triangle((x, back + 33.0), Way::Down, 8.0);
                }
                _ => {
                    self.diamond(x, back, look);
                    self.picture.path(
                        &[(x, back - 24.0), (x, back + 24.0)],
                        Look::line(INK, 1.6).dashed("5 3"),
                    );
                }
            }
            self.write(place, x, back + 36.0, Held::Middle);
            bottom = bottom.max(back + 36.0 + self.height(place));
            x -= 160.0;
        }
        bottom.max(self.reservoir(tank, back))
    }

    /// Draws the reservoir as an open box with the oil level; returns the lower end of its text.
    fn reservoir(&mut self, x: f64, back: f64) -> f64 {
        let (top, floor) = (back + 22.0, back + 68.0);
        let look = self.outline("reservoir").inside("none");
        self.picture.path(
            &[
                (x - 58.0, top),
                (x - 58.0, floor),
                (x + 58.0, floor),
                (x + 58.0, top),
            ],
            look,
        );
        self.picture.path(
            &[(x - 57.0, top + 12.0), (x + 57.0, top + 12.0)],
            Look::line(SOFT, 1.0),
        );
        self.write("reservoir", x - 58.0, floor + 4.0, Held::Left);
        floor + 4.0 + self.height("reservoir")
    }

    /// Draws the line from the reservoir up to the pump, through a screen if there is one.
    pub(super) fn suction(&mut self, middle: f64, back: f64) {
        let x = PUMP - 34.0;
        let look = self.line("suction", RETURN + 0.6);
        let bend = middle + 44.0;
        self.picture.path(
            &[(x, back + 54.0), (x, bend), (PUMP, bend), (PUMP, middle)],
            look,
        );
        if self.circuit.screen {
            let y = (bend + back) / 2.0 + 14.0;
            let look = self.outline("suction");
            self.small_diamond(x, y, look);
            self.picture.path(
                &[(x - 15.0, y), (x + 15.0, y)],
                Look::line(INK, 1.6).dashed("4 2.5"),
            );
        } else {
            self.arrow((x, (bend + back) / 2.0), Way::Up);
        }
        let top = back - 4.0 - self.height("suction");
        self.write("suction", x + 22.0, top, Held::Left);
    }
}
