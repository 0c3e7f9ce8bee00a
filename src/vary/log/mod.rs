//! What a log says: exposure, stretches, comparison. One pass over the rows; memory does not grow with the file.
//!
//! | file | what it does |
//! |---|---|
//! | `digest.rs` | one pass over a log, from which every answer is made |
//! | `exposure.rs` | time above levels, episodes, peak, rise |
//! | `climbs.rs` | where it left its own level, and what that says of where it runs hot |
//! | `rates.rs` | warming up, and cooling while parked |
//! | `survey.rs` | several logs, each in a row |
//! | `curve.rs` | a log thinned to what a picture can show |
//! | `stretch.rs` | means over short stretches, by pace |
//! | `cooling.rs` | cooling by pace, with intervals; where it runs hot |
//! | `stored.rs` | heat that engine and coolant take up for each kelvin |
//! | `compare.rs` | before and after |
//! | `simulated.rs` | the log against the model: a machine taken along the log's own road |
//! | `interval.rs` | the interval of a mean |

mod climbs;
mod compare;
mod cooling;
mod curve;
mod digest;
mod exposure;
mod interval;
mod rates;
mod simulated;
mod stored;
mod stretch;
mod survey;

pub use climbs::{Certainty, Climb, Climbs, Leg, RunsHot, TURN, Verdict, Where, runs_hot};
pub use compare::{Change, Compared, Outcome, PaceChange, compare, compare_all};
pub use cooling::{ByPace, Fuel, Heat, Hot, all_given_from, by_pace, heat, unthrottled, where_hot};
pub use curve::{Bin, Curve};
pub use digest::{Digest, Doubt, digest};
pub use exposure::{Episode, Exposure, Level, Unmoved};
pub use interval::Interval;
pub use rates::{Rates, Soak, WarmUp};
pub use simulated::{CLIMB, Misfit, Phase, Simulated, missing, simulate};
pub use stretch::{Pace, Stretch, Stretches};
pub use survey::{Line, survey};
