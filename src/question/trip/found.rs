//! Results of the trip question, and their computation.

use super::course::{Figures, Idle, computed, limit};
use super::spread::Spread;
use super::{Side, Trip, VariantLook};
use crate::balance::{Limit, Moment, Rules, SimulatedTrip, TripEvent};
use crate::model::{Caution, Whose};
use crate::outcome;
use crate::question::Flat;
use crate::trouble::Troubles;
use crate::vary::settled::boiling;
use rayon::prelude::*;

/// A period with one limit is shown separately only if it lasts at least this fraction of the trip.
const SHORT: f64 = 0.02;

outcome! {
    /// An event during the trip.
    pub struct Event {
        /// Time since the start of the trip.
        time: f64 as Time,
        /// What happens, as a key.
        what: &'static str,
    }
}

outcome! {
    /// A period during which the fan speed has one and the same limit.
    pub struct Limited {
        /// What limits the fan speed.
        limited_by: Limit,
        /// Start of the period.
        from: f64 as Time,
        /// End of the period.
        to: f64 as Time,
    }
}

outcome! {
    /// The results of the trip for one machine.
    pub struct Look {
        /// Peak coolant temperature.
        peak_coolant_temp: f64 as Temperature,
        /// Time of the peak coolant temperature.
        peak_coolant_time: f64 as Time,
        /// Peak oil temperature.
        peak_oil_temp: f64 as Temperature,
        /// Time of the peak oil temperature.
        peak_oil_time: f64 as Time,
        /// The coolant limit.
        coolant_limit: f64 as Temperature,
        /// Time at which the coolant reaches its limit; null if never.
        time_to_limit: Option<f64> as Time,
        /// Time with the coolant above its limit.
        above_limit: f64 as Time,
        /// Time with the coolant above the lower estimate of its boiling point.
        above_boiling: f64 as Time,
        /// Time with the oil above 93 °C.
        oil_above_93_c: f64 as Time,
        /// Whether the coolant boils, which ends the trip.
        boiled: bool,
        /// Coolant temperature at the end.
        end_coolant_temp: Option<f64> as Temperature,
        /// Oil temperature at the end.
        end_oil_temp: Option<f64> as Temperature,
        /// Duration of the trip, up to boiling if the coolant boils.
        duration: Option<f64> as Time,
        /// Minimum fan speed.
        fan_speed_least: f64 as Speed,
        /// Average fan speed.
        fan_speed_mean: f64 as Speed,
        /// Maximum fan speed.
        fan_speed_greatest: f64 as Speed,
        /// Mean power at the pump shaft.
        pump_shaft_power_mean: f64 as Power,
        /// Maximum power at the pump shaft.
        pump_shaft_power_greatest: f64 as Power,
        /// Energy at the pump shaft, J.
        pump_energy: f64 = "pump_energy_j",
        /// Heat of the fuel burned by the engine, J.
        fuel_heat: f64 = "fuel_heat_j",
        /// Heat of the additional fuel that the engine burns to drive the pump, J.
        pump_fuel_heat: f64 = "pump_fuel_heat_j",
        /// Time for which the engine may idle after the trip until the coolant reaches its limit; null if more than an
        /// hour.
        may_idle: Option<f64> as Time,
        /// Coolant temperature after an hour at idle after the trip, if below the limit.
        idle_end_coolant_temp: Option<f64> as Temperature,
        /// Heat from the engine and from the losses of the fan drive, J.
        heat_in: f64 = "heat_in_j",
        /// Heat carried away by the air, J.
        heat_out: f64 = "heat_out_j",
        /// Increase of the stored heat, J.
        heat_stored: f64 = "heat_stored_j",
        /// The events during the trip.
        events: Vec<Event>,
        /// Periods of the trip, by what limits the fan speed.
        limits: Vec<Limited>,
        /// Number of times the oil circuit was solved.
        circuit_solves: usize,
        /// The results for machines sampled within the ±.
        spread: Spread,
    }
    beside {
        /// Key figures of the trip.
        figures: Figures,
        /// The computed trip.
        course: SimulatedTrip,
        /// Lower estimate of the boiling point, K.
        boiling: f64,
    }
}

outcome! {
    /// The baseline at one time; null after the end of its trip.
    pub struct RowAgainst {
        /// Coolant temperature of the baseline.
        coolant_temp_against: Option<f64> as Temperature,
        /// Oil temperature of the baseline.
        oil_temp_against: Option<f64> as Temperature,
        /// Fan speed of the baseline.
        fan_speed_against: Option<f64> as Speed,
    }
}

