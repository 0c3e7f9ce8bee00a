//! Checks of the whole.
#![allow(missing_docs, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod balances;
mod cli;
mod faults;
#[cfg(feature = "page")]
mod page;
mod random;
mod validation;
mod why;
