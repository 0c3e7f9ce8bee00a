//! Measured pumps and motors.

use super::{Line, Row, table};
use nalgebra::{DMatrix, DVector};
use oilwheel::fluid::oil::Curve;
use oilwheel::input::unit::{BAR, CM3_REV, L_MIN, RPM, celsius};
use oilwheel::law::leakage_schlosser_1961::{gap, turbulent};
use oilwheel::law::leakage_wilson_1950::laminar;
use oilwheel::law::torque_loss_wilson_1950::{drag_viscosity, torque_loss};
use oilwheel::model::{Ask, Case, Lookup};
use oilwheel::vary::sample;
use std::f64::consts::PI;

/// What both leakages leave over of the flow, all rows and each kelvin left out, L/min; laminar alone; turbulent alone. Set after
/// the first run.
const FLOW: [f64; 4] = [0.016, 0.018, 0.036, 0.077];
/// What viscous friction with exponent 0.5 leaves over of the power, each kelvin left out, W; with exponent 1. Set after the first run.
const POWER: [f64; 2] = [4.6, 6.5];
/// What the torque law leaves over, each record left out, N·m: without viscous friction, and with. Set after the first run.
const TORQUE: [f64; 2] = [0.45, 0.30];
/// Total efficiency against curves of a machine five times as large, points. Set before the first run.
const TOTALS: f64 = 10.0;

pub fn rows() -> Vec<Row> {
    let mut rows = rig();
    rows.push(motor());
    rows.extend(acceptance());
    rows.push(totals());
    rows
}

/// What a linear fit leaves over, root mean square: of all points, and of each group fitted without it.
fn left(columns: &[Vec<f64>], y: &[f64], groups: &[String]) -> (f64, f64) {
    let solve = |keep: &dyn Fn(usize) -> bool| {
        let at: Vec<usize> = (0..y.len()).filter(|i| keep(*i)).collect();
        let scale: Vec<f64> = columns
            .iter()
            .map(|c| c.iter().map(|x| x.abs()).sum::<f64>() / c.len() as f64)
            .collect();
        let a = DMatrix::from_fn(at.len(), columns.len(), |r, c| columns[c][at[r]] / scale[c]);
        let b = DVector::from_fn(at.len(), |r, _| y[at[r]]);
        let x = a.svd(true, true).solve(&b, 1e-12).unwrap();
        move |i: usize, columns: &[Vec<f64>]| -> f64 {
            (0..columns.len())
                .map(|c| columns[c][i] / scale[c] * x[c])
                .sum()
        }
    };
    let whole = solve(&|_| true);
    let square = |off: f64| off * off;
    let all: f64 = (0..y.len()).map(|i| square(whole(i, columns) - y[i])).sum();
    let names: std::collections::BTreeSet<&String> = groups.iter().collect();
    let mut held = 0.0;
    for name in names {
        let fitted = solve(&|i| &groups[i] != name);
        held += (0..y.len())
            .filter(|i| &groups[*i] == name)
            .map(|i| square(fitted(i, columns) - y[i]))
            .sum::<f64>();
    }
    let n = y.len() as f64;
    ((all / n).sqrt(), (held / n).sqrt())
}

