//! The parts of a fan drive: each one's inputs, declared once, and how it behaves.

mod belt;
mod fan;
mod line;
mod motor;
mod pump;
mod regulator;
mod steering;
mod valve;

pub use belt::Belt;
pub use fan::{Fan, Load, SquareLoad};
pub use line::{Cooler, Element, Line, reynolds};
pub use motor::Motor;
pub use pump::Pump;
pub use regulator::Regulator;
pub use steering::{Reservoir, Steering};
pub use valve::{Control, Governor, Relief, Valve};
