//! All heat flows at one set of temperatures.

mod needs;
mod streams;

use super::air::{AirWay, Airflow, fronts};
use crate::fluid::{air, coolant};
use crate::model::Case;
use crate::numeric::Real;
use crate::part::{
    AirPath, Coolant, CoolantPump, Core, Engine, OilHeat, Thermostat, air_conditioning_load,
};
pub use needs::HEAT_PARTS;
pub(super) use needs::{missing, sound_machine};
use streams::Streams;

/// All heat flows at one set of temperatures. Heat in W, temperatures in K.
#[derive(Clone, Copy, Debug)]
pub struct Budget<N = f64> {
    /// Temperature of the coolant leaving the engine.
    pub coolant_temp: N,
    /// Temperature of the coolant leaving the core.
    pub return_temp: N,
    /// Oil temperature.
    pub oil_temp: N,
    /// Temperature of the ambient air.
    pub ambient: N,
    /// Temperature of the air at the front of the core: a mixture of ambient and recirculated air.
    pub intake_temp: N,
    /// Temperature of the air downstream of the core.
    pub air_temp: N,
    /// Heat flow released by the fuel.
    pub fuel_heat: N,
    /// Power at the engine's shaft.
    pub engine_power: N,
    /// Power at the pump's shaft, included in the engine's power.
    pub pump_power: N,
    /// Heat flow into the engine's metal, most of which passes on to the coolant.
    pub engine_heat: N,
    /// Temperature of the engine's metal.
    pub metal_temp: N,
    /// Heat rejected by block, sump and hoses to the surrounding air.
    pub surface_heat: N,
    /// Heat taken from the coolant by the cabin heater.
    pub cabin_heat: N,
    /// Heat from the coolant into the core.
    pub core_heat: N,
    /// Heat from the core to the air; in a steady state equal to the heat from the coolant.
    pub radiator_heat: N,
    /// Heat that the losses of the hydraulic drive release into the oil.
    pub oil_heat: N,
    /// Heat into the oil from the engine's metal.
    pub oil_engine_heat: N,
    /// Heat rejected by the oil cooler.
    pub oil_cooler_heat: N,
    /// Heat rejected by the oil's surfaces.
    pub oil_surface_heat: N,
    /// Heat that the condenser and other coolers release into the air upstream of the core.
    pub ahead_heat: N,
    /// Heat that the condenser alone releases into the air upstream of the core.
    pub condenser_heat: N,
    /// Fraction of the condenser's heat load that it can reject; less than 1 if the compressor cycles.
    pub condenser_share: N,
    /// Condensing temperature of the refrigerant; equal to the temperature of the intake air if nothing condenses.
    pub condensing_temp: N,
    /// Flow of the coolant pump, m³/s.
    pub coolant_flow: N,
    /// Flow of coolant through the core, m³/s.
    pub radiator_flow: N,
    /// The airflow.
    pub airflow: Airflow<N>,
    /// Heat transfer of the core.
    pub passing: Passing<N>,
    /// Heat capacity flow of the air (mass flow times specific heat), W/K.
    pub air_capacity_flow: N,
    /// Heat carried away by the air: downstream of the core, by what auxiliary fans blow back out of its front, and by
    /// what drifts in downstream.
    pub carried_heat: N,
    /// Residuals of the heat balance: the surplus heat flow into the coolant, the oil, and the air downstream of the
    /// core.
    pub left: [N; 3],
}

/// Heat transfer of the core from coolant to air: thermal conductances in W/K.
#[derive(Clone, Copy, Debug)]
pub struct Passing<N = f64> {
    /// Overall conductance, based on the difference between the inlet temperatures of coolant and air, in a steady
    /// state.
    pub whole: N,
    /// Conductance from the coolant to the core's metal.
    pub from_coolant: N,
    /// Conductance from the core's metal to the air. The series connection of `from_coolant` and `to_air` gives
    /// `whole`.
    pub to_air: N,
    /// Temperature of the incoming air, K, averaged over the zones by their heat transfer.
    pub arriving: N,
}

/// The parts of the machine that the heat balance requires.
pub(super) struct Parts<'a, N> {
    pub core: &'a Core<N>,
    pub path: &'a AirPath<N>,
    pub coolant: &'a Coolant<N>,
    pub pump: &'a CoolantPump<N>,
    pub thermostat: &'a Thermostat<N>,
    pub engine: &'a Engine<N>,
    pub oil: &'a OilHeat<N>,
}

impl<'a, N: Real> Parts<'a, N> {
    pub fn of(case: &'a Case<N>) -> Option<Self> {
        Some(Self {
            core: case.core.as_ref()?,
            path: case.air.as_ref()?,
            coolant: case.coolant.as_ref()?,
            pump: case.coolant_pump.as_ref()?,
            thermostat: case.thermostat.as_ref()?,
            engine: case.engine.as_ref()?,
            oil: case.oil_heat.as_ref()?,
        })
    }
}

/// Results of the oil circuit that the heat balance uses.
pub(super) struct Drive<N> {
    pub omega: N,
    pub pump_power: N,
    pub fan_power: N,
    /// Estimate of the fan's mass flow divided by its speed, kg/rad.
    pub air: f64,
}

/// Temperatures of the bodies that store heat in a transient, K.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bodies<N> {
    /// Temperature of the engine metal that responds fast.
    pub metal: N,
    /// Temperature of the core.
    pub core: N,
}

/// Air speed below which a zone of the core face is taken to transfer no heat, m/s.
const STILL: f64 = 1e-6;

/// Heat capacity flow, W/K, of the ambient air that drifts in downstream of the core if there is no forced airflow:
/// about one gram per second *(engineering assumption; the air there thus cools to ambient temperature when the fan
/// stops, without a step when the fan starts)*.
const DRIFT: f64 = 1.0;

