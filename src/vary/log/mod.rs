//! Evaluation of a log: exposure, stretches, comparison. One pass over the rows, in constant memory.
//!
//! | file | task |
//! |---|---|
//! | `digest.rs` | one pass over a log, which provides the data for every answer |
//! | `exposure.rs` | time above levels, episodes, peak, rate of rise |
//! | `bins.rs` | temperatures in bins of one degree, and the most frequent one |
//! | `climbs/` | climbs above the engine's own level, and where it runs hot |
//! | `rates.rs` | warm-up, and cooling while parked |
//! | `observed.rs` | the warm-ups and coolings used to update a machine's inputs |
//! | `survey.rs` | several logs, one per row |
//! | `curve.rs` | a log reduced to the resolution of a chart |
//! | `stretch.rs` | means over short stretches, by pace |
//! | `cooling.rs` | cooling versus pace, with intervals |
//! | `stored.rs` | heat capacity of engine and coolant |
//! | `compare/` | comparison before and after |
//! | `simulated.rs` | comparison with the model, simulated along the log's own road |
//! | `interval.rs` | the confidence interval of a mean |

mod bins;
mod climbs;
mod compare;
mod cooling;
mod curve;
mod digest;
mod exposure;
mod interval;
mod observed;
mod rates;
mod simulated;
mod stored;
mod stretch;
mod survey;

pub use climbs::{Certainty, Climb, Climbs, Leg, RunsHot, TURN, Verdict, Where, runs_hot};
pub use compare::{Change, Compared, Outcome, PaceChange, compare, compare_all};
pub use cooling::{ByPace, Fuel, Heat, all_given_from, by_pace, heat, unthrottled};
pub use curve::{Bin, Curve};
pub use digest::{Digest, Doubt, digest};
pub use exposure::{Episode, Exposure, Level, Unmoved};
pub use interval::Interval;
pub use observed::observed;
pub use rates::{Rates, Soak, WarmUp};
pub use simulated::{CLIMB, Misfit, Phase, Simulated, missing, simulate};
pub use stretch::{Pace, Stretch, Stretches};
pub use survey::{Line, survey};
