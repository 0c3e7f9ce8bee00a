//! Heat: engine to coolant to air, oil to air, solved together with the fan's speed.

use super::air::{AirWay, BARE, Draft, ZONES, fronts};
use super::solve::{Operating, solve_from};
use super::state::{State, Turning};
use crate::fluid::{air, coolant};
use crate::input::unit::celsius;
use crate::law::effectiveness_kays_london as exchanger;
use crate::model::Case;
use crate::numeric::{Dual64, NoRoot, Real, falling_root_by_values, lesser, positive};
use crate::part::{AirPath, Coolant, CoolantPump, Core, Engine, Front, OilHeat, Thermostat};
use crate::trouble::Trouble;
use nalgebra::{Matrix3, Vector3};

/// How the balance is asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    /// The fan's control follows the coolant; else the command is as the condition says.
    pub automatic: bool,
    /// A fan speed that is imposed, rad/s.
    pub fan_speed: Option<f64>,
    /// The oil keeps the condition's temperature.
    pub hold_oil: bool,
    /// What is sought beside oil and air temperature.
    pub find: Find,
}

/// What is sought.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Find {
    /// The coolant's temperature.
    Coolant,
    /// The ambient temperature at which the coolant stands at this, K.
    Ambient(f64),
}

impl Asked {
    /// The steady state with the fan's control at work where the machine has one.
    pub const STEADY: Asked = Asked {
        automatic: true,
        fan_speed: None,
        hold_oil: false,
        find: Find::Coolant,
    };
}

/// Why there is no steady state: it heats without end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Heats {
    /// The core cannot give off the engine's heat.
    Coolant,
    /// The oil cannot give off its heat.
    Oil,
    /// No coolant reaches the core.
    CoolantStands,
    /// No air passes the core.
    AirStands,
}

impl Heats {
    /// What it means.
    pub fn words(self) -> &'static str {
        match self {
            Heats::Coolant => {
                "the core cannot give off what the engine puts in: the coolant heats until it boils"
            }
            Heats::Oil => "the oil cannot give off what the drive loses: it heats without end",
            Heats::CoolantStands => "no coolant reaches the core: the engine heats until it boils",
            Heats::AirStands => {
                "no air passes the core: the fan stands and nothing else moves air, so the coolant heats until it boils"
            }
        }
    }
}

/// Every heat flow at one set of temperatures. Heat in W, temperatures in K.
#[derive(Clone, Copy, Debug)]
pub struct Budget<N = f64> {
    /// Coolant leaving the engine.
    pub coolant_temp: N,
    /// Coolant leaving the core.
    pub return_temp: N,
    /// Oil.
    pub oil_temp: N,
    /// Outer air.
    pub ambient: N,
    /// Air that comes to the core's front: outer air and what comes round again.
    pub intake_temp: N,
    /// Air behind the core.
    pub air_temp: N,
    /// Heat of the fuel.
    pub fuel_heat: N,
    /// Power at the engine's shaft.
    pub engine_power: N,
    /// Heat into the coolant.
    pub engine_heat: N,
    /// Heat from the coolant into the core.
    pub core_heat: N,
    /// Heat from the core to the air: in a steady state what the coolant gives.
    pub radiator_heat: N,
    /// Heat into the oil.
    pub oil_heat: N,
    /// Heat that the oil cooler gives off.
    pub oil_cooler_heat: N,
    /// Heat that the oil's surfaces give off.
    pub oil_surface_heat: N,
    /// Heat that the condenser and other coolers put into the air ahead of the core.
    pub ahead_heat: N,
    /// Flow of the coolant pump, m³/s.
    pub coolant_flow: N,
    /// Flow of coolant through the core, m³/s.
    pub radiator_flow: N,
    /// The air.
    pub draft: Draft<N>,
    /// How the core passes heat.
    pub passing: Passing<N>,
    /// What the air's own capacity flow is, W/K.
    pub air_capacity_flow: N,
    /// Heat that air takes on its way back out of the core's front.
    pub blown_out_heat: N,
    /// What is left over: heat that stays in the coolant, in the oil, in the air behind the core.
    pub left: [N; 3],
}