/// Exponent of air speed in the conductance of the oil cooler *(engineering assumption)*.
const OIL_COOLER_EXPONENT: f64 = 0.5;

impl<N: Real> Budget<N> {
    /// The heat flows at the oil, air and ambient temperatures of the case and a given coolant temperature. Without
    /// `bodies`, the metal of core and engine is taken to store no heat.
    pub(super) fn of(
        case: &Case<N>,
        drive: &Drive<N>,
        coolant_temp: N,
        bodies: Option<Bodies<N>>,
    ) -> Option<Self> {
        let parts = Parts::of(case)?;
        let way = AirWay::of(case)?;
        let now = &case.now;
        let airflow = way.airflow_near(drive.omega, drive.air);

        // Air that enters the core; auxiliary fans may blow some of it back out through other zones of the face.
        let inward = airflow.mass + airflow.back;
        let round = if airflow.back.re() > 0.0 {
            parts
                .path
                .recirculated_with_fans(now.road_speed, airflow.back / inward)
        } else {
            parts.path.recirculated(now.road_speed)
        };
        let intake = now.ambient + round * (now.air_temp - now.ambient);
        let air_heat = air::heat_capacity((intake + now.air_temp) * 0.5);
        let air_capacity_flow = inward * air_heat;

        let vehicle = case.vehicle.as_ref();
        let road = vehicle.map_or(N::from(0.0), |v| {
            v.road_power(now.road_speed, now.grade, now.trailer, way.outer)
        });
        let engine = parts.engine;
        let conditioning = now.air_conditioning
            * air_conditioning_load(now.ambient)
            * parts.coolant.lets_air_conditioning(coolant_temp);
        let compressor = engine.air_conditioning * conditioning;
        let others = road + engine.accessories + now.work + drive.pump_power;

        let coolant_flow = parts.pump.flow_at(now.engine_speed) * parts.core.flow_left();
        let radiator_flow = coolant_flow * parts.thermostat.opening(coolant_temp);
        let glycol = parts.coolant.glycol;
        let coolant_capacity = radiator_flow * coolant::capacity(glycol, coolant_temp);
        let oil_heat = drive.pump_power - drive.fan_power;
        let oil_surface_heat = parts.oil.surface * (now.oil_temp - now.air_temp);
        let cabin_heat = parts.coolant.heater * now.cabin_heater * (coolant_temp - now.ambient);
        // With the engine off, the oil of the drive does not flow, and the surface loss of the stopped engine already
        // includes its heat loss to the oil.
        let runs = f64::from(u8::from(now.engine_speed.re() > 0.0));
        let to_oil = parts.oil.engine * runs;

        let streams = Streams {
            case,
            fronts: fronts(case),
            tubes: N::from(1.0) - parts.core.blocked_tubes,
            parts,
            way,
            airflow,
            intake,
            air_heat,
            coolant_temp,
            coolant_flow: radiator_flow,
            coolant_capacity,
            conditioning,
            load: engine.load(others + compressor),
            film: coolant::film(glycol, coolant_temp),
        };
        let crossed = streams.crossed(bodies.as_ref().map(|b| b.core));
        // A compressor that cycles draws power for only a fraction of the time.
        let engine_power = others + compressor * crossed.condenser_share;
        let fired = engine.fired(now.engine_speed, engine_power, now.fuel_heat);
        let around = [coolant_temp, now.oil_temp, now.air_temp];
        let metal_temp = bodies.map_or_else(
            || engine.metal_temp(now.engine_speed, fired.metal, around, to_oil),
            |b| b.metal,
        );
        let (surface_heat, _) = engine.surface_heat(now.engine_speed, metal_temp - now.air_temp);
        let oil_engine_heat = to_oil * (metal_temp - now.oil_temp);
        let ahead_heat = crossed.condenser + crossed.other;
        let carried = air_capacity_flow * (now.air_temp - intake)
            + crossed.blown_out
            + drifting(air_capacity_flow) * (now.air_temp - now.ambient);
        Some(Self {
            coolant_temp,
            return_temp: if coolant_capacity.re() > 0.0 {
                coolant_temp - crossed.core_heat / coolant_capacity
            } else {
                coolant_temp
            },
            oil_temp: now.oil_temp,
            ambient: now.ambient,
            intake_temp: intake,
            air_temp: now.air_temp,
            fuel_heat: fired.fuel,
            engine_power,
            pump_power: drive.pump_power,
            engine_heat: fired.metal,
            metal_temp,
            surface_heat,
            cabin_heat,
            core_heat: crossed.core_heat,
            radiator_heat: crossed.radiator_heat,
            oil_heat,
            oil_engine_heat,
            oil_cooler_heat: crossed.oil_cooler,
            oil_surface_heat,
            ahead_heat,
            condenser_heat: crossed.condenser,
            condenser_share: crossed.condenser_share,
            condensing_temp: crossed.condensing,
            coolant_flow,
            radiator_flow,
            airflow,
            passing: crossed.passing,
            air_capacity_flow,
            carried_heat: carried,
            left: [
                fired.metal - surface_heat - oil_engine_heat - cabin_heat - crossed.core_heat,
                oil_heat + oil_engine_heat - crossed.oil_cooler - oil_surface_heat,
                crossed.radiator_heat + crossed.oil_cooler + ahead_heat - carried,
            ],
        })
    }
}

/// Heat capacity flow, W/K, of the ambient air that drifts in downstream of the core in addition to a forced `flow`
/// (W/K): [`DRIFT`] without forced airflow, almost zero with it.
pub(super) fn drifting<N: Real>(flow: N) -> N {
    (flow + DRIFT).recip() * (DRIFT * DRIFT)
}
