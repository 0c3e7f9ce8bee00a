//! All heat flows at one set of temperatures.

use super::air::{AirWay, Airflow, BARE, ZONES, fronts};
use crate::fluid::{air, coolant};
use crate::input::unit::celsius;
use crate::law::effectiveness_kays_london as exchanger;
use crate::model::Case;
use crate::numeric::{Real, greater, lesser, positive};
use crate::part::{AirPath, Coolant, CoolantPump, Core, Engine, Front, OilHeat, Thermostat};
use crate::trouble::Trouble;

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
    /// Temperature of the air at the core's front: ambient air and recirculated air.
    pub intake_temp: N,
    /// Temperature of the air downstream of the core.
    pub air_temp: N,
    /// Heat of the fuel.
    pub fuel_heat: N,
    /// Power at the engine's shaft.
    pub engine_power: N,
    /// Power at the pump's shaft, a part of it.
    pub pump_power: N,
    /// Heat into the engine's metal, and from there into the coolant.
    pub engine_heat: N,
    /// Temperature of the engine's metal.
    pub metal_temp: N,
    /// Heat rejected by block, sump and hoses to the surrounding air.
    pub surface_heat: N,
    /// Heat rejected by the cabin heater.
    pub cabin_heat: N,
    /// Heat from the coolant into the core.
    pub core_heat: N,
    /// Heat from the core to the air; in a steady state equal to the heat from the coolant.
    pub radiator_heat: N,
    /// Heat into the oil from the drive.
    pub oil_heat: N,
    /// Heat into the oil from the engine's metal.
    pub oil_engine_heat: N,
    /// Heat rejected by the oil cooler.
    pub oil_cooler_heat: N,
    /// Heat rejected by the oil's surfaces.
    pub oil_surface_heat: N,
    /// Heat from the condenser and other coolers into the air upstream of the core.
    pub ahead_heat: N,
    /// The condenser's part of the heat into the air upstream of the core.
    pub condenser_heat: N,
    /// Fraction of the condenser's load that is rejected; less than 1 if the compressor cycles.
    pub condenser_share: N,
    /// Condensing temperature of the refrigerant; the air temperature if nothing condenses.
    pub condensing_temp: N,
    /// Flow of the coolant pump, m³/s.
    pub coolant_flow: N,
    /// Flow of coolant through the core, m³/s.
    pub radiator_flow: N,
    /// The airflow.
    pub airflow: Airflow<N>,
    /// Heat transfer of the core.
    pub passing: Passing<N>,
    /// Heat capacity flow of the air, W/K.
    pub air_capacity_flow: N,
    /// Heat carried by the air that flows back out of the core's front.
    pub blown_out_heat: N,
    /// Residuals of the heat balance: heat that accumulates in the coolant, in the oil, and in the air downstream of
    /// the core.
    pub left: [N; 3],
}

/// Heat transfer of the core from coolant to air: conductances in W/K.
#[derive(Clone, Copy, Debug)]
pub struct Passing<N = f64> {
    /// Conductance from the coolant at the inlet to the air at the inlet, in a steady state.
    pub whole: N,
    /// Conductance from the coolant to the core's metal.
    pub from_coolant: N,
    /// Conductance from the core's metal to the air. The series connection of `from_coolant` and `to_air` gives
    /// `whole`.
    pub to_air: N,
    /// Temperature of the incoming air, K, averaged over the zones by their heat transfer.
    pub arriving: N,
}

/// The parts that the heat balance needs.
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

/// Inputs of the heat balance from the oil circuit.
pub(super) struct Drive<N> {
    pub omega: N,
    pub pump_power: N,
    pub fan_power: N,
    /// Estimate of the fan's mass flow per fan speed, kg/rad.
    pub air: f64,
}

/// Bodies with temperatures of their own, K.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bodies<N> {
    /// Temperature of the engine metal with the fast response.
    pub metal: N,
    /// Temperature of the core.
    pub core: N,
}

/// Air speed below which a zone of the face transfers no heat, m/s.
const STILL: f64 = 1e-6;

/// Exponent of air speed in the conductance of the oil cooler *(engineering assumption)*.
const OIL_COOLER_EXPONENT: f64 = 0.5;

/// Maximum temperature of the air downstream of other coolers, K: charge air from a turbocharger *(common practice, no
/// source)*.
const UPSTREAM_AIR_MAX: f64 = celsius(150.0);

