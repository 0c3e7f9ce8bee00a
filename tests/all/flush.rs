//! Dilution round by round, blends of two oils, and the command `flush`.

use assert_cmd::Command;
use oilwheel::balance::State;
use oilwheel::fluid::oil::{Curve, Oil};
use oilwheel::input::unit::celsius;
use oilwheel::model::{Ask, Lookup, OILS, OilSheet, Setup};
use oilwheel::question::flush::{self, Flush, Found, Method, Plan};
use oilwheel::question::{Request, Values};
use oilwheel::vary::dilution::{Exchange, Fill, Old};
use serde_json::Value;

/// Equal but for rounding in a few hundred operations.
const ROUNDING: f64 = 1e-12;

fn fill(still: f64, mixing: f64) -> Fill {
    Fill { still, mixing }
}

/// The share of old oil in the whole fill after 0, 1, 2 … rounds.
fn shares(fill: Fill, exchange: Exchange, rounds: usize) -> Vec<f64> {
    let all = fill.rounds(exchange, rounds);
    all.iter().map(|old| fill.share(*old)).collect()
}

/// Powers of 0.7, 0.6 and 0.5, worked by hand and rounded to what is printed.
#[test]
fn drain_and_refill_leaves_what_a_stirred_vessel_leaves() {
    for (drained, left) in [
        (0.3, [70.0, 49.0, 34.3, 24.01, 16.807]),
        (0.4, [60.0, 36.0, 21.6, 12.96, 7.776]),
        (0.5, [50.0, 25.0, 12.5, 6.25, 3.125]),
    ] {
        let found = shares(fill(0.0, 0.0), Exchange::Refill(drained), 5);
        for (share, percent) in found[1..].iter().zip(left) {
            assert!(
                (100.0 * share - percent).abs() < 1e-9,
                "{drained}: {share} for {percent} %"
            );
        }
    }
}

#[test]
fn without_anything_that_stands_still_or_with_full_mixing_all_is_well_mixed() {
    for mixing in [0.0, 0.5, 1.0] {
        let none = shares(fill(0.0, mixing), Exchange::Refill(0.35), 8);
        let full = shares(fill(0.3, 1.0), Exchange::Refill(0.35), 8);
        for (n, (a, b)) in none.iter().zip(&full).enumerate() {
            let mixed = 0.65_f64.powi(n as i32);
            assert!((a - mixed).abs() < ROUNDING && (b - mixed).abs() < ROUNDING);
        }
    }
}

#[test]
fn a_flow_lies_between_mixed_and_pushed_out() {
    let all = fill(0.0, 1.0);
    for v in [0.1, 0.5, 1.0, 1.3, 3.0] {
        let after = |exchange| all.share(all.exchanged(Old::ALL, exchange));
        let (mixed, pushed) = (after(Exchange::Mixed(v)), after(Exchange::PushedOut(v)));
        assert!((mixed - (-v).exp()).abs() < ROUNDING);
        assert!((pushed - (1.0 - v).max(0.0)).abs() < ROUNDING);
        assert!(pushed <= mixed);
    }
}

#[test]
fn never_faster_than_well_mixed_and_never_rising() {
    for still in [0.0, 0.1, 0.25, 0.5] {
        for mixing in [0.0, 0.3, 0.8, 1.0] {
            for amount in [0.1, 0.3, 0.5, 1.0] {
                let these = fill(still, mixing);
                let all = [
                    (Exchange::Refill(amount), (1.0 - amount).max(0.0)),
                    (Exchange::Mixed(amount), (-amount).exp()),
                ];
                for (exchange, best) in all {
                    if matches!(exchange, Exchange::Refill(f) if f > 1.0 - still) {
                        continue;
                    }
                    let found = shares(these, exchange, 40);
                    for (n, share) in found.iter().enumerate() {
                        assert!(
                            *share >= best.powi(n as i32) - ROUNDING,
                            "{these:?} {exchange:?} {n}"
                        );
                        assert!(*share >= -ROUNDING && *share <= 1.0 + ROUNDING);
                    }
                    assert!(found.windows(2).all(|w| w[1] <= w[0] + ROUNDING));
                }
            }
        }
    }
}

