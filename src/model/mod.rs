//! From text to a case.

mod ask;
mod case;
mod library;
mod machine;
mod oil_sheet;
mod profile;
mod read;
mod write;

pub use ask::{Ask, Posed, measured_speed, share};
pub use case::{Case, Condition, Elsewhere, PARTS, PartDeclaration, Shape};
pub use library::{MACHINES, OILS, Shelf, TRIPS, read_file};
pub use machine::{CHOICES, Machine, Now, USUAL};
pub use oil_sheet::OilSheet;
pub use profile::{Leg, Profile};
pub(crate) use read::{Reader, Section, in_range};
pub use write::machine_text;
