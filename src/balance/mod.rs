//! How the parts meet: a case goes in, a state comes out.

mod ready;
mod solve;
mod state;

pub use ready::{Point, Ready};
pub use solve::{Limit, Operating, solve, solve_from};
pub use state::{LOSSES, OUTPUTS, Output, OutputDeclaration, State};