#[test]
fn what_stands_still_and_never_mixes_stays() {
    for exchange in [
        Exchange::Refill(0.4),
        Exchange::Mixed(1.0),
        Exchange::PushedOut(1.0),
    ] {
        let found = shares(fill(0.2, 0.0), exchange, 200);
        assert!((found.last().unwrap() - 0.2).abs() < 1e-6);
    }
}

#[test]
fn a_run_moves_no_old_oil_in_or_out_and_more_mixing_leaves_less() {
    let old = Old {
        circulating: 0.1,
        still: 0.9,
    };
    let mut last = f64::INFINITY;
    for mixing in [0.0, 0.2, 0.6, 1.0] {
        let these = fill(0.3, mixing);
        assert!((these.share(these.run(old)) - these.share(old)).abs() < ROUNDING);
        let left = *shares(these, Exchange::Refill(0.3), 4).last().unwrap();
        assert!(left < last);
        last = left;
    }
}

fn library() -> Vec<OilSheet> {
    let all = OILS.iter().map(|(key, _)| Lookup::LibraryOnly.oil(key));
    all.collect::<Result<_, _>>().unwrap()
}

#[test]
fn an_oil_blended_with_itself_or_with_none_is_itself() {
    let oils = library();
    for a in &oils {
        let b = &oils[0];
        for blend in [
            OilSheet::blend(a, a, 0.37).unwrap(),
            OilSheet::blend(a, b, 0.0).unwrap(),
            OilSheet::blend(b, a, 1.0).unwrap(),
        ] {
            for t in -45..140 {
                let t = celsius(f64::from(t));
                let (found, own) = (blend.curve.viscosity(t), a.curve.viscosity(t));
                assert!(
                    (found / own - 1.0).abs() < 1e-9,
                    "{} at {t} K: {found} {own}",
                    a.name
                );
                let (found, own) = (blend.oil.now(&blend.curve, t), a.oil.now(&a.curve, t));
                assert!((found.rho / own.rho - 1.0).abs() < ROUNDING);
                assert!((found.shear_loss - own.shear_loss).abs() < ROUNDING);
            }
            assert_eq!(blend.curve.range, a.curve.range);
        }
    }
}

/// The law's own example by hand: the ordinates of 9.3 and 99.3 mm²/s are 0 and log10 2; half and half gives 10^√2 − 0.7.
#[test]
fn a_blend_follows_the_standard_and_its_densities_add_up() {
    let oil = |line: &str| Lookup::LibraryOnly.oil(line).unwrap();
    let a = oil("40C=9.3 mm2/s, 100C=2.5 mm2/s, 15C=800 kg/m3");
    let b = oil("40C=99.3 mm2/s, 100C=11 mm2/s, 15C=900 kg/m3");
    let half = OilSheet::blend(&a, &b, 0.5).unwrap();
    assert!((half.curve.viscosity(celsius(40.0)) * 1e6 - 25.25455).abs() < 1e-4);
    assert!((half.oil.density - 850.0).abs() < 1e-9);
    let at = |o: &OilSheet| o.oil.now(&o.curve, celsius(80.0)).rho;
    assert!((at(&half) - 0.5 * (at(&a) + at(&b))).abs() < 1e-9);
}

#[test]
fn a_blend_thickens_steadily_with_the_share_of_the_thicker_oil() {
    let oils = library();
    let (thin, thick) = (
        &oils[0],
        oils.iter().find(|o| o.key == "engine-10w-30").unwrap(),
    );
    for t in [-20.0, 0.0, 40.0, 100.0].map(celsius) {
        let mut last = 0.0;
        for k in 0..=50 {
            let share = f64::from(k) / 50.0;
            let nu = OilSheet::blend(thin, thick, share)
                .unwrap()
                .curve
                .viscosity(t);
            assert!(nu > last);
            last = nu;
        }
    }
}

