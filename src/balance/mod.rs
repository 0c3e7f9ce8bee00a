//! How the parts meet: a case goes in, a state comes out.

mod air;
mod heat;
mod ready;
mod solve;
mod state;
mod transient;

pub use air::{AirWay, BARE, Draft, ZONES, Zone};
pub use heat::{
    Asked, Budget, COLDEST, Find, HEAT_PARTS, Heats, Passing, Tangent, Warm, at_limit, warm,
    warm_from,
};
pub use ready::{Point, Ready};
pub use solve::{Limit, Operating, crossings, solve, solve_from, solve_near};
pub use state::{LOSSES, OUTPUTS, Output, OutputDeclaration, State, Turning};
pub use transient::{Capacities, Course, Happening, Moment, Rules, Stored, travel};
