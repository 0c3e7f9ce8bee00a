//! The airflow through the core face, and the heat that the air takes up from the coolers and the core.

use super::{OIL_COOLER_EXPONENT, Parts, Passing, STILL};
use crate::balance::air::{AirWay, Airflow, BARE, ZONES};
use crate::input::unit::celsius;
use crate::law::effectiveness_kays_london as exchanger;
use crate::model::Case;
use crate::numeric::{Real, greater, lesser, positive};
use crate::part::Front;

/// Maximum temperature of the air downstream of other coolers, K; these cannot heat the air beyond the temperature of
/// charge air from a turbocharger *(common practice, no source)*.
const UPSTREAM_AIR_MAX: f64 = celsius(150.0);

/// Flow and temperature of air and coolant at the core.
pub(super) struct Streams<'a, N> {
    pub(super) case: &'a Case<N>,
    pub(super) parts: Parts<'a, N>,
    pub(super) way: AirWay<N>,
    pub(super) fronts: [Option<&'a Front<N>>; 3],
    pub(super) airflow: Airflow<N>,
    /// Temperature of the air at the front of the core, K.
    pub(super) intake: N,
    /// Specific heat of the air, J/(kg K).
    pub(super) air_heat: N,
    pub(super) coolant_temp: N,
    /// Coolant flow through the core, m³/s; `coolant_capacity` is its heat capacity flow, W/K.
    pub(super) coolant_flow: N,
    pub(super) coolant_capacity: N,
    /// Operating fraction of the air conditioning; `load` is engine power as a fraction of its maximum.
    pub(super) conditioning: N,
    pub(super) load: N,
    /// Heat transfer coefficient of the coolant film relative to the reference coolant.
    pub(super) film: N,
    /// Fraction of the core's tubes that are open.
    pub(super) tubes: N,
}

/// One zone of the core face: heat in W, conductances in W/K.
struct Face<N> {
    /// Fraction of the core face in this zone.
    share: N,
    /// Temperature of the incoming air, K.
    arriving: N,
    /// Heat that the oil cooler, the condenser and other coolers release into the incoming air.
    from_oil: N,
    from_condenser: N,
    from_other: N,
    /// Condensing temperature of the refrigerant, K.
    condensing: N,
    /// Air-side conductance to a core of uniform temperature; zero if not requested.
    air_side: N,
    /// Overall conductance from coolant to air in this zone.
    passes: N,
}

impl<N: Real> Streams<'_, N> {
    /// For the zone with index `k`: its fraction of the core face and the equipment upstream of it; `None` if the zone
    /// does not exist.
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

    /// Air that enters the core through a zone of the face, m³/s; zero if the air flows outwards.
    fn through(&self, k: usize) -> N {
        positive(self.way.zones[k].area * self.airflow.speed[k])
    }

    /// Heat, W, that a fraction `cooler` of the oil cooler rejects to air at speed `v` (m/s) with a heat capacity flow
    /// of `capacity` (W/K).
    fn oil_cooler_rejects(&self, cooler: N, v: N, capacity: N) -> N {
        if v.re() < STILL {
            return N::from(0.0);
        }
        let grown = (v / self.parts.core.rated_air_speed).powf(OIL_COOLER_EXPONENT);
        // However slow the air, it leaves the oil cooler no warmer than the oil.
        lesser(self.parts.oil.cooler * cooler * grown, capacity)
            * (self.case.now.oil_temp - self.intake)
    }

    /// Heat, W, that the condenser and other coolers release into the air of zone `k`, one of the two zones behind
    /// them.
    fn upstream_heat(&self, front: &Front<N>, k: usize, capacity: N) -> [N; 2] {
        // The heat is divided between the two zones in proportion to their airflow.
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

    /// Heat transfer in the zone with index `k`; `None` if the zone has no airflow. The air-side conductance is
    /// computed only if `sides` is set.
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

    /// Heat transfer of the whole core. If `core_temp` is given, the core's metal has this temperature; otherwise it
    /// passes all heat on to the air.
    pub(super) fn crossed(&self, core_temp: Option<N>) -> Crossed<N> {
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

    /// Rejected heat `heat` as a fraction of the condenser's heat load, at most 1; 1 if there is no load.
    fn rejected_fraction(&self, heat: N) -> N {
        let load = self.fronts.iter().flatten();
        let load = load.fold(N::from(0.0), |sum, f| sum + f.condenser) * self.conditioning;
        if load.re() > 0.0 {
            lesser(heat / load, N::from(1.0))
        } else {
            N::from(1.0)
        }
    }

    /// Heat transfer of a core whose metal has a given temperature: heat enters from the coolant and leaves to the air.
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
            // Each conductance applies to a core of uniform temperature; both are scaled so that in series they give
            // the overall conductance.
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
pub(super) struct Crossed<N> {
    pub(super) passing: Passing<N>,
    /// Heat from the coolant into the core.
    pub(super) core_heat: N,
    /// Heat from the core to the air.
    pub(super) radiator_heat: N,
    /// Heat carried by the air that flows back out of the core's front.
    pub(super) blown_out: N,
    pub(super) oil_cooler: N,
    pub(super) condenser: N,
    pub(super) condenser_share: N,
    pub(super) condensing: N,
    pub(super) other: N,
}

/// Heat flow per kelvin of inlet temperature difference, W/K, between a body of uniform temperature and a stream of
/// heat capacity flow `capacity` (W/K), through a conductance (W/K).
fn one_sided<N: Real>(conductance: N, capacity: N) -> N {
    capacity * (N::from(1.0) - (-(conductance / capacity)).exp())
}

/// Heat flow between two streams per kelvin of their inlet temperature difference, W/K, from the conductance and the
/// two heat capacity flows (W/K).
fn exchanged<N: Real>(conductance: N, one: N, other: N) -> N {
    let (least, most) = if one.re() < other.re() {
        (one, other)
    } else {
        (other, one)
    };
    exchanger::crossflow(conductance / least, least / most) * least
}
