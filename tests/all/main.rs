//! Checks of the whole.
#![allow(missing_docs, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod auxfan;
mod balances;
mod cli;
mod faults;
mod fit;
mod floors;
mod flush;
mod heat;
mod models;
#[cfg(feature = "page")]
mod page;
mod random;
mod readings;
mod sheet;
mod suspects;
mod validation;
mod why;
