//! What a log's bytes mean.

use super::{Row, table};
use oilwheel::law::diagnostic_scaling_sae_j1979 as j1979;

/// Five digits printed, in the parameter's unit.
/// Whether it was set before or after the first run is not recorded.
const PRINTED: f64 = 5e-4;

/// How far from 0.95 the share of intervals that hold may lie at one pair of a hundred drives: three sigmas of chance.
/// Whether it was set before or after the first run is not recorded.
const CHANCE: f64 = 0.07;

/// So many of `told` 95 % intervals may miss before chance alone explains it in fewer than one of two hundred cases: the upper end
/// of a 99 % band.
fn may_miss(told: f64) -> f64 {
    let (mut missed, mut each) = (0.0, 0.95_f64.powf(told));
    let mut sum = each;
    while sum < 0.995 {
        each *= (told - missed) / (missed + 1.0) * (0.05 / 0.95);
        missed += 1.0;
        sum += each;
    }
    missed
}

/// From a common table of the binomial distribution, n = 20, p = 0.05: 0.9841 for 3 and fewer, 0.9974 for 4 and fewer.
#[test]
fn what_chance_lets_miss_as_in_tables() {
    assert!((may_miss(20.0) - 4.0).abs() < 1e-9);
}

/// How many of the drives with nothing done may be called a change.
/// Whether it was set before or after the first run is not recorded.
const CALLED: f64 = 0.05;

/// Drives of each kind.
const DRIVES: f64 = 100.0;

/// Driven logs, of which the truth is known.
fn intervals() -> Vec<Row> {
    const NAME: &str = "log_intervals";
    let mut each = Row::absolute(
        NAME,
        "conductance by pace, 95 % intervals that miss: over what a 99 % band of chance allows",
        "of 1",
        1.0,
    );
    let mut pooled = Row::absolute(NAME, "the same, all together", "of 1", 1.0);
    let mut off = Row::percent(NAME, "conductance by pace in the mean, a true one", 4.0);
    let mut share = Row::percent(
        NAME,
        "a quarter of the fuel's heat, the engine's own share",
        50.0,
    )
    .misfit();
    // The class files as they are now: a car and a truck whose fan never was at full were said to have been. Set after the run.
    let mut untrue = Row::absolute(
        NAME,
        "said that nothing was held back, though something always was",
        "of 1",
        0.8,
    )
    .misfit();
    let (mut told, mut held) = (0.0, 0.0);
    for line in table(NAME, "data") {
        share.see(0.25, line.number("share"));
        if !line.number("w_per_k").is_finite() {
            untrue.see(line.number("told") / DRIVES, 0.0);
            continue;
        }
        let missed = line.number("told") - line.number("held");
        each.see(missed / may_miss(line.number("told")), 0.0);
        told += line.number("told");
        held += line.number("held");
        off.see(1.0 + line.number("off"), 1.0);
    }
    pooled.see((told - held) / may_miss(told), 0.0);
    let mut effect = Row::absolute(
        NAME,
        "before and after, 95 % intervals that hold: from 0.95",
        "of 1",
        CHANCE,
    );
    let mut called = Row::absolute(NAME, "nothing done, called a change", "of 1", CALLED);
    let mut wrong = Row::absolute(NAME, "a repair called a harm", "of 1", 0.0);
    for line in table(NAME, "pairs") {
        let pairs = line.number("pairs");
        let (cooler, hotter) = (line.number("cooler"), line.number("hotter"));
        effect.see(line.number("held") / pairs, 0.95);
        if line.number("nothing_done") > 0.5 {
            called.see((cooler + hotter) / pairs, 0.0);
        } else {
            wrong.see(hotter / pairs, 0.0);
        }
    }
    vec![each, pooled, off, share, untrue, effect, called, wrong]
}

pub fn rows() -> Vec<Row> {
    let mut rows = intervals();
    rows.extend(scalings());
    rows
}

fn scalings() -> Vec<Row> {
    const NAME: &str = "diagnostic_scaling_sae_j1979";
    let mut reply = Row::absolute(NAME, "one reply of each parameter", "of its unit", PRINTED);
    let mut ends = Row::absolute(NAME, "the ends of each", "of its unit", PRINTED);
    let hex = |text: &str, at: usize| {
        let digits = text.get(at..at + 2).unwrap_or("0");
        u8::from_str_radix(digits, 16).unwrap()
    };
    for line in table(NAME, "data") {
        let parameter = j1979::find(hex(line.text("id_hex"), 0)).unwrap();
        let bytes = line.text("bytes_hex");
        reply.see(
            j1979::value(parameter, hex(bytes, 0), hex(bytes, 2)),
            line.number("value"),
        );
        let (least, most) = j1979::ends(parameter);
        ends.see(least, line.number("least"));
        if let Some(told) = line.some_number("most") {
            ends.see(most, told);
        }
        reply.must(parameter.unit == line.text("unit") && bytes.len() == 2 * parameter.bytes);
    }
    vec![reply, ends]
}
