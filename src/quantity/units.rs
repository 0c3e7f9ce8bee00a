//! The units, each declared once, and the name and printed units of each kind of quantity.
//!
//! Conversion factors are exact by definition or derived from exact ones, and agree with NIST Special Publication 811
//! (2008), Guide for the Use of the International System of Units, appendix B.8. Ambiguous names mean the following:
//! gallons and quarts are US liquid measures unless preceded by "imp"; horsepower is 550 ft·lbf/s; Btu is the
//! International Table Btu; inches and millimetres of water or mercury are the conventional units (1000 kg/m³ and
//! 13 595.1 kg/m³ under standard gravity).

use super::Kind;
use std::f64::consts::TAU;

const INCH: f64 = 0.0254;
const FOOT: f64 = 0.3048;
const MILE: f64 = 1609.344;
const NAUTICAL_MILE: f64 = 1852.0;
const POUND: f64 = 0.453_592_37;
const STANDARD_GRAVITY: f64 = 9.806_65;
const POUND_FORCE: f64 = 4.448_221_615_260_5;
const PSI_IN_PA: f64 = POUND_FORCE / (INCH * INCH);
const CUBIC_INCH: f64 = 1.638_706_4e-5;
const CUBIC_FOOT: f64 = 0.028_316_846_592;
const GALLON: f64 = 3.785_411_784e-3;
const IMPERIAL_GALLON: f64 = 4.546_09e-3;
const BTU: f64 = 1_055.055_852_62;
const MERCURY: f64 = 13_595.1;
const MINUTE: f64 = 60.0;
const HOUR: f64 = 3600.0;
/// Kelvins per degree Fahrenheit.
const FAHRENHEIT_DEGREE: f64 = 5.0 / 9.0;

/// A unit of measurement.
#[derive(Clone, Copy, Debug)]
pub(super) struct Unit {
    /// The kind of quantity that the unit measures. Kinds with the same dimension share their units.
    pub measures: Kind,
    /// SI value of one unit.
    pub factor: f64,
    /// Offset that is added to a temperature in this unit before it is multiplied by the factor, such as 273.15 for °C.
    pub shift: f64,
    /// Accepted spellings; the first one is used for printing.
    pub names: &'static [&'static str],
}

impl Unit {
    /// Converts a value in this unit to SI.
    pub fn to_si(self, kind: Kind, reading: f64) -> f64 {
        if kind == Kind::Temperature {
            (reading + self.shift) * self.factor
        } else {
            reading * self.factor
        }
    }

    /// Converts an SI value to this unit.
    pub fn of_si(self, kind: Kind, si: f64) -> f64 {
        if kind == Kind::Temperature {
            si / self.factor - self.shift
        } else {
            si / self.factor
        }
    }

    /// The spelling used for printing.
    pub fn name(self) -> &'static str {
        self.names.first().copied().unwrap_or("")
    }
}

/// Declares units as constants and collects them in one table.
macro_rules! units {
    ($($id:ident: $kind:ident, $factor:expr, [$($name:literal),+] $(, $shift:expr)?;)+) => {
        $(pub(super) const $id: Unit = Unit {
            measures: Kind::$kind,
            factor: $factor,
            shift: 0.0 $(+ $shift)?,
            names: &[$($name),+],
        };)+
        /// All units. Within each dimension the common ones come first.
        pub(super) const UNITS: &[Unit] = &[$($id),+];
    };
}

