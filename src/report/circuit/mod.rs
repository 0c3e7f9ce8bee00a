//! Draws the hydraulic circuit with symbols after ISO 1219-1 and the computed values at each element.
//!
//! Pressure lines are thick, return and suction lines thin. The elements are in columns: pump, priority steering if
//! any, relief valve, control valve, motor with fan. The return line runs below them, from right to left. The height
//! of each row depends on its text.

mod pressure;
mod suction;
mod symbols;

use super::svg::{Held, INK, LINE, Look, Picture, SIZE, letters};
use super::wrap::lines;
use crate::tell::Circuit;

/// Distance between columns.
const COLUMN: f64 = 215.0;
/// Horizontal position of the pump.
const PUMP: f64 = 84.0;
/// Maximum width of the text beside an element.
const WORDS: f64 = 140.0;
/// Thickness of pressure lines.
const PRESSURE: f64 = 3.5;
/// Thickness of return and suction lines.
const RETURN: f64 = 1.4;
/// Thickness of a symbol's outline.
const OUTLINE: f64 = 1.6;
/// Line thickness of the element that limits the fan speed.
const LIMITS: f64 = 4.5;
/// Colour of the element that limits the fan speed.
const LIMIT_COLOUR: &str = "#B34700";
/// Half the size of a square symbol.
const HALF: f64 = 20.0;

/// The keys of the elements, and their names in the picture.
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
    /// Horizontal positions of the columns, from left to right; `steering` is `None` if the steering has no priority.
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
        // Vertical positions from top to bottom, each below the text above it.
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

    /// Whether this element limits the fan speed.
    fn limits(&self, place: &str) -> bool {
        !place.is_empty() && self.circuit.limiting == place
    }

    /// The style of the outline of a symbol.
    fn outline(&self, place: &str) -> Look<'static> {
        let look = if self.limits(place) {
            Look::line(LIMIT_COLOUR, LIMITS)
        } else {
            Look::line(INK, OUTLINE)
        };
        look.inside("#ffffff")
    }

    /// The style of a hydraulic line.
    fn line(&self, place: &str, width: f64) -> Look<'static> {
        if self.limits(place) {
            Look::line(LIMIT_COLOUR, width + 3.0)
        } else {
            Look::line(INK, width)
        }
    }

    /// The text of an element in lines: its name, then its values.
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
}
