//! All inputs of one computation: those of the machine, of the oil, and of the operating condition.

use std::sync::LazyLock;

use crate::fluid::oil::{Curve, Oil, OilNow};
use crate::input::unit::{RPM, celsius};
use crate::input::{Field, Input, InputSet, Place, Places};
use crate::numeric::{Dual64, Real, Tape, Traced};
use crate::part::{
    AirPath, Alternator, Belt, Control, Coolant, CoolantPump, Cooler, Core, Element, Engine, Fan,
    FanControl, FanCurve, Front, Governor, Line, Motor, OilHeat, Pump, Regulator, Relief,
    Reservoir, Steering, Thermostat, Valve, Vehicle,
};
use crate::quantity::Measure;

crate::part! {
    /// The operating condition.
    Condition {
        engine_speed: Speed [0.0, 9000.0 * RPM] f64::NAN, Pump, "engine speed";
        oil_temp: Temperature [celsius(-60.0), celsius(200.0)] f64::NAN, Oil, "oil temperature";
        command: Share [0.0, 1.0] 1.0, Valve, "fan command; 0 is minimum, 1 is full";
        air_temp: Temperature [celsius(-60.0), celsius(150.0)] celsius(55.0), FanAir, "air temperature at the fan, downstream of the core";
        altitude: Altitude [-500.0, 5000.0] 0.0, FanAir, "altitude, from which the air pressure follows";
        ambient: Temperature [celsius(-60.0), celsius(80.0)] celsius(25.0), FanAir, "ambient air temperature";
        road_speed: RoadSpeed [0.0, 70.0] 0.0, FanAir, "road speed";
        grade: Share [-0.4, 0.4] 0.0, Heat, "grade of the road: rise divided by horizontal distance";
        trailer: Mass [0.0, 60e3] 0.0, Heat, "trailer mass; 0 without a trailer";
        air_conditioning: Share [0.0, 1.0] 0.0, Heat, "operating fraction of the air conditioning; 0 is off, 1 is full";
        cabin_heater: Share [0.0, 1.0] 0.0, Heat, "operating fraction of the cabin heater; 0 is off, 1 is full heat";
        work: Power [0.0, 1000e3] 0.0, Heat, "engine power for work other than driving";
        fuel_heat: Power [0.0, 3000e3] 0.0, Heat, "heat released by the fuel, if measured; 0 to compute it from the load";
    }
}

/// Configuration options of a machine. In files each has two words: the first means `false`, the default, and the
/// second `true`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Shape {
    /// Whether the flow regulator returns its excess flow to the pump inlet inside the pump, so that the suction hose
    /// carries only the delivered flow. Otherwise the excess returns to the reservoir, and the suction hose carries the
    /// whole pump flow.
    pub recirculates: bool,
    /// Whether the control valve discharges into the motor outlet; otherwise into the reservoir.
    pub valve_to_motor_outlet: bool,
    /// Whether the power steering has priority over the fan motor; otherwise it is in series, downstream of the motor.
    pub steering_first: bool,
    /// Whether the control valve is unplugged, and therefore in its fail-safe position.
    pub unplugged: bool,
}

