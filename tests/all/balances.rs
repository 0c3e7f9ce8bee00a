//! The balance of the oil circuit: one root, flows and watts that close, limits, monotony, derivatives.

mod slopes;

use crate::random::Random;
use argmin::core::{CostFunction, Executor, State as _};
use argmin::solver::brent::BrentRoot;
use oilwheel::balance::{Limit, Output, Ready, State, solve, solve_from};
use oilwheel::input::unit::{RPM, celsius};
use oilwheel::input::{Input, Place};
use oilwheel::model::{Ask, COUNT, Case, Lookup};
use oilwheel::numeric::Dual64;
use oilwheel::quantity::Kind;

/// Cases in the quick run; the campaign in CI sets `OILWHEEL_CASES`.
fn cases() -> usize {
    std::env::var("OILWHEEL_CASES")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(5_000)
}

/// The flow that is left over and its slope at a fan speed.
fn residual(ready: &Ready<'_, f64>, omega: f64) -> Dual64 {
    ready.left_over(None, Dual64::new(omega, 1.0)).0
}

/// A case with some inputs set by key.
fn set(case: &Case, values: &[(&str, f64)]) -> Case {
    values.iter().fold(*case, |case, (key, v)| {
        case.with(Input::find(key).expect(key), *v)
    })
}

#[test]
fn every_case_settles_and_closes() {
    let mut random = Random::new(1);
    let (mut all, mut turning) = (Vec::new(), Vec::new());
    let mut limits = std::collections::BTreeSet::new();
    for k in 0..cases() {
        let case = random.case();
        let (state, operating) =
            State::of(&case).unwrap_or_else(|t| panic!("case {k}: {t}\n{case:?}"));
        limits.insert(operating.limit);
        assert_eq!(
            operating.limit == Limit::Standstill,
            operating.omega <= 0.0,
            "case {k}: {operating:?}\n{case:?}"
        );
        all.push(operating.evaluations);
        if operating.omega > 0.0 {
            turning.push(operating.evaluations);
        }
        let power = state.pump_shaft_power;
        let spent = state.losses.iter().sum::<f64>() + state.fan_shaft_power;
        assert!(
            (spent - power).abs() <= 1e-9 * power.abs().max(1e-3),
            "case {k}: {spent} W spent of {power} W\n{operating:?}\n{state:?}\n{case:?}"
        );
        assert!(
            state.losses.iter().all(|w| *w >= -1e-7 * power.max(1.0)),
            "case {k}: a loss gives power\n{operating:?}\n{state:?}\n{case:?}"
        );
        let flow = state.pump_flow
            - state.motor_flow
            - state.valve_flow
            - state.relief_flow
            - state.steering_flow;
        assert!(
            flow.abs() <= 1e-9 * case.pump.displacement * state.pump_speed,
            "case {k}: flow {flow}\n{operating:?}\n{case:?}"
        );
    }
    // No air path, so that no air drives a fan here.
    assert_eq!(limits.len(), Limit::ALL.len() - 1, "{limits:?}");
    // A root costs at most 60 evaluations, and a standing fan takes two roots.
    for (counts, mean, late, most) in [(&mut turning, 5.0, 10, 62), (&mut all, 5.0, 10, 122)] {
        counts.sort_unstable();
        let n = counts.len();
        let found = counts.iter().sum::<usize>() as f64 / n as f64;
        assert!(found <= mean, "{found} evaluations on average");
        assert!(
            counts[n * 99 / 100] <= late,
            "99th: {}",
            counts[n * 99 / 100]
        );
        assert!(counts[n - 1] <= most, "most: {}", counts[n - 1]);
    }
}

#[test]
fn an_efficiency_is_a_share_whatever_drives_what() {
    let mut random = Random::new(13);
    let mut driven = 0;
    for k in 0..cases() / 10 {
        let case = slopes::with_radiator(&mut random);
        let state = State::of(&case).unwrap().0;
        driven += usize::from(state.fan_shaft_power < 0.0);
        for output in Output::all() {
            let about = output.declaration();
            let share = state.get(output);
            assert!(
                !about.key.ends_with("efficiency") || (0.0..=1.0).contains(&share),
                "case {k}: {} {share}\n{state:?}\n{case:?}",
                about.key
            );
        }
    }
    assert!(driven > 20, "air drives {driven} fans only");
}

