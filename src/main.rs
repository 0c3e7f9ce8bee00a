//! The program: one short pipeline.
fn main() {}
