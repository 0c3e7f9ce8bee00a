//! What `heat` says of its own uncertainty: bands, chances, and differences of machines that are each compared with themselves.

use oilwheel::model::{Lookup, MACHINES};
use oilwheel::quantity::Units;
use oilwheel::question::basis::{MACHINE, WITH};
use oilwheel::question::heat::{self, Found, Heat, Look, MAP_POINTS, Variant};
use oilwheel::question::{Request, Values};

/// The light truck, asked about with some fields.
fn asked(fields: &[(&oilwheel::question::Field, &str)]) -> Found {
    let mut values = Values::new(Units::Si, Lookup::LibraryOnly).with(&MACHINE, "light-truck");
    for (field, words) in fields {
        values = values.with(field, words);
    }
    Heat::read(&values).unwrap().answer().unwrap()
}

/// Towing up a grade: thermostat open, fan near full command.
fn towing(ambient: &str, more: &[(&oilwheel::question::Field, &str)]) -> Found {
    let road = [
        (&heat::AMBIENT, ambient),
        (&heat::ROAD_SPEED, "70 km/h"),
        (&heat::GRADE, "6 %"),
        (&heat::TRAILER, "1500 kg"),
    ];
    asked(&[&road[..], more].concat())
}

fn look<'a>(found: &'a Found, name: &Variant) -> &'a Look {
    let mut all = found.side_by_side.iter();
    all.find(|l| l.name == *name).unwrap()
}

#[test]
fn a_hotter_day_reaches_the_limit_in_more_machines_and_boils_in_no_more_than_that() {
    let mut before = [0.0; 2];
    for day in ["20 C", "35 C", "45 C", "50 C", "57 C"] {
        let found = towing(day, &[]);
        for look in &found.side_by_side {
            let (limit, boil) = (look.chance_of_limit.unwrap(), look.chance_to_boil.unwrap());
            assert!((0.0..=1.0).contains(&boil) && boil <= limit && limit <= 1.0);
        }
        let chances = [
            found.chance_of_limit.unwrap(),
            found.chance_to_boil.unwrap(),
        ];
        for (chance, before) in chances.iter().zip(&before) {
            assert!(chance >= before, "{day}: {chances:?} {before:?}");
        }
        before = chances;
    }
    assert!(before[0] > 0.5, "{before:?}");
}

/// Idling on a hotter day boils in no fewer machines, whatever the class, and a healthy one boils on no usual day.
#[test]
fn idling_on_a_hotter_day_boils_in_no_fewer_machines() {
    for machine in MACHINES {
        let mut before = 0.0;
        for day in ["0 C", "20 C", "35 C", "45 C"] {
            let values = Values::new(Units::Si, Lookup::LibraryOnly)
                .with(&MACHINE, machine.0)
                .with(&heat::AMBIENT, day);
            let found = Heat::read(&values).unwrap().answer().unwrap();
            let boils = found.chance_to_boil.unwrap();
            assert!(boils >= before, "{} at {day}: {boils} {before}", machine.0);
            assert!(day != "20 C" || boils < 0.005, "{}: {boils}", machine.0);
            before = boils;
        }
    }
}

/// By definition: on the day on which the middle machine reaches its limit, with the fan at full command as that day has it, about half of
/// all machines do. A tolerance of 0.2, set before the first run: a median of 120 machines strays by 0.1 (two standard deviations of a
/// count), and the middle machine is not quite the median.
#[test]
fn on_the_limiting_day_about_half_of_the_machines_reach_the_limit() {
    let full = [(&oilwheel::question::basis::OWN_COMMAND, "full")];
    let limiting = towing("30 C", &full).limiting_ambient.unwrap() - 273.15;
    let found = towing(&format!("{limiting} C"), &full);
    assert!((found.coolant_temp.unwrap() - found.limit).abs() < 0.01);
    let chance = found.chance_of_limit.unwrap();
    assert!((chance - 0.5).abs() < 0.2, "{chance}");
    // And the band of the limiting ambient temperature holds that day.
    let (low, high) = found.limiting_band.0.unwrap();
    assert!(low < limiting + 273.15 && limiting + 273.15 < high);
}

/// A machine of which nothing is uncertain reaches its limit or it does not, and its difference has no width.
#[test]
fn without_any_uncertainty_a_chance_is_none_or_all() {
    let of = |day: &str| {
        let values = Values::new(Units::Si, Lookup::LibraryOnly)
            .with(&MACHINE, "light-truck")
            .with(&heat::AMBIENT, day)
            .with(&heat::ROAD_SPEED, "70 km/h")
            .with(&heat::GRADE, "6 %")
            .with(&heat::TRAILER, "1500 kg");
        let mut request = Heat::read(&values).unwrap();
        request.setup.spread = request.setup.spread.map(&mut |_, _| 0.0);
        request.answer().unwrap()
    };
    let (mild, hot) = (of("20 C"), of("57 C"));
    assert!(mild.chance_of_limit.unwrap() < 1e-12);
    assert!(hot.chance_of_limit.unwrap() > 1.0 - 1e-12);
    let bands = look(&mild, &Variant::HalfBlocked).difference_band;
    let (low, high) = bands.0.unwrap();
    assert!(high - low < 1e-3, "{low} {high}");
}