macro_rules! case {
    ({ $( $slot:ident: $Part:ident, $key:literal $(, at $place:ident)?; )* }
     optional { $( $option:ident: $OptionPart:ident, $option_key:literal $(, at $option_place:ident)?; )* }) => {
        /// All inputs of a case, each as a value of type `T`.
        #[derive(Clone, Copy, Debug, PartialEq)]
        pub struct Case<T = f64> {
            $(#[doc = concat!("`", $key, "`")] pub $slot: $Part<T>,)*
            $(#[doc = concat!("`", $option_key, "`, if the machine has one")] pub $option: Option<$OptionPart<T>>,)*
            /// The viscosity curve of the oil.
            pub curve: Curve,
            /// Configuration options.
            pub shape: Shape,
            /// A second oil that replaces the case's own oil in some places of the circuit. It is used to find how much
            /// each place contributes to the difference between two cases.
            pub elsewhere: Option<Elsewhere<T>>,
            /// If the case holds uncertainties instead of values: the inputs whose uncertainty is a factor rather than
            /// a half-width.
            pub factors: InputSet,
        }

        /// The declarations of all parts, in the order of the inputs.
        pub const PARTS: &[PartDeclaration] = &[
            $(PartDeclaration { key: $key, fields: $Part::<f64>::FIELDS, place: case!(@place $($place)?), optional: false },)*
            $(PartDeclaration { key: $option_key, fields: $OptionPart::<f64>::FIELDS, place: case!(@place $($option_place)?), optional: true },)*
        ];

        /// The identifiers of all inputs, by part and field.
        #[derive(Clone, Copy, Debug)]
        pub struct Inputs {
            $(#[doc = concat!("`", $key, "`")] pub $slot: $Part<Input>,)*
            $(#[doc = concat!("`", $option_key, "`")] pub $option: $OptionPart<Input>,)*
        }

        /// Number of inputs.
        pub const COUNT: usize = 0 $(+ $Part::<f64>::FIELDS.len())* $(+ $OptionPart::<f64>::FIELDS.len())*;

        /// The identifiers of all inputs, by part and field, such as `INPUTS.pump.ratio`.
        pub const INPUTS: Inputs = {
            let mut base = 0;
            $(let $slot = $Part::<f64>::inputs(base as u8); base += $Part::<f64>::FIELDS.len();)*
            $(let $option = $OptionPart::<f64>::inputs(base as u8); base += $OptionPart::<f64>::FIELDS.len();)*
            assert!(base == COUNT && COUNT < u8::MAX as usize);
            Inputs { $($slot,)* $($option,)* }
        };

        impl<T> Case<T> {
            /// A copy of the case with each value transformed by `f`, which receives the input and its value.
            pub fn map<U>(&self, f: &mut impl FnMut(Input, &T) -> U) -> Case<U> {
                let mut base = 0;
                $(
                    let $slot = self.$slot.map(&mut |i, v| f(Input::numbered((base + i) as u8), v));
                    base += $Part::<f64>::FIELDS.len();
                )*
                $(
                    let $option = self.$option.as_ref().map(|p| p.map(&mut |i, v| f(Input::numbered((base + i) as u8), v)));
                    base += $OptionPart::<f64>::FIELDS.len();
                )*
                let _ = base;
                let elsewhere = self.elsewhere.as_ref().map(|e| Elsewhere {
                    places: e.places,
                    curve: e.curve,
                    oil: e.oil.map(&mut |_, v| f(NOWHERE, v)),
                    oil_temp: f(NOWHERE, &e.oil_temp),
                });
                Case { $($slot,)* $($option,)* curve: self.curve, shape: self.shape, elsewhere, factors: self.factors }
            }

            /// The value of an input; `None` if the machine has no such part.
            fn value(&self, input: Input) -> Option<&T> {
                let mut at = input.number();
                $(
                    if at < $Part::<f64>::FIELDS.len() { return self.$slot.value(at); }
                    at -= $Part::<f64>::FIELDS.len();
                )*
                $(
                    if at < $OptionPart::<f64>::FIELDS.len() { return self.$option.as_ref().and_then(|p| p.value(at)); }
                    at -= $OptionPart::<f64>::FIELDS.len();
                )*
                let _ = at;
                None
            }

            /// The value of an input, mutable; `None` if the machine has no such part.
            pub fn slot(&mut self, input: Input) -> Option<&mut T> {
                let mut at = input.number();
                $(
                    if at < $Part::<f64>::FIELDS.len() { return self.$slot.slot(at); }
                    at -= $Part::<f64>::FIELDS.len();
                )*
                $(
                    if at < $OptionPart::<f64>::FIELDS.len() { return self.$option.as_mut().and_then(|p| p.slot(at)); }
                    at -= $OptionPart::<f64>::FIELDS.len();
                )*
                let _ = at;
                None
            }

            /// Builds a case from `f`, which gives the value of each input, and `has`, which states whether an optional
            /// part exists.
            pub fn try_make<E>(
                curve: Curve,
                shape: Shape,
                has: impl Fn(&str) -> bool,
                mut f: impl FnMut(Input) -> Result<T, E>,
            ) -> Result<Self, E> {
                let mut base = 0;
                $(
                    let $slot = $Part::try_make(&mut |i| f(Input::numbered((base + i) as u8)))?;
                    base += $Part::<f64>::FIELDS.len();
                )*
                $(
                    let $option = if has($option_key) { Some($OptionPart::try_make(&mut |i| f(Input::numbered((base + i) as u8)))?) } else { None };
                    base += $OptionPart::<f64>::FIELDS.len();
                )*
                let _ = base;
                Ok(Case { $($slot,)* $($option,)* curve, shape, elsewhere: None, factors: InputSet::default() })
            }
        }
    };
    (@place) => { None };
    (@place $place:ident) => { Some(Place::$place) };
}

case! {
{
    pump: Pump, "pump";
    relief: Relief, "relief";
    valve: Valve, "valve";
    control: Control, "control";
    supply: Line, "supply";
    return_line: Line, "return";
    suction: Line, "suction", at Inlet;
    motor: Motor, "motor";
    fan: Fan, "fan";
    reservoir: Reservoir, "reservoir";
    oil: Oil, "oil";
    now: Condition, "now";
}
optional {
    belt: Belt, "belt";
    regulator: Regulator, "regulator";
    governor: Governor, "governor";
    screen: Element, "screen", at Inlet;
    filter: Element, "filter";
    cooler: Cooler, "cooler";
    steering: Steering, "steering";
    fan_curve: FanCurve, "fan_curve";
    core: Core, "core";
    air: AirPath, "air";
    front_1: Front, "front_1";
    front_2: Front, "front_2";
    front_3: Front, "front_3";
    coolant: Coolant, "coolant";
    coolant_pump: CoolantPump, "coolant_pump";
    thermostat: Thermostat, "thermostat";
    fan_control: FanControl, "fan_control";
    engine: Engine, "engine";
    vehicle: Vehicle, "vehicle";
    oil_heat: OilHeat, "oil_heat";
    alternator: Alternator, "alternator";
}
}

/// Placeholder passed instead of an input for values that are not inputs, such as those of the second oil.
const NOWHERE: Input = Input::numbered(u8::MAX);

/// The declaration of one part of a case.
#[derive(Clone, Copy, Debug)]
pub struct PartDeclaration {
    /// Key of the part.
    pub key: &'static str,
    /// Fields of the part.
    pub fields: &'static [Field],
    /// The place in the circuit where all fields of the part act; `None` if each field states its own.
    pub place: Option<Place>,
    /// Whether the part is optional.
    pub optional: bool,
}

/// A second oil that acts in some places of the circuit instead of the case's own oil.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Elsewhere<T> {
    /// The places in which the second oil acts.
    pub places: Places,
    /// Viscosity curve of the second oil.
    pub curve: Curve,
    /// Other properties of the second oil.
    pub oil: Oil<T>,
    /// Temperature of the second oil.
    pub oil_temp: T,
}

/// Named constants for common inputs; [`INPUTS`] has all of them.
impl Input {
    /// Engine speed.
    pub const ENGINE_SPEED: Input = INPUTS.now.engine_speed;
    /// Oil temperature.
    pub const OIL_TEMP: Input = INPUTS.now.oil_temp;
    /// The command of the control.
    pub const COMMAND: Input = INPUTS.now.command;
    /// Air temperature at the fan.
    pub const AIR_TEMP: Input = INPUTS.now.air_temp;
    /// Altitude.
    pub const ALTITUDE: Input = INPUTS.now.altitude;
    /// Temperature of the ambient air.
    pub const AMBIENT: Input = INPUTS.now.ambient;
    /// Road speed.
    pub const ROAD_SPEED: Input = INPUTS.now.road_speed;
    /// Factor on the viscosity of the oil.
    pub const OIL_THICKNESS: Input = INPUTS.oil.thickness;
}

impl Input {
    /// All inputs in order.
    pub fn all() -> impl Iterator<Item = Input> {
        (0..COUNT).map(|i| Input::numbered(i as u8))
    }

    /// The declarations of the input's part and field.
    fn declaration(self) -> (&'static PartDeclaration, &'static Field) {
        let mut at = self.number();
        for part in PARTS {
            match part.fields.get(at) {
                Some(field) => return (part, field),
                None => at -= part.fields.len(),
            }
        }
        (&PARTS[0], &PARTS[0].fields[0])
    }

    /// The declaration of the input's field.
    pub fn field(self) -> &'static Field {
        self.declaration().1
    }

    /// The key of the part that the input belongs to.
    pub fn part(self) -> &'static str {
        self.declaration().0.key
    }

    /// Key of the input: `pump.displacement`.
    pub fn key(self) -> String {
        let (part, field) = self.declaration();
        format!("{}.{}", part.key, field.key)
    }

    /// The place in the circuit where the input acts.
    pub fn place(self) -> Place {
        static PLACES: LazyLock<Vec<Place>> = LazyLock::new(|| {
            PARTS
                .iter()
                .flat_map(|p| p.fields.iter().map(|f| p.place.unwrap_or(f.place)))
                .collect()
        });
        PLACES.get(self.number()).copied().unwrap_or(Place::Oil)
    }

    /// The input with a key such as `pump.displacement`.
    pub fn find(key: &str) -> Option<Input> {
        Input::all().find(|i| i.key() == key)
    }
}

impl<T: Copy> Case<T> {
    /// The value of an input; `None` if the machine has no such part.
    pub fn get(&self, input: Input) -> Option<T> {
        self.value(input).copied()
    }

    /// A copy of the case with one input set; unchanged if the machine lacks the part.
    pub fn with(&self, input: Input, value: T) -> Self {
        let mut copy = *self;
        if let Some(slot) = copy.slot(input) {
            *slot = value;
        }
        copy
    }

    /// Whether another case has the same parts and configuration options, so that the two can be combined with `Mix`.
    pub fn same_shape(&self, other: &Case<T>) -> bool {
        self.shape == other.shape
            && Input::all().all(|i| self.get(i).is_some() == other.get(i).is_some())
    }
}

impl Case {
    /// For a case that holds uncertainties: a copy in which one input has the uncertainty of `measure`, either a
    /// half-width or a factor.
    pub fn with_uncertainty(&self, input: Input, measure: Measure) -> Self {
        let mut copy = self.with(input, measure.spread);
        copy.factors.put(input, measure.factor);
        copy
    }
}

impl Case {
    /// Converts the case to dual numbers, which carry the derivative with respect to one input.
    pub fn along(&self, input: Input) -> Case<Dual64> {
        self.map(&mut |i, v| Dual64::new(*v, if i == input { 1.0 } else { 0.0 }))
    }

    /// Computes the derivatives of the results of `reckon` with respect to all inputs that `along` selects, in one
    /// pass.
    pub fn slopes(
        &self,
        along: impl Fn(Input) -> bool,
        reckon: impl FnOnce(&Case<Traced>) -> Vec<Traced>,
    ) -> Slopes {
        self.slopes_about(f64::NAN, along, |case, _| reckon(case)).1
    }

    /// Computes the derivatives of results that also depend on an additional unknown, at the value `unknown`. Returns
    /// the derivatives with respect to this unknown, and those with respect to the inputs.
    pub fn slopes_about(
        &self,
        unknown: f64,
        along: impl Fn(Input) -> bool,
        reckon: impl FnOnce(&Case<Traced>, Traced) -> Vec<Traced>,
    ) -> (Vec<f64>, Slopes) {
        let mut tape = Tape::begin();
        let unknown = tape.input(unknown);
        let (mut row, mut next) = ([None; COUNT], 0..);
        let traced = self.map(&mut |input, v| {
            if input == NOWHERE || !along(input) {
                return Traced::from(*v);
            }
            row[input.number()] = next.next();
            tape.input(*v)
        });
        let results = reckon(&traced, unknown);
        let width = results.len();
        let mut across = tape.slopes(&results);
        let rows = across.split_off(width);
        (across, Slopes { width, row, rows })
    }

    /// Converts the case to dual numbers with zero derivatives.
    pub fn constant(&self) -> Case<Dual64> {
        self.map(&mut |_, v| Dual64::from(*v))
    }
}

/// The derivatives of results with respect to inputs.
#[derive(Clone, Debug)]
pub struct Slopes {
    width: usize,
    row: [Option<u8>; COUNT],
    rows: Vec<f64>,
}

impl Slopes {
    /// The derivative of each result with respect to an input; `None` if it was not requested.
    pub fn along(&self, input: Input) -> Option<&[f64]> {
        let at = usize::from((*self.row.get(input.number())?)?) * self.width;
        Some(&self.rows[at..at + self.width])
    }

    /// Converts the derivatives to total ones, for an unknown that adjusts itself so that the first result stays
    /// constant; `across` holds the derivatives with respect to this unknown.
    pub fn giving(mut self, across: &[f64]) -> Self {
        for row in self.rows.chunks_exact_mut(self.width) {
            let gives = -row[0] / across[0];
            let pairs = row.iter_mut().zip(across);
            pairs.for_each(|(slope, across)| *slope += gives * across);
        }
        self
    }
}

impl<N: Real> Case<N> {
    /// Returns a function that gives the oil, with its present properties, in each place of the circuit.
    pub fn oils(&self) -> impl Fn(Place) -> OilNow<N> {
        let own = self.oil.now(&self.curve, self.now.oil_temp);
        let other = self
            .elsewhere
            .as_ref()
            .map(|e| (e.places, e.oil.now(&e.curve, e.oil_temp)));
        move |place| match other {
            Some((places, oil)) if places.has(place) => oil,
            _ => own,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_input_with_a_name_is_what_it_says() {
        for (input, key) in [
            (Input::ENGINE_SPEED, "now.engine_speed"),
            (Input::OIL_TEMP, "now.oil_temp"),
            (Input::COMMAND, "now.command"),
            (Input::AIR_TEMP, "now.air_temp"),
            (Input::ALTITUDE, "now.altitude"),
            (Input::AMBIENT, "now.ambient"),
            (Input::ROAD_SPEED, "now.road_speed"),
            (Input::OIL_THICKNESS, "oil.thickness"),
            (INPUTS.return_line.bore, "return.bore"),
            (INPUTS.front_3.share, "front_3.share"),
        ] {
            assert_eq!(input.key(), key);
            assert_eq!(Input::find(key), Some(input));
        }
    }

    #[test]
    fn the_keys_of_inputs_are_all_different() {
        let keys: std::collections::BTreeSet<String> = Input::all().map(Input::key).collect();
        assert_eq!(keys.len(), COUNT);
    }
}