outcome! {
    /// The machine at one time of the trip.
    pub struct Row {
        /// Time since the start of the trip.
        time: f64 as Time,
        /// Road speed, km/h.
        road_speed: f64 = "road_speed_kmh",
        /// Engine speed.
        engine_speed: f64 as Speed,
        /// Ambient temperature.
        ambient: f64 as Temperature,
        /// Coolant temperature.
        coolant_temp: f64 as Temperature,
        /// Temperature of the engine metal.
        metal_temp: f64 as Temperature,
        /// Temperature of the core.
        core_temp: f64 as Temperature,
        /// Oil temperature.
        oil_temp: f64 as Temperature,
        /// Air temperature downstream of the core.
        air_temp: f64 as Temperature,
        /// Fan speed.
        fan_speed: f64 as Speed,
        /// The fan command that reaches the valve, 0 to 1.
        command: f64,
        /// What limits the fan speed.
        limited_by: Limit,
        /// Power at the pump's shaft.
        pump_shaft_power: f64 as Power,
        /// Heat from the engine into the coolant.
        engine_heat: f64 as Power,
        /// Heat from the core into the air.
        radiator_heat: f64 as Power,
        /// The baseline, if any.
        against: Flat<Option<RowAgainst>>,
    }
}

outcome! {
    /// The result of `trip`.
    pub struct Found {
        /// The trip of this machine.
        here: Flat<Look>,
        /// The trip of the baseline, if any.
        there: Option<Look> = "against",
        /// Peak coolant temperature minus that of the baseline.
        peak_difference: Option<f64> as TemperatureDifference,
        /// Minimum of the difference in peak temperature for machines sampled within the ±.
        peak_difference_low: Option<f64> as TemperatureDifference,
        /// Maximum of the difference in peak temperature for machines sampled within the ±.
        peak_difference_high: Option<f64> as TemperatureDifference,
        /// The results of the same trip for variants of the machine.
        variants: Vec<VariantLook>,
        /// The trip versus time.
        series: Vec<Row>,
    }
    beside {
        /// The cautions to be shown with the result.
        cautions: Vec<Caution>,
    }
}

impl Found {
    /// Computes the answer to the request.
    pub(super) fn of(request: &Trip) -> Result<Self, Troubles> {
        let look = |side: &Side| Look::of(request, side);
        let (here, there) = match &request.against {
            Some(against) => {
                let (here, there) = rayon::join(|| look(&request.side), || look(&against.side));
                (here?, Some(there?))
            }
            None => (look(&request.side)?, None),
        };
        let variants: Result<Vec<_>, Troubles> = request
            .variants
            .par_iter()
            .map(|v| v.look(request))
            .collect();
        let other = there.as_ref();
        let apart = other.and_then(|there| here.spread.hotter(&there.spread));
        Ok(Self {
            peak_difference: other.map(|there| here.figures.peak.1 - there.figures.peak.1),
            peak_difference_low: apart.map(|a| a.0),
            peak_difference_high: apart.map(|a| a.1),
            variants: variants?,
            series: series(&here, other),
            cautions: cautions(request, &here, other),
            here: Flat(here),
            there,
        })
    }
}

impl Look {
    pub(super) fn of(request: &Trip, side: &Side) -> Result<Self, Troubles> {
        let case = &side.setup.case;
        let (course, figures) = computed(request, side, case, Rules::USUAL)?;
        let speeds = || course.moments.iter().map(|m| m.fan_speed);
        let end = course.moments.last();
        let event = |(time, what): &(f64, TripEvent)| Event {
            time: *time,
            what: what.key(),
        };
        Ok(Self {
            peak_coolant_temp: figures.peak.1,
            peak_coolant_time: figures.peak.0,
            peak_oil_temp: figures.peak_oil.1,
            peak_oil_time: figures.peak_oil.0,
            coolant_limit: limit(case),
            time_to_limit: figures.to_limit,
            above_limit: figures.above_limit,
            above_boiling: figures.above_boiling,
            oil_above_93_c: figures.hot_oil,
            boiled: figures.boiled,
            end_coolant_temp: end.map(|m| m.stored.coolant),
            end_oil_temp: end.map(|m| m.stored.oil),
            duration: end.map(|m| m.time),
            fan_speed_least: speeds().fold(f64::INFINITY, f64::min),
            fan_speed_mean: figures.fan,
            fan_speed_greatest: speeds().fold(0.0, f64::max),
            pump_shaft_power_mean: figures.pump.0,
            pump_shaft_power_greatest: figures.pump.1,
            pump_energy: figures.pump_energy,
            fuel_heat: figures.fuel,
            pump_fuel_heat: figures.pump_fuel,
            may_idle: Some(figures.idle.time()).filter(|t| t.is_finite()),
            idle_end_coolant_temp: match figures.idle {
                Idle::Stays(t) => Some(t),
                _ => None,
            },
            heat_in: course.heat_in,
            heat_out: course.heat_out,
            heat_stored: course.heat_stored,
            events: course.events.iter().map(event).collect(),
            limits: limits(&course),
            circuit_solves: course.solves,
            spread: Spread::of(request, side, &figures)?,
            figures,
            boiling: boiling(case)[0],
            course,
        })
    }
}

