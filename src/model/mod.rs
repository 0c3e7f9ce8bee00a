//! Turns text input (files, flags, forms) into a case, which holds the values of all inputs of a computation.

mod ask;
mod auxiliary_fan;
mod behaviour;
mod case;
mod caution;
mod cells;
mod check;
mod checked;
mod fan_curve_points;
mod hazard;
mod library;
#[cfg(feature = "logs")]
pub mod log;
mod machine;
mod machine_points;
mod mix;
mod oil_sheet;
mod point_table;
mod profile;
mod rated_core;
mod rating;
mod read;
mod together;
mod write;

pub use ask::{Ask, Settled, Setup};
pub use auxiliary_fan::{AUXILIARY_FANS, AuxiliaryFan, FanPoint, Mount};
pub use behaviour::BEHAVIOURS;
pub use case::{
    COUNT, Case, Condition, Elsewhere, INPUTS, Inputs, PARTS, PartDeclaration, Shape, Slopes,
};
pub use caution::{AsCause, Caution, Whose};
pub(crate) use cells::{Cells, head_of};
pub use checked::CheckedCase;
pub use fan_curve_points::FanCurvePoint;
pub use hazard::Hazard;
pub use library::{Lookup, MACHINES, OILS, TRIPS, beside, read_file, seen_from};
pub use machine::{CHOICES, FUEL, Fuel, Machine, Now, UsualCondition};
pub use machine_points::MachinePoint;
pub use mix::Mix;
pub use oil_sheet::OilSheet;
pub use profile::{Leg, Profile};
pub use rating::{RATING_COLUMNS, RatingPoint};
pub use read::in_range_of;
pub(crate) use read::{Reader, Section, in_range};
pub use together::{Fitting, Together};
pub use write::machine_text;
