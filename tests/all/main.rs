//! Checks of the whole.
#![allow(missing_docs, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod answers;
mod auxfan;
mod auxfan_wants;
mod balances;
mod batch;
mod batch_long;
mod checked;
mod circuit;
mod classes;
mod cli;
mod coolant_facts;
mod driven;
mod fan_points;
mod faults;
mod fit;
mod floors;
mod flush;
mod garage;
mod golden;
mod heat;
mod heat_bands;
mod heat_faults;
mod log;
mod models;
mod notebook;
mod noted;
mod oil;
mod own;
#[cfg(feature = "serve")]
mod page;
mod points;
mod random;
mod rated_core;
mod readings;
mod sheet;
mod size;
mod size_heat;
mod story;
mod suspects;
mod sweep;
mod trip;
mod validation;
mod why;
