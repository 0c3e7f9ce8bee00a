//! Tests of the parser with valid and invalid quantities.

use super::*;
use crate::quantity::units::FACTS;
use crate::quantity::{Units, show};
use proptest::prelude::*;

/// Relative tolerance; the rounding errors of the conversion are a few parts in 1e16.
const EXACT: f64 = 1e-14;

fn value(kind: Kind, text: &str) -> f64 {
    parse(kind, text)
        .unwrap_or_else(|t| panic!("{text}: {t}"))
        .value
}

fn refused(kind: Kind, text: &str) -> Trouble {
    match parse(kind, text) {
        Ok(measure) => panic!("{text} was read as {measure:?}"),
        Err(trouble) => trouble,
    }
}

fn all_are(kind: Kind, si: f64, texts: &[&str]) {
    for text in texts {
        let got = value(kind, text);
        assert!(
            (got - si).abs() <= EXACT * si.abs(),
            "{text}: {got} is not {si}"
        );
    }
}

// The expected values below are calculated by hand from the definitions named in `units.rs`.

#[test]
fn a_factor_is_read_in_every_spelling_and_refused_where_it_is_none() {
    for text in [
        "2e-8 ×/÷ 3",
        "2e-8 ×÷ 3",
        "2e-8 x/ 3",
        "2e-8 x/÷ 3",
        "2e-8 */ 3.0",
        "2e-8 ×/3",
    ] {
        let m = parse(Kind::Number, text).unwrap_or_else(|t| panic!("{text}: {t}"));
        assert!(
            (m.by_factor().unwrap() - 3.0).abs() < 1e-12,
            "{text}: {m:?}"
        );
        // By hand: 2e-8 · ln 3.
        assert!(
            (m.spread - 2.197_224_577_336_219e-8).abs() < 1e-20,
            "{text}"
        );
    }
    let size = parse(Kind::Displacement, "15 cm3/rev ×/÷ 1.3").unwrap();
    assert!((size.by_factor().unwrap() - 1.3).abs() < 1e-12);
    for (kind, text) in [
        (Kind::Number, "2 ×/÷ 0.5"),
        (Kind::Number, "2 ×/÷ 1"),
        (Kind::Number, "2 ×/÷"),
        (Kind::Number, "2 ×/÷ 1000"),
        (Kind::Number, "0 ×/÷ 2"),
        (Kind::Number, "-1 x/ 2"),
        (Kind::Number, "2 ×/÷ 3 %"),
        (Kind::Temperature, "80 C ×/÷ 2"),
    ] {
        let trouble = refused(kind, text);
        assert!(trouble.found.contains("×/÷"), "{text}: {trouble}");
    }
}

#[test]
#[rustfmt::skip]
fn pressures() {
    let p = Kind::Pressure;
    // 1450 × 6894.757293168361
    let psi = ["1450 psi", "1450psi", "1450 PSI", "+1.45e3 Psi", "1450 psig", "1450 psi g", "1450 lbf/in2"];
    all_are(p, 9_997_398.075_094_123, &psi);
    all_are(p, 9_997_398.075_094_123, &["1450 lb/sq in", "1450 pounds per square inch", "1450 psid"]);
    all_are(p, 1e7, &["10 MPa", "10MPa", "10 MPA", "10 N/mm²", "100 bar", "100 BAR", "100 bars"]);
    all_are(p, 1e6, &["10 bar", "10 barg", "10 bar g", "10 bar(g)", "10 bar gauge", "1e1 bar", "10. bar"]);
    all_are(p, 2e5, &["200 kPa", "200 KPA", "200 kpa", "2e5 Pa", "2000 mbar", "2000 hPa"]);
    all_are(p, 98_066.5, &["1 kgf/cm2", "1 kp/cm²"]);
    all_are(p, -5e4, &["-0.5 bar", "−0.5 bar", "-.5 bar"]);
    let a = Kind::AbsolutePressure;
    all_are(a, 101_325.0, &["1.01325 bar abs", "1.01325 bar a", "1.01325 bara", "101.325 kPa", "1 atm"]);
    // 14.7 × 6894.757293168361
    all_are(a, 101_352.932_209_574_9, &["14.7 psia", "14.7 PSIA", "14.7 psi abs", "14.7 psi (absolute)"]);
    // 29.92 × 3386.388640341
    all_are(a, 101_320.748_119_002_7, &["29.92 inHg", "29.92 in Hg", "29.92 inches of mercury"]);
    let air = Kind::AirPressure;
    let water = ["2 in H2O", "2 inH2O", "2 in. H₂O", "2 IN H2O", "2 inches of water", "2 in wg", "2 in w.c."];
    all_are(air, 498.177_82, &water);
    all_are(air, 98.0665, &["10 mmH2O", "10 mm H2O"]);
}