#[test]
fn the_residual_and_each_branch_fall_strictly_so_that_the_root_is_the_only_one() {
    const STEPS: usize = 12;
    let mut random = Random::new(2);
    for k in 0..cases() {
        let plain = random.case();
        let ready = Ready::new(&plain);
        let high = ready.most_speed();
        // All but the motor's displacement falls or stays with speed, so that the slope is at least that. Slip, which goes
        // with p·exp(−βp/2), turns round at p = 2/β: 1110 bar at the usual β, beyond any relief.
        let least = plain.motor.displacement * (1.0 - 1e-9);
        let most = 2.0 / plain.oil.pressure_viscosity;
        for alone in std::iter::once(None).chain(Limit::ALL.into_iter().map(Some)) {
            let mut before: Option<Dual64> = None;
            for at in 0..=STEPS {
                let omega = high * at as f64 / STEPS as f64;
                let (now, pressure) = ready.left_over(alone, Dual64::new(omega, 1.0));
                if pressure.re.abs() > 0.99 * most {
                    assert!(
                        alone.is_some() || now.re < 0.0,
                        "case {k} may have a second root at {omega}\n{plain:?}"
                    );
                    before = None;
                    continue;
                }
                let fell = before.map_or(f64::INFINITY, |before| before.re - now.re);
                assert!(
                    now.eps <= -least && fell >= least * high / STEPS as f64 * (1.0 - 1e-6),
                    "case {k}, {alone:?} at {omega}: {now:?} after {before:?}\n{plain:?}"
                );
                before = Some(now);
            }
        }
        if plain.governor.is_some() {
            continue;
        }
        let found = solve(&plain).unwrap();
        let near = |share: f64| residual(&ready, found.omega * share).re;
        assert!(
            if found.omega > 0.0 {
                near(1.0 - 1e-9) > 0.0 && near(1.0 + 1e-9) < 0.0
            } else {
                near(1.0) <= 0.0
            },
            "case {k}: no root at {}\n{plain:?}",
            found.omega
        );
        for (limit, omega) in found.other_limits(&plain) {
            assert!(
                omega >= found.omega * (1.0 - 1e-9),
                "case {k}: {limit:?} acts at {omega} already, not at {found:?}\n{plain:?}"
            );
        }
    }
}

#[test]
fn more_engine_speed_never_means_slower() {
    let mut random = Random::new(31);
    for k in 0..cases() {
        let case = random.case();
        let mut before = (0.0, 0.0);
        for engine_speed in [50.0, 300.0, 700.0, 1200.0, 2000.0, 3500.0, 6000.0, 9000.0] {
            let faster = set(&case, &[("now.engine_speed", engine_speed * RPM)]);
            let (state, found) = State::of(&faster).unwrap();
            let now = (found.omega, state.pump_speed);
            assert!(
                // A speed of 1e-9 rad/s is none.
                now.0 >= before.0 * (1.0 - 1e-9) - 1e-9 && now.1 >= before.1 * (1.0 - 1e-9) - 1e-9,
                "case {k}: {before:?} to {now:?} rad/s at {engine_speed} rpm\n{case:?}"
            );
            before = now;
        }
    }
}