/// State of air and coolant at the core.
struct Streams<'a, N> {
    case: &'a Case<N>,
    parts: Parts<'a, N>,
    way: AirWay<N>,
    fronts: [Option<&'a Front<N>>; 3],
    airflow: Airflow<N>,
    /// Temperature of the air at the core's front, K.
    intake: N,
    /// Specific heat of the air, J/(kg K).
    air_heat: N,
    coolant_temp: N,
    /// Flow of coolant through the core, m³/s, and its capacity flow, W/K.
    coolant_flow: N,
    coolant_capacity: N,
    /// Operating fraction of the air conditioning, and fraction of the engine's maximum power.
    conditioning: N,
    load: N,
    /// Relative conductance of the coolant film.
    film: N,
    /// Fraction of the core's tubes that are open.
    tubes: N,
}

/// One zone of the core face: heat in W, conductances in W/K.
struct Face<N> {
    /// Fraction of the core face in this zone.
    share: N,
    /// Temperature of the incoming air, K.
    arriving: N,
    /// Heat from the oil cooler and other coolers into the incoming air.
    from_oil: N,
    from_condenser: N,
    from_other: N,
    /// Condensing temperature of the refrigerant, K.
    condensing: N,
    /// Air-side conductance to a core of uniform temperature; zero if not requested.
    air_side: N,
    /// Conductance from coolant to air in this zone.
    passes: N,
}

