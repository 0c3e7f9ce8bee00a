//! Results of the question about electric fans.

use super::{InTheWay, Rung, Set, WantMet, Wiring};
use crate::balance::{Asked, Warm};
use crate::model::Caution;
use crate::outcome;
use crate::part::Alternator;
use crate::quantity::Kind;
use crate::question::{Ends, Find};
use serde_json::{Value, json};

/// The remedy in one row of the comparison.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Remedy {
    /// No remedy.
    None,
    /// The electric fans.
    Fans,
    /// The correct oil.
    RightOil,
    /// The electric fans and the correct oil.
    FansAndRightOil,
    /// The fault repaired.
    Mended,
    /// The fault repaired, and the correct oil.
    MendedAndRightOil,
    /// The fault repaired, and the electric fans.
    MendedAndFans,
}

impl Remedy {
    /// All remedies.
    pub const ALL: [Remedy; 7] = [
        Remedy::None,
        Remedy::Fans,
        Remedy::RightOil,
        Remedy::FansAndRightOil,
        Remedy::Mended,
        Remedy::MendedAndRightOil,
        Remedy::MendedAndFans,
    ];

    /// Key of the remedy.
    pub fn key(self) -> &'static str {
        match self {
            Remedy::None => "as_it_is",
            Remedy::Fans => "fans",
            Remedy::RightOil => "right_oil",
            Remedy::FansAndRightOil => "fans_and_right_oil",
            Remedy::Mended => "mended",
            Remedy::MendedAndRightOil => "mended_and_right_oil",
            Remedy::MendedAndFans => "mended_and_fans",
        }
    }

    /// Name of the remedy; `held` is true if the fault is given as an imposed speed of the main fan.
    pub(super) fn name(self, held: bool) -> &'static str {
        match (self, held) {
            (Remedy::None, _) => "as it is",
            (Remedy::Fans, _) => "these fans",
            (Remedy::RightOil, _) => "right oil",
            (Remedy::FansAndRightOil, _) => "these fans and right oil",
            (Remedy::Mended, true) => "main fan repaired",
            (Remedy::Mended, false) => "faults repaired",
            (Remedy::MendedAndRightOil, true) => "main fan repaired, right oil",
            (Remedy::MendedAndRightOil, false) => "faults repaired, right oil",
            (Remedy::MendedAndFans, true) => "main fan repaired, and these fans",
            (Remedy::MendedAndFans, false) => "faults repaired, and these fans",
        }
    }
}

impl Find for Remedy {
    fn value(&self, _: Option<Kind>) -> Value {
        json!(self.key())
    }
    fn schema(_: Option<Kind>) -> Value {
        json!({"type": "string", "enum": Remedy::ALL.map(Remedy::key)})
    }
}

outcome! {
    /// One row of the comparison. All values are computed at the required ambient temperature, except
    /// the limiting ambient temperature and its gain.
    pub struct Side {
        /// Key of the remedy.
        remedy: Remedy = "key",
        /// Name of the remedy.
        name: &'static str,
        /// Speed of the main fan.
        fan_speed: f64 as Speed,
        /// Volume flow of air at the main fan.
        airflow: f64 as AirFlow,
        /// Maximum current of the electric fans.
        current: f64 as Current,
        /// Limiting ambient temperature; null if no ambient temperature is low enough.
        limiting_ambient: Option<f64> as Temperature,
        /// Gain in limiting ambient temperature over the present machine.
        gained: f64 as TemperatureDifference,
        /// Uncertainty band (95 %) of the gain, with each sampled machine compared with itself.
        gained_band: Ends as TemperatureDifference = "gained",
        /// Whether there is a steady state.
        steady: bool,
        /// Steady coolant temperature.
        coolant_temp: Option<f64> as Temperature,
    }
    beside {
        /// Limiting ambient temperature, K; `COLDEST` if no ambient temperature is low enough.
        hottest_day: f64,
        /// Whether the oil overheats before the coolant reaches its limit.
        oil_first: bool,
        /// The warm state at the required ambient temperature.
        warm: Warm,
        /// The settings of the heat balance.
        asked: Asked,
    }
}

outcome! {
    /// One set of electric fans.
    pub struct Tried {
        /// The fans, and where they are mounted.
        name: String = "set",
        /// Number of fans.
        fans: usize,
        /// Maximum current of all fans together.
        current: f64 as Current,
        /// Mass of all fans together.
        mass: f64 as Mass,
        /// Limiting ambient temperature with the fans; null if no ambient temperature is low enough.
        limiting_ambient: Option<f64> as Temperature,
        /// Gain in limiting ambient temperature over the present machine.
        gained: f64 as TemperatureDifference,
    }
    beside {
        /// The fans at each spot.
        set: Set,
        /// Limiting ambient temperature, K; `COLDEST` if no ambient temperature is low enough.
        hottest_day: f64,
    }
}

/// What would meet the target if the fans do not.
#[derive(Clone, Debug)]
pub enum Would {
    /// The correct oil alone.
    RightOil,
    /// Repair of the fault.
    Mended,
    /// Repair of the fault and the correct oil.
    MendedAndRightOil,
    /// Repair of the fault, together with the set of fans named here.
    MendedWith(String),
    /// Seals around the core that prevent recirculation of hot air, after repair of any fault; with the set of fans
    /// named here, if any are needed.
    Sealed(Option<String>),
    /// A larger oil cooler, or a lower engine speed, because the oil heats up without limit.
    LessOilHeat,
    /// A larger core, less heat into the coolant, or other fans.
    LargerCore,
}

