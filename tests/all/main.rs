//! Checks of the whole.
#![allow(missing_docs, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod balances;
mod cli;
mod faults;
mod floors;
mod heat;
mod random;
mod validation;
mod why;
