//! What a log's bytes mean.

use super::{Row, table};
use oilwheel::law::diagnostic_scaling_sae_j1979 as j1979;

/// Five digits printed, in the parameter's unit.
const PRINTED: f64 = 5e-4;

pub fn rows() -> Vec<Row> {
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