#[test]
#[rustfmt::skip]
fn flows_and_displacements() {
    let q = Kind::Flow;
    // 5 × 3.785411784e-3 / 60
    let gpm = ["5 gpm", "5 GPM", "5 gal/min", "5 US gpm", "5 usgpm", "5 gallons per minute"];
    all_are(q, 3.154_509_82e-4, &gpm);
    let litres = ["20 L/min", "20 l/min", "20L/min", "20 lpm", "20 LPM", "20 L per min", "20 litres/minute"];
    all_are(q, 20.0 / 60_000.0, &litres);
    all_are(q, 0.02, &["20 l/s", "20 L/s", "72 m3/h", "72 m³/h", "72 m^3/h", "1.2 m3/min"]);
    // 6000 × 0.028316846592 / 60
    let cfm = ["6000 cfm", "6000 CFM", "6000 ft3/min", "6000 cu ft/min", "6000 cubic feet per minute"];
    all_are(Kind::AirFlow, 2.831_684_659_2, &cfm);
    let d = Kind::Displacement;
    // 10.5e-6 / 2π
    let cc = ["10.5 cm3/rev", "10.5 cm³/rev", "10.5 cc/rev", "10.5 CC/REV", "10.5 mL/rev", "10.5 cm3/r", "10.5 cc"];
    all_are(d, 1.671_126_902_464_901e-6, &cc);
    // 0.64 × 16.387064e-6 / 2π
    let inches = ["0.64 in3/rev", "0.64 in³/rev", ".64 cu in/rev", "0.64 cubic inches per revolution", "0.64 cir"];
    all_are(d, 1.669_172_632_552_478e-6, &inches);
    all_are(Kind::Volume, 1e-2, &["10 L", "10 l", "10 liters", "10 dm3", "10000 cc", "10000 mL"]);
    all_are(Kind::Volume, 9.463_529_46e-3, &["10 qt", "10 quarts", "2.5 gal", "2.5 US gal", "20 pt"]);
}

#[test]
#[rustfmt::skip]
fn speeds_torques_powers() {
    let n = Kind::Speed;
    // 700 × 2π / 60
    let rpm = ["700 rpm", "700 RPM", "700rpm", "700 1/min", "700/min", "700 min-1", "700 min⁻¹", "700 r/min"];
    all_are(n, 73.303_828_583_761_84, &rpm);
    all_are(n, 73.303_828_583_761_84, &["700 rev/min", "700 revs per minute"]);
    all_are(n, 73.5, &["73.5 rad/s", "73.5 RAD/S"]);
    let m = Kind::Torque;
    all_are(m, 20.0, &["20 N m", "20 Nm", "20 N·m", "20 N*m", "20 N-m", "20 nm", "20 newton metres"]);
    // 15 × 4.4482216152605 × 0.3048
    let feet = ["15 lbf ft", "15 lb ft", "15 lb-ft", "15 ft-lb", "15 ft lbs", "15 ft·lbf", "180 lbf in", "180 lb in"];
    all_are(m, 20.337_269_224_971_006, &feet);
    let p = Kind::Power;
    all_are(p, 4000.0, &["4 kW", "4 KW", "4kw", "4000 W", "4 kilowatts"]);
    // 5 × 745.6998715822702
    all_are(p, 3_728.499_357_911_351, &["5 hp", "5 HP", "5 horsepower"]);
    // 50 × 1609.344 / 3600
    all_are(Kind::RoadSpeed, 22.352, &["50 mph", "50 MPH", "50 miles per hour", "50 mi/h", "80.4672 km/h"]);
    all_are(Kind::AirSpeed, 6.096, &["1200 ft/min", "1200 fpm", "6.096 m/s", "20 ft/s"]);
}

