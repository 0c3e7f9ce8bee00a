//! Checks of the whole.
#![allow(missing_docs)]

mod balances;
mod random;
