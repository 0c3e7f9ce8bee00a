//! Quantities with units, as users enter and read them. Internally all values are in SI.
//!
//! `units.rs` defines the units, and the name and printed units of each kind of quantity; `parse/` reads quantities
//! from text, and `show.rs` writes them as text.

mod parse;
mod show;
mod units;

pub use parse::{parse, parse_in};

/// A kind of quantity.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// Gauge pressure or pressure difference; Pa (prints bar, psi).
    Pressure,
    /// Absolute pressure; Pa (prints bar, psi, with "abs").
    AbsolutePressure,
    /// Air pressure difference; Pa (prints Pa, in H2O).
    AirPressure,
    /// Displacement of a pump or motor; m³/rad (prints cm³/rev, in³/rev).
    Displacement,
    /// Volume flow of a liquid; m³/s (prints L/min, gpm).
    Flow,
    /// Volume flow of air; m³/s (prints m³/s, cfm).
    AirFlow,
    /// Rotational speed; rad/s (prints rpm).
    Speed,
    /// Torque; N·m (prints N m, lbf ft).
    Torque,
    /// Power; W (prints W or kW, hp).
    Power,
    /// Kinematic viscosity; m²/s (prints mm²/s, cSt).
    KinematicViscosity,
    /// Dynamic viscosity; Pa·s (prints mPa s).
    DynamicViscosity,
    /// Density; kg/m³ (prints kg/m³, lb/ft³).
    Density,
    /// Temperature; K (prints °C, °F).
    Temperature,
    /// Temperature difference; K (prints K, °F).
    TemperatureDifference,
    /// A fraction from 0 to 1 (accepts %; prints %).
    Share,
    /// A number without a unit (ratio, factor, coefficient).
    Number,
    /// Length of small objects; m (prints mm, in).
    Length,
    /// Length of hoses; m (prints m, ft).
    HoseLength,
    /// Altitude above sea level; m (prints m, ft).
    Altitude,
    /// Area; m² (prints m², ft²).
    Area,
    /// Volume of liquid; m³ (prints L, qt).
    Volume,
    /// Mass; kg (prints kg, lb).
    Mass,
    /// Time; s.
    Time,
    /// Road speed; m/s (prints km/h, mph).
    RoadSpeed,
    /// Air speed; m/s (prints m/s, ft/min).
    AirSpeed,
    /// Coefficient of thermal expansion; 1/K.
    PerKelvin,
    /// Pressure-viscosity coefficient; 1/Pa (prints 1/GPa).
    PerPascal,
    /// Hydraulic resistance of a laminar restriction, C in Δp = C·μ·Q; 1/m³ (prints 1/mm³).
    LaminarResistance,
    /// Pressure rise per unit of flow of a relief or control valve above its cracking pressure; Pa·s/m³ (prints bar per
    /// L/min, psi per gpm).
    ValveSlope,
    /// Thermal conductance; W/K.
    Conductance,
    /// Heat capacity; J/K.
    HeatCapacity,
    /// Electric current; A.
    Current,
    /// Electric potential; V.
    Voltage,
    /// Amount of money, in no particular currency.
    Cost,
    /// Mass flow; kg/s (prints g/s, lb/min).
    MassFlow,
}

/// The unit system in which results are shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Units {
    /// Metric.
    #[default]
    Si,
    /// US customary.
    Us,
}

/// A quantity read from text: its value and its uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measure {
    /// The value, in SI.
    pub value: f64,
    /// Half-width of the band that contains the true value with about 95 % probability, in SI; 0 if none was given.
    pub spread: f64,
    /// Whether the uncertainty was given as a factor f, `×/÷ f`. The quantity is then log-normal, and `spread` is the
    /// value times ln f.
    pub factor: bool,
}

impl Measure {
    /// A value without uncertainty.
    pub const fn exact(value: f64) -> Self {
        Self::within(value, 0.0)
    }

    /// A value with its uncertainty `spread`, a half-width.
    pub const fn within(value: f64, spread: f64) -> Self {
        Self {
            value,
            spread,
            factor: false,
        }
    }

    /// The factor by which the value may be larger or smaller; `None` if the uncertainty is a half-width.
    pub fn by_factor(&self) -> Option<f64> {
        (self.factor && self.value > 0.0).then(|| (self.spread / self.value).exp())
    }
}