#[test]
#[rustfmt::skip]
fn oils_and_temperatures() {
    let v = Kind::KinematicViscosity;
    all_are(v, 35e-6, &["35 cSt", "35 cst", "35 CST", "35 mm2/s", "35 mm²/s", "35 mm^2/s", "0.35 St"]);
    all_are(Kind::DynamicViscosity, 0.03, &["30 mPa s", "30 mPa·s", "30 mPas", "30 cP", "0.03 Pa.s"]);
    all_are(Kind::Density, 860.0, &["860 kg/m3", "860 kg/m³", "0.86 g/cm3", "0.86 kg/L", "0.86 g/mL"]);
    let t = Kind::Temperature;
    let f = ["210 F", "210F", "210 °F", "210°f", "210 ºF", "210 degF", "210 deg F", "210 ℉", "210 fahrenheit"];
    // (210 + 459.67) / 1.8
    all_are(t, 372.038_888_888_888_9, &f);
    all_are(t, 372.15, &["99 °C", "99C", "99 c", "99 degrees C", "99 ℃", "99 celsius", "372.15 K"]);
    all_are(t, 233.15, &["-40 C", "-40 F", "−40 °F"]);
    all_are(Kind::TemperatureDifference, 10.0, &["10 K", "10 °C", "18 F", "18 °F"]);
    all_are(Kind::PerKelvin, 7.2e-4, &["7.2e-4 1/K", "7.2e-4/K", "7.2e-4 K-1", "0.0004 1/F"]);
    all_are(Kind::PerPascal, 2e-8, &["20 1/GPa", "20 /GPa", "20 GPa⁻¹", "0.02 1/MPa"]);
}

#[test]
#[rustfmt::skip]
fn everything_else() {
    all_are(Kind::Share, 0.85, &["85 %", "85%", "0.85", "85 percent", "85 per cent"]);
    all_are(Kind::Number, 1.2, &["1.2", " 1.2 ", "12e-1", "6/5"]);
    all_are(Kind::Cost, 40.0, &["40"]);
    all_are(Kind::Length, 0.0127, &["12.7 mm", "0.5 in", "1/2 in", "1/2\"", "0.5 inch", "1.27 cm"]);
    all_are(Kind::HoseLength, 1.8288, &["6 ft", "6 feet", "1.8288 m", "72 in"]);
    all_are(Kind::Area, 0.464_515_2, &["5 ft2", "5 sq ft", "5 square feet", "0.4645152 m²"]);
    all_are(Kind::Mass, 9.979_032_14, &["22 lb", "22 lbs", "9.97903214 kg"]);
    all_are(Kind::Time, 90.0, &["90 s", "1.5 min", "0.025 h", "90 sec"]);
    all_are(Kind::ValveSlope, 3e9, &["0.5 bar/(L/min)", "0.5 bar/lpm", "0.5 bar per L/min", "3e9 Pa s/m3"]);
    // 25 × 6894.757293168361 × 60 / 3.785411784e-3
    all_are(Kind::ValveSlope, 2.732_103_276_971_397e9, &["25 psi/gpm", "25 psi per gpm", "25 psi/(gal/min)"]);
    all_are(Kind::LaminarResistance, 2e10, &["20 1/mm3", "20 /mm³", "20 mm⁻³"]);
    all_are(Kind::Conductance, 50.0, &["50 W/K", "0.05 kW/K", "50 W/°C"]);
    all_are(Kind::HeatCapacity, 2e4, &["20 kJ/K", "20000 J/K"]);
    all_are(Kind::Current, 0.5, &["0.5 A", "500 mA", "0.5 amps"]);
    all_are(Kind::Voltage, 24.0, &["24 V", "24 volts"]);
}

