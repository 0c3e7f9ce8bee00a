//! The hydraulic circuit with symbols after ISO 1219-1 and the figures of this moment.
//!
//! Pressure lines are thick, return and suction lines thin. The elements are in columns: pump, priority steering if
//! any, relief valve, control valve, motor with fan. The return line runs below them, from right to left. Rows grow
//! with their text.

use super::svg::{Held, INK, LINE, Look, Picture, SIZE, SOFT, letters};
use super::wrap::lines;
use crate::tell::Circuit;

/// Distance between columns.
const COLUMN: f64 = 215.0;
/// Position of the pump.
const PUMP: f64 = 84.0;
/// Maximum width of the text beside an element.
const WORDS: f64 = 140.0;
/// Thickness of pressure lines.
const PRESSURE: f64 = 3.5;
/// Thickness of return and suction lines.
const RETURN: f64 = 1.4;
/// Thickness of a symbol's outline.
const OUTLINE: f64 = 1.6;
/// Thickness of the outline of the limiting element.
const LIMITS: f64 = 4.5;
/// Colour of the limiting element.
const LIMIT_COLOUR: &str = "#B34700";
/// Half the size of a square symbol.
const HALF: f64 = 20.0;

/// The names of the elements in the picture.
const NAMES: [(&str, &str); 13] = [
    ("pump", "Pump"),
    ("regulator", "Flow regulator"),
    ("relief", "Relief valve"),
    ("valve", "Control valve"),
    ("supply", "Supply line"),
    ("motor", "Motor"),
    ("fan", "Fan"),
    ("return", "Return line"),
    ("steering", "Steering"),
    ("filter", "Filter"),
    ("cooler", "Oil cooler"),
    ("suction", "Suction line"),
    ("reservoir", "Reservoir"),
];

/// The name of an element.
pub(super) fn name(place: &str) -> &str {
    NAMES.iter().find(|n| n.0 == place).map_or(place, |n| n.1)
}

/// Draws a circuit.
pub(super) fn draw(circuit: &Circuit) -> Picture {
    Drawing::new(circuit).draw()
}

/// A circuit being drawn.
struct Drawing<'a> {
    circuit: &'a Circuit,
    picture: Picture,
    /// Columns, from left to right.
    steering: Option<f64>,
    relief: f64,
    valve: f64,
    motor: f64,
}

impl<'a> Drawing<'a> {
    fn new(circuit: &'a Circuit) -> Self {
        let steering = circuit.steering_in_priority.then_some(PUMP + COLUMN);
        let relief = steering.unwrap_or(PUMP) + COLUMN;
        let (valve, motor) = (relief + COLUMN, relief + 2.0 * COLUMN);
        let picture = Picture::new(&circuit.title, motor + 180.0);
        Self {
            circuit,
            picture,
            steering,
            relief,
            valve,
            motor,
        }
    }

    fn draw(mut self) -> Picture {
        // Heights from top to bottom, each below the text above it.
        let regulator = if self.circuit.regulator {
            self.height("regulator") + HALF
        } else {
            0.0
        };
        let over = regulator
            .max(self.height("supply"))
            .max(self.height("fan") - 30.0);
        let supply = 18.0 + over;
        let middle = supply + 78.0;
        let beside = ["pump", "relief", "valve", "steering"].map(|place| self.height(place));
        let beside = beside.into_iter().fold(0.0, f64::max);
        let junction = middle + (beside - 20.0).max(58.0);
        let below_motor = middle + 44.0 + self.height("motor");
        let below_pump = middle - 10.0 + self.height("pump") + self.height("suction") + 12.0;
        let back = (junction + 34.0).max(below_motor + 10.0).max(below_pump);

        let bottom = self.return_line(middle, back);
        self.suction(middle, back);
        self.supply_line(supply, middle);
        self.relief_valve(supply, middle);
        self.control_valve(supply, middle, junction);
        if let Some(x) = self.steering {
            self.fed_first(x, supply, middle);
        }
        self.pump(middle);
        if self.circuit.regulator {
            self.regulator(supply);
        }
        self.motor_and_fan(middle, back);
        self.picture.height = bottom + 10.0;
        self.picture
    }

