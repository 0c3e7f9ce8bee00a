//! Checks that reject unusable readings.

use super::{READINGS, Suspects, WELL};
use crate::model::{Machine, Setup};
use crate::probe::{Reading, Readings};
use crate::quantity::Kind;
use crate::question::Field;
use crate::trouble::{Trouble, Troubles};

/// All problems found in the readings.
pub(super) fn problems(request: &Suspects) -> Troubles {
    let of = |field: &Field, readings: &Readings| -> Troubles {
        let all = against(&request.setup, &readings.all).into_iter();
        all.map(|t| t.on(field.key)).collect()
    };
    let well = request.well.iter().flat_map(|w| of(&WELL, w));
    let now = of(&READINGS, &request.readings);
    now.into_iter().chain(well).collect()
}

fn against(setup: &Setup, readings: &[Reading]) -> Troubles {
    let each = readings.iter().flat_map(|r| {
        let found = [without_error(r), out_of_range(setup, r)];
        found.into_iter().flatten()
    });
    let pairs = readings.iter().enumerate().flat_map(|(n, a)| {
        let later = readings.iter().skip(n + 1);
        later.filter_map(move |b| contradiction(setup, a, b))
    });
    each.chain(pairs).collect()
}

fn without_error(reading: &Reading) -> Option<Trouble> {
    let sound = reading.half > 0.0 && reading.half.is_finite() && reading.value.is_finite();
    (!sound).then(|| {
        let found = format!("`{}` has no uncertainty", reading.probe.key);
        Trouble::input(found, "an uncertainty above 0")
            .hint("give it after ±, or name the instrument")
    })
}

fn out_of_range(setup: &Setup, reading: &Reading) -> Option<Trouble> {
    let machine = &setup.machine;
    let (idle, full) = (machine.usual.idle.value, machine.usual.full.value);
    let speed = reading.setting.engine_speed(machine);
    let show = |speed| setup.units.show(Kind::Speed, speed);
    (!(0.5 * idle..=1.1 * full).contains(&speed)).then(|| {
        Trouble::input(
            format!(
                "`{}` at an engine speed of {}",
                reading.probe.key,
                show(speed)
            ),
            format!(
                "an engine speed of this machine: {} to {}",
                show(idle),
                show(full)
            ),
        )
    })
}

fn contradiction(setup: &Setup, a: &Reading, b: &Reading) -> Option<Trouble> {
    let apart = (a.value - b.value).abs();
    let allowed = a.half + b.half + 0.1 * a.value.abs().max(b.value.abs());
    let unsure = a.unsure || b.unsure;
    (same_condition(&setup.machine, a, b) && apart > allowed && !unsure).then(|| {
        let show = |r: &Reading| setup.units.show(r.probe.what.kind(), r.value);
        Trouble::input(
            format!(
                "two readings of {} contradict each other: {} and {}",
                a.probe.name,
                show(a),
                show(b)
            ),
            "readings under the same condition that agree within their uncertainties",
        )
        .hint("measure again and leave out the wrong reading; if something was repaired between the two, enter it as work done and give each reading its date")
    })
}

/// Whether two readings are of the same quantity in nearly the same condition.
fn same_condition(machine: &Machine, a: &Reading, b: &Reading) -> bool {
    let (one, other) = (&a.setting, &b.setting);
    let speeds = one.engine_speed(machine) / other.engine_speed(machine);
    let temps = one.oil_temp(machine) - other.oil_temp(machine);
    a.probe.what == b.probe.what
        && one.unplugged == other.unplugged
        && one.settled == other.settled
        && (one.command - other.command).abs() < 0.02
        && (speeds - 1.0).abs() < 0.03
        && temps.abs() < 5.0
}
