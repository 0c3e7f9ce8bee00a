//! The circuit at its edges: thin air, a starved inlet, a slipping belt, steering that is short of oil, wind in the fan.

use oilwheel::balance::{Limit, State};
use oilwheel::input::unit::{BAR, MM2_S};
use oilwheel::model::{Ask, Case, Lookup};

/// A machine of the library, with inputs set.
fn setup(machine: &str, set: &[&str]) -> Case {
    let mut ask = Ask::about(machine);
    ask.set = set.iter().map(|s| (*s).into()).collect();
    ask.resolve(Lookup::LibraryOnly).unwrap().case
}

fn state(case: &Case) -> (State, Limit) {
    let (state, operating) = State::of(case).unwrap();
    (state, operating.limit)
}

#[test]
fn a_bus_turns_its_fan_at_every_altitude_where_cities_lie() {
    for machine in ["bus", "off-road", "car", "light-truck"] {
        let mut before = f64::NAN;
        for altitude in 0..=4000 {
            let case = setup(machine, &[&format!("now.altitude={altitude} m")]);
            let speed = state(&case).0.fan_speed;
            // Thinner air turns more easily, and fills a little less: no step of a metre is worth a thousandth.
            let off = (speed / before - 1.0).abs();
            assert!(
                off < 1e-3 || before.is_nan(),
                "{machine} at {altitude} m: {before} to {speed}"
            );
            before = speed;
        }
        assert!(before > 50.0, "{machine} at 4000 m: {before} rad/s");
    }
}

/// The inlet's own balance by other means: what the hose loses by Poiseuille or Churchill is asked of the part itself, and the
/// least pressure that filling takes is written out here.
#[test]
fn a_starved_pump_draws_what_its_hose_and_port_let_through() {
    let mut starved = 0;
    for machine in ["bus", "off-road", "car", "light-truck"] {
        for oil_temp in ["-30 C", "-20 C", "-10 C", "0 C", "20 C"] {
            let set = [
                format!("now.oil_temp={oil_temp}"),
                "now.engine_speed=2000 rpm".into(),
            ];
            let set: Vec<&str> = set.iter().map(String::as_str).collect();
            let case = setup(machine, &set);
            let (state, limit) = state(&case);
            let oil = case.oil.now(&case.curve, case.now.oil_temp);
            let screen = |q: f64| case.screen.map_or(0.0, |s| s.drop(q, oil.nu * oil.rho));
            let drop = |q: f64| case.suction.drop(q, oil.nu, oil.rho) + screen(q);
            // Neither machine here has a regulator that returns to the reservoir: what leaves the pump came by the hose.
            let hose = state.pump_flow;
            let tank = oilwheel::fluid::air::pressure(case.now.altitude) + case.reservoir.pressure;
            let off = tank - drop(hose) - state.inlet_pressure;
            assert!(
                off.abs() < 1.0,
                "{machine} at {oil_temp}: inlet off by {off} Pa"
            );
            let rated = case.pump.displacement * case.pump.fill_speed;
            let needs = case.oil.air_release
                + (case.pump.least_inlet - case.oil.air_release) * (hose / rated).powi(2);
            let spare = state.inlet_pressure - needs;
            assert!(spare > -1.0, "{machine} at {oil_temp}: {spare} Pa to spare");
            if limit == Limit::Inlet {
                starved += 1;
                assert!(
                    spare < 1.0 && state.starved(),
                    "{machine} at {oil_temp}: {spare} Pa"
                );
            }
        }
    }
    assert!(starved > 2, "{starved} starve only");
}

#[test]
fn a_worn_pump_draws_less_and_so_from_less_vacuum() {
    let own = setup("bus", &["now.engine_speed=1400 rpm", "now.oil_temp=20 C"]);
    let mut worn = own;
    worn.pump.slip *= 8.0;
    worn.pump.turbulent_slip *= 8.0;
    let vacuum = |case: &Case| 101_325.0 - state(case).0.inlet_pressure;
    assert!(
        vacuum(&worn) < vacuum(&own),
        "{} {}",
        vacuum(&worn),
        vacuum(&own)
    );
}