    /// Whether this element limits the speed.
    fn limits(&self, place: &str) -> bool {
        !place.is_empty() && self.circuit.limiting == place
    }

    /// The outline of a symbol.
    fn outline(&self, place: &str) -> Look<'static> {
        let look = if self.limits(place) {
            Look::line(LIMIT_COLOUR, LIMITS)
        } else {
            Look::line(INK, OUTLINE)
        };
        look.inside("#ffffff")
    }

    /// A line of the circuit.
    fn line(&self, place: &str, width: f64) -> Look<'static> {
        if self.limits(place) {
            Look::line(LIMIT_COLOUR, width + 3.0)
        } else {
            Look::line(INK, width)
        }
    }

    /// The text of an element: its name, then its figures.
    fn words(&self, place: &str) -> (Vec<String>, Vec<String>) {
        let room = letters(WORDS, SIZE);
        let mut head = lines(name(place), room);
        if self.limits(place) {
            head.push("► limits".into());
        }
        let figures = self
            .circuit
            .labels
            .iter()
            .filter(|l| l.0 == place)
            .flat_map(|l| &l.1);
        (head, figures.flat_map(|line| lines(line, room)).collect())
    }

    /// The height of the text of an element.
    fn height(&self, place: &str) -> f64 {
        let (head, figures) = self.words(place);
        (head.len() + figures.len()) as f64 * LINE
    }

    /// Writes the text of an element from `top` downwards.
    fn write(&mut self, place: &str, x: f64, top: f64, held: Held) {
        let (head, figures) = self.words(place);
        let mut y = top - 4.0;
        for line in &head {
            y += LINE;
            self.picture.bold((x, y), held, line);
        }
        for line in &figures {
            y += LINE;
            self.picture.words((x, y), held, line);
        }
    }

    /// Pump outlet, along the top, to the motor.
    fn supply_line(&mut self, supply: f64, middle: f64) {
        // A valve that discharges into the reservoir is at the pump outlet; otherwise it is after the supply line.
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

    /// The columns between which the supply line runs.
    fn supply_ends(&self) -> (f64, f64) {
        if self.circuit.valve_to_motor_outlet {
            (self.relief, self.valve)
        } else {
            (self.valve, self.motor)
        }
    }

    fn pump(&mut self, middle: f64) {
        let look = self.outline("pump");
        self.picture.circle((PUMP, middle), 28.0, look);
        // The triangle at the outlet points out of the circle.
        self.triangle((PUMP, middle - 27.0), Way::Up, 14.0);
        self.shaft(PUMP - 28.0, PUMP - 52.0, middle);
        self.write("pump", PUMP + 38.0, middle - 18.0, Held::Left);
    }

    /// A flow regulator: a throttle with an arrow across, in a frame.
    fn regulator(&mut self, supply: f64) {
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

    /// A valve that opens on pressure: a square with an arrow, a spring, and a dashed pilot line from its inlet.
    fn pressure_valve(&mut self, place: &str, x: f64, middle: f64) {
        let look = self.outline(place);
        self.picture
            .rectangle((x - HALF, middle - HALF), (2.0 * HALF, 2.0 * HALF), look);
        // The passage is drawn beside the lines: normally closed.
        let passage = x - 7.0;
        self.picture.path(
            &[(passage, middle - HALF), (passage, middle + HALF)],
            Look::line(INK, OUTLINE),
        );
        self.triangle((passage, middle + HALF - 1.0), Way::Down, 8.0);
        // The pilot line pushes from the left, the spring holds from the right.
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

    /// The main relief valve at the pump, to the reservoir.
    fn relief_valve(&mut self, supply: f64, middle: f64) {
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

    /// The control valve, to the motor outlet or to the reservoir.
    fn control_valve(&mut self, supply: f64, middle: f64, junction: f64) {
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
        // A command sets it: an arrow across the spring.
        self.slanted_arrow(
            (x + HALF + 2.0, middle + 15.0),
            (x + HALF + 18.0, middle - 15.0),
        );
        self.write("valve", x + 44.0, middle - 34.0, Held::Left);
    }

    /// Priority steering: a priority valve in the supply line, then the steering unit, to the reservoir.
    fn fed_first(&mut self, x: f64, supply: f64, middle: f64) {
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

    /// A steering unit: a frame with a hand wheel.
    fn steering_unit(&mut self, x: f64, y: f64) {
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

    fn motor_and_fan(&mut self, middle: f64, back: f64) {
        let x = self.motor;
        let fan = x + 92.0;
        self.shaft(x + 28.0, fan, middle);
        let look = self.outline("motor");
        self.picture.circle((x, middle), 28.0, look);
        // The triangle at the inlet points into the circle.
        self.triangle((x, middle - 13.0), Way::Down, 14.0);
        self.write("motor", x + 14.0, middle + 34.0, Held::Left);

        // A hub between two blades.
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

        // The text of the return line is below its corner.
        let top = back + 8.0;
        self.write("return", x - 26.0, top, Held::Left);
    }

    /// From the motor outlet along the bottom into the reservoir; returns the lower end of the text.
    fn return_line(&mut self, middle: f64, back: f64) -> f64 {
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
                    // Arrows outwards: heat rejection.
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

    /// The reservoir: an open box with the oil level; returns the lower end of its text.
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

    /// From the reservoir up into the pump, through a screen if there is one.
    fn suction(&mut self, middle: f64, back: f64) {
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

    fn diamond(&mut self, x: f64, y: f64, look: Look) {
        self.picture.shape(
            &[(x - 24.0, y), (x, y - 24.0), (x + 24.0, y), (x, y + 24.0)],
            look,
        );
    }

    fn small_diamond(&mut self, x: f64, y: f64, look: Look) {
        self.picture.shape(
            &[(x - 15.0, y), (x, y - 15.0), (x + 15.0, y), (x, y + 15.0)],
            look,
        );
    }

    /// The symbol of a line to the reservoir.
    fn tank(&mut self, x: f64, y: f64) {
        let corners = [
            (x - 13.0, y),
            (x - 13.0, y + 14.0),
            (x + 13.0, y + 14.0),
            (x + 13.0, y),
        ];
        self.picture.path(&corners, Look::line(INK, OUTLINE));
    }

    /// A junction of lines.
    fn dot(&mut self, x: f64, y: f64) {
        self.picture.circle((x, y), 4.5, Look::filled(INK));
    }

    /// A turning shaft: a double line.
    fn shaft(&mut self, from: f64, to: f64, y: f64) {
        for side in [-2.5, 2.5] {
            self.picture
                .path(&[(from, y + side), (to, y + side)], Look::line(INK, 1.2));
        }
    }

    /// The flow direction of a line.
    fn arrow(&mut self, (x, y): (f64, f64), way: Way) {
        self.triangle(way.ahead((x, y), 6.0), way, 11.0);
    }

    /// A filled triangle with its tip at a point.
    fn triangle(&mut self, tip: (f64, f64), way: Way, size: f64) {
        let back = way.ahead(tip, -size);
        let half = size * 0.55;
        let (left, right) = match way {
            Way::Up | Way::Down => ((back.0 - half, back.1), (back.0 + half, back.1)),
            Way::Left | Way::Right => ((back.0, back.1 - half), (back.0, back.1 + half)),
        };
        self.picture.shape(&[tip, left, right], Look::filled(INK));
    }

    /// An arrow across a symbol: adjustable.
    fn slanted_arrow(&mut self, from: (f64, f64), to: (f64, f64)) {
        self.picture.path(&[from, to], Look::line(INK, 1.3));
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let long = dx.hypot(dy);
        let (dx, dy) = (dx / long, dy / long);
        let at = |along: f64, aside: f64| {
            (
                to.0 + along * dx - aside * dy,
                to.1 + along * dy + aside * dx,
            )
        };
        self.picture
            .shape(&[to, at(-8.0, 3.2), at(-8.0, -3.2)], Look::filled(INK));
    }
}

/// A direction on the paper.
#[derive(Clone, Copy)]
enum Way {
    Up,
    Down,
    Left,
    Right,
}

impl Way {
    /// The point at a distance in this direction.
    fn ahead(self, (x, y): (f64, f64), by: f64) -> (f64, f64) {
        match self {
            Way::Up => (x, y - by),
            Way::Down => (x, y + by),
            Way::Left => (x - by, y),
            Way::Right => (x + by, y),
        }
    }
}
