//! How fast should an oil-driven radiator fan turn, why is it slower, and what to check next.
//!
//! The library computes; the program prints. Modules stand on floors and import only from floors below:
//! see `DEVELOPERS.md`.

pub mod balance;
pub mod cli;
pub mod fault;
pub mod fluid;
pub mod input;
pub mod law;
pub mod model;
pub mod numeric;
#[cfg(feature = "page")]
pub mod page;
pub mod part;
pub mod probe;
pub mod quantity;
pub mod question;
pub mod report;
pub mod tell;
pub mod trouble;
pub mod vary;
