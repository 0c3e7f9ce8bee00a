//! The single mechanism for inputs: every number of a machine, an oil or a condition is declared once, with its key,
//! kind, range, default, place and help. Files, flags, sweeps, ±, derivatives, contributions and faults use this
//! declaration.

use crate::quantity::Kind;

/// Place in the drive where an input acts. A difference in speed is attributed to places.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[repr(u8)]
pub enum Place {
    /// Engine speed, ratio and displacement of the pump.
    Pump,
    /// Leakage in the pump.
    PumpSlip,
    /// Capacity of the pump's drive: belt, and the pump's own torque losses.
    Belt,
    /// Suction hose, screen, reservoir, minimum inlet pressure.
    Inlet,
    /// Flow regulator in the pump.
    Regulator,
    /// Control valve and its command.
    Valve,
    /// Main relief valve.
    Relief,
    /// Supply and return lines, filter, oil cooler.
    Lines,
    /// Steering in the same circuit.
    Steering,
    /// Displacement of the motor.
    Motor,
    /// Leakage in the motor.
    MotorSlip,
    /// Viscous and other friction in the motor.
    MotorDrag,
    /// The fan, and the air at it.
    FanAir,
    /// Density of the oil.
    Density,
    /// Free air in the oil.
    FreeAir,
    /// The oil itself, which affects each of the other places.
    Oil,
    /// Heat: affects temperatures, and the fan only through them.
    Heat,
}

impl Place {
    /// All places that can have a contribution, in display order.
    pub const ALL: [Place; 15] = [
        Place::Pump,
        Place::PumpSlip,
        Place::Belt,
        Place::Inlet,
        Place::Regulator,
        Place::Valve,
        Place::Relief,
        Place::Lines,
        Place::Steering,
        Place::Motor,
        Place::MotorSlip,
        Place::MotorDrag,
        Place::FanAir,
        Place::Density,
        Place::FreeAir,
    ];

    /// Key of the place in JSON output.
    pub fn key(self) -> &'static str {
        match self {
            Place::Pump => "pump",
            Place::PumpSlip => "pump_slip",
            Place::Belt => "belt",
            Place::Inlet => "inlet",
            Place::Regulator => "regulator",
            Place::Valve => "valve",
            Place::Relief => "relief",
            Place::Lines => "lines",
            Place::Steering => "steering",
            Place::Motor => "motor",
            Place::MotorSlip => "motor_slip",
            Place::MotorDrag => "motor_drag",
            Place::FanAir => "fan_air",
            Place::Density => "density",
            Place::FreeAir => "free_air",
            Place::Oil => "oil",
            Place::Heat => "heat",
        }
    }

    /// Name of the place.
    pub fn name(self) -> &'static str {
        match self {
            Place::Pump => "pump size and speed",
            Place::PumpSlip => "pump leakage",
            Place::Belt => "belt",
            Place::Inlet => "pump inlet",
            Place::Regulator => "flow regulator",
            Place::Valve => "control valve",
            Place::Relief => "relief valve",
            Place::Lines => "lines, filter, cooler",
            Place::Steering => "steering",
            Place::Motor => "motor size",
            Place::MotorSlip => "motor leakage",
            Place::MotorDrag => "motor friction",
            Place::FanAir => "air at the fan",
            Place::Density => "oil density",
            Place::FreeAir => "free air in the oil",
            Place::Oil => "oil",
            Place::Heat => "heat",
        }
    }
}

/// A set of places.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Places(u32);

impl Places {
    /// The set with `place` added.
    pub fn with(self, place: Place) -> Self {
        Self(self.0 | 1 << place as u8)
    }

    /// Whether `place` is in the set.
    pub fn has(self, place: Place) -> bool {
        self.0 >> (place as u8) & 1 == 1
    }
}

impl FromIterator<Place> for Places {
    fn from_iter<I: IntoIterator<Item = Place>>(places: I) -> Self {
        places.into_iter().fold(Self::default(), Self::with)
    }
}

/// The declaration of one input.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Field {
    /// Key of the input within its part.
    pub key: &'static str,
    /// The kind of quantity.
    pub kind: Kind,
    /// Minimum accepted value, SI.
    pub low: f64,
    /// Maximum accepted value, SI.
    pub high: f64,
    /// Default of the input, SI; NaN if the input is required.
    pub usual: f64,
    /// The place where the input acts.
    pub place: Place,
    /// Description of the input, in a sentence.
    pub help: &'static str,
}

