//! From text to a case.

mod ask;
mod auxiliary_fan;
mod case;
mod library;
mod machine;
mod oil_sheet;
mod read;
mod write;

pub use ask::{Ask, Posed, measured_speed, share};
pub use auxiliary_fan::{AUXILIARY_FANS, AuxiliaryFan, FanPoint, Mount};
pub use case::{Case, Condition, Elsewhere, PARTS, PartDeclaration, Shape};
pub use library::{MACHINES, OILS, Shelf, read_file};
pub use machine::{CHOICES, Machine, Now, USUAL};
pub use oil_sheet::OilSheet;
pub(crate) use read::{Reader, Section, in_range};
pub use write::machine_text;
