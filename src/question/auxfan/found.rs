//! Results of the question about electric fans.

use super::{Set, Wiring};
use crate::balance::{Asked, Warm};
use crate::model::Caution;
use crate::outcome;
use crate::part::Alternator;
use crate::quantity::Kind;
use crate::question::{Ends, Find};
use serde_json::{Value, json};

/// The remedy in one line of the comparison.
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

    /// Name of the remedy; `held` if the fault is in the main fan's own speed.
    pub(super) fn name(self, held: bool) -> &'static str {
        match (self, held) {
            (Remedy::None, _) => "as it is",
            (Remedy::Fans, _) => "these fans",
            (Remedy::RightOil, _) => "right oil",
            (Remedy::FansAndRightOil, _) => "these fans and right oil",
            (Remedy::Mended, true) => "main fan mended",
            (Remedy::Mended, false) => "faults mended",
            (Remedy::MendedAndRightOil, true) => "main fan mended, right oil",
            (Remedy::MendedAndRightOil, false) => "faults mended, right oil",
            (Remedy::MendedAndFans, true) => "main fan mended, and these fans",
            (Remedy::MendedAndFans, false) => "faults mended, and these fans",
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
    /// One line of the comparison, on the day asked for but for its limiting ambient temperature.
    pub struct Side {
        /// What is done to the machine.
        remedy: Remedy = "key",
        /// The same in words.
        name: &'static str,
        /// Fan speed of the main fan.
        fan_speed: f64 as Speed,
        /// Air at the main fan.
        airflow: f64 as AirFlow,
        /// Current of the electric fans at most.
        current: f64 as Current,
        /// Limiting ambient temperature; none where no day is cold enough.
        limiting_ambient: Option<f64> as Temperature,
        /// What that gains over the machine as it is.
        gained: f64 as TemperatureDifference,
        /// Band of that gain (95 %), each machine within the ± compared with itself.
        gained_band: Ends as TemperatureDifference = "gained",
        /// Whether there is a steady state.
        steady: bool,
        /// Coolant temperature there.
        coolant_temp: Option<f64> as Temperature,
    }
    beside {
        /// Limiting ambient temperature; the coldest day that counts where no day is cold enough, K.
        hottest_day: f64,
        /// The oil gives out before the coolant reaches its limit.
        oil_first: bool,
        /// The warm state.
        warm: Warm,
        /// The settings of its balance.
        asked: Asked,
    }
}

outcome! {
    /// One set of electric fans.
    pub struct Tried {
        /// The fans, and where they sit.
        name: String = "set",
        /// How many they are.
        fans: usize,
        /// Their current at most.
        current: f64 as Current,
        /// Their mass.
        mass: f64 as Mass,
        /// Limiting ambient temperature with them; none where no day is cold enough.
        limiting_ambient: Option<f64> as Temperature,
        /// What that gains over the machine as it is.
        gained: f64 as TemperatureDifference,
    }
    beside {
        /// What sits at each spot.
        set: Set,
        /// Limiting ambient temperature; the coldest day that counts where no day is cold enough, K.
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
    /// Repair of the fault, and these fans.
    MendedWith(String),
    /// Seals around the core that prevent recirculation of hot air, with these fans if any are needed.
    Sealed(Option<String>),
    /// A larger oil cooler, or a lower engine speed, because the oil heats up without limit.
    LessOilHeat,
    /// A larger core, less heat, or other fans.
    LargerCore,
}

outcome! {
    /// Where the fans at one spot work, on the day of the limit.
    pub struct Working {
        /// The spot.
        place: String,
        /// How many fans sit there.
        fans: usize,
        /// Air flow of each.
        flow: f64 as AirFlow = "flow_each",
        /// Static pressure of each.
        pressure: f64 as AirPressure = "static_pressure",
        /// Current of each.
        current: f64 as Current = "current_each",
        /// Flow over the data sheet's at no pressure.
        of_free: f64 = "of_free_flow",
        /// Pressure that the air downstream of the core helps with; negative where it is against the fans.
        helped: f64 as AirPressure = "pressure_over_core",
    }
    beside {
        /// The spot's number.
        spot: usize,
        /// The fans work outside the points of their data sheet.
        beyond: bool,
        /// Fraction of the electric fans' air that goes back out through the open face beside them.
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
    /// What `auxfan` finds.
    pub struct Found {
        /// Where the fans of the set work.
        points: Vec<Working>,
        /// Limiting ambient temperature on the road without the set.
        road_limiting_ambient: Option<f64> as Temperature,
        /// The same with the set off and in the way.
        road_limiting_ambient_fans_off: Option<f64> as Temperature,
        /// The day on which the coolant must not pass its limit.
        target: f64 as Temperature = "target_ambient",
        /// Whether that is met without electric fans.
        met: bool = "already_met",
        /// Whether it is met with the set, or without.
        target_met: bool,
        /// How many sets were tried.
        sets_tried: usize,
        /// The set that the answer is about: the one asked for, or the smallest that meets the target, or the best.
        set: Option<String>,
        /// Its current at most.
        current: f64 as Current = "set_current",
        /// Its current for a moment when all its fans start at once.
        starting_current: f64 as Current = "set_starting_current",
        /// What the alternator has left at idle.
        spare: f64 as Current = "alternator_spare",
        /// Side by side, first the machine as it is.
        sides: Vec<Side> = "side_by_side",
        /// The sets that no other beats in both degrees and current, by rising current.
        front: Vec<Tried>,
        /// Every set that was tried.
        series: Vec<Tried>,
    }
    beside {
        /// The set.
        chosen: Option<Tried>,
        /// What the main fan's speed is of what it should be, where it is held.
        held: Option<f64>,
        /// Something is wrong with the main fan.
        slow: bool,
        /// What would meet the target where the set does not.
        would: Option<Would>,
        /// Curves of each spot of the set.
        curves: Vec<Curves>,
        /// Wire and fuse of each fan of the set.
        wires: Vec<Wire>,
        /// Current of the set where it works, A.
        running: f64,
        /// The alternator.
        alternator: Alternator,
        /// Power at its shaft that the set takes at most, W.
        alternator_power: f64,
        /// What must be borne in mind.
        cautions: Vec<Caution>,
    }
}

impl Found {
    /// The line of the comparison for a remedy.
    pub fn side(&self, remedy: Remedy) -> Option<&Side> {
        self.sides.iter().find(|s| s.remedy == remedy)
    }
}