/// The belt's own balance, beside the solver: what the pump asks for at the speed found is what the belt then carries.
#[test]
fn a_slipping_belt_carries_its_torque_and_no_more() {
    let mut random = Random::new(32);
    let mut slipping = 0;
    for k in 0..cases() {
        let case = random.case();
        let Some(belt) = case.belt else { continue };
        let (state, found) = State::of(&case).unwrap();
        let slip = state.belt_slip;
        let carries = belt.torque_limit * belt.grip * (1.0 + belt.growth * slip);
        let asked = state.pump_torque / carries - 1.0;
        assert!(
            asked <= 1e-9 && (slip <= 1e-9 || state.pump_speed <= 0.0 || asked >= -1e-9),
            "case {k}: slip {slip}, {} N m of {carries}\n{found:?}\n{case:?}",
            state.pump_torque
        );
        let loses = slip > 1e-6 && found.limit == Limit::Displacement;
        assert!(!loses, "case {k}: {slip} slips unnamed\n{case:?}");
        slipping += usize::from(slip > 0.0);
    }
    assert!(slipping > cases() / 50, "{slipping} belts slip only");
}

/// Along every input the change of the fan's speed shrinks to nothing with the step: a jump would stay.
#[test]
fn the_fan_speed_has_no_jump_along_any_input() {
    let mut random = Random::new(33);
    for k in 0..(cases() / 10).min(2_000) {
        let case = random.case();
        for input in Input::all().filter(|i| i.part() != "core") {
            let Some(_) = case.get(input) else { continue };
            let field = input.field();
            let reach = field
                .high
                .min(case.get(input).unwrap_or(0.0).abs() * 3.0 + 1e-3 * field.high);
            // A valve set higher without command than with it is none.
            let at = |x: f64| {
                let case = case.with(input, x);
                let sound = case.valve.high >= case.valve.low;
                sound.then(|| solve(&case).unwrap().omega).ok_or(())
            };
            let (mut low, mut high) = (field.low, reach.max(field.low));
            let (Ok(mut from), Ok(mut to)) = (at(low), at(high)) else {
                continue;
            };
            // Halved towards the greater change, as long as the step may become smaller.
            for _ in 0..60 {
                let middle = 0.5 * (low + high);
                if middle <= low || middle >= high {
                    break;
                }
                let Ok(half) = at(middle) else { break };
                if (half - from).abs() > (to - half).abs() {
                    (high, to) = (middle, half);
                } else {
                    (low, from) = (middle, half);
                }
            }
            assert!(
                (to - from).abs() <= 1e-4 * from.max(to).max(1.0),
                "case {k}: {from} to {to} rad/s along {} between {low} and {high}\n{case:?}",
                input.key()
            );
        }
    }
}

/// Over a short step along an input the speed changes by no more than the steeper of the slopes at its two ends: a step upwards
/// that slopes do not show would be more. The bounds (a tenth; one step in a hundred) were set before the first run.
#[test]
fn a_short_step_changes_the_fan_speed_no_more_than_its_slopes_say() {
    let mut random = Random::new(34);
    let (mut steps, mut beyond) = (0, Vec::new());
    for k in 0..(cases() / 50).min(400) {
        let case = random.case();
        for input in Input::all().filter(|i| i.part() != "core" && i.place() != Place::Heat) {
            let Some(value) = case.get(input) else {
                continue;
            };
            let field = input.field();
            let step = 1e-3 * (value.abs() + 1e-3 * field.high.abs());
            if value + step > field.high {
                continue;
            }
            let there = case.with(input, value + step);
            if there.valve.high < there.valve.low {
                continue;
            }
            let (here, there) = [&case, &there]
                .map(|case| {
                    let found = solve(case).unwrap();
                    let slopes = State::slopes(case, &found);
                    (found.omega, slopes.along(input).unwrap()[1])
                })
                .into();
            // A slope without an end is that of a root: there any change may be.
            let steeper = here.1.abs().max(there.1.abs());
            if !steeper.is_finite() {
                continue;
            }
            steps += 1;
            let change = (there.0 - here.0).abs();
            if change > 1.1 * steeper * step + 1e-7 * here.0.max(there.0).max(1.0) {
                beyond.push((k, input.key(), change / (steeper * step)));
            }
        }
    }
    assert!(steps > 2_000, "{steps}");
    assert!(
        beyond.len() * 100 <= steps,
        "{} of {steps}: {beyond:?}",
        beyond.len()
    );
}

