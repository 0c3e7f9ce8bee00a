//! Checks of the whole.
#![allow(missing_docs, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod balances;
mod cli;
mod faults;
mod fit;
mod floors;
mod log;
mod models;
mod random;
mod readings;
mod sheet;
mod validation;
mod why;