/// A factor on the viscosity of a part goes into the blend.
#[test]
fn thickness_goes_into_the_curve() {
    let curve = Curve::new(&[(celsius(40.0), 35e-6), (celsius(100.0), 7.4e-6)]).unwrap();
    let plain = Lookup::LibraryOnly
        .oil("40C=35 mm2/s, 100C=7.4 mm2/s")
        .unwrap();
    let sheet = OilSheet {
        oil: Oil {
            thickness: 1.2,
            ..plain.oil
        },
        curve,
        ..plain
    };
    let blend = OilSheet::blend(&sheet, &sheet, 0.5).unwrap();
    for t in [40.0, 100.0].map(celsius) {
        let (found, own) = (
            blend.oil.now(&blend.curve, t).nu,
            sheet.oil.now(&sheet.curve, t).nu,
        );
        assert!((found / own - 1.0).abs() < 1e-9);
    }
}

fn setup(oil: &str, oil_temp: &str) -> Setup {
    let ask = Ask {
        oil: Some(oil.into()),
        oil_temp: Some(oil_temp.into()),
        ..Ask::about("light-truck")
    };
    ask.resolve(Lookup::LibraryOnly).unwrap()
}

fn question(oil_temp: &str, plan: Plan) -> Flush {
    Flush {
        fresh: setup("central-hydraulic", oil_temp),
        old: setup("transmission-multi-vehicle", oil_temp),
        plan,
        target: Some(0.05),
        within: None,
        cost_per_litre: None,
    }
}

#[test]
fn after_very_many_rounds_the_fan_turns_as_on_fresh_oil() {
    for (oil_temp, method) in [("80 C", Method::Drain), ("-10 C", Method::ReturnLine)] {
        let plan = Plan {
            method,
            exchanged: 0.5,
            fill: fill(0.2, 0.8),
        };
        let question = Flush {
            target: Some(1e-4),
            ..question(oil_temp, plan)
        };
        let found = question.answer().unwrap();
        let fresh = State::of(&question.fresh.case).unwrap().0.fan_speed;
        let old = State::of(&question.old.case).unwrap().0.fan_speed;
        assert!((found.fan_speed_fresh / fresh - 1.0).abs() < 1e-9);
        assert!((found.fan_speed_old / old - 1.0).abs() < 1e-9);
        let last = found.rounds.last().unwrap();
        // One part in ten thousand of old oil shifts the speed by no more than about that.
        assert!((last.fan_speed / fresh - 1.0).abs() < 1e-4);
    }
}

#[test]
fn the_needed_round_is_the_first_that_meets_the_target() {
    for method in Method::ALL {
        for target in [0.3, 0.05, 0.01] {
            let exchanged = method.usual_share();
            let plan = Plan {
                method,
                exchanged,
                fill: fill(0.2, 0.8),
            };
            let question = Flush {
                target: Some(target),
                ..question("80 C", plan)
            };
            let found = question.answer().unwrap();
            let needed = found.rounds_needed;
            let share = |n: usize| found.series[n].old_share;
            assert!(
                share(needed) <= target && share(needed - 1) > target,
                "{method:?} {target}"
            );
            let litres = found.litres_needed;
            let each = 2.4 * exchanged;
            assert!(litres <= each * needed as f64 + 1e-9 && litres > each * (needed - 1) as f64);
            assert!(found.litres_needed_low <= litres);
        }
    }
}

/// One pour through a fill in which nothing stands still, by hand: 2.4 L · ln 20 mixed, 2.4 L · 0.95 pushed out.
#[test]
fn litres_through_the_return_line_are_those_of_the_two_limits() {
    let plan = Plan {
        method: Method::ReturnLine,
        exchanged: 10.0,
        fill: fill(0.0, 1.0),
    };
    let found: Found = question("80 C", plan).answer().unwrap();
    assert!((found.litres_needed - 7.189_757).abs() < 1e-5);
    assert!((found.litres_needed_low - 2.28).abs() < 1e-5);
    assert!((found.old_share_left - 0.05).abs() < 1e-6);
}