/// Divides the trip into periods with one limit each; very short ones are merged with the previous one.
fn limits(course: &SimulatedTrip) -> Vec<Limited> {
    let mut found: Vec<Limited> = Vec::new();
    for pair in course.moments.windows(2) {
        let (limited_by, from, to) = (pair[0].limit, pair[0].time, pair[1].time);
        match found.last_mut() {
            Some(last) if last.limited_by == limited_by => last.to = to,
            _ => found.push(Limited {
                limited_by,
                from,
                to,
            }),
        }
    }
    let whole = found.last().map_or(0.0, |s| s.to);
    let mut shown: Vec<Limited> = Vec::new();
    for stretch in found {
        let short = stretch.to - stretch.from < SHORT * whole;
        match shown.last_mut() {
            Some(last) if last.limited_by == stretch.limited_by || short => last.to = stretch.to,
            _ => shown.push(stretch),
        }
    }
    shown
}

/// The trip versus time, with the baseline at the same times.
fn series(here: &Look, there: Option<&Look>) -> Vec<Row> {
    let row = |m: &Moment| {
        let against = there.map(|there| {
            let of = |f: fn(&Moment) -> f64| between(&there.course.moments, m.time, f);
            RowAgainst {
                coolant_temp_against: of(|m| m.stored.coolant),
                oil_temp_against: of(|m| m.stored.oil),
                fan_speed_against: of(|m| m.fan_speed),
            }
        });
        Row {
            time: m.time,
            road_speed: 3.6 * m.now.road_speed,
            engine_speed: m.now.engine_speed,
            ambient: m.now.ambient,
            coolant_temp: m.stored.coolant,
            metal_temp: m.stored.metal,
            core_temp: m.stored.core,
            oil_temp: m.stored.oil,
            air_temp: m.budget.air_temp,
            fan_speed: m.fan_speed,
            command: m.command,
            limited_by: m.limit,
            pump_shaft_power: m.budget.pump_power,
            engine_heat: m.budget.engine_heat,
            radiator_heat: m.budget.radiator_heat,
            against: Flat(against),
        }
    };
    here.course.moments.iter().map(row).collect()
}

/// Interpolates a value linearly at a time between two moments; `None` after the last moment.
fn between(moments: &[Moment], time: f64, of: fn(&Moment) -> f64) -> Option<f64> {
    let after = moments.partition_point(|m| m.time < time);
    let next = moments.get(after)?;
    let before = moments.get(after.saturating_sub(1))?;
    let span = next.time - before.time;
    let part = if span > 0.0 {
        (time - before.time) / span
    } else {
        0.0
    };
    Some(of(before) + (of(next) - of(before)) * part)
}

/// Collects the cautions to be shown with the result.
fn cautions(request: &Trip, here: &Look, there: Option<&Look>) -> Vec<Caution> {
    let mut all = of_side(&request.side, here);
    if let (Some(against), Some(there)) = (&request.against, there) {
        let others = of_side(&against.side, there).into_iter();
        all.extend(others.map(|c| c.of(Whose::Baseline)));
    }
    if here.course.moments.iter().any(|m| m.now.road_speed < 1.0) {
        all.push(Caution::Recirculation);
    }
    all.extend(request.noted.clone());
    for field in ["engine_speed", "air_temp"] {
        if request.side.setup.typed.contains(&field) {
            all.push(Caution::NoEffect { field });
        }
    }
    all
}

/// Collects the cautions about one of the two machines.
fn of_side(side: &Side, look: &Look) -> Vec<Caution> {
    let case = &side.setup.case;
    let oil = look.course.track.iter().map(|p| p.2);
    let (coldest, hottest) = oil.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), t| {
        (t.min(low), t.max(high))
    });
    let mut all = side.setup.oil.cautions(coldest);
    all.extend(side.setup.oil.cautions(hottest));
    let any = |which: &dyn Fn(&Moment) -> bool| look.course.moments.iter().any(which);
    let mut add = |when: bool, caution: Caution| {
        if when {
            all.push(caution);
        }
    };
    let boils = look.figures.boiled;
    add(boils, Caution::CoolantBoils);
    let may = look.figures.above_boiling > 0.0 && !boils;
    add(may, Caution::CoolantMayBoil);
    let full = side.setup.machine.usual.full.value;
    let weak = case.engine.is_some_and(|e| {
        any(&|m| {
            let speed = m.now.engine_speed;
            speed > 0.0 && m.budget.engine_power > e.most_power(speed, full)
        })
    });
    add(weak, Caution::EngineLacksPower);
    let no_vehicle = case.vehicle.is_none() && any(&|m| m.now.road_speed > 0.0);
    add(no_vehicle, Caution::NoVehicle);
    let starved = any(&|m| m.limit == Limit::Inlet);
    add(starved, Caution::InletStarvedAtTimes);
    let stands = any(&|m| m.limit == Limit::Standstill && m.now.engine_speed > 0.0);
    add(stands, Caution::FanStandsAtTimes);
    all
}