impl<N: Real> Streams<'_, N> {
    /// The fraction of a zone, by index, and the equipment upstream of it; `None` if the zone does not exist.
    fn part(&self, k: usize) -> Option<(N, Option<&Front<N>>)> {
        if k == BARE {
            let taken = self.fronts.iter().flatten();
            let taken = taken.fold(N::from(0.0), |sum, f| sum + f.share);
            return Some((N::from(1.0) - taken, None));
        }
        let front = self.fronts.get(k % (BARE + 1)).copied().flatten()?;
        let reach = front.reach();
        let disc = if k < BARE {
            reach
        } else {
            N::from(1.0) - reach
        };
        Some((front.share * disc, Some(front)))
    }

    /// Inward flow of air through a zone of the face, m³/s.
    fn through(&self, k: usize) -> N {
        positive(self.way.zones[k].area * self.airflow.speed[k])
    }

    /// Heat of a fraction of the oil cooler, W, with air at speed `v` (m/s) and a heat capacity flow (W/K).
    fn oil_cooler_rejects(&self, cooler: N, v: N, capacity: N) -> N {
        if v.re() < STILL {
            return N::from(0.0);
        }
        let grown = (v / self.parts.core.rated_air_speed).powf(OIL_COOLER_EXPONENT);
        // Slow air leaves the oil cooler at oil temperature, no warmer.
        lesser(self.parts.oil.cooler * cooler * grown, capacity)
            * (self.case.now.oil_temp - self.intake)
    }

    /// Heat of the condenser and of other coolers in one of the two zones downstream of these coolers.
    fn upstream_heat(&self, front: &Front<N>, k: usize, capacity: N) -> [N; 2] {
        // The rest is divided between the zones in proportion to their airflow.
        let (here, there) = (
            self.through(k),
            self.through((k + BARE + 1) % (2 * (BARE + 1))),
        );
        let part = here / (here + there);
        // No heat with the engine off.
        let runs = part * f64::from(u8::from(self.case.now.engine_speed.re() > 0.0));
        // The condensing pressure and temperature rise until the load is rejected or the compressor cuts out.
        let most = front.condenser_reach * capacity * (front.condenser_most - self.intake);
        let condenser = lesser(front.condenser * self.conditioning * runs, positive(most));
        let hottest = positive(capacity * (-self.intake + UPSTREAM_AIR_MAX));
        [
            condenser,
            lesser(front.other_heat_at(self.load) * runs, hottest),
        ]
    }

    /// A zone of the face, by index; `None` if the zone has no airflow. With `sides` the air-side conductance is
    /// computed as well.
    fn face(&self, k: usize, sides: bool) -> Option<Face<N>> {
        let zero = N::from(0.0);
        let (share, front) = self.part(k)?;
        let (v, area) = (self.airflow.speed[k], self.way.zones[k].area);
        if v.abs().re() < STILL || area.re() <= 1e-9 {
            return None;
        }
        let capacity = self.way.outer * area * v.abs() * self.air_heat;
        let (mut from_oil, mut from_condenser, mut from_other) = (zero, zero, zero);
        let mut condensing = self.intake;
        let arriving = match front {
            _ if v.re() < 0.0 => self.case.now.air_temp,
            None => self.intake,
            Some(f) => {
                from_oil = self.oil_cooler_rejects(f.oil_cooler * share / f.share, v, capacity);
                [from_condenser, from_other] = self.upstream_heat(f, k, capacity);
                condensing += from_condenser / (f.condenser_reach * capacity);
                self.intake + (from_oil + from_condenser + from_other) / capacity
            }
        };
        let core = self.parts.core;
        let open = area / core.face * self.tubes;
        let side = core.air_side_at(v.abs()) * open;
        let capacity = capacity * self.tubes;
        let passes = if self.coolant_flow.re() > 0.0 {
            let liquid = core.liquid_side_at(self.coolant_flow, self.film) * open;
            exchanged(
                (side.recip() + liquid.recip()).recip(),
                capacity,
                self.coolant_capacity * share,
            )
        } else {
            zero
        };
        Some(Face {
            share,
            arriving,
            from_oil,
            from_condenser,
            from_other,
            condensing,
            air_side: if sides {
                one_sided(side, capacity)
            } else {
                zero
            },
            passes,
        })
    }

    /// Heat transfer of the whole core, whose metal has its own temperature or passes all heat on to the air.
    fn crossed(&self, core_temp: Option<N>) -> Crossed<N> {
        let zero = N::from(0.0);
        let (mut oil_cooler, mut condenser, mut other, mut lost) = (zero, zero, zero, zero);
        let mut condensing = self.intake;
        let (mut whole, mut pulled, mut air_side) = (zero, zero, zero);
        let (mut faces, mut faced) = (zero, zero);
        for k in 0..ZONES {
            let Some(face) = self.face(k, core_temp.is_some()) else {
                continue;
            };
            oil_cooler += face.from_oil;
            condenser += face.from_condenser;
            other += face.from_other;
            condensing = greater(condensing, face.condensing);
            faces += face.share;
            faced += face.share * face.arriving;
            air_side += face.air_side;
            whole += face.passes;
            pulled += face.passes * face.arriving;
            if self.airflow.speed[k].re() < 0.0 {
                lost += face.passes * (self.coolant_temp - face.arriving);
            }
        }
        let arriving = if whole.re() > 0.0 {
            pulled / whole
        } else if faces.re() > 0.0 {
            faced / faces
        } else {
            self.intake
        };
        let heat = whole * (self.coolant_temp - arriving);
        let mut crossed = Crossed {
            passing: Passing {
                whole,
                from_coolant: zero,
                to_air: air_side,
                arriving,
            },
            core_heat: heat,
            radiator_heat: heat,
            blown_out: lost,
            oil_cooler,
            condenser,
            condenser_share: self.rejected_fraction(condenser),
            condensing,
            other,
        };
        if let Some(core_temp) = core_temp {
            self.through_metal(&mut crossed, core_temp);
        }
        crossed
    }

    /// Fraction of the condenser's load that a heat represents; 1 if there is no load.
    fn rejected_fraction(&self, heat: N) -> N {
        let load = self.fronts.iter().flatten();
        let load = load.fold(N::from(0.0), |sum, f| sum + f.condenser) * self.conditioning;
        if load.re() > 0.0 {
            lesser(heat / load, N::from(1.0))
        } else {
            N::from(1.0)
        }
    }

    /// Heat transfer if the core's metal has its own temperature: heat enters from the coolant and leaves to the air.
    fn through_metal(&self, crossed: &mut Crossed<N>, core_temp: N) {
        let core = self.parts.core;
        let Passing {
            whole,
            to_air,
            arriving,
            ..
        } = crossed.passing;
        let passing = &mut crossed.passing;
        if self.coolant_flow.re() > 0.0 {
            let open = self.tubes * (N::from(1.0) - core.blocked);
            let liquid = core.liquid_side_at(self.coolant_flow, self.film) * open;
            passing.from_coolant = one_sided(liquid, self.coolant_capacity);
        }
        if whole.re() > 0.0 {
            // Each side as if at a core of uniform temperature, scaled so that the two in series give the whole
            // conductance.
            let scale = whole * (passing.from_coolant.recip() + to_air.recip());
            passing.from_coolant *= scale;
            passing.to_air *= scale;
        }
        let steady = crossed.core_heat;
        crossed.core_heat = passing.from_coolant * (self.coolant_temp - core_temp);
        crossed.radiator_heat = passing.to_air * (core_temp - arriving);
        if steady.re().abs() > 1.0 {
            crossed.blown_out *= crossed.radiator_heat / steady;
        }
    }
}

/// Heat transfer in and upstream of the core, W.
struct Crossed<N> {
    passing: Passing<N>,
    /// Heat from the coolant into the core.
    core_heat: N,
    /// Heat from the core to the air.
    radiator_heat: N,
    /// Heat carried by the air that flows back out of the core's front.
    blown_out: N,
    oil_cooler: N,
    condenser: N,
    condenser_share: N,
    condensing: N,
    other: N,
}