#[test]
fn a_speed_target_holds_from_the_needed_round_on() {
    let plan = Plan {
        method: Method::Drain,
        exchanged: 0.4,
        fill: fill(0.2, 0.8),
    };
    let question = Flush {
        target: None,
        within: Some(0.02),
        ..question("-20 C", plan)
    };
    let found = question.answer().unwrap();
    let (needed, fresh) = (found.rounds_needed, found.fan_speed_fresh);
    let off = |n: usize| (found.series[n].fan_speed / fresh - 1.0).abs();
    assert!(needed > 1 && off(needed - 1) > 0.02);
    assert!((needed..found.series.len()).all(|n| off(n) <= 0.02));
    // The same oil on both sides needs no flush for the speed.
    let same = Flush {
        old: question.fresh.clone(),
        ..question
    };
    assert_eq!(same.answer().unwrap().rounds_needed, 0);
}

fn oilwheel(args: &[&str]) -> assert_cmd::assert::Assert {
    Command::cargo_bin("oilwheel").unwrap().args(args).assert()
}

fn json(args: &[&str]) -> Value {
    let mut all = args.to_vec();
    all.push("--json");
    serde_json::from_slice(&oilwheel(&all).success().get_output().stdout).unwrap()
}

/// What a command that must fail with a code says, under `--json` too.
fn fails(args: &[&str], code: i32) -> String {
    let assert = oilwheel(args).code(code);
    let said = String::from_utf8(assert.get_output().stderr.clone()).unwrap();
    let mut all = args.to_vec();
    all.push("--json");
    let assert = oilwheel(&all).code(code);
    let troubles: Value = serde_json::from_slice(&assert.get_output().stdout).unwrap();
    assert!(!troubles["troubles"].as_array().unwrap().is_empty());
    said
}

const FLUSH: [&str; 4] = [
    "flush",
    "light-truck",
    "--from-oil",
    "transmission-multi-vehicle",
];

