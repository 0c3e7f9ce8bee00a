//! How the parts meet: a case goes in, a state comes out.

mod air;
mod heat;
mod ready;
mod solve;
mod state;
mod transient;

pub use air::{AirWay, Draft, ZONES, Zone};
pub use heat::{Asked, Budget, Find, HEAT_PARTS, Heats, Passing, Tangent, Warm, warm, warm_from};
pub use ready::{Point, Ready};
pub use solve::{Limit, Operating, crossings, solve, solve_from};
pub use state::{LOSSES, OUTPUTS, Output, OutputDeclaration, State};
pub use transient::{Capacities, Course, Happening, Moment, Rules, Stored, travel};