/// What both have in common does not blur a difference: far narrower than two machines drawn apart would have it.
#[test]
fn machines_compared_with_themselves_differ_less_than_they_are_uncertain() {
    let found = towing("30 C", &[]);
    let width = |b: oilwheel::question::Ends| b.0.map(|(low, high)| high - low).unwrap();
    let on = look(&found, &Variant::AirConditioning(true));
    let apart = width(found.limiting_band).hypot(width(on.limiting_band));
    let together = width(on.limiting_difference_band);
    assert!(together < 0.5 * apart, "{together} {apart}");
    for look in &found.side_by_side[1..] {
        let (low, high) = look.limiting_difference_band.0.unwrap();
        let middle = look.limiting_difference.unwrap();
        assert!(low <= middle && middle <= high, "{:?}", look.name);
        let gap = look.limiting_ambient.unwrap() - found.limiting_ambient.unwrap();
        assert!((gap - middle).abs() < 1e-9);
    }
    // Air conditioning takes degrees of the day, in every machine.
    assert!(on.limiting_difference_band.0.unwrap().1 < 0.0);
}

#[test]
fn a_faulty_machine_is_compared_with_its_healthy_self() {
    let healthy = towing("30 C", &[]);
    let faulty = towing("30 C", &[(&WITH, "core-blocked-outside=0.6")]);
    let mended = look(&faulty, &Variant::Healthy);
    let same = mended.limiting_ambient.unwrap() - healthy.limiting_ambient.unwrap();
    assert!(same.abs() < 1e-6, "{same}");
    let (bands, other) = (
        mended.limiting_band.0.unwrap(),
        healthy.limiting_band.0.unwrap(),
    );
    assert!((bands.0 - other.0).abs() < 1e-3 && (bands.1 - other.1).abs() < 1e-3);
    // No machine within the ± is the worse for a mended core.
    let (low, _) = mended.limiting_difference_band.0.unwrap();
    assert!(low > 0.0, "{low}");
    assert!(faulty.chance_of_limit > mended.chance_of_limit);
}

/// A reading was taken when the machine was well: it is the healthy machine that meets it, whatever fault is put on it then.
#[test]
fn an_anchor_is_of_the_healthy_machine() {
    let stop = [
        (&heat::AMBIENT, "38 C"),
        (&heat::AIR_CONDITIONING, "true"),
        (&heat::ANCHOR, "99 C at engine 700 rpm, 38 C ambient"),
        (&WITH, "worn-pump=0.2"),
    ];
    let found = asked(&stop);
    let well = look(&found, &Variant::Healthy).coolant_temp.unwrap() - 273.15;
    assert!((well - 99.0).abs() < 1.0, "{well}");
    assert!(found.coolant_temp.unwrap() - 273.15 > well);
}

/// To first order against drawn machines, at three points; a tolerance of a fourth of the half-width and 1.5 K, set before the first run.
#[test]
fn the_bands_of_the_map_are_those_of_drawn_machines() {
    let truck = asked(&[(&heat::MAP, "true")]);
    assert_eq!(truck.map.len(), MAP_POINTS * MAP_POINTS);
    for (grade, speed) in [(0, 28), (10, 20), (20, 16)] {
        let point = &truck.map[grade * MAP_POINTS + speed];
        let found = asked(&[
            (&heat::ROAD_SPEED, &format!("{} km/h", point.road_speed)),
            (&heat::GRADE, &format!("{} %", point.grade)),
        ]);
        let middle = point.limiting_ambient.unwrap();
        assert!((middle - found.limiting_ambient.unwrap()).abs() < 1e-3);
        let (low, high) = point.limiting_band.0.unwrap();
        let (drawn_low, drawn_high) = found.limiting_band.0.unwrap();
        assert!(low < middle && middle < high);
        let off = 0.25 * 0.5 * (drawn_high - drawn_low) + 1.5;
        assert!(
            (low - drawn_low).abs() < off && (high - drawn_high).abs() < off,
            "{grade} {speed}: {low} {high}, drawn {drawn_low} {drawn_high}"
        );
    }
}

/// What electric fans and mending gain is told with a band, which holds the middle; nothing uncertain, no width.
#[test]
fn what_is_gained_has_a_band() {
    use oilwheel::question::auxfan::{Auxfan, Remedy};
    let values = Values::new(Units::Si, Lookup::LibraryOnly)
        .with(&MACHINE, "light-truck")
        .with(&oilwheel::question::auxfan::AMBIENT, "45 C")
        .with(&WITH, "worn-pump=0.7");
    let mut request = Auxfan::read(&values).unwrap();
    let found = request.answer().unwrap();
    assert!(
        found.sides[0]
            .gained_band
            .0
            .is_none_or(|(low, high)| low.abs() + high.abs() < 1e-9)
    );
    for remedy in [Remedy::Fans, Remedy::Mended] {
        let side = found.side(remedy).unwrap();
        let Some((low, high)) = side.gained_band.0 else {
            panic!("{remedy:?} without a band");
        };
        assert!(
            low <= side.gained && side.gained <= high,
            "{low} {} {high}",
            side.gained
        );
        assert!(low > 0.0, "{remedy:?} {low}");
    }
    request.setup.spread = request.setup.spread.map(&mut |_, _| 0.0);
    let exact = request.answer().unwrap();
    let side = exact.side(Remedy::Mended).unwrap();
    let (low, high) = side.gained_band.0.unwrap();
    assert!((high - low).abs() < 1e-6 && (low - side.gained).abs() < 1e-6);
}

#[test]
fn without_bands_the_rest_is_the_same() {
    let day = (&heat::AMBIENT, "38 C");
    let (with, without) = (asked(&[day]), asked(&[day, (&heat::WITHOUT_BANDS, "on")]));
    assert!(without.coolant_band.0.is_none() && without.chance_to_boil.is_none());
    assert!(with.coolant_band.0.is_some() && with.chance_to_boil.is_some());
    assert_eq!(with.coolant_temp, without.coolant_temp);
    assert_eq!(with.limiting_ambient, without.limiting_ambient);
}
