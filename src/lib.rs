//! How fast should an oil-driven radiator fan turn, why is it slower, and what to check next.
//!
//! A pump on the engine drives a gear motor with a fan on its shaft; a valve bypasses oil around the motor.
//! The library computes the balance of such a drive from machine, oil and operating condition:
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
//! Values are in SI internally; texts carry units. [`prelude`] is the interface for other programs; everything else may
//! change from one version to the next. `examples/` shows more: a sweep, a diagnosis from readings, a machine built in
//! code.
//!
//! With `default-features = false` the crate is the model alone; the feature `cli` adds the command line, `page` the
//! web page from form to HTML, and `serve` the local server. The library computes and never prints. Modules stand on
//! floors and import only from floors below: see
//! `DEVELOPERS.md`.

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

/// The interface for other programs: a machine, an oil and a condition make a checked case; solving a case gives a
/// state.
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
