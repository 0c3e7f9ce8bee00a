use super::*;

fn signal(head: &str) -> Option<Signal> {
    match read(head).2 {
        Some((Meaning::Signal(s), _)) => Some(s),
        _ => None,
    }
}

#[test]
fn the_names_of_the_standard_and_common_wordings_are_known() {
    use Signal::*;
    for (head, wanted) in [
        ("Engine coolant temperature [degC]", Coolant),
        ("Engine Coolant Temperature [Â°C]", Coolant),
        ("ECT (°F)", Coolant),
        ("coolant_temp_c", Coolant),
        ("CoolantTemp", Coolant),
        ("Kühlmitteltemperatur [°C]", Coolant),
        ("0105 [raw]", Coolant),
        ("PID 05", Coolant),
        ("Engine speed [rpm]", EngineSpeed),
        ("RPM", EngineSpeed),
        ("Engine RPM", EngineSpeed),
        ("Vehicle speed (km/h)", RoadSpeed),
        ("Vehicle Speed Sensor [km/h]", RoadSpeed),
        ("Speed (OBD)(mph)", RoadSpeed),
        ("Ambient air temperature", Ambient),
        ("Intake air temperature", IntakeAir),
        ("MAF air flow (g/s)", AirFlow),
        ("Air Flow Rate from Mass Flow Sensor [g/s]", AirFlow),
        ("Engine fuel rate (L/h)", FuelRate),
        ("Kraftstoffverbrauch [l/h]", FuelRate),
        ("Fuel flow rate/minute(gal/min)", FuelRate),
        ("GPS Speed (Meters/second)", RoadSpeed),
        ("Außentemperatur [°C]", Ambient),
        ("Intake manifold absolute pressure", ManifoldPressure),
        ("Barometric pressure (kPa)", Barometer),
        ("Calculated engine load (%)", Load),
        ("A/C compressor", AirConditioning),
        ("GPS Altitude (m)", Altitude),
        ("Fan speed (rpm)", FanSpeed),
        ("COOLANT_TEMPERATURE ()", Coolant),
        // SAE J1939, by number and by name.
        ("SPN 110", Coolant),
        ("SPN190 [rpm]", EngineSpeed),
        ("EngCoolantTemp", Coolant),
        ("EngSpeed", EngineSpeed),
        ("WheelBasedVehicleSpeed", RoadSpeed),
        ("AmbientAirTemp", Ambient),
        ("EngFuelRate", FuelRate),
        ("EngPercentLoadAtCurrentSpeed", Load),
        ("EstPercentFanSpeed", FanCommand),
        // Other languages.
        ("Température du liquide de refroidissement (°C)", Coolant),
        ("Régime moteur (tr/min)", EngineSpeed),
        ("Vitesse du véhicule (km/h)", RoadSpeed),
        ("Température extérieure", Ambient),
        ("Temperatura del refrigerante (°C)", Coolant),
        ("Revoluciones del motor (rpm)", EngineSpeed),
        ("Velocidad del vehículo (km/h)", RoadSpeed),
        ("Temperatura liquido di raffreddamento", Coolant),
        ("Giri motore", EngineSpeed),
        ("Velocità veicolo", RoadSpeed),
        ("Temperatura do líquido de arrefecimento", Coolant),
        ("Rotação do motor", EngineSpeed),
        ("Velocidade do veículo", RoadSpeed),
        ("KÃ¼hlmitteltemperatur", Coolant),
        ("Umgebungstemperatur", Ambient),
    ] {
        assert_eq!(signal(head), Some(wanted), "{head}");
    }
}

#[test]
fn what_is_something_else_is_not_taken() {
    for head in [
        "Engine oil temperature",
        "Coolant temp sensor voltage",
        "Coolant temp (raw)",
        "Desired fan speed",
        "Injector pulse ms",
        "Fuel level",
        "Accelerator Pedal Position D [%]",
        "Transmission coolant temperature",
        "Coolant level",
        "Absolute Throttle Position [%]",
        "Wheel speed front left (km/h)",
    ] {
        assert_eq!(signal(head), None, "{head}");
    }
}

/// Every meaning has at least one phrase in each of the six languages.
#[test]
fn each_language_has_its_row() {
    for (meaning, languages) in headings() {
        assert_eq!(languages.len(), 6, "{meaning:?}");
        assert!(languages.iter().all(|l| !l.means.is_empty()), "{meaning:?}");
    }
    assert_eq!(headings().len(), SIGNALS.len() + 3);
}

#[test]
fn a_time_is_told_from_a_run_time() {
    let of = |head: &str| read(head).2.map(|m| m.0);
    for head in [
        "Time",
        "millis",
        "Device Time",
        "Zeit",
        "Horodatage",
        "Hora",
    ] {
        assert_eq!(of(head), Some(Meaning::Time), "{head}");
    }
    for head in [
        "ENGINE_RUN_TINE ()",
        "ENGINE_RUN_TIME",
        "Run time since engine start [s]",
        "Runtime",
    ] {
        assert_eq!(of(head), Some(Meaning::RunTime), "{head}");
    }
    for head in ["Time run with MIL on", "Time since trouble codes cleared"] {
        assert_eq!(of(head), None, "{head}");
    }
}

#[test]
fn a_degree_sign_may_be_broken() {
    for text in ["°C", "Â°C", "\u{fffd}C", "deg C", "ºC", "C", "℃"] {
        assert_eq!(
            scale(Unit::Temperature, text),
            Some((1.0, 273.15)),
            "{text}"
        );
    }
}

#[test]
fn units_are_exact() {
    // Calculated by hand: 212 °F is the boiling point of water, 373.15 K; 60 mph is 26.8224 m/s.
    let (factor, zero) = scale(Unit::Temperature, "°F").unwrap();
    assert!((212.0 * factor + zero - 373.15).abs() < 1e-9);
    assert!((60.0 * scale(Unit::Road, "mph").unwrap().0 - 26.8224).abs() < 1e-9);
}
