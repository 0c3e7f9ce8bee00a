//! The declaration of inputs: every number of a machine, an oil or an operating condition is declared once, with its
//! key, kind, range, default, place and help text. Files, command-line flags, sweeps, uncertainties (±), derivatives,
//! contributions and faults all use this declaration.

use crate::quantity::Kind;

/// Place in the drive where an input acts. When two cases differ in fan speed, the difference is attributed to places.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[repr(u8)]
pub enum Place {
    /// Engine speed, drive ratio and displacement of the pump.
    Pump,
    /// Leakage in the pump.
    PumpSlip,
    /// Torque that the pump's belt can transmit, and torque losses in the pump.
    Belt,
    /// Suction hose, suction screen, reservoir, and minimum pressure at the pump inlet.
    Inlet,
    /// Flow regulator in the pump.
    Regulator,
    /// Control valve and its command.
    Valve,
    /// Main relief valve.
    Relief,
    /// Supply and return lines, filter and oil cooler.
    Lines,
    /// Steering system fed from the same circuit.
    Steering,
    /// Displacement of the motor.
    Motor,
    /// Leakage in the motor.
    MotorSlip,
    /// Viscous and other friction in the motor.
    MotorDrag,
    /// The fan and the air flowing through it.
    FanAir,
    /// Density of the oil.
    Density,
    /// Free air in the oil.
    FreeAir,
    /// The oil itself, whose properties affect the other places.
    Oil,
    /// Heat transfer, which affects temperatures, and the fan speed only through them.
    Heat,
}

impl Place {
    /// All places to which part of a speed difference can be attributed, in display order.
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

    /// Name of the place, for display.
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
            Place::FanAir => "fan and its air",
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
    /// Key of the input, unique within its part.
    pub key: &'static str,
    /// Kind of quantity, which determines the accepted units.
    pub kind: Kind,
    /// Minimum accepted value, SI.
    pub low: f64,
    /// Maximum accepted value, SI.
    pub high: f64,
    /// Default of the input, SI; NaN if the input is required.
    pub usual: f64,
    /// The place where the input acts.
    pub place: Place,
    /// Short description of the input, used as help text and as its doc comment.
    pub help: &'static str,
}

/// One input of a case, by its index in the list of all inputs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Input(u8);

impl Input {
    /// The input with a given index. Only the list of inputs calls this function.
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
    /// Adds an input to the set if `there` is true, otherwise removes it.
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
/// Each input is one line, `key: Kind [low, high] default, Place, "help";`, with all values in SI (see [`mod@unit`]).
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
            /// The declarations of the inputs of this part, in order.
            pub const FIELDS: &'static [$crate::input::Field] = &[$($crate::input::Field {
                key: stringify!($field),
                kind: $crate::quantity::Kind::$kind,
                low: $low,
                high: $high,
                usual: $usual,
                place: $crate::input::Place::$place,
                help: $help,
            },)*];

            /// Builds the part by calling `f` with the index of each field.
            pub fn try_make<E>(f: &mut impl FnMut(usize) -> Result<T, E>) -> Result<Self, E> {
                let mut at = 0..;
                let mut next = || f(at.next().unwrap_or_default());
                Ok(Self { $($field: next()?,)* })
            }

            /// The same part with `f` applied to the index and value of each field.
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

            /// The part with its default values; required inputs are NaN.
            pub fn usual() -> $Name {
                let mut at = Self::FIELDS.iter();
                let mut next = || at.next().map_or(f64::NAN, |f| f.usual);
                $Name { $($field: next(),)* }
            }

            /// The value of the field with index `number`.
            pub fn value(&self, number: usize) -> Option<&T> {
                [$(&self.$field,)*].get(number).copied()
            }

            /// A mutable reference to the value of the field with index `number`.
            pub fn slot(&mut self, number: usize) -> Option<&mut T> {
                [$(&mut self.$field,)*].into_iter().nth(number)
            }
        }
    };
}

/// SI values of common units, for use in declarations.
pub mod unit {
    use std::f64::consts::PI;

    /// One bar, in Pa.
    pub const BAR: f64 = 1e5;
    /// One cubic centimetre per revolution, in m³/rad.
    pub const CM3_REV: f64 = 1e-6 / (2.0 * PI);
    /// One litre per minute, in m³/s.
    pub const L_MIN: f64 = 1e-3 / 60.0;
    /// One litre, in m³.
    pub const L: f64 = 1e-3;
    /// One revolution per minute, in rad/s.
    pub const RPM: f64 = PI / 30.0;
    /// One mm²/s, in m²/s.
    pub const MM2_S: f64 = 1e-6;
    /// One millimetre, in m.
    pub const MM: f64 = 1e-3;
    /// Converts a temperature from °C to K.
    pub const fn celsius(t: f64) -> f64 {
        t + 273.15
    }
}
