//! Checks of the whole.
