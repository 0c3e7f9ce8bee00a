//! How fast an oil-driven radiator fan should turn, why it may be slower, and what to check next.
//!
//! A pump on the engine drives a gear motor with a fan on its shaft; a valve bypasses oil around the motor.
//! From the machine, the oil and the operating condition, the library computes the steady state of such a drive:
//!
//! ```
//! use oilwheel::prelude::*;
//!
//! // A machine that comes with the library (invented), warm at idle; what is typed carries its unit.
//! let mut ask = Ask::about("light-truck");
//! ask.oil_temp = Some("80 °C".into());
//! let case = ask.resolve(Lookup::LibraryOnly)?.checked()?;
//! let solved = solve(&case).map_err(|t| vec![t])?;
//! println!("{}, limited by {}", solved.state.show(Output::FAN_SPEED, Units::Si), solved.limit.name());
//!
//! // What is not possible is refused.
//! assert!(case.with(INPUTS.pump.slip, -1e-8).is_err());
//! let colder = case.typed(Input::OIL_TEMP, "-20 °C").map_err(|t| vec![t])?;
//! assert!(solve(&colder).map_err(|t| vec![t])?.state.fan_speed > 0.0);
//! # Ok::<(), Troubles>(())
//! ```
//!
//! Numbers are in SI internally; values given as text include their unit. [`prelude`] is the interface for other
//! programs; everything else may change from one version to the next. `examples/` shows more: a sweep, a diagnosis from
//! readings, and a machine built in code.
//!
//! With `default-features = false` the crate contains only the model; the feature `cli` adds the command line, `page`
//! the web page (from the form to the HTML), and `serve` the local server. The library computes and never prints.
//! Modules are arranged in layers, called floors, and import only from lower floors: see `DEVELOPERS.md`.

#[doc(hidden)]
pub mod balance;
#[cfg(feature = "cli")]
#[doc(hidden)]
pub mod cli;
#[doc(hidden)]
pub mod fault;
#[doc(hidden)]
pub mod fluid;
#[doc(hidden)]
pub mod input;
#[doc(hidden)]
pub mod law;
#[doc(hidden)]
pub mod model;
#[doc(hidden)]
pub mod numeric;
#[cfg(feature = "page")]
#[doc(hidden)]
pub mod page;
#[doc(hidden)]
pub mod part;
#[doc(hidden)]
pub mod probe;
#[doc(hidden)]
pub mod quantity;
#[doc(hidden)]
pub mod question;
#[cfg(feature = "tell")]
#[doc(hidden)]
pub mod report;
#[cfg(feature = "tell")]
#[doc(hidden)]
pub mod tell;
#[doc(hidden)]
pub mod trouble;
#[doc(hidden)]
pub mod vary;

/// The interface for other programs: a checked case is built from a machine, an oil and an operating condition, and
/// solving the case gives a state.
pub mod prelude {
    #[doc(inline)]
    pub use crate::balance::{LOSSES, Limit, Output, State};
    #[doc(inline)]
    pub use crate::fault::{Fault, priors::Priors};
    #[doc(inline)]
    pub use crate::input::{Field, Input, Place};
    #[doc(inline)]
    pub use crate::model::{
        Ask, CheckedCase, INPUTS, Inputs, Lookup, MACHINES, Machine, Now, OILS, OilSheet, Setup,
        Shape,
    };
    #[doc(inline)]
    pub use crate::probe::Readings;
    #[doc(inline)]
    pub use crate::quantity::{Kind, Measure, Units, parse, parse_in};
    #[doc(inline)]
    pub use crate::trouble::{Trouble, Troubles};
    #[doc(inline)]
    pub use crate::vary::derivative::Sensitivity;
    #[doc(inline)]
    pub use crate::vary::solved::{Solved, solve};
    #[doc(inline)]
    pub use crate::vary::weigh::{Weighed, weigh};
}
