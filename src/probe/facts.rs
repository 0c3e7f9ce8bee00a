//! Facts of the machine as tests: read from a tape measure, a nameplate or a document. Minutes are engineering
//! assumptions.

use super::{Engine, Probe, Setting, What};
use crate::input::Input;
use crate::model::Hazard::{Belts, Fan, Hot, ReliefSetting};
use crate::model::{Hazard, INPUTS};

/// Placeholder condition: a fact has no condition.
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

/// All facts worth asking for; the key of each is that of its input.
pub const FACTS: &[Probe] = &[
    fact(
        "pump.ratio",
        "both pulleys, measured: crankshaft's over pump's",
        INPUTS.pump.ratio,
        10.0,
        (
            "tape measure",
            "Engine off. Measure both pulleys where the belt runs, not at the rim; the ratio is the crankshaft's over the pump's.",
        ),
        &[Belts, Fan, Hot],
    ),
    fact(
        "pump.displacement",
        "the pump's displacement, from its plate or part number",
        INPUTS.pump.displacement,
        15.0,
        (
            "torch, mirror",
            "Engine off. The plate or the number on the housing, then the parts list: cm³ a revolution.",
        ),
        &[Belts, Fan, Hot],
    ),
    fact(
        "motor.displacement",
        "the fan motor's displacement, from its plate or part number",
        INPUTS.motor.displacement,
        15.0,
        (
            "torch, mirror",
            "Engine off. The plate or the number on the housing, then the parts list: cm³ a revolution.",
        ),
        &[Fan, Hot],
    ),
    fact(
        "fan.rated_power",
        "the power that the fan takes at its rated speed, from its maker",
        INPUTS.fan.rated_power,
        20.0,
        (
            "the fan's number",
            "Ask the maker of the fan for its shaft power at the rated speed and air that the machine file names.",
        ),
        &[Fan],
    ),
    fact(
        "valve.high",
        "the pressure that full fan asks for, from the service information",
        INPUTS.valve.high,
        15.0,
        (
            "service information",
            "The control valve's pressure at full command. Read it; do not turn it.",
        ),
        &[ReliefSetting],
    ),
    fact(
        "regulator.rated_flow",
        "the flow that the pump's regulator holds, from the service information",
        INPUTS.regulator.rated_flow,
        15.0,
        (
            "service information",
            "The rated flow of the pump with this number.",
        ),
        &[ReliefSetting],
    ),
    fact(
        "relief.setting",
        "the relief valve's setting, from the service information",
        INPUTS.relief.setting,
        15.0,
        (
            "service information",
            "The setting for this machine. Read it; do not turn it.",
        ),
        &[ReliefSetting],
    ),
];