/// How the core passes heat from the coolant to the air: conductances in W/K.
#[derive(Clone, Copy, Debug)]
pub struct Passing<N = f64> {
    /// From the coolant that enters to the air that arrives, in a steady state.
    pub whole: N,
    /// From the coolant to the core's metal.
    pub from_coolant: N,
    /// From the core's metal to the air. In line with the one before it makes the whole.
    pub to_air: N,
    /// The air that arrives, K, each part of the face weighed by what it passes.
    pub arriving: N,
}

/// A warm state.
#[derive(Clone, Copy, Debug)]
pub struct Warm {
    /// Every heat flow.
    pub budget: Budget,
    /// The oil circuit.
    pub state: State,
    /// Its operating point.
    pub operating: Operating,
    /// Fan speed, rad/s: the circuit's, or the one imposed.
    pub fan_speed: f64,
    /// Why there is no steady state; nothing where there is.
    pub heats: Option<Heats>,
    /// How often the oil circuit was solved.
    pub solves: usize,
    /// The case with its temperatures and command as they came out.
    pub case: Case,
}

/// The parts that heat needs.
pub(super) struct Parts<'a, N> {
    pub core: &'a Core<N>,
    path: &'a AirPath<N>,
    pub coolant: &'a Coolant<N>,
    pump: &'a CoolantPump<N>,
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

/// What the oil circuit gives the heat balance.
pub(super) struct Drive<N> {
    pub omega: N,
    pub pump_power: N,
    pub fan_power: N,
    /// Air that the fan is thought to draw, kg for each rad.
    pub air: f64,
}

/// Air speed below which a part of the face passes no heat, m/s.
const STILL: f64 = 1e-6;

/// Exponent of air speed in the conductance of the oil cooler *(judgment)*.
const OIL_COOLER_EXPONENT: f64 = 0.5;

/// Air leaves what gives heat ahead of the core no hotter than this, K: gas from a compressor, air from a turbocharger *(common
/// practice, no source)*.
const AHEAD_HOT: f64 = celsius(150.0);

