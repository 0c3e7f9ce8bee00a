//! Solves a machine and prints what limits its fan.

#![expect(clippy::print_stdout, reason = "an example shows what it finds")]

use oilwheel::prelude::*;

fn main() -> Result<(), Troubles> {
    let mut ask = Ask::about("light-truck");
    ask.engine_speed = Some("raised".into());
    let case = ask.resolve(Lookup::LibraryOnly)?.checked()?;
    let solved = solve(&case).map_err(|t| vec![t])?;

    let speed = solved.state.fan_speed;
    let half = solved.half_width(&case, Output::FAN_SPEED);
    let words = Units::Si.show_spread(Kind::Speed, speed, half);
    println!("{words}, limited by {}", solved.limit.name());
    Ok(())
}
