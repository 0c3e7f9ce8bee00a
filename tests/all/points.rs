//! A maker's points of flow and torque become the coefficients that made them, and of a measured pump they tell of points held out.

use crate::cli::fails;
use assert_cmd::Command;
use oilwheel::fluid::oil::{Curve, OilNow};
use oilwheel::input::unit::{BAR, CM3_REV, L_MIN, RPM, celsius};
use oilwheel::numeric::quantile;
use oilwheel::vary::points::{Fitted, Point, Sought, fit};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::Value;

/// Displacement cm³/rev, Cs, Ct, Cf, Cv, T0 N m, b.
const TRUE: [f64; 7] = [16.0, 2e-8, 1.5e-3, 0.08, 1.2e5, 0.8, 0.6];

fn oil(nu: f64) -> OilNow<f64> {
    OilNow {
        nu,
        rho: 860.0,
        pressure_viscosity: 1.8e-8,
        shear_loss: 1.0,
        air: 0.0,
        air_release: 2e4,
    }
}

/// Flow and torque by the formulas, written out a second time.
fn by_hand(pump: bool, pressure: f64, speed: f64, nu: f64) -> (f64, f64) {
    let [v, cs, ct, cf, cv, t0, b] = TRUE;
    let v = v * CM3_REV;
    let mu = nu * 860.0;
    let gap = mu * (1.8e-8 * 0.5 * pressure).exp();
    let slip = cs * v * pressure / gap + ct * v.powf(2.0 / 3.0) * (2.0 * pressure / 860.0).sqrt();
    let loss = cf * v * pressure + cv * v * 0.03 * (mu / 0.03).powf(b) * speed + t0;
    let sign = if pump { 1.0 } else { -1.0 };
    (v * speed - sign * slip, v * pressure + sign * loss)
}

/// A catalogue's grid, each figure off by normal errors of a share of it at full.
fn grid(pump: bool, flow_error: f64, torque_error: f64, seed: u64) -> Vec<Point> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut normal = || quantile(random.random_range(1e-9..1.0 - 1e-9));
    let mut points = Vec::new();
    for bar in [30.0, 80.0, 130.0, 180.0] {
        for rpm in [800.0, 1500.0, 2500.0] {
            for nu in [12e-6, 35e-6, 100e-6] {
                let (pressure, speed) = (bar * BAR, rpm * RPM);
                let (flow, torque) = by_hand(pump, pressure, speed, nu);
                points.push(Point {
                    pressure,
                    speed,
                    flow: Some((flow + flow_error * normal(), 1.0)),
                    torque: Some((torque + torque_error * normal(), 1.0)),
                    oil: oil(nu),
                });
            }
        }
    }
    points
}

fn values(found: &Fitted) -> [f64; 7] {
    let mut values = found.all.map(|c| c.value);
    values[0] /= CM3_REV;
    // In the order of `TRUE`.
    [
        values[0], values[1], values[2], values[3], values[4], values[5], values[6],
    ]
}

/// Without errors the coefficients come back, of a pump and of a motor, with the displacement known and without.
#[test]
fn points_without_errors_give_back_what_made_them() {
    for pump in [true, false] {
        for displacement in [None, Some(16.0 * CM3_REV)] {
            let sought = Sought {
                pump,
                displacement,
                exponent: true,
            };
            let found = fit(&grid(pump, 0.0, 0.0, 1), &sought).unwrap();
            for (found, made) in values(&found).iter().zip(TRUE) {
                assert!(
                    (found / made - 1.0).abs() < 1e-5,
                    "{pump} {displacement:?}: {found} for {made}"
                );
            }
        }
    }
}