#[test]
fn a_weak_belt_is_named_and_a_faster_engine_does_not_slow_the_fan() {
    let mut before = 0.0;
    for rpm in (600..=6000).step_by(100) {
        let speed = format!("now.engine_speed={rpm} rpm");
        let case = setup("light-truck", &["belt.torque_limit=5 N m", &speed]);
        let (state, limit) = state(&case);
        assert!(
            state.pump_torque <= 5.25,
            "{rpm}: {} N m",
            state.pump_torque
        );
        assert!(
            state.fan_speed >= before,
            "{rpm}: {before} to {}",
            state.fan_speed
        );
        if rpm >= 2000 {
            assert_eq!(limit, Limit::Belt, "{rpm}");
        }
        before = state.fan_speed;
    }
    let case = setup("light-truck", &["belt.torque_limit=0.5 N m"]);
    let (state, limit) = state(&case);
    assert!(
        limit == Limit::Standstill && state.belt_slip > 0.999,
        "{state:?}"
    );
}

/// As the pump wears, steering that is fed first loses flow, then pressure, and neither jumps.
#[test]
fn steering_that_is_fed_first_keeps_its_pressure_as_long_as_oil_flows() {
    let at = |slip: f64| {
        let set = [
            "choices.steering=first",
            "steering.pressure=60 bar",
            "steering.flow=12 L/min",
            "now.oil_temp=-20 C",
        ];
        let mut case = setup("light-truck", &set);
        case.pump.slip = slip;
        state(&case)
    };
    let (mut flow, mut pressure) = at(1e-9 * 0.99).0.supply();
    let (full, mut short, mut unheld) = (flow, 0, 0);
    for k in 0..4000 {
        let (state, limit) = at(1e-9 * 1.0025_f64.powi(k));
        let now = state.supply();
        assert!(
            (now.0 - flow).abs() <= 0.02 * full && (now.1 - pressure).abs() <= 0.02 * pressure,
            "step {k}: {flow} {pressure} to {now:?}"
        );
        if limit == Limit::Standstill {
            let held = (now.1 / (60.0 * BAR) - 1.0).abs() < 1e-9;
            assert!(held || now.0 < 1e-9, "step {k}: {now:?}");
            short += usize::from(held);
            unheld += usize::from(!held);
        }
        (flow, pressure) = now;
    }
    assert!(
        short > 10 && unheld > 10,
        "{short} short of flow, {unheld} of pressure"
    );
}

/// What steering sees.
trait Supply {
    fn supply(&self) -> (f64, f64);
}

impl Supply for State {
    fn supply(&self) -> (f64, f64) {
        (self.steering_flow, self.supply_gauge_pressure)
    }
}

#[test]
fn wind_that_drives_the_fan_is_named() {
    let calm = state(&setup("light-truck", &["now.road_speed=60 km/h"])).1;
    let (state, limit) = state(&setup("light-truck", &["now.road_speed=200 km/h"]));
    assert!(
        state.fan_shaft_power < 0.0 && limit == Limit::Air,
        "{limit:?}"
    );
    assert_ne!(calm, Limit::Air);
}

/// ISO 5801: at one speed power goes with the fifth power of the diameter.
#[test]
fn a_larger_fan_takes_more_power_by_its_fifth_power() {
    let mut case = setup("light-truck", &[]);
    (case.core, case.air, case.fan_curve) = (None, None, None);
    let factor = |case: &Case| {
        let state = state(case).0;
        state.fan_shaft_power / state.fan_speed.powi(3)
    };
    let own = factor(&case);
    case.fan.diameter *= 1.2;
    assert!((factor(&case) / own / 1.2_f64.powi(5) - 1.0).abs() < 1e-9);
    let speed = |diameter: &str| state(&setup("light-truck", &[diameter])).0.fan_speed;
    assert!(speed("fan.diameter=400 mm") > 1.1 * speed("fan.diameter=600 mm"));
}

#[test]
fn half_the_exponent_is_half_the_logarithm_of_the_drag() {
    // Wilson's law drags in proportion to viscosity; at 30 mPa·s all exponents agree.
    let case = |exponent: f64, thickness: f64| {
        let mut case = setup("light-truck", &["oil.shear_loss=1"]);
        let oil = case.oil.now(&case.curve, case.now.oil_temp);
        case.oil.thickness = 0.03 / (oil.nu * oil.rho) * thickness;
        (case.motor.drag_exponent, case.pump.drag_exponent) = (exponent, exponent);
        let at = case.oil.now(&case.curve, case.now.oil_temp);
        assert!((at.nu * at.rho / (0.03 * thickness) - 1.0).abs() < 1e-9 && at.nu > MM2_S);
        state(&case).0.fan_speed
    };
    assert!((case(0.5, 1.0) / case(1.0, 1.0) - 1.0).abs() < 1e-9);
    assert!(case(0.5, 0.2) < case(1.0, 0.2) && case(0.5, 5.0) > case(1.0, 5.0));
}
