//! A delivery van's files as an owner writes them, with US units where the tape and the plate have them. Invented.

/// The machine, oil side alone; half of what a class file says is left out.
pub const VAN: &str = r#"
name = "delivery van, steering pump feeds the fan"
status = "measured and guessed by the owner"

[choices]
regulator_returns_to = "pump inlet"
valve_empties_into = "motor outlet"
steering = "in series"

[usual]
oil = "steering-mineral"
idle = "750 rpm ± 3 %"
raised = "2200 rpm"
full = "3800 rpm"
oil_temp = "175 F ± 10 F"
air_temp = "130 F"

[pump]
displacement = "0.85 in3/rev ± 3 %"
ratio = "1.22 ± 2 %"

[relief]
setting = "1600 psi ± 5 %"

[valve]
high = "900 psi ± 80 psi"
low = "60 psi"

[regulator]
rated_flow = "6.6 gpm ± 5 %"
rated_viscosity = "10 cSt"
rated_density = "800 kg/m3"
spring_drop = "55 psi"

[supply]
length = "4 ft"
bore = "3/8 in"

[return]
length = "7 ft"
bore = "0.375 in"

[suction]
length = "18 in"
bore = "0.875 in"

[motor]
displacement = "0.58 in3/rev"

[fan]
diameter = "18 in"
rated_speed = "2500 rpm"
rated_power = "2.9 hp"

[reservoir]
volume = "2.2 qt"
"#;

/// Its heat side; where the oil cooler stands is left out.
pub const VAN_HEAT: &str = r#"
[fan_curve]
flow = "3300 cfm ± 10 %"
pressure = "1.9 inH2O ± 15 %"
shut_pressure = "1.6 ± 15 %"
shut_torque = "0.95 ± 10 %"

[core]
face = "3.3 ft2 ± 3 %"
rated_air_speed = "5 m/s"
rated_drop = "0.9 inH2O ± 15 %"
conductance = "3000 W/K ± 12 %"
rated_coolant_flow = "35 gpm"

[air]
ram = "0.5 ± 0.2"

[front_1]
share = 0.75
drop = "80 Pa ± 30 %"
condenser = "20000 BTU/h ± 30 %"

[coolant]
glycol = "50 %"
cap = "14 psi ± 10 %"
limit = "228 F"
volume = "11 qt"

[coolant_pump]
flow = "38 gpm"
rated_speed = "3800 rpm"

[thermostat]
opens = "185 F ± 3 F"
full = "205 F ± 3 F"

[fan_control]
begins = "192 F"
full = "214 F"

[engine]
displacement = "183 in3"
rated_power = "140 hp"

[vehicle]
mass = "7000 lb ± 8 %"
drag_area = "30 ft2"
tyre_radius = "13 in"
final_drive = 4.1
gear_1 = 3.9
gear_2 = 2.1
gear_3 = 1.3
gear_4 = 1
gear_5 = 0.75

[oil_heat]
cooler = "20 W/K"
surface = "8 W/K ± 40 %"

[alternator]
idle_output = "60 A"
other_load = "45 A"
"#;

/// Readings of it that do not fit it.
pub const VAN_READINGS: &str = r#"
name = "van, readings in June"
machine = "./van.toml"
oil = "steering-mineral"

[[reading]]
test = "fan-speed-idle-hot"
value = "812 rpm"
instrument = "photo-tachometer"
engine_speed = "760 rpm"
oil_temp = "172 F"

[[reading]]
test = "fan-speed-raised-hot"
value = "2160 rpm"
instrument = "photo-tachometer"
engine_speed = "2190 rpm"
oil_temp = "176 F"

[[reading]]
test = "supply-pressure-raised-hot"
value = "690 psi"
instrument = "gauge-class-1.6"
full_scale = "2000 psi"
engine_speed = "2190 rpm"
oil_temp = "176 F"
"#;