/// One input of a case, by its index in the list of all inputs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Input(u8);

impl Input {
    /// The input with a given index: used only by the list of inputs.
    pub(crate) const fn numbered(number: u8) -> Self {
        Self(number)
    }

    /// Index of the input in the list of all inputs.
    pub fn number(self) -> usize {
        usize::from(self.0)
    }
}

/// A set of inputs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct InputSet([u64; 4]);

impl InputSet {
    /// Adds an input to the set, or removes it.
    pub fn put(&mut self, input: Input, there: bool) {
        let (word, bit) = (usize::from(input.0 / 64), 1 << (input.0 % 64));
        if there {
            self.0[word] |= bit;
        } else {
            self.0[word] &= !bit;
        }
    }

    /// Whether an input is in the set.
    pub fn has(&self, input: Input) -> bool {
        self.0[usize::from(input.0 / 64)] >> (input.0 % 64) & 1 == 1
    }
}

/// Declares a part: a struct with one value of type `T` per input, and the table of its fields.
///
/// A line reads `key: Kind [low, high] usual, Place, "help";`, all in SI (see [`mod@unit`]).
#[macro_export]
macro_rules! part {
    ($(#[$doc:meta])* $Name:ident { $(
        $field:ident: $kind:ident [$low:expr, $high:expr] $usual:expr, $place:ident, $help:literal;
    )* }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq)]
        pub struct $Name<T = f64> { $(#[doc = $help] pub $field: T,)* }

        #[allow(clippy::allow_attributes, reason = "one declaration serves every part")]
        impl<T> $Name<T> {
            /// The declaration of each input, in order.
            pub const FIELDS: &'static [$crate::input::Field] = &[$($crate::input::Field {
                key: stringify!($field),
                kind: $crate::quantity::Kind::$kind,
                low: $low,
                high: $high,
                usual: $usual,
                place: $crate::input::Place::$place,
                help: $help,
            },)*];

            /// Builds one from a function of each field's index.
            pub fn try_make<E>(f: &mut impl FnMut(usize) -> Result<T, E>) -> Result<Self, E> {
                let mut at = 0..;
                let mut next = || f(at.next().unwrap_or_default());
                Ok(Self { $($field: next()?,)* })
            }

            /// The same part with a function applied to each value.
            pub fn map<U>(&self, f: &mut impl FnMut(usize, &T) -> U) -> $Name<U> {
                let mut at = 0..;
                let mut next = |v: &T| f(at.next().unwrap_or_default(), v);
                $Name { $($field: next(&self.$field),)* }
            }

            /// The inputs of this part, with indices from `base` upwards.
            #[allow(dead_code, reason = "some field tables are not part of a case")]
            pub(crate) const fn inputs(base: u8) -> $Name<$crate::input::Input> {
                let mut number = base;
                $(let $field = $crate::input::Input::numbered(number); number += 1;)*
                let _ = number;
                $Name { $($field,)* }
            }

            /// A part with the default values; NaN for required inputs.
            pub fn usual() -> $Name {
                let mut at = Self::FIELDS.iter();
                let mut next = || at.next().map_or(f64::NAN, |f| f.usual);
                $Name { $($field: next(),)* }
            }

            /// The value of a field.
            pub fn value(&self, number: usize) -> Option<&T> {
                [$(&self.$field,)*].get(number).copied()
            }

            /// The value of a field, mutable.
            pub fn slot(&mut self, number: usize) -> Option<&mut T> {
                [$(&mut self.$field,)*].into_iter().nth(number)
            }
        }
    };
}

/// Trade units in SI, for declarations.
pub mod unit {
    use std::f64::consts::PI;

    /// Bar in pascal.
    pub const BAR: f64 = 1e5;
    /// Cubic centimetres per revolution in m³/rad.
    pub const CM3_REV: f64 = 1e-6 / (2.0 * PI);
    /// Litres per minute in m³/s.
    pub const L_MIN: f64 = 1e-3 / 60.0;
    /// Litres in m³.
    pub const L: f64 = 1e-3;
    /// Revolutions per minute in rad/s.
    pub const RPM: f64 = PI / 30.0;
    /// mm²/s in m²/s.
    pub const MM2_S: f64 = 1e-6;
    /// Millimetres in m.
    pub const MM: f64 = 1e-3;
    /// Degrees Celsius in kelvin.
    pub const fn celsius(t: f64) -> f64 {
        t + 273.15
    }
}