/// Over many sets of points with errors the ± of each coefficient holds 93 to 97 % of the time, far from bounds. The bounds are
/// from the step's text; at 1500 sets a share of 95 % has a standard error of 0.6 points.
#[test]
fn a_coefficients_interval_holds_as_often_as_it_says() {
    const SETS: u64 = 1500;
    for pump in [true, false] {
        let sought = Sought {
            pump,
            displacement: None,
            exponent: true,
        };
        let mut holds = [0_u32; 7];
        let mut next = 0_u32;
        for seed in 0..SETS {
            let found = fit(&grid(pump, 0.05 * L_MIN, 0.05, seed), &sought).unwrap();
            for ((count, one), made) in holds.iter_mut().zip(found.all).zip(TRUE) {
                let made = if one.value < 1e-4 && made > 1.0 {
                    made * CM3_REV
                } else {
                    made
                };
                *count += u32::from((one.value - made).abs() <= one.half.unwrap());
            }
            // A point that was not there lies in its band of prediction: the errors of another set.
            let other = grid(pump, 0.05 * L_MIN, 0.05, seed + SETS);
            let [flow, _] = found.computed[7];
            let (middle, half) = flow.unwrap();
            next += u32::from((other[7].flow.unwrap().0 - middle).abs() <= half);
        }
        for (k, count) in holds.into_iter().chain([next]).enumerate() {
            let share = f64::from(count) / SETS as f64;
            assert!((0.93..=0.97).contains(&share), "pump {pump}, {k}: {share}");
        }
    }
}

/// What would be negative is held at none and said; too few points and none of flow are refused.
#[test]
fn what_points_cannot_tell_is_said() {
    let sought = Sought {
        pump: true,
        displacement: None,
        exponent: true,
    };
    let one_oil: Vec<Point> = grid(true, 0.0, 0.0, 1)
        .into_iter()
        .filter(|p| (p.oil.nu - 35e-6).abs() < 1e-9)
        .collect();
    let found = fit(&one_oil, &sought).unwrap();
    assert!(
        found.all[6].half.is_none(),
        "the exponent is not sought at one viscosity"
    );
    let mut tight = grid(true, 0.0, 0.0, 1);
    for point in &mut tight {
        // As if turbulent slip ran forwards.
        let (flow, weight) = point.flow.unwrap();
        point.flow = Some((flow + 4.0 * L_MIN * (point.pressure / 1e7).sqrt(), weight));
    }
    let found = fit(&tight, &sought).unwrap();
    assert!(found.all[2].at_none && found.all[2].value.abs() < 1e-15);
    let few = &grid(true, 0.0, 0.0, 1)[..3];
    assert!(
        fit(few, &sought)
            .unwrap_err()
            .to_string()
            .contains("3 points of")
    );
    let torque: Vec<Point> = grid(true, 0.0, 0.0, 1)
        .into_iter()
        .map(|p| Point { flow: None, ..p })
        .collect();
    assert!(
        fit(&torque, &sought)
            .unwrap_err()
            .to_string()
            .contains("no displacement")
    );
}

/// The rows of the measured pump without an added leak, where the relief does not hold; speed is not stated and taken as 1500 rpm.
fn measured() -> Vec<(Point, f64)> {
    let curve = Curve::new(&[(celsius(40.0), 46e-6), (celsius(100.0), 6.8e-6)]).unwrap();
    let text = include_str!("../../validation/pump_rig_helwig_2015/data.csv");
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows = reader
        .records()
        .map(Result::unwrap)
        .filter(|r| &r[0] == "0" && &r[1] != "R");
    rows.map(|row| {
        let number = |k: usize| row[k].parse::<f64>().unwrap();
        let t = number(9);
        let rho = 875.0 * (1.0 - 7e-4 * (t - 15.0));
        let oil = OilNow {
            rho,
            ..oil(curve.viscosity(celsius(t)))
        };
        let point = Point {
            pressure: number(3) * BAR,
            speed: 1500.0 * RPM,
            flow: Some((number(5) * L_MIN, 1.0)),
            torque: None,
            oil,
        };
        (point, t.floor())
    })
    .collect()
}