impl<N: Real> Budget<N> {
    /// The heat flows with temperatures as the case has them and the coolant at a temperature; the core passes on what it takes
    /// up, unless its metal has a temperature of its own.
    pub(super) fn of(
        case: &Case<N>,
        drive: &Drive<N>,
        coolant_temp: N,
        core_temp: Option<N>,
    ) -> Option<Self> {
        let parts = Parts::of(case)?;
        let way = AirWay::of(case)?;
        let (now, zero, one) = (&case.now, N::from(0.0), N::from(1.0));
        let draft = way.draft_near(drive.omega, drive.air);

        // What comes in through the core; some of it may go back through other parts of the face.
        let inward = draft.mass + draft.back;
        let round = if draft.back.re() > 0.0 {
            parts.path.comes_round(now.road_speed, draft.back / inward)
        } else {
            parts.path.recirculated(now.road_speed)
        };
        let intake = now.ambient + round * (now.air_temp - now.ambient);
        let air_capacity = air::heat_capacity((intake + now.air_temp) * 0.5);

        let road = case.vehicle.as_ref().map_or(zero, |v| {
            v.road_power(now.road_speed, now.grade, now.trailer, way.outer)
        });
        let engine_power = road
            + parts.engine.accessories
            + parts.engine.air_conditioning * now.air_conditioning
            + now.work
            + drive.pump_power;
        let fired = parts
            .engine
            .fired(now.engine_speed, engine_power, now.fuel_heat);

        let coolant_flow = parts.pump.flow_at(now.engine_speed) * parts.core.flow_left();
        let radiator_flow = coolant_flow * parts.thermostat.opening(coolant_temp);
        let glycol = parts.coolant.glycol;
        let coolant_capacity = radiator_flow * coolant::capacity(glycol, coolant_temp);
        let film = coolant::film(glycol, coolant_temp);

        let tubes = one - parts.core.blocked_tubes;
        // Slow air leaves the oil cooler as warm as the oil, and no warmer.
        let cooler = |v: N, share: N, capacity: N| {
            if share.re() <= 0.0 || v.re() < STILL {
                return zero;
            }
            let grown = (v / parts.core.rated_air_speed).powf(OIL_COOLER_EXPONENT);
            lesser(parts.oil.cooler * share * grown, capacity) * (now.oil_temp - intake)
        };
        // Nor does it leave condenser and other coolers warmer than those get; with the engine standing they give nothing.
        let runs = N::from(f64::from(u8::from(now.engine_speed.re() > 0.0)));
        let given =
            |heat: N, capacity: N| lesser(heat * runs, positive(capacity * (-intake + AHEAD_HOT)));
        let fronts = fronts(case);
        let taken = fronts.iter().flatten().fold(zero, |sum, f| sum + f.share);
        let through = |k: usize| positive(way.zones[k].area * draft.speed[k]);
        let (mut oil_cooler, mut ahead, mut lost) = (zero, zero, zero);
        // What the core passes, that times the air that arrives; its air side alone; shares, and those times the air.
        let (mut whole, mut pulled, mut air_side) = (zero, zero, zero);
        let (mut faces, mut faced) = (zero, zero);
        for k in 0..ZONES {
            let (front, share): (Option<&Front<N>>, N) = match k {
                BARE => (None, one - taken),
                _ => {
                    let Some(f) = fronts.get(k % (BARE + 1)).copied().flatten() else {
                        continue;
                    };
                    let reach = f.reach();
                    (
                        Some(f),
                        f.share * if k < BARE { reach } else { one - reach },
                    )
                }
            };
            let (v, area) = (draft.speed[k], way.zones[k].area);
            if v.abs().re() < STILL || area.re() <= 1e-9 {
                continue;
            }
            let capacity = way.outer * area * v.abs() * air_capacity;
            let mut arriving = intake;
            if v.re() < 0.0 {
                arriving = now.air_temp;
            } else if let Some(f) = front {
                let from_oil = cooler(v, f.oil_cooler * share / f.share, capacity);
                // The rest goes to the parts by the air that they let through.
                let part = through(k) / (through(k) + through((k + BARE + 1) % (2 * (BARE + 1))));
                let heat = (f.condenser * now.air_conditioning + f.other_heat) * part;
                let other = given(heat, capacity);
                oil_cooler += from_oil;
                ahead += other;
                arriving += (from_oil + other) / capacity;
            }
            let open = area / parts.core.face * tubes;
            let side = parts.core.air_side_at(v.abs()) * open;
            let capacity = capacity * tubes;
            faces += share;
            faced += share * arriving;
            if core_temp.is_some() {
                air_side += one_sided(side, capacity);
            }
            if radiator_flow.re() > 0.0 {
                let liquid = parts.core.liquid_side_at(radiator_flow, film) * open;
                let passes = exchanged(
                    (side.recip() + liquid.recip()).recip(),
                    capacity,
                    coolant_capacity * share,
                );
                whole += passes;
                pulled += passes * arriving;
                if v.re() < 0.0 {
                    lost += passes * (coolant_temp - arriving);
                }
            }
        }
        let arriving = if whole.re() > 0.0 {
            pulled / whole
        } else if faces.re() > 0.0 {
            faced / faces
        } else {
            intake
        };
        let mut passing = Passing {
            whole,
            from_coolant: zero,
            to_air: air_side,
            arriving,
        };
        let mut core_heat = whole * (coolant_temp - arriving);
        let mut radiator = core_heat;
        if let Some(core_temp) = core_temp {
            if radiator_flow.re() > 0.0 {
                let open = tubes * (one - parts.core.blocked);
                let liquid = parts.core.liquid_side_at(radiator_flow, film) * open;
                passing.from_coolant = one_sided(liquid, coolant_capacity);
            }
            if whole.re() > 0.0 {
                // Both sides as if each met a core of one temperature, scaled so that in line they make the whole.
                let scale = whole * (passing.from_coolant.recip() + air_side.recip());
                passing.from_coolant *= scale;
                passing.to_air *= scale;
            }
            let steady = core_heat;
            core_heat = passing.from_coolant * (coolant_temp - core_temp);
            radiator = passing.to_air * (core_temp - arriving);
            if steady.re().abs() > 1.0 {
                lost *= radiator / steady;
            }
        }

        let oil_heat = drive.pump_power - drive.fan_power;
        let surface = parts.oil.surface * (now.oil_temp - now.air_temp);
        let air_capacity_flow = inward * air_capacity;
        let carried = air_capacity_flow * (now.air_temp - intake) + lost;
        Some(Self {
            coolant_temp,
            return_temp: if coolant_capacity.re() > 0.0 {
                coolant_temp - core_heat / coolant_capacity
            } else {
                coolant_temp
            },
            oil_temp: now.oil_temp,
            ambient: now.ambient,
            intake_temp: intake,
            air_temp: now.air_temp,
            fuel_heat: fired.fuel,
            engine_power,
            engine_heat: fired.coolant,
            core_heat,
            radiator_heat: radiator,
            oil_heat,
            oil_cooler_heat: oil_cooler,
            oil_surface_heat: surface,
            ahead_heat: ahead,
            coolant_flow,
            radiator_flow,
            draft,
            passing,
            air_capacity_flow,
            blown_out_heat: lost,
            left: [
                fired.coolant - core_heat,
                oil_heat - oil_cooler - surface,
                radiator + oil_cooler + ahead - carried,
            ],
        })
    }
}