// Spellings are simplified by `parse::plain` before they are compared, so `m3/s`, `m^3 / s` and `cubic meters per
// second` need not be listed.
units! {
    BAR: Pressure, 1e5, ["bar"];
    PSI: Pressure, PSI_IN_PA, ["psi", "lbf/in²", "lb/in²"];
    KILOPASCAL: Pressure, 1e3, ["kPa"];
    MEGAPASCAL: Pressure, 1e6, ["MPa", "MPA", "N/mm²"];
    PASCAL: Pressure, 1.0, ["Pa", "N/m²"];
    INCH_OF_WATER: Pressure, 1000.0 * STANDARD_GRAVITY * INCH, ["in H2O", "in wg", "in wc"];
    MILLIBAR: Pressure, 100.0, ["mbar", "hPa"];
    MILLIPASCAL: Pressure, 1e-3, ["mPa"];
    INCH_OF_MERCURY: Pressure, MERCURY * STANDARD_GRAVITY * INCH, ["inHg"];
    MILLIMETRE_OF_WATER: Pressure, STANDARD_GRAVITY, ["mmH2O"];
    MILLIMETRE_OF_MERCURY: Pressure, MERCURY * STANDARD_GRAVITY * 1e-3, ["mmHg"];
    ATMOSPHERE: Pressure, 101_325.0, ["atm"];
    KILOGRAM_FORCE_PER_CM2: Pressure, STANDARD_GRAVITY * 1e4, ["kgf/cm²", "kg/cm²", "kp/cm²"];

    CM3_PER_REV: Displacement, 1e-6 / TAU, ["cm³/rev", "cm³/r", "cm³"];
    IN3_PER_REV: Displacement, CUBIC_INCH / TAU, ["in³/rev", "in³/r", "in³", "cir", "cipr"];
    L_PER_REV: Displacement, 1e-3 / TAU, ["L/rev", "L/r"];
    M3_PER_RAD: Displacement, 1.0, ["m³/rad"];
    CM3_PER_RAD: Displacement, 1e-6, ["cm³/rad"];

    L_PER_MIN: Flow, 1e-3 / MINUTE, ["L/min", "lpm", "dm³/min"];
    GPM: Flow, GALLON / MINUTE, ["gpm", "gal/min", "US gpm", "US gal/min"];
    M3_PER_S: Flow, 1.0, ["m³/s"];
    CFM: Flow, CUBIC_FOOT / MINUTE, ["cfm", "ft³/min"];
    M3_PER_H: Flow, 1.0 / HOUR, ["m³/h", "cmh"];
    L_PER_S: Flow, 1e-3, ["L/s", "lps", "dm³/s"];
    L_PER_H: Flow, 1e-3 / HOUR, ["L/h", "lph"];
    M3_PER_MIN: Flow, 1.0 / MINUTE, ["m³/min"];
    CM3_PER_MIN: Flow, 1e-6 / MINUTE, ["cm³/min"];
    CM3_PER_S: Flow, 1e-6, ["cm³/s"];
    IN3_PER_MIN: Flow, CUBIC_INCH / MINUTE, ["in³/min"];
    IN3_PER_S: Flow, CUBIC_INCH, ["in³/s"];
    FT3_PER_S: Flow, CUBIC_FOOT, ["ft³/s", "cfs"];
    GAL_PER_H: Flow, GALLON / HOUR, ["gal/h", "gph"];
    QT_PER_MIN: Flow, GALLON / 4.0 / MINUTE, ["qt/min"];
    IMPERIAL_GPM: Flow, IMPERIAL_GALLON / MINUTE, ["imp gpm", "imp gal/min"];

    RPM: Speed, TAU / MINUTE, ["rpm", "r/min", "rev/min", "1/min", "/min", "min-1"];
    RAD_PER_S: Speed, 1.0, ["rad/s"];
    REV_PER_S: Speed, TAU, ["rev/s", "r/s", "rps", "Hz"];

    NEWTON_METRE: Torque, 1.0, ["N m"];
    POUND_FOOT: Torque, POUND_FORCE * FOOT, ["lbf ft", "ft lbf", "lb ft", "ft lb", "ftlbs"];
    POUND_INCH: Torque, POUND_FORCE * INCH, ["lbf in", "in lbf", "lb in", "in lb", "inlbs"];
    KILONEWTON_METRE: Torque, 1e3, ["kN m"];
    KILOGRAM_FORCE_METRE: Torque, STANDARD_GRAVITY, ["kgf m", "kp m"];

    WATT: Power, 1.0, ["W"];
    HORSEPOWER: Power, 550.0 * FOOT * POUND_FORCE, ["hp", "bhp"];
    KILOWATT: Power, 1e3, ["kW"];
    METRIC_HORSEPOWER: Power, 75.0 * STANDARD_GRAVITY, ["PS", "metric hp"];
    BTU_PER_H: Power, BTU / HOUR, ["Btu/h"];
    BTU_PER_MIN: Power, BTU / MINUTE, ["Btu/min"];

    MM2_PER_S: KinematicViscosity, 1e-6, ["mm²/s"];
    CENTISTOKES: KinematicViscosity, 1e-6, ["cSt"];
    M2_PER_S: KinematicViscosity, 1.0, ["m²/s"];
    STOKES: KinematicViscosity, 1e-4, ["St", "cm²/s"];
    FT2_PER_S: KinematicViscosity, FOOT * FOOT, ["ft²/s"];
    IN2_PER_S: KinematicViscosity, INCH * INCH, ["in²/s"];

    MILLIPASCAL_SECOND: DynamicViscosity, 1e-3, ["mPa s"];
    CENTIPOISE: DynamicViscosity, 1e-3, ["cP"];
    PASCAL_SECOND: DynamicViscosity, 1.0, ["Pa s", "N s/m²", "kg/(m s)"];
    POISE: DynamicViscosity, 0.1, ["P", "poise"];

    KG_PER_M3: Density, 1.0, ["kg/m³"];
    LB_PER_FT3: Density, POUND / CUBIC_FOOT, ["lb/ft³"];
    KG_PER_L: Density, 1e3, ["kg/L", "g/cm³", "kg/dm³"];
    LB_PER_GAL: Density, POUND / GALLON, ["lb/gal"];
    LB_PER_IN3: Density, POUND / CUBIC_INCH, ["lb/in³"];

    CELSIUS: Temperature, 1.0, ["°C", "degC"], 273.15;
    FAHRENHEIT: Temperature, FAHRENHEIT_DEGREE, ["°F", "degF"], 459.67;
    KELVIN: Temperature, 1.0, ["K"];
    RANKINE: Temperature, FAHRENHEIT_DEGREE, ["°R", "degR"];

    PERCENT: Share, 0.01, ["%", "per cent"];
    PART: Share, 1.0, [""];
    PURE: Number, 1.0, [""];
    MONEY: Cost, 1.0, [""];

    MILLIMETRE: Length, 1e-3, ["mm"];
    INCHES: Length, INCH, ["in", "\""];
    METRE: Length, 1.0, ["m"];
    FEET: Length, FOOT, ["ft", "'"];
    CENTIMETRE: Length, 1e-2, ["cm"];
    MICROMETRE: Length, 1e-6, ["µm"];
    KILOMETRE: Length, 1e3, ["km"];

    SQUARE_METRE: Area, 1.0, ["m²"];
    SQUARE_FOOT: Area, FOOT * FOOT, ["ft²"];
    SQUARE_CENTIMETRE: Area, 1e-4, ["cm²"];
    SQUARE_MILLIMETRE: Area, 1e-6, ["mm²"];
    SQUARE_INCH: Area, INCH * INCH, ["in²"];

    LITRE: Volume, 1e-3, ["L", "dm³"];
    QUART: Volume, GALLON / 4.0, ["qt", "US qt"];
    GALLONS: Volume, GALLON, ["gal", "US gal"];
    CUBIC_METRE: Volume, 1.0, ["m³"];
    CUBIC_CENTIMETRE: Volume, 1e-6, ["cm³"];
    CUBIC_INCHES: Volume, CUBIC_INCH, ["in³"];
    CUBIC_FEET: Volume, CUBIC_FOOT, ["ft³"];
    PINT: Volume, GALLON / 8.0, ["pt"];
    FLUID_OUNCE: Volume, GALLON / 128.0, ["fl oz"];
    IMPERIAL_GALLONS: Volume, IMPERIAL_GALLON, ["imp gal"];

    KILOGRAM: Mass, 1.0, ["kg"];
    POUNDS: Mass, POUND, ["lb", "lbm"];
    GRAM: Mass, 1e-3, ["g"];
    OUNCE: Mass, POUND / 16.0, ["oz"];
    TONNE: Mass, 1e3, ["t"];

    SECOND: Time, 1.0, ["s"];
    MINUTES: Time, MINUTE, ["min"];
    HOURS: Time, HOUR, ["h"];
    MILLISECOND: Time, 1e-3, ["ms"];

    KM_PER_H: RoadSpeed, 1e3 / HOUR, ["km/h", "kmh", "kph"];
    MPH: RoadSpeed, MILE / HOUR, ["mph", "mi/h"];
    M_PER_S: RoadSpeed, 1.0, ["m/s"];
    FT_PER_MIN: RoadSpeed, FOOT / MINUTE, ["ft/min", "fpm"];
    FT_PER_S: RoadSpeed, FOOT, ["ft/s", "fps"];
    KNOT: RoadSpeed, NAUTICAL_MILE / HOUR, ["kn"];

    PER_KELVIN: PerKelvin, 1.0, ["1/K", "/K", "K-1", "1/°C", "/°C"];
    PER_FAHRENHEIT: PerKelvin, 1.0 / FAHRENHEIT_DEGREE, ["1/°F", "/°F"];

    PER_GIGAPASCAL: PerPascal, 1e-9, ["1/GPa", "/GPa", "GPa-1"];
    PER_PASCAL: PerPascal, 1.0, ["1/Pa", "/Pa", "Pa-1", "m²/N"];
    PER_MEGAPASCAL: PerPascal, 1e-6, ["1/MPa", "/MPa", "MPa-1"];
    PER_BAR: PerPascal, 1e-5, ["1/bar", "/bar", "bar-1"];
    PER_PSI: PerPascal, 1.0 / PSI_IN_PA, ["1/psi", "/psi", "psi-1"];

    PER_MM3: LaminarResistance, 1e9, ["1/mm³", "/mm³", "mm-3"];
    PER_CM3: LaminarResistance, 1e6, ["1/cm³", "/cm³", "cm-3"];
    PER_M3: LaminarResistance, 1.0, ["1/m³", "/m³", "m-3"];

    BAR_PER_L_PER_MIN: ValveSlope, 1e5 * MINUTE * 1e3, ["bar/(L/min)", "bar min/L", "bar/lpm"];
    PSI_PER_GPM: ValveSlope, PSI_IN_PA * MINUTE / GALLON, ["psi/gpm", "psi/(gal/min)", "psi min/gal"];
    KILOPASCAL_PER_L_PER_MIN: ValveSlope, 1e3 * MINUTE * 1e3, ["kPa/(L/min)", "kPa min/L", "kPa/lpm"];
    PASCAL_PER_M3_PER_S: ValveSlope, 1.0, ["Pa s/m³", "Pa/(m³/s)"];

    WATT_PER_KELVIN: Conductance, 1.0, ["W/K", "W/°C"];
    KILOWATT_PER_KELVIN: Conductance, 1e3, ["kW/K", "kW/°C"];
    BTU_PER_H_FAHRENHEIT: Conductance, BTU / HOUR / FAHRENHEIT_DEGREE, ["Btu/(h °F)", "Btu/h/°F"];

    JOULE_PER_KELVIN: HeatCapacity, 1.0, ["J/K", "J/°C"];
    KILOJOULE_PER_KELVIN: HeatCapacity, 1e3, ["kJ/K", "kJ/°C"];
    BTU_PER_FAHRENHEIT: HeatCapacity, BTU / FAHRENHEIT_DEGREE, ["Btu/°F"];

    GRAM_PER_S: MassFlow, 1e-3, ["g/s"];
    LB_PER_MIN: MassFlow, POUND / MINUTE, ["lb/min", "lbs/min"];
    KG_PER_S: MassFlow, 1.0, ["kg/s"];
    KG_PER_H: MassFlow, 1.0 / HOUR, ["kg/h"];

    AMPERE: Current, 1.0, ["A"];
    MILLIAMPERE: Current, 1e-3, ["mA"];

    VOLT: Voltage, 1.0, ["V"];
    MILLIVOLT: Voltage, 1e-3, ["mV"];
}

