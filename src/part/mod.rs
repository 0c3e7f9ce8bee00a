//! The parts of a fan drive. For each part, the inputs are declared once, together with the equations of its behaviour.

mod air_path;
mod alternator;
mod belt;
mod coolant;
mod core;
mod engine;
mod fan;
mod line;
mod motor;
mod pump;
mod regulator;
mod steering;
mod valve;

pub use air_path::{AirPath, Front};
pub use alternator::Alternator;
pub use belt::Belt;
pub use coolant::{Coolant, CoolantPump, FanControl, Thermostat, air_conditioning_load};
pub use core::Core;
pub use engine::{Engine, Fired, LUGGING, OilHeat, Vehicle};
pub use fan::{Fan, FanCurve, SquareLoad};
pub use line::{Cooler, Element, Line, reynolds};
pub use motor::Motor;
pub use pump::Pump;
pub use regulator::Regulator;
pub use steering::{Reservoir, Steering};
pub use valve::{Control, Governor, Relief, Valve};