/// Heat, W, that a stream of a capacity flow takes from a body of one temperature for each kelvin, through a conductance (W/K).
fn one_sided<N: Real>(conductance: N, capacity: N) -> N {
    capacity * (N::from(1.0) - (-(conductance / capacity)).exp())
}

/// Heat, W, from one stream to the other for each kelvin between their inlets, given conductance and capacity flows (W/K).
fn exchanged<N: Real>(conductance: N, one: N, other: N) -> N {
    let (least, most) = if one.re() < other.re() {
        (one, other)
    } else {
        (other, one)
    };
    exchanger::crossflow(conductance / least, least / most) * least
}

/// Ends of the temperatures that are sought, K: coolant or ambient, oil, air behind the core.
const LOW: [f64; 3] = [celsius(-120.0), celsius(-60.0), celsius(-120.0)];
const HIGH: [f64; 3] = [celsius(200.0), celsius(200.0), celsius(400.0)];

/// Longest step that one Newton iteration takes, K.
const STRIDE: f64 = 40.0;

/// What may be left over of the heat that flows.
const CLOSED: f64 = 1e-10;

/// The balance as a function of the three unknowns.
struct Balance<'a> {
    case: &'a Case,
    asked: Asked,
    /// The last fan speed, rad/s: where the next solve begins.
    near: f64,
    /// Lower ends of the unknowns for Newton's method.
    low: [f64; 3],
    solves: usize,
}

/// One evaluation.
struct Point {
    x: [f64; 3],
    case: Case,
    operating: Operating,
    budget: Budget,
    /// Leftovers over what flows.
    off: [f64; 3],
    scale: [f64; 3],
}

impl Point {
    fn size(&self, held: [bool; 3]) -> f64 {
        (0..3)
            .filter(|i| !held[*i])
            .fold(0.0, |most, i| self.off[i].abs().max(most))
    }
}