fn rig() -> Vec<Row> {
    const NAME: &str = "pump_rig_helwig_2015";
    let curve = Curve::new(&[(celsius(40.0), 46e-6), (celsius(100.0), 6.8e-6)]).unwrap();
    let data: Vec<Line> = table(NAME, "data")
        .into_iter()
        .filter(|l| l.text("leak_level") == "0" && l.text("plateau") != "R")
        .collect();
    let each = |f: &dyn Fn(&Line) -> f64| -> Vec<f64> { data.iter().map(f).collect() };
    let rho = |l: &Line| 875.0 * (1.0 - 7e-4 * (l.number("oil_temp_1_C") - 15.0));
    let mu = |l: &Line| curve.viscosity(celsius(l.number("oil_temp_1_C"))) * rho(l);
    let dp = |l: &Line| l.number("pressure_bar") * BAR;
    let groups: Vec<String> = data
        .iter()
        .map(|l| format!("{:.0}", l.number("oil_temp_1_C").floor()))
        .collect();
    let one = each(&|_| 1.0);
    let slow = each(&|l| laminar(1.0, 1e-6, dp(l), mu(l) * (18e-9 * dp(l) / 2.0).exp()));
    let jet = each(&|l| turbulent(1.0, gap(1e-6), dp(l), rho(l)));
    let flow = each(&|l| l.number("flow_L_min"));
    let both = left(&[one.clone(), slow.clone(), jet.clone()], &flow, &groups);
    let laminar_alone = left(&[one.clone(), slow], &flow, &groups);
    let turbulent_alone = left(&[one.clone(), jet], &flow, &groups);
    let power = each(&|l| l.number("motor_power_W"));
    let with = |b: f64| {
        let film = each(&|l| drag_viscosity(mu(l), b));
        left(&[each(&|l| dp(l)), one.clone(), film], &power, &groups).1
    };
    let row = |what, unit, allowed, found: f64| {
        let mut row = Row::absolute(NAME, what, unit, allowed);
        row.see(found, 0.0);
        row
    };
    let mut order = Row::absolute(
        NAME,
        "both leakages leave half of what either alone does, exponent 0.5 less than 1",
        "wrong",
        0.0,
    );
    order.must(both.1 < 0.6 * laminar_alone.1);
    order.must(both.1 < 0.6 * turbulent_alone.1);
    order.must(with(0.5) < 0.8 * with(1.0));
    vec![
        row(
            "flow, both leakages fitted: left over",
            "L/min",
            FLOW[0],
            both.0,
        ),
        row("the same, each kelvin held out", "L/min", FLOW[1], both.1),
        row(
            "flow, laminar leakage alone, held out",
            "L/min",
            FLOW[2],
            laminar_alone.1,
        )
        .misfit(),
        row(
            "flow, turbulent leakage alone, held out",
            "L/min",
            FLOW[3],
            turbulent_alone.1,
        )
        .misfit(),
        row(
            "power, viscous friction with exponent 0.5, held out",
            "W",
            POWER[0],
            with(0.5),
        ),
        row(
            "power, viscous friction in proportion to viscosity, held out",
            "W",
            POWER[1],
            with(1.0),
        )
        .misfit(),
        order,
    ]
}

/// The torque that is lost between pressure and shaft.
fn motor() -> Row {
    const NAME: &str = "piston_motor_bench";
    let size = 4.92 * CM3_REV;
    let data: Vec<Line> = table(NAME, "data")
        .into_iter()
        .filter(|l| l.number("speed_rpm").abs() > 50.0)
        .collect();
    let each = |f: &dyn Fn(&Line) -> f64| -> Vec<f64> { data.iter().map(f).collect() };
    let psi = 6_894.757;
    let dp = |l: &Line| (l.number("lower_psi") - l.number("upper_psi")).abs() * psi;
    let turns = |l: &Line| l.number("speed_rpm").abs();
    let shaft = |l: &Line| {
        let n = turns(l);
        0.458 * l.number("winding_A").abs() - 0.1 * (n / 19.0).tanh() - 0.05 * n / 1000.0
    };
    let lost = each(&|l| (size * dp(l) - shaft(l)).abs());
    let groups: Vec<String> = data.iter().map(|l| l.text("record").to_owned()).collect();
    let (one, push) = (each(&|_| 1.0), each(&|l| size * dp(l)));
    let film = each(&|l| turns(l) * RPM);
    let without = left(&[one.clone(), push.clone()], &lost, &groups);
    let with = left(&[one, push, film], &lost, &groups);
    let mut row = Row::absolute(
        NAME,
        "torque lost, with viscous friction, records held out; without it more is left",
        "N·m",
        TORQUE[1],
    );
    row.see(with.1, 0.0);
    row.see(
        if with.0 < 0.8 * without.0 && without.1 < TORQUE[0] {
            0.0
        } else {
            1e9
        },
        0.0,
    );
    row
}

