use oilwheel::balance::State;
use oilwheel::fault;
use oilwheel::input::unit::{BAR, RPM, celsius};
use oilwheel::model::{Ask, Case, MACHINES, Shelf};

fn at(machine: &str, speed: &str, cold: bool, command: f64) -> Case {
    let posed = Ask { engine_speed: Some(speed.into()), ..Ask::about(machine) }.pose(Shelf::LibraryOnly).unwrap();
    let mut case = posed.case;
    if cold { case.now.oil_temp = celsius(5.0); case.now.air_temp = celsius(10.0); }
    case.now.command = command;
    case
}

#[test]
fn explore() {
    for (machine, _) in MACHINES {
        println!("== {machine}");
        for command in [1.0, 0.0] {
            let cases = [at(machine, "idle", false, command), at(machine, "raised", false, command), at(machine, "raised", true, command), at(machine, "full", false, command)];
            for c in &cases {
                let (s, o) = State::of(c).unwrap();
                println!("   cmd {command} n {:.0} p {:.1} bar dpm {:.1} ret {:.1} q {:.1} byp {:.1} inlet {:.2} {:?} torque {:.1} nu {:.1}", s.fan_speed / RPM, s.supply_gauge_pressure / BAR, s.motor_pressure_drop/BAR, s.return_pressure/BAR, s.pump_flow*6e4, s.bypass_flow*6e4, s.inlet_pressure/BAR, o.limit, s.pump_torque, s.oil_viscosity*1e6);
            }
        }
        for f in fault::ALL {
            let command = if f.key == "valve-stuck-full" { 0.0 } else { 1.0 };
            let cases = [at(machine, "idle", false, command), at(machine, "raised", false, command), at(machine, "raised", true, command)];
            if f.applies(&cases[0]).is_err() { println!("{} does not apply", f.key); continue; }
            for s in [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0] {
                let mut line = format!("{:20} {s:.1}", f.key);
                for c in &cases {
                    let well = State::of(c).unwrap().0;
                    let (ill, o) = State::of(&f.on(c, s)).unwrap();
                    line += &format!("  {:+6.1} p {:+6.1} m {:+6.1} {:?}", 100.0 * (ill.fan_speed / well.fan_speed - 1.0), 100.0 * (ill.supply_gauge_pressure / well.supply_gauge_pressure - 1.0), 100.0 * (ill.motor_inlet_pressure / well.motor_inlet_pressure - 1.0), o.limit);
                }
                println!("{line}");
            }
        }
    }
}
