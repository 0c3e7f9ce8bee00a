//! The fields common to most questions: machine, oil and operating condition.

use super::field::{Field, Group, Takes, Usual};
use super::values::{Intake, Values};
use crate::fault;
use crate::input;
use crate::model::{Ask, Case, Condition, Setup};
use crate::trouble::{Trouble, Troubles};

/// The declaration of the operating-condition input with a given key; an unknown key does not compile.
pub const fn declared(key: &str) -> &'static input::Field {
    let fields = Condition::<f64>::FIELDS;
    let mut k = 0;
    while !same(fields[k].key, key) {
        k += 1;
    }
    &fields[k]
}

/// The value type of a field for an operating-condition input; `words` are accepted instead of a number.
pub const fn condition(key: &str, words: &'static [&'static str]) -> Takes {
    let input = declared(key);
    Takes::Quantity(input.kind, input.low, input.high, words)
}

/// Whether two keys are the same.
const fn same(a: &str, b: &str) -> bool {
    let (a, b) = (a.as_bytes(), b.as_bytes());
    let mut k = 0;
    while k < a.len() && k < b.len() && a[k] == b[k] {
        k += 1;
    }
    k == a.len() && k == b.len()
}

/// Field for the machine.
pub const MACHINE: Field = Field::new("machine", Takes::Machine, "Machine")
    .help("light-truck, car, bus, off-road, or the path of a machine file or of a notebook.")
    .required()
    .by_place();

/// Field for the oil.
pub const OIL: Field = Field::new("oil", Takes::Oil, "Oil")
    .help("A name from the library, the path of an oil file, or the values of a data sheet.")
    .example("40C=35 cSt, 100C=7.4 cSt, 15C=850 kg/m3")
    .else_words("the machine's usual oil");

/// Field for the oil temperature.
pub const OIL_TEMP: Field = Field::new("oil_temp", condition("oil_temp", &[]), "Oil temperature")
    .help("Include the unit: 80 C, 175 F.")
    .example("80 C")
    .else_words("the machine's usual oil temperature");

/// Field for the engine speed.
pub const ENGINE_SPEED: Field = Field::new(
    "engine_speed",
    condition("engine_speed", &["idle", "raised", "full"]),
    "Engine speed",
)
.help("A speed such as 700 rpm, or a word: idle, raised, full.")
.example("700 rpm")
.else_words("idle");

/// Field for the fan command.
pub const COMMAND: Field = Field::new(
    "command",
    condition("command", &["full", "least"]),
    "Fan command",
)
.help("0 % to 100 %, or a word: least, full.")
.example("100 %")
.else_words("full");

/// The word for a command set by the fan control.
pub const AUTOMATIC: &str = "automatic";

/// Field for the fan command in questions where the fan control may set it.
pub const OWN_COMMAND: Field = Field {
    takes: condition("command", &[AUTOMATIC, "full", "least"]),
    ..COMMAND
}
.called(
    "Fan command",
    "0 % to 100 %, or a word: automatic (set by the fan control), least, full.",
)
.else_words(AUTOMATIC);

/// Field for the air temperature at the fan.
pub const AIR_TEMP: Field = Field::new(
    "air_temp",
    condition("air_temp", &[]),
    "Air temperature at the fan",
)
.help("Downstream of the core. Hot air is less dense and loads the fan less.")
.example("55 C")
.else_words("the machine's usual air temperature");

/// Field for the altitude.
pub const ALTITUDE: Field = Field::new("altitude", condition("altitude", &[]), "Altitude")
    .help("Determines the air pressure.")
    .example("1500 m")
    .else_words("sea level");

/// Field for machine inputs that are set individually.
pub const SET: Field = Field::new("set", Takes::Setting, "Value of a part to change")
    .help("An input and its value, such as pump.ratio=1.4, or a choice, such as choices.steering=first.")
    .example("pump.ratio=1.4")
    .many();

/// Switch for a control valve without electrical power.
pub const UNPLUGGED: Field = Field::new(
    "unplugged",
    Takes::Switch,
    "The control valve is unplugged, so it is in its fail-safe position",
);

/// Field for faults applied to the machine.
pub const WITH: Field = Field::new("with", Takes::Fault, "Fault")
    .help("A fault and its severity from 0 to 1. `oilwheel faults` lists the faults.")
    .example("worn-pump=0.4")
    .many();

/// Switch to compute at the steady oil and air temperatures.
pub const WARM: Field = Field::new("warm", Takes::Switch, "Compute at steady temperatures")
    .help("Uses the oil and air temperatures that the machine reaches if it keeps running under these conditions.");