fn asked(more: &[&'static str]) -> Vec<&'static str> {
    FLUSH.iter().chain(more).copied().collect()
}

#[test]
fn flush_answers_in_json() {
    let root = json(&asked(&[
        "--stagnant",
        "0",
        "--drained",
        "30 %",
        "--target",
        "20 %",
        "--cost-per-litre",
        "10",
    ]));
    // By hand: 0.7^4 = 24 %, 0.7^5 = 16.8 %; five times 30 % of 2.4 L at 10 a litre.
    assert_eq!(root["rounds_needed"], 5);
    assert!((root["litres_needed"].as_f64().unwrap() - 3.6).abs() < 1e-9);
    assert!((root["cost"].as_f64().unwrap() - 36.0).abs() < 1e-9);
    for round in root["rounds"].as_array().unwrap() {
        for key in [
            "round",
            "old_share",
            "viscosity_mm2_per_s",
            "fan_speed_rpm",
            "fresh_oil_l",
        ] {
            assert!(round[key].is_number(), "{key}");
        }
    }
    for key in [
        "fan_speed_old_rpm",
        "fan_speed_fresh_rpm",
        "last_round_that_pays",
        "fill_l",
    ] {
        assert!(root[key].is_number(), "{key}");
    }
    assert_eq!(root["methods"].as_array().unwrap().len(), 3);
    let cautions = root["cautions"].to_string();
    for word in ["seals", "approves", "Steering shares", "Bleed"] {
        assert!(cautions.contains(word), "{word}");
    }
}

#[test]
fn flush_says_what_is_wrong() {
    for (args, word) in [
        (asked(&["--target", "120 %"]), "--target"),
        (asked(&["--target", "-5 %"]), "--target"),
        (asked(&["--target", "0 %"]), "--target"),
        (asked(&["--target", "5"]), "5 %"),
        (asked(&["--speed-within", "-2 %"]), "--speed-within"),
        (asked(&["--drained", "120 %"]), "--drained"),
        (asked(&["--drained", "0"]), "--drained"),
        (asked(&["--drained", "90 %"]), "stagnant"),
        (asked(&["--stagnant", "-1 %"]), "--stagnant"),
        (asked(&["--mixing", "much"]), "--mixing"),
        (asked(&["--cost-per-litre", "-3"]), "--cost-per-litre"),
        (asked(&["--pour", "2 L"]), "--drained"),
        (
            asked(&["--method", "return-line", "--drained", "30 %"]),
            "--pour",
        ),
        (
            asked(&["--method", "return-line", "--pour", "-1 L"]),
            "--pour",
        ),
        (asked(&["--method", "drian"]), "did you mean `drain`?"),
        (
            asked(&["--to-oil", "central-hydralic"]),
            "did you mean `central-hydraulic`?",
        ),
        (asked(&["--to-oil", "central-hydralic"]), "--to-oil"),
        (asked(&["--oil", "iso-vg-32"]), "--from-oil and --to-oil"),
        (vec!["flush", "light-truck"], "--from-oil"),
    ] {
        // What the flags' parser refuses is no JSON.
        let said = if args.len() == 2 {
            String::from_utf8(oilwheel(&args).code(2).get_output().stderr.clone()).unwrap()
        } else {
            fails(&args, 2)
        };
        assert!(said.contains(word), "{args:?}: {said}");
    }
    // A mistake that both oils' questions see is said once.
    let said = fails(&asked(&["--oil-temp", "hot"]), 2);
    assert_eq!(said.matches("--oil-temp").count(), 1, "{said}");
}

#[test]
fn a_target_that_no_round_meets_has_no_answer() {
    let said = fails(&asked(&["--mixing", "0"]), 1);
    assert!(said.contains("20 %") && said.contains("--mixing"), "{said}");
    let said = fails(
        &asked(&[
            "--mixing",
            "0",
            "--target",
            "100 %",
            "--speed-within",
            "0.1 %",
        ]),
        1,
    );
    assert!(said.contains("rpm"), "{said}");
    let said = fails(&asked(&["--drained", "1 %", "--target", "1 %"]), 1);
    assert!(said.contains("200 rounds"), "{said}");
    let said = fails(
        &asked(&["--speed-within", "2 %", "--engine-speed", "0 rpm"]),
        1,
    );
    assert!(said.contains("stopped"), "{said}");
    json(&asked(&["--mixing", "0", "--target", "25 %"]));
    json(&asked(&["--engine-speed", "0 rpm"]));
}

#[test]
fn flush_says_where_another_round_buys_nothing() {
    let text = |args: &[&str]| {
        let printed = oilwheel(args).success().get_output().stdout.clone();
        let printed = String::from_utf8(printed).unwrap();
        printed.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let same = text(&["flush", "light-truck", "--from-oil", "central-hydraulic"]);
    assert!(same.contains("no round is worthwhile"), "{same}");
    let cold = text(&asked(&["--oil-temp", "-10 C", "--engine-speed", "raised"]));
    assert!(cold.contains("no further round"), "{cold}");
}

#[test]
fn what_is_typed_is_what_is_asked() {
    let values = Values::default()
        .with(&oilwheel::question::basis::MACHINE, "light-truck")
        .with(&flush::FROM_OIL, "transmission-multi-vehicle")
        .with(&flush::METHOD, "return-line")
        .with(&flush::POUR, "4.8 L")
        .with(&flush::STAGNANT, "10 %")
        .with(&flush::SPEED_WITHIN, "2 %");
    let asked = Flush::read(&values).unwrap();
    // The truck's fill is 2.4 L: twice that is poured.
    assert!((asked.plan.exchanged - 2.0).abs() < 1e-9);
    assert!(
        (asked.plan.fill.still - 0.1).abs() < 1e-12 && (asked.plan.fill.mixing - 0.8).abs() < 1e-12
    );
    assert_eq!((asked.target, asked.within), (None, Some(0.02)));
    assert_ne!(asked.old.oil.name, asked.fresh.oil.name);
    // Without the oil that is in it there is nothing to ask.
    let none = Values::default().with(&oilwheel::question::basis::MACHINE, "light-truck");
    let problems = Flush::read(&none).unwrap_err();
    assert_eq!(problems.len(), 1);
    assert_eq!(problems[0].spot.field, "from_oil");
}
