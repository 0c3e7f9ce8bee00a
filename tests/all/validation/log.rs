//! What a log's bytes mean.

use super::{Row, table};
use oilwheel::law::diagnostic_scaling_sae_j1979 as j1979;

/// Five digits printed, in the parameter's unit.
const PRINTED: f64 = 5e-4;

/// How far from 0.95 the share of intervals that hold may lie at one pace or pair of a hundred drives: three sigmas of chance.
const CHANCE: f64 = 0.07;

/// The same of all together; they share their drives, so that chance does not shrink as with their number.
const POOLED: f64 = 0.04;

/// How many of the drives with nothing done may be called a change.
const CALLED: f64 = 0.05;

/// Driven logs, of which the truth is known.
fn intervals() -> Vec<Row> {
    const NAME: &str = "log_intervals";
    let mut each = Row::absolute(
        NAME,
        "conductance by pace, 95 % intervals that hold: from 0.95",
        "of 1",
        CHANCE,
    );
    let mut pooled = Row::absolute(NAME, "the same, all together", "of 1", POOLED);
    let mut off = Row::percent(NAME, "conductance by pace in the mean, a true one", 4.0);
    let mut share = Row::percent(
        NAME,
        "a quarter of the fuel's heat, the engine's own share",
        45.0,
    )
    .misfit();
    let (mut told, mut held) = (0.0, 0.0);
    for line in table(NAME, "data") {
        each.see(line.number("held") / line.number("told"), 0.95);
        told += line.number("told");
        held += line.number("held");
        off.see(1.0 + line.number("off"), 1.0);
        share.see(0.25, line.number("share"));
    }
    pooled.see(held / told, 0.95);
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
    vec![each, pooled, off, share, effect, called, wrong]
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