impl<N: Real> Budget<N> {
    /// The heat flows at the temperatures of the case and a coolant temperature. Core and engine pass on all heat
    /// unless their metal has its own temperature.
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

        // Inward flow through the core; some of it may flow back through other zones of the face.
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
        let conditioning = now.air_conditioning * parts.coolant.lets_air_conditioning(coolant_temp);
        let compressor = engine.air_conditioning * conditioning;
        let others = road + engine.accessories + now.work + drive.pump_power;

        let coolant_flow = parts.pump.flow_at(now.engine_speed) * parts.core.flow_left();
        let radiator_flow = coolant_flow * parts.thermostat.opening(coolant_temp);
        let glycol = parts.coolant.glycol;
        let coolant_capacity = radiator_flow * coolant::capacity(glycol, coolant_temp);
        let oil_heat = drive.pump_power - drive.fan_power;
        let oil_surface_heat = parts.oil.surface * (now.oil_temp - now.air_temp);
        let cabin_heat = parts.coolant.heater * now.cabin_heater * (coolant_temp - now.ambient);
        // The drive's oil does not move with the engine off. The surface loss of a parked block already includes the
        // heat it gives to the oil.
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
        // A cycling compressor takes its power for a fraction of the time.
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
        let carried = air_capacity_flow * (now.air_temp - intake) + crossed.blown_out;
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
            blown_out_heat: crossed.blown_out,
            left: [
                fired.metal - surface_heat - oil_engine_heat - cabin_heat - crossed.core_heat,
                oil_heat + oil_engine_heat - crossed.oil_cooler - oil_surface_heat,
                crossed.radiator_heat + crossed.oil_cooler + ahead_heat - carried,
            ],
        })
    }
}

/// Heat per kelvin, W/K, that a stream takes from a body of uniform temperature through a conductance (W/K).
fn one_sided<N: Real>(conductance: N, capacity: N) -> N {
    capacity * (N::from(1.0) - (-(conductance / capacity)).exp())
}

/// Heat per kelvin of inlet temperature difference between two streams, W/K, from conductance and heat capacity flows
/// (W/K).
fn exchanged<N: Real>(conductance: N, one: N, other: N) -> N {
    let (least, most) = if one.re() < other.re() {
        (one, other)
    } else {
        (other, one)
    };
    exchanger::crossflow(conductance / least, least / most) * least
}

/// The parts without which heat cannot be balanced.
pub const HEAT_PARTS: [&str; 8] = [
    "fan_curve",
    "core",
    "air",
    "coolant",
    "coolant_pump",
    "thermostat",
    "engine",
    "oil_heat",
];

/// Reports the parts that the heat balance needs and the machine lacks.
pub(super) fn missing(case: &Case) -> Trouble {
    let there = [
        case.fan_curve.is_some(),
        case.core.is_some(),
        case.air.is_some(),
        case.coolant.is_some(),
        case.coolant_pump.is_some(),
        case.thermostat.is_some(),
        case.engine.is_some(),
        case.oil_heat.is_some(),
    ];
    let lacks: Vec<String> = HEAT_PARTS
        .into_iter()
        .zip(there)
        .filter(|(_, there)| !there)
        .map(|(key, _)| format!("[{key}]"))
        .collect();
    Trouble::input(
        format!("a machine without {}", lacks.join(", ")),
        "a machine with its radiator, coolant and engine",
    )
    .hint("`oilwheel new light-truck` shows these parts with their meaning")
}

/// Conditions that a machine must meet before heat can be balanced.
pub(super) fn sound_machine(case: &Case) -> Result<(), Trouble> {
    let fronts: f64 = [&case.front_1, &case.front_2, &case.front_3]
        .into_iter()
        .flatten()
        .map(|f| f.share)
        .sum();
    if fronts > 1.0 + 1e-9 {
        return Err(Trouble::input(
            format!(
                "zones with equipment upstream cover {:.0} % of the core face",
                100.0 * fronts
            ),
            "fractions of the core face that add up to 100 % at most",
        ));
    }
    if case
        .fan_curve
        .as_ref()
        .is_some_and(|c| c.shut_pressure + c.pressure_slope <= 1.0)
    {
        return Err(Trouble::input(
            "a fan curve whose pressure is not concave in flow",
            "[fan_curve] with shut_pressure + pressure_slope above 1",
        ));
    }
    if let Some(t) = &case.thermostat
        && t.full <= t.opens
    {
        return Err(Trouble::input(
            "a thermostat that is fully open at its opening temperature",
            "[thermostat] with full above opens",
        ));
    }
    Ok(())
}