/// Of the measured pump each kelvin is held out in turn and told by the rest: root mean square 0.018 L/min, the bound that the
/// same data have in `validation`; of its 31 points the share within the band of prediction is told, and must not be under 80 %
/// (set before the first run: groups of one kelvin share their error).
#[test]
fn points_of_a_measured_pump_that_were_held_out() {
    let all = measured();
    assert_eq!(all.len(), 31);
    let sought = Sought {
        pump: true,
        displacement: None,
        exponent: true,
    };
    let (mut squares, mut inside) = (0.0, 0);
    for (point, group) in &all {
        let kept: Vec<Point> = all
            .iter()
            .filter(|p| (p.1 - group).abs() > 0.5)
            .map(|p| p.0)
            .collect();
        // The one held out goes along with no weight, so that what is computed for it is told.
        let silent = Point {
            flow: Some((point.flow.unwrap().0, 1e-9)),
            ..*point
        };
        let found = fit(&[kept, vec![silent]].concat(), &sought).unwrap();
        let (computed, half) = found.computed.last().unwrap()[0].unwrap();
        let off = (point.flow.unwrap().0 - computed) / L_MIN;
        squares += off * off;
        inside += u32::from(off.abs() <= half / L_MIN);
    }
    let left = (squares / all.len() as f64).sqrt();
    eprintln!(
        "held out: {left:.4} L/min, {inside} of {} inside",
        all.len()
    );
    assert!(left < 0.018, "{left}");
    assert!(inside >= 25, "{inside} of {}", all.len());
}

fn folder() -> std::path::PathBuf {
    let path = std::env::temp_dir().join(format!("oilwheel-points-{}", std::process::id()));
    std::fs::create_dir_all(&path).unwrap();
    path
}

/// By the command: the section that it writes is read in a machine file, and what is impossible is named by its line.
#[test]
fn the_section_stands_in_a_machine_file() {
    let at = folder();
    let file = |name: &str| at.join(name).to_str().unwrap().to_string();
    let mut table = "pressure,speed,flow,torque,viscosity\n".to_string();
    for point in grid(true, 0.02 * L_MIN, 0.02, 5) {
        table.push_str(&format!(
            "{} bar,{} rpm,{} L/min,{} N m,{} mm2/s\n",
            point.pressure / BAR,
            point.speed / RPM,
            point.flow.unwrap().0 / L_MIN,
            point.torque.unwrap().0,
            point.oil.nu * 1e6
        ));
    }
    std::fs::write(file("points.csv"), &table).unwrap();
    let mut command = Command::cargo_bin("oilwheel").unwrap();
    let args = [
        "points",
        &file("points.csv"),
        "--part",
        "pump",
        "--out",
        &file("pump.toml"),
        "--json",
    ];
    let output = command
        .args(args)
        .assert()
        .success()
        .get_output()
        .stdout
        .clone();
    let answer: Value = serde_json::from_slice(&output).unwrap();
    assert_eq!(answer["points"].as_array().unwrap().len(), 36);
    let section = std::fs::read_to_string(file("pump.toml")).unwrap();
    let new = Command::cargo_bin("oilwheel")
        .unwrap()
        .args(["new", "light-truck"])
        .assert()
        .success();
    let machine = String::from_utf8(new.get_output().stdout.clone()).unwrap();
    let start = machine.find("[pump]").unwrap();
    let end = start + machine[start..].find("\n[").unwrap();
    let ratio = "ratio = \"1.3\"\nleast_inlet = \"0.6 bar abs\"\n";
    let whole = format!("{}{section}{ratio}{}", &machine[..start], &machine[end..]);
    // What a fit found to go together in the class is not so of this pump.
    let whole = whole.split("[correlations]").next().unwrap();
    std::fs::write(file("mine.toml"), whole).unwrap();
    Command::cargo_bin("oilwheel")
        .unwrap()
        .args(["speed", &file("mine.toml")])
        .assert()
        .success();
    // 40 L/min at 100 bar are 6.7 kW; 10 N m at 1500 rpm are 1.6 kW.
    let head = table.lines().next().unwrap();
    let bad = "100 bar,1500 rpm,40 L/min,10 N m,32 mm2/s\n";
    let bad = format!("{head}\n{bad}{}", &table[head.len() + 1..]);
    std::fs::write(file("bad.csv"), bad).unwrap();
    let said = fails(&["points", &file("bad.csv")], 2);
    assert!(
        said.contains("line 2") && said.contains("efficiency"),
        "{said}"
    );
    std::fs::remove_dir_all(at).unwrap();
}
