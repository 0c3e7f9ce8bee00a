//! Checks of the whole.

// A test says what is wrong by panicking; clippy's leave for tests does not reach their helpers.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod validation;