/// The unit at the end applies to both numbers. If the uncertainty is in per cent of the value, the value needs its own
/// unit.
#[test]
#[rustfmt::skip]
fn a_unit_at_the_end_is_read() {
    let rpm = std::f64::consts::TAU / 60.0;
    for (kind, text, value, spread) in [
        (Kind::Speed, "640 ± 10 rpm", 640.0 * rpm, 10.0 * rpm),
        (Kind::Displacement, "15.00 ± 0.45 cm³/rev", 15e-6 / std::f64::consts::TAU, 0.45e-6 / std::f64::consts::TAU),
        (Kind::Temperature, "80 ± 2 °C", 353.15, 2.0),
        (Kind::Temperature, "176 ± 9 F", 353.15, 5.0),
        (Kind::AbsolutePressure, "1.01 ± 0.02 bar abs", 1.01e5, 2e3),
        (Kind::Share, "85 ± 3 %", 0.85, 0.03),
        (Kind::Power, "4.32 ± 0.25 kW", 4320.0, 250.0),
    ] {
        let got = parse(kind, text).unwrap();
        assert!((got.value - value).abs() <= EXACT * value, "{text}: {got:?}");
        assert!((got.spread - spread).abs() <= EXACT * value, "{text}: {got:?}");
    }
    assert!(refused(Kind::Speed, "640 ± 3 %").found.contains("unit missing"));
}

#[test]
fn a_bare_number_is_in_the_unit_that_the_caller_names() {
    let rpm = std::f64::consts::TAU / 60.0;
    for (kind, text, unit, value, spread) in [
        (Kind::Speed, "640", "rpm", 640.0 * rpm, 0.0),
        (Kind::Speed, "640 ± 10", "rpm", 640.0 * rpm, 10.0 * rpm),
        (Kind::Speed, "640 ± 5 %", "rpm", 640.0 * rpm, 32.0 * rpm),
        (Kind::Speed, "67 rad/s", "rpm", 67.0, 0.0),
        (Kind::Temperature, "176", "°F", 353.15, 0.0),
        (Kind::Share, "0.5", "%", 0.005, 0.0),
        (Kind::Number, "1.2", "", 1.2, 0.0),
    ] {
        let got = parse_in(kind, text, unit).unwrap();
        assert!(
            (got.value - value).abs() <= EXACT * value,
            "{text}: {got:?}"
        );
        assert!(
            (got.spread - spread).abs() <= EXACT * value,
            "{text}: {got:?}"
        );
    }
    assert!(
        parse(Kind::Speed, "640")
            .unwrap_err()
            .found
            .contains("unit missing")
    );
}

#[test]
#[rustfmt::skip]
fn spreads() {
    let rpm = std::f64::consts::TAU / 60.0;
    let psi = 6_894.757_293_168_361;
    for (kind, text, spread) in [
        (Kind::Speed, "700 rpm ± 3%", 21.0 * rpm),
        (Kind::Speed, "700rpm±3 %", 21.0 * rpm),
        (Kind::Speed, "700 rpm ± 10 rpm", 10.0 * rpm),
        (Kind::Speed, "700 rpm +/- 10 rpm", 10.0 * rpm),
        (Kind::Speed, "700 rpm +- 10", 10.0 * rpm),
        (Kind::Speed, "700 rpm ± 1 rad/s", 1.0),
        (Kind::Speed, "700 rpm", 0.0),
        (Kind::Pressure, "100 bar ± 20 psi", 20.0 * psi),
        (Kind::Pressure, "-100 psi ± 10 %", 10.0 * psi),
        (Kind::AbsolutePressure, "14.7 psia ± 0.2", 0.2 * psi),
        (Kind::Temperature, "80 C ± 2 C", 2.0),
        (Kind::Temperature, "80 C ± 2", 2.0),
        (Kind::Temperature, "80 C ± 2 K", 2.0),
        (Kind::Temperature, "80 C ± 3 F", 3.0 / 1.8),
        (Kind::Temperature, "176 F ± 9", 5.0),
        (Kind::TemperatureDifference, "10 K ± 5 %", 0.5),
        (Kind::Share, "85 % ± 3 %", 0.03),
        (Kind::Share, "85 % ± 3", 0.03),
        (Kind::Share, "0.85 ± 0.03", 0.03),
        (Kind::Share, "0.85 ± 3 %", 0.03),
        (Kind::Number, "1.2 +- 0.2", 0.2),
        (Kind::Number, "1.2 ± 5 %", 0.06),
    ] {
        let got = parse(kind, text).unwrap().spread;
        assert!((got - spread).abs() <= EXACT * spread, "{text}: {got} is not {spread}");
    }
    for (kind, text, found) in [
        (Kind::Speed, "700 rpm ± -3%", "negative"),
        (Kind::Speed, "700 rpm ±", "nothing after"),
        (Kind::Speed, "700 rpm ± 3 bar", "measures pressure"),
        (Kind::Speed, "700 rpm ± 3 ± 3", "unknown unit"),
        (Kind::Speed, "700 rpm ± 1e999", "not a finite"),
        (Kind::Speed, "± 3 rpm", "not a number"),
        (Kind::Temperature, "80 C ± 3 %", "per cent of a temperature"),
    ] {
        let trouble = refused(kind, text);
        assert!(trouble.found.contains(found), "{text}: {trouble}");
    }
}