outcome! {
    /// Operating point of the fans at one spot, at the limiting ambient temperature or, if there is none, at the
    /// required one.
    pub struct Working {
        /// Key of the spot.
        place: String,
        /// Number of fans at the spot.
        fans: usize,
        /// Airflow of each fan.
        flow: f64 as AirFlow = "flow_each",
        /// Static pressure of each fan.
        pressure: f64 as AirPressure = "static_pressure",
        /// Current of each fan.
        current: f64 as Current = "current_each",
        /// Flow as a fraction of the free flow in the data sheet.
        of_free: f64 = "of_free_flow",
        /// Pressure with which the air downstream of the core assists the fans; negative if it opposes them.
        helped: f64 as AirPressure = "pressure_over_core",
    }
    beside {
        /// Index of the spot.
        spot: usize,
        /// Whether the fans operate outside the points of their data sheet.
        beyond: bool,
        /// Fraction of the electric fans' air that flows back out through the open core face beside them.
        back: f64,
    }
}

/// Curves of one spot as points of airflow, m³/s, and static pressure, Pa; NaN where a curve ends.
#[derive(Clone, Debug)]
pub struct Curves {
    /// The index of the spot.
    pub spot: usize,
    /// Fan curve.
    pub fans: Vec<(f64, f64)>,
    /// System resistance curve of the core.
    pub asked: Vec<(f64, f64)>,
    /// Operating point, where the two intersect.
    pub at: (f64, f64),
}

/// Wire and fuse of each fan of one type.
#[derive(Clone, Copy, Debug)]
pub struct Wire {
    /// Index of the fan in the list.
    pub fan: usize,
    /// Maximum current of the fan, A.
    pub current: f64,
    /// Starting current of the fan, A.
    pub starting: f64,
    /// Wire and fuse; `None` if no size suffices.
    pub wiring: Option<Wiring>,
}

outcome! {
    /// The result of `auxfan`.
    pub struct Found {
        /// Operating points of the fans of the set.
        points: Vec<Working>,
        /// Limiting ambient temperature on the road without the set.
        road_limiting_ambient: Option<f64> as Temperature,
        /// Limiting ambient temperature on the road with the set mounted but off.
        road_limiting_ambient_fans_off: Option<f64> as Temperature,
        /// Required ambient temperature, up to which the coolant must stay below its limit.
        target: f64 as Temperature = "target_ambient",
        /// Whether the requirement is met without electric fans.
        met: bool = "already_met",
        /// Whether the requirement is met, with the set or without electric fans.
        target_met: bool,
        /// Number of sets tried.
        sets_tried: usize,
        /// The set in question: the requested one, else the smallest that meets the target, else the best.
        set: Option<String>,
        /// Maximum current of the set in question.
        current: f64 as Current = "set_current",
        /// Peak current of the set in question if all fans start at once.
        starting_current: f64 as Current = "set_starting_current",
        /// Spare current of the alternator at idle.
        spare: f64 as Current = "alternator_spare",
        /// The rows of the comparison, starting with the present machine.
        sides: Vec<Side> = "side_by_side",
        /// The Pareto-optimal sets: no other set is better in both limiting ambient temperature and current; in order
        /// of rising current.
        front: Vec<Tried>,
        /// The requirements in words, and how well they are met.
        wants: Vec<WantMet>,
        /// Fraction of sampled machines that meet all requirements, with the set or, if there is none, without electric
        /// fans.
        wants_share: Option<f64>,
        /// Sets within the limits whose temperature margin is larger than that of every smaller set, in order of size,
        /// starting just before the first sufficient one.
        ladder: Vec<Rung>,
        /// The limits that rule out every sufficient set.
        in_the_way: Vec<InTheWay>,
        /// Maximum allowed current of a set: as required, else the spare current of the alternator.
        current_limit: Option<f64> as Current,
        /// Every set that was tried.
        series: Vec<Tried>,
    }
    beside {
        /// The set in question.
        chosen: Option<Tried>,
        /// Speed of the main fan as a fraction of the healthy machine's speed, if imposed.
        held: Option<f64>,
        /// Whether the main fan has a fault.
        slow: bool,
        /// What would meet the target if the set does not.
        would: Option<Would>,
        /// Curves of each spot of the set.
        curves: Vec<Curves>,
        /// Wire and fuse of each fan of the set.
        wires: Vec<Wire>,
        /// Total current of the set's fans at their operating points, A.
        running: f64,
        /// The alternator.
        alternator: Alternator,
        /// Shaft power that the alternator takes to supply the set's maximum current, W.
        alternator_power: f64,
        /// The cautions to be shown with the result.
        cautions: Vec<Caution>,
    }
}

impl Found {
    /// The row of the comparison for a remedy.
    pub fn side(&self, remedy: Remedy) -> Option<&Side> {
        self.sides.iter().find(|s| s.remedy == remedy)
    }
}