fn class(machine: &str) -> Case {
    Ask::about(machine)
        .resolve(Lookup::LibraryOnly)
        .unwrap()
        .case
}

fn acceptance() -> Vec<Row> {
    const NAME: &str = "pump_acceptance_limits";
    let limits = table(NAME, "data");
    let limit = |id: &str| {
        let line = limits.iter().find(|l| l.text("id") == id).unwrap();
        line.number("limit")
    };
    let mut row = Row::absolute(
        NAME,
        "sound pumps and motors of the classes beyond what must be replaced",
        "wrong",
        0.0,
    );
    // A steering pump on an oil of 16 mm²/s, 2000 rpm: flow lost from 6.9 to 68.9 bar.
    for machine in ["light-truck", "car"] {
        let pump = class(machine).pump;
        let slip = |p: f64| pump.slip_flow(gap(pump.displacement), p, 16e-6 * 850.0, 850.0);
        let lost = slip(68.9 * BAR) - slip(6.9 * BAR);
        row.must(lost / (pump.displacement * 2000.0 * RPM) < limit("a"));
    }
    // Of the machines that a class holds, most pass as well; engineering assumption, set before the first run.
    let setup = Ask::about("light-truck")
        .resolve(Lookup::LibraryOnly)
        .unwrap();
    let together = &setup.machine.correlations;
    let drawn = sample::draw(&setup.case, &setup.spread, together, 400, 15);
    let passes = |case: &&Case| {
        let pump = case.pump;
        let slip = |p: f64| pump.slip_flow(gap(pump.displacement), p, 16e-6 * 850.0, 850.0);
        let lost = slip(68.9 * BAR) - slip(6.9 * BAR);
        lost / (pump.displacement * 2000.0 * RPM) < limit("a")
    };
    row.must(2 * drawn.iter().filter(passes).count() > drawn.len());
    let off_road = class("off-road");
    let oil = off_road.oil.now(&off_road.curve, off_road.now.oil_temp);
    let (mu, rho) = (oil.nu * oil.rho, oil.rho);
    let pump = off_road.pump;
    let slip = |p: f64| pump.slip_flow(gap(pump.displacement), p, mu, rho);
    row.must(slip(69.0 * BAR) / (pump.displacement * 2870.0 * RPM) < limit("d"));
    let motor = off_road.motor;
    let drain = motor.slip_flow(gap(motor.displacement), 138.0 * BAR, mu, rho);
    row.must(drain / L_MIN < limit("e"));
    vec![row]
}

fn totals() -> Row {
    const NAME: &str = "gerotor_totals_textbook";
    let (size, mu, rho) = (74.2 * CM3_REV, 0.017, 860.0);
    let (friction, drag, dry) = (0.07, 1.5e5, 0.04 * 74.2);
    let slip = |p: f64| laminar(1e-8, size, p, mu) + turbulent(1e-3, gap(size), p, rho);
    let loss = |p: f64, omega: f64| {
        torque_loss(friction, drag, dry, size, p, drag_viscosity(mu, 0.5), omega)
    };
    let pump =
        |p: f64, omega: f64| (size * omega - slip(p)) * p / ((size * p + loss(p, omega)) * omega);
    // 36 US gallons a minute at its inlet.
    let motor = |p: f64| {
        let flow = 36.0 * 3.785_411_784 * L_MIN;
        let omega = (flow - slip(p)) / size;
        (size * p - loss(p, omega)) * omega / (p * flow)
    };
    let mut row = Row::absolute(
        NAME,
        "total efficiency of pump, motor and both with the classes' coefficients",
        "points",
        TOTALS,
    );
    for line in table(NAME, "data") {
        let p = line.number("pressure_bar") * BAR;
        let ours = match line.text("what") {
            "pump" => pump(p, line.number("rpm") * PI / 30.0),
            "motor" => motor(p),
            _ => pump(p, 1800.0 * PI / 30.0) * motor(p),
        };
        row.see(100.0 * ours, 100.0 * line.number("total_efficiency"));
    }
    row
}
