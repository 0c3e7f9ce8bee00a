//! Weighs readings of a machine: which cause is how probable. The readings are invented.

#![expect(clippy::print_stdout, reason = "an example shows what it finds")]

use oilwheel::prelude::*;

const READINGS: &str = r#"
[[reading]]
test = "fan-speed-idle-hot"
value = "640 rpm ± 10 rpm"

[[reading]]
test = "fan-speed-raised-hot"
value = "1900 rpm ± 20 rpm"
"#;

fn main() -> Result<(), Troubles> {
    let setup = Ask::about("light-truck").resolve(Lookup::LibraryOnly)?;
    let readings = Readings::from_text("readings.toml", READINGS, &setup.machine)?;
    for cause in weigh(&setup, &readings, &Priors::usual()?)?.iter().take(5) {
        let name = cause.cause.key();
        println!("{:>5.1} %  {name}", 100.0 * cause.probability);
    }
    Ok(())
}
