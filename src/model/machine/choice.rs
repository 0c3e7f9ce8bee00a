//! The configuration options of a machine, and its fuel.

use super::Machine;
use crate::trouble::Trouble;

/// The configuration options of a machine: for each, its key, its two words (for `false` and `true`), and a
/// description.
pub const CHOICES: [(&str, [&str; 2], &str); 3] = [
    (
        "regulator_returns_to",
        ["reservoir", "pump inlet"],
        "where the flow regulator returns its excess flow",
    ),
    (
        "valve_empties_into",
        ["reservoir", "motor outlet"],
        "where the control valve discharges its oil",
    ),
    (
        "steering",
        ["in series", "first"],
        "whether the steering is in series downstream of the motor or has priority",
    ),
];

/// The fuel of an engine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fuel {
    /// Petrol, burnt with stoichiometric air.
    Petrol,
    /// Diesel, burnt with excess air.
    Diesel,
}

/// The option for the engine's fuel, which may be missing from a file: key, words, description.
pub const FUEL: (&str, [&str; 2], &str) = ("fuel", ["petrol", "diesel"], "fuel of the engine");

impl Fuel {
    pub(super) fn of(diesel: bool) -> Self {
        if diesel { Fuel::Diesel } else { Fuel::Petrol }
    }

    /// The word for the fuel in files.
    pub fn word(self) -> &'static str {
        match self {
            Fuel::Petrol => FUEL.1[0],
            Fuel::Diesel => FUEL.1[1],
        }
    }
}

impl Machine {
    /// Sets the configuration option `key` of the machine to `word`, one of the option's two words.
    pub fn choose(&mut self, key: &str, word: &str) -> Result<(), Trouble> {
        if key == FUEL.0 {
            let at = FUEL.1.iter().position(|w| *w == word).ok_or_else(|| {
                Trouble::input(
                    format!("`{word}`"),
                    format!("{} or {}", FUEL.1[0], FUEL.1[1]),
                )
            })?;
            self.fuel = Some(Fuel::of(at == 1));
            return Ok(());
        }
        let Some((at, (_, words, _))) = CHOICES.iter().enumerate().find(|(_, c)| c.0 == key) else {
            let keys = CHOICES.map(|c| c.0).join(", ");
            let expected = format!("{keys}, {}", FUEL.0);
            return Err(Trouble::input(
                format!("no choice called `{key}`"),
                expected,
            ));
        };
        let Some(yes) = words.iter().position(|w| *w == word) else {
            let expected = format!("{} or {}", words[0], words[1]);
            return Err(Trouble::input(format!("`{word}`"), expected));
        };
        let shape = &mut self.shape;
        let slots = [
            &mut shape.recirculates,
            &mut shape.valve_to_motor_outlet,
            &mut shape.steering_first,
        ];
        for (_, slot) in slots.into_iter().enumerate().filter(|(i, _)| *i == at) {
            *slot = yes == 1;
        }
        Ok(())
    }
}