#[test]
fn more_command_never_means_slower() {
    let mut random = Random::new(3);
    for k in 0..cases() {
        let case = random.case();
        let mut before = 0.0;
        for command in [0.0, 0.01, 0.2, 0.4, 0.6, 0.8, 0.99, 1.0] {
            let omega = solve(&set(&case, &[("now.command", command)]))
                .unwrap()
                .omega;
            assert!(
                omega >= before * (1.0 - 1e-9),
                "case {k}: {before} to {omega} rad/s at command {command}\n{case:?}"
            );
            before = omega;
        }
    }
}

#[test]
fn a_governed_fan_slows_down_to_the_least_as_less_is_asked() {
    let setup = Ask::about("bus").resolve(Lookup::LibraryOnly).unwrap();
    let mut open = setup.case;
    open.governor = None;
    open.now.command = 0.0;
    let least = State::of(&open).unwrap().0.fan_speed;
    let mut before = 0.0;
    for k in 0..=20 {
        let mut case = setup.case;
        case.now.command = f64::from(k) / 20.0;
        let speed = State::of(&case).unwrap().0.fan_speed;
        if k == 0 {
            assert!(
                (speed / least - 1.0).abs() < 1e-9,
                "{speed} at no command, {least} with the valve at its least"
            );
        }
        assert!(
            speed >= before * (1.0 - 1e-9),
            "{speed} at {k}/20 after {before}"
        );
        before = speed;
    }
    assert!(before > 1.5 * least);
}

#[test]
fn a_thicker_oil_never_slows_a_fan_that_displacement_limits() {
    let mut random = Random::new(4);
    let mut met = 0;
    for k in 0..cases() {
        let mut case = set(
            &random.case(),
            &[
                ("oil.air", 0.0),
                ("pump.turbulent_slip", 0.0),
                ("motor.turbulent_slip", 0.0),
                ("valve.leak", 0.0),
            ],
        );
        (case.belt, case.governor) = (None, None);
        let mut before = 0.0;
        for thickness in [0.5, 0.7, 1.0, 1.5, 2.5] {
            let thicker = set(&case, &[("oil.thickness", thickness)]);
            let now = solve(&thicker).unwrap();
            if now.limit != Limit::Displacement {
                break;
            }
            assert!(
                now.omega >= before * (1.0 - 1e-12),
                "case {k}: {before} to {} rad/s at thickness {thickness}\n{case:?}",
                now.omega
            );
            met += usize::from(before > 0.0);
            before = now.omega;
        }
    }
    assert!(met > cases() / 10, "only {met} comparisons");
}

/// A circuit without lines, options, air and turbulent slip, whose valves never open.
fn bare(random: &mut Random) -> Case {
    let mut case = set(
        &random.case(),
        &[
            ("oil.air", 0.0),
            ("oil.pressure_viscosity", 0.0),
            ("pump.turbulent_slip", 0.0),
            ("motor.turbulent_slip", 0.0),
            ("valve.leak", 0.0),
            ("valve.low", 1e20),
            ("valve.high", 1e20),
            ("relief.setting", 1e20),
            ("reservoir.pressure", 0.0),
            ("pump.least_inlet", 2e4),
            ("oil.air_release", 2e4),
            ("pump.drag_exponent", 1.0),
            ("motor.drag_exponent", 1.0),
        ],
    );
    for line in [&mut case.supply, &mut case.return_line, &mut case.suction] {
        (line.length, line.fittings) = (0.0, 0.0);
    }
    (case.belt, case.regulator, case.governor) = (None, None, None);
    (case.screen, case.filter, case.cooler, case.steering) = (None, None, None, None);
    case
}