#[test]
#[rustfmt::skip]
fn mistakes_are_named_and_mended() {
    for (kind, text, message) in [
        (Kind::Flow, "10 psi", "`psi` measures pressure; expected a flow, e.g. 20 L/min or 5 gpm"),
        (Kind::Flow, "10 psia", "`psia` measures pressure; expected a flow"),
        (Kind::Flow, "80 c", "`c` measures temperature; expected a flow"),
        (Kind::Number, "5 bar", "`bar` measures pressure; expected a number without a unit, e.g. 1.2"),
        (Kind::Flow, "10 gmp", "unknown unit `gmp`; expected a flow, e.g. 20 L/min or 5 gpm (did you mean gpm?)"),
        (Kind::Pressure, "10 psy", "(did you mean psi?)"),
        (Kind::Pressure, "10 furlongs", "unknown unit `furlongs`; expected a pressure"),
        (Kind::Pressure, "10 furlongs", "(usable units: bar, psi, kPa, MPa, Pa, in H2O)"),
        (Kind::Pressure, "10 mpa", "`mpa` may be MPa or mPa; expected a pressure"),
        (Kind::Pressure, "10", "unit missing; expected a pressure"),
        (Kind::Speed, "700", "(usable units: rpm, rad/s, rev/s)"),
        (Kind::Temperature, "80 deg", "unit missing"),
        (Kind::Pressure, "10 psia", "`psia` is an absolute pressure; expected a gauge pressure, e.g. 100 bar"),
        (Kind::Pressure, "10 bar abs", "subtract the air pressure"),
        (Kind::AbsolutePressure, "10 psig", "`psig` is a gauge pressure; expected an absolute pressure"),
        (Kind::AbsolutePressure, "10 barg", "add the air pressure"),
        (Kind::AbsolutePressure, "-1 bar", "is below vacuum"),
        (Kind::Temperature, "-274 C", "is below absolute zero"),
        (Kind::Displacement, "10,5 cc/rev", "`10,5 cc/rev` has a comma; expected a decimal point"),
        (Kind::Speed, "1,026.5 rpm", "write 1026.5 rpm"),
        (Kind::Speed, "1.026,5 rpm", "write 1026.5 rpm"),
        (Kind::Speed, "1,026,500 rpm", "write 1026500 rpm"),
        (Kind::Speed, "1,450 rpm", "write 1450 rpm or 1.450 rpm, whichever is meant"),
        (Kind::Length, "0,500 mm", "write 0.500 mm"),
        (Kind::Displacement, "10,5 cc/rev", "(write 10.5 cc/rev)"),
        (Kind::Pressure, "1,450 psi", "(write 1450 psi or 1.450 psi, whichever is meant)"),
        (Kind::Pressure, "1 450 psi", "write the number without spaces"),
        (Kind::Length, "1 1/4 in", "write the number without spaces"),
        (Kind::Share, "85", "`85` without a unit; expected a fraction from 0 to 1, or per cent (write 85 %"),
        (Kind::Pressure, "", "no value; expected a pressure"),
        (Kind::Pressure, " \t", "no value; expected a pressure"),
        (Kind::Pressure, "high", "`high` is not a number with its unit"),
        (Kind::Pressure, "nan bar", "`nan bar` is not a number"),
        (Kind::Pressure, "inf bar", "`inf bar` is not a number"),
        (Kind::Number, "-", "`-` is not a number"),
        (Kind::Number, ".", "`.` is not a number"),
        (Kind::Pressure, "1e999 bar", "`1e999 bar` is not a finite number"),
        (Kind::Pressure, "1e305 bar", "`1e305 bar` is too large"),
        (Kind::Length, "1/0 in", "not a finite number"),
    ] {
        let said = refused(kind, text).to_string();
        assert!(said.contains(message), "{text}: {said}");
    }
    let long = refused(Kind::Pressure, &format!("10 {}", "x".repeat(100_000))).to_string();
    assert!(long.len() < 250 && long.contains("xxx…"), "{long}");
    assert!(refused(Kind::Pressure, &"9".repeat(100_000)) .to_string() .len() < 250);
}