impl Balance<'_> {
    /// The case and the coolant's temperature at the unknowns.
    fn set<N: Real>(&self, mut case: Case<N>, x: [N; 3]) -> (Case<N>, N) {
        let coolant = match self.asked.find {
            Find::Coolant => x[0],
            Find::Ambient(t) => {
                case.now.ambient = x[0];
                N::from(t)
            }
        };
        case.now.oil_temp = x[1];
        case.now.air_temp = x[2];
        if let (true, Some(control)) = (self.asked.automatic, &case.fan_control) {
            case.now.command = control.command(coolant, case.now.air_conditioning);
        }
        (case, coolant)
    }

    fn budget<N: Real>(
        &self,
        case: &Case<N>,
        (state, air): (&State<N>, f64),
        coolant: N,
        oil: N,
    ) -> Result<Budget<N>, Trouble> {
        let omega = self.asked.fan_speed.map_or(state.fan_speed, N::from);
        let drive = Drive {
            omega,
            pump_power: state.pump_shaft_power,
            fan_power: state.fan_shaft_power,
            air,
        };
        let mut budget =
            Budget::of(case, &drive, coolant, None).ok_or_else(|| missing(self.case))?;
        if self.asked.hold_oil {
            // A stand-in that holds the oil where it is.
            budget.left[1] = -(oil - self.case.now.oil_temp) * 100.0;
        }
        Ok(budget)
    }

    fn at(&mut self, x: [f64; 3]) -> Result<Point, Trouble> {
        let (case, coolant) = self.set(*self.case, x);
        let operating = solve_from(&case, self.near)?;
        self.solves += 1;
        if operating.omega > 0.0 {
            self.near = operating.omega;
        }
        let state = State::found(&case, &operating);
        let budget = self.budget(&case, (&state, operating.air), coolant, x[1])?;
        let flowing = budget.engine_heat.abs().max(100.0);
        let scale = [flowing, budget.oil_heat.abs().max(10.0), flowing];
        let off = [0, 1, 2].map(|i| budget.left[i] / scale[i]);
        Ok(Point {
            x,
            case,
            operating,
            budget,
            off,
            scale,
        })
    }

    /// The heat flows with derivatives along what `case` carries, and along one of the unknowns.
    fn along(
        &self,
        case: &Case<Dual64>,
        turning: &Turning,
        x: [f64; 3],
        unknown: Option<usize>,
    ) -> Option<Budget<Dual64>> {
        let x = [0, 1, 2].map(|i| Dual64::new(x[i], if unknown == Some(i) { 1.0 } else { 0.0 }));
        let (case, coolant) = self.set(*case, x);
        let state = turning.along(&case);
        let air = turning.operating().air;
        self.budget(&case, (&state, air), coolant, x[1]).ok()
    }

    /// The slopes of the leftovers along each unknown.
    fn slopes(&self, point: &Point) -> Result<Matrix3<f64>, Trouble> {
        let mut slopes = Matrix3::zeros();
        let case = self.case.constant();
        let turning = Turning::of(&point.case, &point.operating);
        for k in 0..3 {
            let budget = self
                .along(&case, &turning, point.x, Some(k))
                .ok_or_else(|| missing(self.case))?;
            for i in 0..3 {
                slopes[(i, k)] = budget.left[i].eps / point.scale[i];
            }
        }
        Ok(slopes)
    }

    /// Newton's method from a point; with `fixed` the first unknown stays, and an unknown that is driven against its upper end by
    /// heat left over is held there.
    fn newton(
        &mut self,
        mut point: Point,
        fixed: bool,
    ) -> Result<Option<(Point, [bool; 3])>, Trouble> {
        let mut held = [fixed, false, false];
        for _ in 0..20 {
            if point.size(held) <= CLOSED {
                return Ok(Some((point, held)));
            }
            let mut slopes = self.slopes(&point)?;
            let mut value = Vector3::from(point.off);
            for i in (0..3).filter(|i| held[*i]) {
                slopes.row_mut(i).fill(0.0);
                slopes[(i, i)] = 1.0;
                value[i] = 0.0;
            }
            let step = slopes
                .lu()
                .solve(&-value)
                .unwrap_or(Vector3::repeat(f64::NAN));
            let longest = step.amax();
            if !longest.is_finite() {
                return Ok(None);
            }
            let mut stride = (STRIDE / longest.max(1e-9)).min(1.0);
            let size = point.size(held);
            for tries in 0..4 {
                let x =
                    [0, 1, 2].map(|i| (point.x[i] + stride * step[i]).clamp(self.low[i], HIGH[i]));
                let next = self.at(x)?;
                if next.size(held) < size * (1.0 - 0.1 * stride) || tries == 3 {
                    point = next;
                    break;
                }
                stride *= 0.4;
            }
            for (i, held) in held.iter_mut().enumerate() {
                let against = point.x[i] >= HIGH[i] && point.off[i] > 0.0;
                *held = (fixed && i == 0) || (against && self.asked.find == Find::Coolant);
            }
        }
        Ok(None)
    }

    /// The first unknown by its values alone, the others inside it: slow and sure, as the heat left over falls with the
    /// temperature.
    fn nested(&mut self) -> Result<(Point, [bool; 3]), Trouble> {
        let up = match self.asked.find {
            Find::Coolant => 1.0,
            Find::Ambient(_) => -1.0,
        };
        let mut others = [self.case.now.oil_temp, self.case.now.ambient + 30.0];
        let root = falling_root_by_values(
            |a| {
                let point = self.inner(a, others)?;
                others = [point.x[1], point.x[2]];
                Ok::<_, Trouble>(up * point.off[0])
            },
            LOW[0],
            HIGH[0],
        )?;
        let point = self.inner(end(root, LOW[0], HIGH[0]), others)?;
        let held = [0, 1, 2].map(|i| point.x[i] >= HIGH[i] && point.off[i] > 0.0);
        Ok((point, held))
    }

    /// Oil and air temperature at a first unknown: by Newton's method, else one inside the other.
    fn inner(&mut self, a: f64, start: [f64; 2]) -> Result<Point, Trouble> {
        let begin = self.at([a, start[0], start[1]])?;
        if let Some((point, _)) = self.newton(begin, true)? {
            return Ok(point);
        }
        let oil = falling_root_by_values(
            |oil| {
                let air = self.air(a, oil)?;
                Ok::<_, Trouble>(self.at([a, oil, air])?.off[1])
            },
            LOW[1],
            HIGH[1],
        )?;
        let oil = end(oil, LOW[1], HIGH[1]);
        let air = self.air(a, oil)?;
        self.at([a, oil, air])
    }

    fn air(&mut self, a: f64, oil: f64) -> Result<f64, Trouble> {
        let found = falling_root_by_values(
            |air| Ok::<_, Trouble>(self.at([a, oil, air])?.off[2]),
            LOW[2],
            HIGH[2],
        )?;
        Ok(end(found, LOW[2], HIGH[2]))
    }
}