#[test]
fn a_bare_circuit_has_its_closed_form_from_water_thin_to_tar_thick() {
    let mut random = Random::new(5);
    for k in 0..cases().min(5_000) {
        let case = bare(&mut random);
        for thickness in [0.01, 0.1, 1.0, 10.0, 100.0] {
            let case = set(&case, &[("oil.thickness", thickness)]);
            let (pump, motor) = (&case.pump, &case.motor);
            let oil = case.oil.now(&case.curve, case.now.oil_temp);
            let mu = oil.nu * oil.rho * oil.shear_loss;
            let air = oilwheel::fluid::air::density(case.now.altitude, case.now.air_temp);
            let factor =
                case.fan.rated_power / case.fan.rated_speed.powi(3) * air / case.fan.rated_density;
            // Slip passes `leak·Δp`, and V (1 − Cf) Δp = k ω² + Cv V μ ω + T0 at the motor: a square in ω.
            let leak = (pump.slip * pump.displacement + motor.slip * motor.displacement) / mu;
            let share = leak / (motor.displacement * (1.0 - motor.friction));
            let (a, b, c) = (
                share * factor,
                share * motor.drag * motor.displacement * mu + motor.displacement,
                share * motor.dry_torque - pump.displacement * pump.ratio * case.now.engine_speed,
            );
            // The form of the root that loses no digits; a fan that its dry torque holds stands.
            let expected = (-2.0 * c / (b + (b * b - 4.0 * a * c).sqrt())).max(0.0);
            let found = solve(&case).unwrap();
            assert!(
                (found.omega - expected).abs() <= 1e-9 * expected,
                "case {k}, thickness {thickness}: {} for {expected} rad/s\n{case:?}",
                found.omega
            );
        }
    }
}

#[test]
fn without_leak_and_friction_the_fan_follows_the_pump_up_to_the_valve() {
    let mut random = Random::new(6);
    let mut valve = 0;
    for k in 0..cases().min(5_000) {
        let opens_at = random.log(1e6, 3e7);
        let case = set(
            &bare(&mut random),
            &[
                ("pump.slip", 0.0),
                ("motor.slip", 0.0),
                ("motor.drag", 0.0),
                ("motor.friction", 0.0),
                ("motor.dry_torque", 0.0),
                ("valve.high", opens_at),
                ("valve.low", opens_at),
            ],
        );
        let (size, slope) = (case.motor.displacement, case.valve.slope);
        let flow = case.pump.displacement * case.pump.ratio * case.now.engine_speed;
        let air = oilwheel::fluid::air::density(case.now.altitude, case.now.air_temp);
        let factor =
            case.fan.rated_power / case.fan.rated_speed.powi(3) * air / case.fan.rated_density;
        // With the valve open k ω²/V = p_set + R (Q − V ω).
        let (b, c) = (slope * size * size, size * (opens_at + slope * flow));
        let held = 2.0 * c / (b + (b * b + 4.0 * factor * c).sqrt());
        let expected = (flow / size).min(held);
        let found = solve(&case).unwrap();
        assert!(
            (found.omega / expected - 1.0).abs() <= 1e-9,
            "case {k}: {} for {expected} rad/s\n{case:?}",
            found.omega
        );
        let limit = if held < flow / size {
            Limit::Valve
        } else {
            Limit::Displacement
        };
        assert_eq!(found.limit, limit, "case {k}");
        valve += usize::from(limit == Limit::Valve);
    }
    assert!(valve > 100, "the valve holds {valve} fans only");
}

#[test]
fn in_tar_the_fan_stands() {
    let mut random = Random::new(7);
    for k in 0..cases() {
        let case = set(
            &random.case(),
            &[("oil.thickness", 100.0), ("now.oil_temp", celsius(-40.0))],
        );
        // The pressure that the relief allows, all of it spent on drag.
        let swept = case.pump.displacement * case.pump.ratio * case.now.engine_speed;
        let most = case.relief.setting + case.relief.slope * swept;
        let oil = case.oil.now(&case.curve, case.now.oil_temp);
        let film = oil.nu * oil.rho * oil.shear_loss;
        let creeps = most / (case.motor.drag * 0.03 * (film / 0.03).powf(case.motor.drag_exponent));
        let found = solve(&case).unwrap().omega;
        assert!(
            found <= creeps,
            "case {k}: {found} above {creeps} rad/s\n{case:?}"
        );
    }
    let mut ask = Ask::about("light-truck");
    ask.set = vec!["oil.thickness=100".into()];
    ask.oil_temp = Some("-40 C".into());
    let tar = solve(&ask.resolve(Lookup::LibraryOnly).unwrap().case).unwrap();
    // Hoses and inlet hold it, not drag: 100 times as thick, the oil drags ten times as much.
    assert!(
        tar.omega < 10.0 * RPM,
        "less than ten turns a minute: {tar:?}"
    );
}