#[test]
fn examples_are_read() {
    for facts in FACTS {
        for example in facts.example.split(" or ") {
            value(facts.kind, example);
        }
    }
}

fn any_kind() -> impl Strategy<Value = Kind> {
    (0..FACTS.len()).prop_map(|i| FACTS[i].kind)
}

proptest! {
    #[test]
    fn what_is_typed_is_read_back(kind in any_kind(), digits in 0.1..1.0_f64, power in -12..12_i32, minus: bool) {
        let si = match kind {
            Kind::Temperature => digits * 1000.0,
            Kind::AbsolutePressure => digits * 10_f64.powi(power),
            _ => digits * 10_f64.powi(power) * if minus { -1.0 } else { 1.0 },
        };
        let text = kind.typed(si);
        prop_assert!(text.is_ascii());
        let back = parse(kind, &text).map_err(|t| TestCaseError::fail(format!("{text}: {t}")))?;
        prop_assert!((back.value - si).abs() <= 1e-12 * si.abs(), "{} became {}", text, back.value);
        prop_assert!(back.spread.abs() <= 0.0);
    }

    /// A printed value is read back to the precision of its digits.
    #[test]
    fn what_is_shown_is_read_back(kind in any_kind(), digits in 0.1..1.0_f64, power in -3..4_i32, off in 0.001..0.6_f64, us: bool) {
        let units = if us { Units::Us } else { Units::Si };
        let si = match kind {
            Kind::Temperature => 250.0 + 150.0 * digits,
            // The random number is a value in the printed unit.
            _ => digits * 10_f64.powi(power) / units.number(kind, 1.0),
        };
        let spread = match kind {
            Kind::Temperature => 20.0 * off,
            _ => off * si,
        };
        for (text, spread) in [(units.show(kind, si), 0.0), (units.show_spread(kind, si, spread), spread)] {
            let back = parse(kind, &text).map_err(|t| TestCaseError::fail(format!("{text}: {t}")))?;
            let finest = show::finest(kind).map_or(0.0, |decimals| 0.51 * 10_f64.powi(-decimals));
            let step = (units.number(kind, 300.0 + 1.0) - units.number(kind, 300.0)).recip() * finest;
            // Kilowatts have as many decimals as watts.
            let room = step * if kind == Kind::Power { 1e3 } else { 1.0 } + 0.06 * spread + 0.006 * si.abs();
            prop_assert!((back.value - si).abs() <= room, "{} became {}", text, back.value);
            prop_assert!((back.spread - spread).abs() <= room, "{} became ± {}", text, back.spread);
        }
    }

    #[test]
    fn no_text_breaks_it(kind in any_kind(), text in ".*") {
        let _ = parse(kind, &text);
    }

    #[test]
    fn no_nearly_sound_text_breaks_it(kind in any_kind(), text in "[-+0-9.,e/±% ]{0,9}[a-zA-Z0-9/²³µº°⁻ ()-]{0,9}(±|\\+-)?.{0,5}") {
        if let Ok(measure) = parse(kind, &text) {
            prop_assert!(measure.value.is_finite() && measure.spread.is_finite() && measure.spread >= 0.0);
        }
    }
}