/// Field for the baseline's oil in a comparison.
pub const AGAINST_OIL: Field =
    Field::new("against_oil", Takes::Oil, "The same case with another oil")
        .help("A name from the library, the path of an oil file, or the values of a data sheet.")
        .else_words("the same oil");

/// Field for the baseline's oil temperature in a comparison.
pub const AGAINST_OIL_TEMP: Field = Field::new(
    "against_oil_temp",
    condition("oil_temp", &[]),
    "The same case at another oil temperature",
)
.help("Include the unit.")
.example("20 C")
.else_words("the same temperature");

/// Field for the baseline's faults in a comparison.
pub const AGAINST_WITH: Field = Field::new(
    "against_with",
    Takes::Fault,
    "The same case with another fault",
)
.help("A fault and its severity. Severity 0 means no fault.")
.example("worn-pump=0.4")
.many();
/// Field for a measured fan speed with its uncertainty.
pub const MEASURED: Field = Field::new(
    "measured",
    Takes::Reading(crate::quantity::Kind::Speed),
    "A measured fan speed, with its uncertainty",
)
.example("640 rpm ± 10 rpm")
.else_words("none");

/// Group of the fields for machine and oil.
pub const MACHINE_AND_OIL: Group = Group::new("The machine", &[&MACHINE, &OIL]);
/// Group of the fields for the operating condition.
pub const MOMENT: Group = Group::new("Operating condition", &[&ENGINE_SPEED, &OIL_TEMP, &COMMAND]);
/// Group of the fields for air, altitude and the unplugged valve.
pub const AIR: Group = Group::folded(
    "Air, altitude, valve unplugged",
    &[&AIR_TEMP, &ALTITUDE, &UNPLUGGED],
);
/// Group of the field for applied faults.
pub const FAULT: Group = Group::folded("Apply a fault", &[&WITH]);
/// Group of the field for machine inputs set individually.
pub const SETTINGS: Group = Group::folded("Parts of the machine", &[&SET]);

/// Collects what the user entered for machine, oil and operating condition.
pub fn ask(values: &Values) -> Ask {
    let came_along = values.came_along(&MACHINE);
    let machine = match came_along {
        Some((name, _)) => name.to_string(),
        None => values.text(&MACHINE).unwrap_or_default(),
    };
    Ask {
        machine,
        machine_text: came_along.map(|(_, text)| text.to_string()),
        oil: values.text(&OIL),
        oil_temp: values.text(&OIL_TEMP),
        engine_speed: values.text(&ENGINE_SPEED),
        command: values.text(&COMMAND),
        air_temp: values.text(&AIR_TEMP),
        altitude: values.text(&ALTITUDE),
        set: values.list(&SET),
        unplugged: values.has(&UNPLUGGED),
        units: values.units,
    }
}

/// The same as `ask`, where the fan control may set the command: `automatic` leaves the command unset.
pub fn ask_automatic(values: &Values) -> Ask {
    let mut ask = ask(values);
    ask.command = ask.command.filter(|words| words != AUTOMATIC);
    ask
}

/// Resolves machine, oil and operating condition, with the requested faults applied.
pub fn read(values: &Values) -> Result<Setup, Troubles> {
    setup(&ask(values), values)
}

/// Resolves the machine, oil and operating condition of `ask`, with the requested faults applied.
pub fn setup(ask: &Ask, values: &Values) -> Result<Setup, Troubles> {
    Ok(with_healthy(ask, values)?.0)
}

/// The same as `setup`, and additionally the case without the faults.
pub fn with_healthy(ask: &Ask, values: &Values) -> Result<(Setup, Case), Troubles> {
    let own = |problem: Trouble| match &ask.machine_text {
        Some(_) if problem.spot.source == ask.machine => problem.on(MACHINE.key),
        _ => problem,
    };
    let setup = super::own::resolve(ask, values);
    let mut setup = setup.map_err(|all| all.into_iter().map(own).collect::<Troubles>())?;
    setup.stop = values.stop.clone();
    let healthy = setup.case;
    fault::put_on(&mut setup, &values.list(&WITH), WITH.key)?;
    Ok((setup, healthy))
}

impl Intake<'_> {
    /// Machine, oil and operating condition, with the requested faults applied; `None` if there were errors, which are
    /// recorded.
    pub fn basis(&mut self) -> Option<Setup> {
        read(self.values)
            .map_err(|all| self.problems.extend(all))
            .ok()
    }
}

/// Whether a field is required.
pub fn is_required(field: &Field) -> bool {
    field.usual == Usual::Required
}