#[test]
fn with_the_engine_off_all_stands() {
    let mut random = Random::new(8);
    for k in 0..cases() {
        let case = set(&random.case(), &[("now.engine_speed", 0.0)]);
        let (state, operating) = State::of(&case).unwrap();
        assert_eq!(operating.limit, Limit::Standstill, "case {k}");
        for output in Output::all() {
            let about = output.declaration();
            let moves = matches!(
                about.kind,
                Kind::Flow | Kind::Power | Kind::Speed | Kind::Torque
            );
            let gauge = about.kind == Kind::Pressure;
            assert!(
                !(moves || gauge) || state.get(output).abs() < 1e-12,
                "case {k}: {} is {}\n{case:?}",
                about.key,
                state.get(output)
            );
        }
        assert!(state.losses.iter().all(|w| w.abs() < 1e-12), "case {k}");
    }
}

/// The residual as a root for a library's bracketing finder.
struct LeftOver<'a>(Ready<'a, f64>);

impl CostFunction for LeftOver<'_> {
    type Param = f64;
    type Output = f64;

    fn cost(&self, omega: &f64) -> Result<f64, argmin::core::Error> {
        Ok(residual(&self.0, *omega).re)
    }
}

#[test]
fn newton_finds_what_a_bracketing_finder_of_another_library_finds() {
    let mut random = Random::new(10);
    for k in 0..cases() {
        let mut case = random.case();
        case.governor = None;
        let found = solve(&case).unwrap().omega;
        let ready = Ready::new(&case);
        let high = ready.most_speed();
        if residual(&ready, 0.0).re <= 0.0 {
            assert!(found.abs() < 1e-300, "case {k} stands");
            continue;
        }
        let finder = BrentRoot::new(0.0, high, 1e-13 * high);
        let outcome = Executor::new(LeftOver(ready), finder)
            .configure(|state| state.max_iters(500))
            .run()
            .unwrap();
        let expected = *outcome.state().get_best_param().unwrap();
        assert!(
            (found - expected).abs() <= 1e-12 * high,
            "case {k}: {found} for {expected} rad/s\n{case:?}"
        );
    }
}

#[test]
fn a_warm_start_agrees_with_a_cold_one() {
    let mut random = Random::new(11);
    for k in 0..cases() {
        let case = random.case();
        let cold = solve(&case).unwrap();
        for start in [
            -1.0,
            0.0,
            0.5 * cold.omega,
            cold.omega,
            1.02 * cold.omega,
            1e6,
        ] {
            let warm = solve_from(&case, start).unwrap();
            assert!(
                (warm.omega - cold.omega).abs() <= 1e-9 * cold.omega && warm.limit == cold.limit,
                "case {k} from {start}: {warm:?} for {cold:?}\n{case:?}"
            );
        }
    }
}

#[test]
fn a_solve_allocates_nothing() {
    let mut random = Random::new(12);
    for k in 0..cases() {
        let case = random.case();
        let input = Input::all()
            .nth(random.even(0.0, COUNT as f64) as usize)
            .unwrap();
        let mut speed = Dual64::from(0.0);
        let counted = allocation_counter::measure(|| {
            if let Ok((_, operating)) = State::of(&case) {
                speed = State::along(&case.along(input), &operating).fan_speed;
            }
        });
        assert!(speed.re.is_finite());
        assert_eq!(counted.count_total, 0, "case {k} allocates");
    }
    // The counter counts.
    let counted = allocation_counter::measure(|| drop(std::hint::black_box(Box::new(1))));
    assert_eq!(counted.count_total, 1);
}