/// The root, or the end beyond which it lies.
fn end(root: Result<f64, NoRoot>, low: f64, high: f64) -> f64 {
    match root {
        Ok(x) => x,
        Err(NoRoot::Below(_)) => low,
        Err(_) => high,
    }
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

/// The parts that heat needs and a machine lacks.
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

/// Solves fan speed, coolant, oil and air together.
pub fn warm(case: &Case, asked: Asked) -> Result<Warm, Trouble> {
    warm_from(case, asked, None)
}

/// The same, begun at a warm state that is thought to be near.
pub fn warm_from(case: &Case, asked: Asked, near: Option<&Warm>) -> Result<Warm, Trouble> {
    let parts = Parts::of(case).ok_or_else(|| missing(case))?;
    sound(case)?;
    let mut low = LOW;
    if asked.find == Find::Coolant && parts.thermostat.least <= 0.0 {
        // Below, the core has no coolant to cool, and no slope to follow.
        low[0] = parts.thermostat.opens + 0.01;
    }
    let mut balance = Balance {
        case,
        asked,
        low,
        near: near.map_or(f64::NAN, |w| w.operating.omega),
        solves: 0,
    };
    let middle = 0.5 * (parts.thermostat.opens + parts.thermostat.full);
    let start = match (near, asked.find) {
        (Some(w), Find::Coolant) => [w.budget.coolant_temp, w.budget.oil_temp, w.budget.air_temp],
        (Some(w), Find::Ambient(_)) => [w.budget.ambient, w.budget.oil_temp, w.budget.air_temp],
        (None, Find::Coolant) => [middle, case.now.oil_temp, case.now.ambient + 30.0],
        (None, Find::Ambient(t)) => [t - 60.0, case.now.oil_temp, t - 30.0],
    };
    let start = [0, 1, 2].map(|i| start[i].clamp(low[i], HIGH[i]));
    let first = balance.at(start)?;
    let stands = if parts.pump.flow_at(case.now.engine_speed) * parts.thermostat.most <= 0.0 {
        Some(Heats::CoolantStands)
    } else if first.budget.draft.mass <= 1e-9 {
        Some(Heats::AirStands)
    } else {
        None
    };
    if let Some(heats) = stands {
        return Ok(finished(first, Some(heats), &balance));
    }
    let (point, held) = match balance.newton(first, false)? {
        Some(found) => found,
        None => balance.nested()?,
    };
    let heats = match held {
        [true, ..] => Some(Heats::Coolant),
        [_, true, _] => Some(Heats::Oil),
        _ => None,
    };
    if heats.is_none() && point.size([false; 3]) > 1e-6 {
        return Err(Trouble::no_answer(
            format!(
                "the heat balance did not settle: {:.2} W left in the coolant, {:.2} W in the oil, {:.2} W in the air",
                point.budget.left[0], point.budget.left[1], point.budget.left[2]
            ),
            "temperatures at which heat in and out agree",
        )
        .hint("look for an input far outside its usual range"));
    }
    Ok(finished(point, heats, &balance))
}

/// The coldest day that a limiting ambient temperature is given for, K; below, no day is cold enough.
pub const COLDEST: f64 = celsius(-50.0);

/// The state on the day on which the coolant reaches its limit with the thermostat open and the fan at full command, be there
/// such a day or not; none where the thermostat would not be open, or no air is cold enough.
pub fn at_limit(case: &Case, asked: Asked, near: Option<&Warm>) -> Option<Warm> {
    let limit = case.coolant.as_ref()?.limit;
    if !case.thermostat.as_ref()?.is_open(limit) {
        return None;
    }
    let mut case = *case;
    case.now.command = 1.0;
    // The day's own temperature does not matter here.
    case.now.ambient = case.now.ambient.min(limit - 1.0);
    let asked = Asked {
        automatic: false,
        find: Find::Ambient(limit),
        ..asked
    };
    let found = warm_from(&case, asked, near).ok()?;
    found.heats.is_none().then_some(found)
}

fn finished(point: Point, heats: Option<Heats>, balance: &Balance<'_>) -> Warm {
    let state = State::found(&point.case, &point.operating);
    Warm {
        fan_speed: balance.asked.fan_speed.unwrap_or(state.fan_speed),
        budget: point.budget,
        state,
        operating: point.operating,
        heats,
        solves: balance.solves,
        case: point.case,
    }
}

/// How a steady state moves with all that it depends on: the implicit function theorem.
#[derive(Clone, Copy, Debug)]
pub struct Tangent {
    asked: Asked,
    x: [f64; 3],
    turning: Turning,
    case: Case,
    /// The slopes of what is left over along the unknowns, turned round.
    inverse: Matrix3<f64>,
    /// The slopes of the coolant's return temperature along the unknowns.
    back: [f64; 3],
}

impl Warm {
    /// How this state, found as asked, moves; none where it is no steady one.
    pub fn tangent(&self, asked: Asked) -> Option<Tangent> {
        let b = &self.budget;
        let first = match asked.find {
            Find::Coolant => b.coolant_temp,
            Find::Ambient(_) => b.ambient,
        };
        let balance = Balance {
            case: &self.case,
            asked,
            near: f64::NAN,
            low: LOW,
            solves: 0,
        };
        let x = [first, b.oil_temp, b.air_temp];
        let mut slopes = Matrix3::zeros();
        let mut back = [0.0; 3];
        let turning = Turning::of(&self.case, &self.operating);
        for (k, back) in back.iter_mut().enumerate() {
            let along = balance.along(&self.case.constant(), &turning, x, Some(k))?;
            slopes.set_column(k, &Vector3::from(along.left.map(|r| r.eps)));
            *back = along.return_temp.eps;
        }
        Some(Tangent {
            asked,
            x,
            turning,
            case: self.case,
            inverse: slopes.try_inverse().filter(|_| self.heats.is_none())?,
            back,
        })
    }
}

impl Tangent {
    /// The first unknown (the coolant's temperature, or the ambient one), the oil's and air's temperatures, and the
    /// coolant's return temperature, with their derivatives along the direction that `case` carries; its values are those
    /// that were solved.
    pub fn along(&self, case: &Case<Dual64>) -> Option<[Dual64; 4]> {
        let balance = Balance {
            case: &self.case,
            asked: self.asked,
            near: f64::NAN,
            low: LOW,
            solves: 0,
        };
        let here = balance.along(case, &self.turning, self.x, None)?;
        let moves = -self.inverse * Vector3::from(here.left.map(|r| r.eps));
        let back = here.return_temp.eps + moves.dot(&Vector3::from(self.back));
        let [a, b, c] = [0, 1, 2].map(|i| Dual64::new(self.x[i], moves[i]));
        Some([a, b, c, Dual64::new(here.return_temp.re, back)])
    }
}

/// What must hold of a machine before heat can be balanced on it.
pub(super) fn sound_machine(case: &Case) -> Result<(), Trouble> {
    let fronts: f64 = [&case.front_1, &case.front_2, &case.front_3]
        .into_iter()
        .flatten()
        .map(|f| f.share)
        .sum();
    if fronts > 1.0 + 1e-9 {
        return Err(Trouble::input(
            format!(
                "{:.0} % of the core's face with something ahead of it",
                100.0 * fronts
            ),
            "shares of the face that sum to 100 % at most",
        ));
    }
    if case
        .fan_curve
        .as_ref()
        .is_some_and(|c| c.shut_pressure + c.pressure_slope <= 1.0)
    {
        return Err(Trouble::input(
            "a fan curve whose pressure does not bend down with flow",
            "[fan_curve] with shut_pressure + pressure_slope above 1",
        ));
    }
    if let Some(t) = &case.thermostat
        && t.full <= t.opens
    {
        return Err(Trouble::input(
            "a thermostat that is full open where it begins to open",
            "[thermostat] with full above opens",
        ));
    }
    Ok(())
}

/// What must hold before heat can be balanced.
fn sound(case: &Case) -> Result<(), Trouble> {
    sound_machine(case)?;
    if case.now.engine_speed <= 0.0 {
        return Err(Trouble::no_answer(
            "the engine stands, so nothing is heated and nothing is steady",
            "an engine that runs",
        ));
    }
    if let Some(c) = &case.coolant
        && case.now.ambient >= c.limit
    {
        return Err(Trouble::input(
            format!(
                "outer air at {:.0} °C, not below the coolant's limit of {:.0} °C",
                case.now.ambient - 273.15,
                c.limit - 273.15
            ),
            "air that can cool the coolant",
        ));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::Input;
    use crate::model::{Ask, Shelf};

    #[test]
    fn a_steady_state_moves_as_its_tangent_says() {
        let mut case = Ask::about("light-truck")
            .pose(Shelf::LibraryOnly)
            .unwrap()
            .case;
        (case.now.ambient, case.now.air_conditioning) = (celsius(38.0), 1.0);
        let found = warm(&case, Asked::STEADY).unwrap();
        let tangent = found.tangent(Asked::STEADY).unwrap();
        for (key, step) in [
            ("now.ambient", 0.05),
            ("core.conductance", 2.0),
            ("core.blocked", 1e-4),
            ("pump.slip", 1e-11),
            ("oil_heat.cooler", 0.1),
            ("air.recirculation", 1e-4),
        ] {
            let input = Input::find(key).unwrap();
            let [coolant, oil, air, back] = tangent.along(&case.along(input)).unwrap();
            let at = |by: f64| {
                let value = case.get(input).unwrap() + by;
                warm(&case.with(input, value), Asked::STEADY).unwrap()
            };
            let (more, less) = (at(step), at(-step));
            for (what, slope, more, less) in [
                (
                    "coolant",
                    coolant,
                    more.budget.coolant_temp,
                    less.budget.coolant_temp,
                ),
                ("oil", oil, more.budget.oil_temp, less.budget.oil_temp),
                ("air", air, more.budget.air_temp, less.budget.air_temp),
                (
                    "return",
                    back,
                    more.budget.return_temp,
                    less.budget.return_temp,
                ),
            ] {
                let by_steps = (more - less) / (2.0 * step);
                assert!(
                    (slope.eps - by_steps).abs() < 2e-3 * by_steps.abs() + 1e-6,
                    "{what} along {key}: {} and {by_steps} by steps",
                    slope.eps
                );
            }
        }
    }

    #[test]
    fn the_slow_way_finds_what_newton_finds() {
        let mut case = Ask::about("light-truck")
            .pose(Shelf::LibraryOnly)
            .unwrap()
            .case;
        case.now.ambient = celsius(38.0);
        for find in [Find::Coolant, Find::Ambient(celsius(110.0))] {
            let asked = Asked {
                find,
                ..Asked::STEADY
            };
            let quick = warm(&case, asked).unwrap();
            let mut balance = Balance {
                case: &case,
                asked,
                near: f64::NAN,
                low: LOW,
                solves: 0,
            };
            let (slow, held) = balance.nested().unwrap();
            assert_eq!(held, [false; 3]);
            let x = [
                quick.budget.coolant_temp,
                quick.budget.oil_temp,
                quick.budget.air_temp,
            ];
            let y = [
                slow.budget.coolant_temp,
                slow.budget.oil_temp,
                slow.budget.air_temp,
            ];
            for k in 0..3 {
                assert!((x[k] - y[k]).abs() < 1e-4, "{find:?} {k}: {x:?} {y:?}");
            }
        }
    }
}
