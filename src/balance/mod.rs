//! Computes the state of a case: the balances of oil flow, airflow and heat over all parts of the machine.

mod air;
mod budget;
mod follow;
mod heat;
mod limit;
mod pumping;
mod rates;
mod ready;
mod solve;
mod state;
mod tangent;
mod transient;

pub use air::{AirWay, Airflow, BARE, ZONES, Zone};
pub use budget::{Budget, HEAT_PARTS, Passing};
pub use heat::{
    Asked, COLDEST, COOLANT_MODEL_HALF, Find, NoSteadyState, Warm, at_limit, at_limit_asked, boils,
    stays_hot, time_to_boil, warm, warm_from, warm_past_boiling,
};
pub use limit::Limit;
pub use rates::{Capacities, Moment, Stored};
pub use ready::Ready;
pub use solve::{Operating, crossings, solve, solve_from, solve_near};
pub use state::{LOSSES, OUTPUTS, Output, OutputDeclaration, State, Turning};
pub use tangent::Tangent;
pub use transient::{Rules, SimulatedTrip, TripEvent, travel, travel_while};