/// Used only for printing. In user input, any unit of pressure may be followed by "abs".
const BAR_ABS: Unit = Unit {
    names: &["bar abs"],
    ..BAR
};
/// Used only for printing.
const PSI_ABS: Unit = Unit {
    names: &["psi abs"],
    ..PSI
};

/// Name, example and printed units of a kind of quantity.
#[derive(Clone, Copy, Debug)]
pub(super) struct Facts {
    /// The kind.
    pub kind: Kind,
    /// Name of the kind.
    pub name: &'static str,
    /// An example of user input.
    pub example: &'static str,
    /// The suffix of a JSON or CSV key that names the unit.
    pub suffix: &'static str,
    /// The unit printed in the metric system.
    pub si: Unit,
    /// The unit printed in the US system.
    pub us: Unit,
}

const fn facts(
    kind: Kind,
    name: &'static str,
    example: &'static str,
    suffix: &'static str,
    si: Unit,
    us: Unit,
) -> Facts {
    Facts {
        kind,
        name,
        example,
        suffix,
        si,
        us,
    }
}

/// All kinds, in the order of the enum.
#[rustfmt::skip]
pub(super) const FACTS: &[Facts] = &[
    facts(Kind::Pressure, "pressure", "100 bar or 1450 psi", "bar", BAR, PSI),
    facts(Kind::AbsolutePressure, "absolute pressure", "1.013 bar abs or 14.7 psia", "bar_abs", BAR_ABS, PSI_ABS),
    facts(Kind::AirPressure, "air pressure", "200 Pa or 0.8 in H2O", "pa", PASCAL, INCH_OF_WATER),
    facts(Kind::Displacement, "displacement", "10.5 cm3/rev or 0.64 in3/rev", "cm3_per_rev", CM3_PER_REV, IN3_PER_REV),
    facts(Kind::Flow, "flow", "20 L/min or 5 gpm", "l_per_min", L_PER_MIN, GPM),
    facts(Kind::AirFlow, "air flow", "3 m3/s or 6000 cfm", "m3_per_s", M3_PER_S, CFM),
    facts(Kind::Speed, "speed", "700 rpm", "rpm", RPM, RPM),
    facts(Kind::Torque, "torque", "20 N m or 15 lbf ft", "nm", NEWTON_METRE, POUND_FOOT),
    facts(Kind::Power, "power", "4 kW or 5 hp", "w", WATT, HORSEPOWER),
    facts(Kind::KinematicViscosity, "kinematic viscosity", "35 mm2/s or 35 cSt", "mm2_per_s", MM2_PER_S, CENTISTOKES),
    facts(Kind::DynamicViscosity, "dynamic viscosity", "30 mPa s or 30 cP", "mpa_s", MILLIPASCAL_SECOND, CENTIPOISE),
    facts(Kind::Density, "density", "860 kg/m3 or 54 lb/ft3", "kg_per_m3", KG_PER_M3, LB_PER_FT3),
    facts(Kind::Temperature, "temperature", "80 C or 176 F", "c", CELSIUS, FAHRENHEIT),
    facts(Kind::TemperatureDifference, "temperature difference", "10 C or 18 F", "k", CELSIUS, FAHRENHEIT),
    facts(Kind::Share, "fraction", "85 % or 0.85", "share", PERCENT, PERCENT),
    facts(Kind::Number, "number", "1.2", "", PURE, PURE),
    facts(Kind::Length, "length", "12 mm or 0.5 in", "mm", MILLIMETRE, INCHES),
    facts(Kind::HoseLength, "length", "2 m or 6 ft", "m", METRE, FEET),
    facts(Kind::Altitude, "altitude", "500 m or 1600 ft", "m", METRE, FEET),
    facts(Kind::Area, "area", "0.5 m2 or 5 ft2", "m2", SQUARE_METRE, SQUARE_FOOT),
    facts(Kind::Volume, "volume", "10 L or 10 qt", "l", LITRE, QUART),
    facts(Kind::Mass, "mass", "10 kg or 22 lb", "kg", KILOGRAM, POUNDS),
    facts(Kind::Time, "time", "90 s or 1.5 min", "s", SECOND, SECOND),
    facts(Kind::RoadSpeed, "road speed", "80 km/h or 50 mph", "km_per_h", KM_PER_H, MPH),
    facts(Kind::AirSpeed, "air speed", "6 m/s or 1200 ft/min", "m_per_s", M_PER_S, FT_PER_MIN),
    facts(Kind::PerKelvin, "thermal expansion", "0.0007 1/K or 0.0004 1/F", "per_k", PER_KELVIN, PER_FAHRENHEIT),
    facts(Kind::PerPascal, "pressure-viscosity coefficient", "20 1/GPa", "per_gpa", PER_GIGAPASCAL, PER_GIGAPASCAL),
    facts(Kind::LaminarResistance, "laminar resistance", "20 1/mm3", "per_mm3", PER_MM3, PER_MM3),
    facts(Kind::ValveSlope, "valve slope", "0.5 bar/(L/min) or 25 psi/gpm", "bar_per_l_per_min", BAR_PER_L_PER_MIN, PSI_PER_GPM),
    facts(Kind::Conductance, "thermal conductance", "50 W/K", "w_per_k", WATT_PER_KELVIN, WATT_PER_KELVIN),
    facts(Kind::HeatCapacity, "heat capacity", "20 kJ/K", "j_per_k", JOULE_PER_KELVIN, JOULE_PER_KELVIN),
    facts(Kind::Current, "current", "0.5 A or 500 mA", "a", AMPERE, AMPERE),
    facts(Kind::Voltage, "voltage", "24 V", "v", VOLT, VOLT),
    facts(Kind::Cost, "cost", "40", "", MONEY, MONEY),
    facts(Kind::MassFlow, "mass flow", "5 g/s or 0.7 lb/min", "g_per_s", GRAM_PER_S, LB_PER_MIN),
];

