//! Facts of the machine that can be found out like the result of a test: with a tape measure, or from a nameplate or a
//! document. The durations are engineering assumptions.

use super::{Engine, Probe, Setting, What};
use crate::input::Input;
use crate::model::Hazard::{Belts, Fan, Hot, ReliefSetting};
use crate::model::{Hazard, INPUTS};

/// Placeholder, because a fact does not depend on the operating condition.
const ANY: Setting = Setting {
    engine: Engine::Idle,
    oil_temp: None,
    air: None,
    command: 1.0,
    unplugged: false,
    settled: None,
};

const fn fact(
    key: &'static str,
    name: &'static str,
    input: Input,
    effort_minutes: f64,
    (tools, how): (&'static str, &'static str),
    hazards: &'static [Hazard],
) -> Probe {
    Probe {
        key,
        name,
        what: What::Fact(input),
        setting: ANY,
        only_where: "",
        instrument: "",
        effort_minutes,
        tools,
        how,
        hazards,
    }
}

/// All facts that are worth finding out; the key of each is that of the input whose value it gives.
pub const FACTS: &[Probe] = &[
    fact(
        "pump.ratio",
        "pulley ratio, measured: crankshaft pulley diameter over pump pulley diameter",
        INPUTS.pump.ratio,
        10.0,
        (
            "tape measure",
            "Engine off. Measure the diameter of both pulleys where the belt runs, not at the rim. The ratio is the diameter of the crankshaft pulley divided by that of the pump pulley.",
        ),
        &[Belts, Fan, Hot],
    ),
    fact(
        "pump.displacement",
        "pump displacement, from its nameplate or part number",
        INPUTS.pump.displacement,
        15.0,
        (
            "torch, mirror",
            "Engine off. Read the displacement in cm³ per revolution from the nameplate. Or note the number on the housing and look it up in the parts list.",
        ),
        &[Belts, Fan, Hot],
    ),
    fact(
        "motor.displacement",
        "motor displacement, from its nameplate or part number",
        INPUTS.motor.displacement,
        15.0,
        (
            "torch, mirror",
            "Engine off. Read the displacement in cm³ per revolution from the nameplate. Or note the number on the housing and look it up in the parts list.",
        ),
        &[Fan, Hot],
    ),
    fact(
        "fan.rated_power",
        "fan shaft power at rated speed, from the maker",
        INPUTS.fan.rated_power,
        20.0,
        (
            "part number of the fan",
            "Ask the fan maker for the shaft power at the rated speed and air density that the machine file states.",
        ),
        &[Fan],
    ),
    fact(
        "valve.high",
        "pressure at full fan command, from the service information",
        INPUTS.valve.high,
        15.0,
        (
            "service information",
            "Look up the pressure that the control valve sets at full command. Do not adjust the valve.",
        ),
        &[ReliefSetting],
    ),
    fact(
        "regulator.rated_flow",
        "rated flow of the pump's regulator, from the service information",
        INPUTS.regulator.rated_flow,
        15.0,
        (
            "service information",
            "Look up the rated flow of the pump with this part number.",
        ),
        &[ReliefSetting],
    ),
    fact(
        "relief.setting",
        "relief valve setting, from the service information",
        INPUTS.relief.setting,
        15.0,
        (
            "service information",
            "Look up the relief valve setting for this machine. Do not adjust the valve.",
        ),
        &[ReliefSetting],
    ),
];
