//! A machine built in code, its inputs typed with their units. The machine is invented.

#![expect(clippy::print_stdout, reason = "an example shows what it finds")]

use oilwheel::prelude::*;

fn main() -> Result<(), Troubles> {
    let machine = Machine::built(
        "a small excavator",
        "iso-vg-46",
        Shape::default(),
        &[
            (INPUTS.pump.displacement, "16 cm³/rev ± 3 %"),
            (INPUTS.pump.ratio, "1.0"),
            (INPUTS.relief.setting, "180 bar"),
            (INPUTS.valve.high, "150 bar"),
            (INPUTS.supply.bore, "12 mm"),
            (INPUTS.supply.length, "2 m"),
            (INPUTS.return_line.bore, "16 mm"),
            (INPUTS.return_line.length, "2 m"),
            (INPUTS.suction.bore, "25 mm"),
            (INPUTS.suction.length, "0.8 m"),
            (INPUTS.motor.displacement, "14 cm³/rev ± 3 %"),
            (INPUTS.fan.diameter, "600 mm"),
            (INPUTS.fan.rated_speed, "2400 rpm"),
            (INPUTS.fan.rated_power, "5 kW ± 10 %"),
            (INPUTS.reservoir.volume, "40 L"),
        ],
    )?;
    let oil = Lookup::LibraryOnly.oil(&machine.fill)?;
    let mut now = machine.idling();
    now.engine_speed = parse(Kind::Speed, "1800 rpm").map_err(|t| vec![t])?;
    now.oil_temp = Measure::exact(333.15);

    let case = CheckedCase::new(&machine, &oil, &now)?;
    let solved = solve(&case).map_err(|t| vec![t])?;
    let speed = solved.state.show(Output::FAN_SPEED, Units::Si);
    println!("{speed}, limited by {}", solved.limit.name());
    for slope in solved.slopes(&case) {
        if slope.input == INPUTS.motor.displacement {
            let rpm = slope.per_unit(Output::FAN_SPEED);
            println!("{rpm:.0} rpm for each cm³/rev of the motor");
        }
    }
    Ok(())
}