// The build fails if a row of `FACTS` is missing or out of order.
const _: () = {
    assert!(FACTS.len() == Kind::MassFlow as usize + 1);
    let mut i = 0;
    while i < FACTS.len() {
        assert!(FACTS[i].kind as usize == i);
        i += 1;
    }
};

impl Kind {
    /// Name, example and printed units.
    pub(super) fn facts(self) -> &'static Facts {
        &FACTS[self as usize]
    }

    /// The kind under which the units of this kind are listed.
    pub(super) fn dimension(self) -> Kind {
        self.facts().si.measures
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The conversion factors agree with those of NIST SP 811 (2008), appendix B.8, which has seven digits.
    #[test]
    fn factors_agree_with_nist_sp_811() {
        for (unit, nist) in [
            (PSI, 6.894_757e3),
            (INCH_OF_WATER, 2.490_889e2),
            (MILLIMETRE_OF_WATER, 9.806_65),
            (INCH_OF_MERCURY, 3.386_389e3),
            (MILLIMETRE_OF_MERCURY, 1.333_224e2),
            (ATMOSPHERE, 1.013_25e5),
            (KILOGRAM_FORCE_PER_CM2, 9.806_65e4),
            (GPM, 6.309_020e-5),
            (CFM, 4.719_474e-4),
            (IN3_PER_MIN, 2.731_177e-7),
            (RPM, 1.047_198e-1),
            (POUND_FOOT, 1.355_818),
            (POUND_INCH, 1.129_848e-1),
            (HORSEPOWER, 7.456_999e2),
            (METRIC_HORSEPOWER, 7.354_988e2),
            (BTU_PER_H, 2.930_711e-1),
            (FT2_PER_S, 9.290_304e-2),
            (LB_PER_FT3, 1.601_846e1),
            (LB_PER_GAL, 1.198_264e2),
            (LB_PER_IN3, 2.767_990e4),
            (CUBIC_INCHES, 1.638_706e-5),
            (CUBIC_FEET, 2.831_685e-2),
            (GALLONS, 3.785_412e-3),
            (IMPERIAL_GALLONS, 4.546_09e-3),
            (QUART, 9.463_529e-4),
            (PINT, 4.731_765e-4),
            (FLUID_OUNCE, 2.957_353e-5),
            (POUNDS, 4.535_924e-1),
            (OUNCE, 2.834_952e-2),
            (SQUARE_INCH, 6.4516e-4),
            (KM_PER_H, 2.777_778e-1),
            (MPH, 4.4704e-1),
            (KNOT, 5.144_444e-1),
            (FT_PER_MIN, 5.08e-3),
            (BTU_PER_FAHRENHEIT, 1.899_101e3),
            (LB_PER_MIN, 7.559_873e-3),
        ] {
            let off = (unit.factor / nist - 1.0).abs();
            assert!(off < 5e-7, "{}: {} is not {nist}", unit.name(), unit.factor);
        }
    }

    #[test]
    fn longer_factors() {
        // Calculated by hand: 0.45359237 × 9.80665 / 0.0254², 550 × 0.3048 × 4.4482216152605,
        // 1000 × 9.80665 × 0.0254.
        for (unit, exact) in [
            (PSI, 6_894.757_293_168_361),
            (HORSEPOWER, 745.699_871_582_270_2),
            (INCH_OF_WATER, 249.088_91),
        ] {
            assert!(
                (unit.factor / exact - 1.0).abs() < 1e-15,
                "{}: {}",
                unit.name(),
                unit.factor
            );
        }
    }

    #[test]
    fn printed_units_fit_their_kind() {
        for row in FACTS {
            assert_eq!(row.si.measures, row.us.measures, "{}", row.name);
            assert_eq!(row.si.measures.dimension(), row.si.measures, "{}", row.name);
        }
    }
}
