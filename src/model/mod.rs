//! From text to a case.

mod case;

pub use case::{Case, Condition, Elsewhere, PARTS, PartDeclaration, Shape};
