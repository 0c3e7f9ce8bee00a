//! Blends of the old and the fresh oil, and the rounds of a plan.

use super::{AtOilTemp, ByMethod, DRAINED, Flush, Found, MIXING, Method, POUR, Plan, Round};
use crate::balance::State;
use crate::input::unit::celsius;
use crate::model::{Case, Caution, OilSheet, Setup, Whose};
use crate::quantity::Kind;
use crate::question::state::cautions;
use crate::trouble::Trouble;
use crate::vary::band;
use crate::vary::dilution::Old;
use crate::vary::sweep;

/// Maximum number of rounds considered.
const MOST: usize = 200;
/// A relative change of fan speed below this is not worthwhile.
pub const PAYS: f64 = 0.005;
/// Oil temperatures at which the fan speed is computed, °C.
const TEMPERATURES: [f64; 7] = [-20.0, 0.0, 20.0, 40.0, 60.0, 80.0, 100.0];

/// Computes the fan speed with blends of the old and the fresh oil.
struct Blends<'a> {
    request: &'a Flush,
    fresh: OilSheet,
    old: OilSheet,
    /// Fan speed with fresh oil, rad/s.
    fresh_speed: f64,
}

/// The rounds of one plan, in the worst or in the best case of dilution.
struct Rounds {
    /// Fraction of old oil after each round; the first entry is before round 1.
    old: Vec<Old>,
    /// Number of rounds needed.
    needed: usize,
    /// Volume of fresh oil needed, m³; when oil is poured through, the last round may be cut short.
    volume: f64,
    /// Fraction of old oil that remains after the rounds needed.
    left: f64,
}

impl Rounds {
    /// The old oil after a round. Beyond the end of the list nothing changes any more.
    fn after(&self, round: usize) -> Old {
        let there = self.old.get(round).or(self.old.last());
        there.copied().unwrap_or(Old::ALL)
    }
}

impl<'a> Blends<'a> {
    fn new(request: &'a Flush) -> Result<Self, Trouble> {
        // Oil properties that the user set individually apply to both oils.
        let sheet = |setup: &Setup| OilSheet {
            oil: setup.case.oil,
            ..setup.oil.clone()
        };
        let mut blends = Self {
            fresh: sheet(&request.fresh),
            old: sheet(&request.old),
            fresh_speed: 0.0,
            request,
        };
        blends.fresh_speed = blends.at(0.0)?.fan_speed;
        Ok(blends)
    }

    /// The case with a blend that contains this fraction of old oil.
    fn case(&self, share: f64) -> Result<Case, Trouble> {
        let oil = OilSheet::blend(&self.fresh, &self.old, share)?;
        Ok(Case {
            oil: oil.oil,
            curve: oil.curve,
            ..self.request.fresh.case
        })
    }

    /// The state with a blend that contains this fraction of old oil.
    fn at(&self, share: f64) -> Result<State, Trouble> {
        Ok(State::of(&self.case(share)?)?.0)
    }

    /// Whether a blend that contains this fraction of old oil meets the target.
    fn meets(&self, share: f64) -> Result<bool, Trouble> {
        let request = self.request;
        if request.target.is_some_and(|t| share > t * (1.0 + 1e-12)) {
            return Ok(false);
        }
        match request.within {
            Some(within) => {
                let off = (self.at(share)?.fan_speed - self.fresh_speed).abs();
                Ok(off <= within * self.fresh_speed)
            }
            None => Ok(true),
        }
    }

    /// The rounds of a plan in the worst case (`limit` 0) or in the best case (1) of dilution. If no number of rounds
    /// meets the target, the inner error is the old oil after each round.
    fn rounds(&self, plan: &Plan, limit: usize) -> Result<Result<Rounds, Vec<Old>>, Trouble> {
        let fill = plan.fill;
        let old = fill.rounds(plan.exchanges(1.0)[limit], MOST);
        // One more than the last round that misses the target, because the fan speed may come close to that with fresh
        // oil and then depart from it again.
        let mut needed = 0;
        for (n, one) in old.iter().enumerate().rev() {
            if !self.meets(fill.share(*one))? {
                needed = n + 1;
                break;
            }
        }
        if needed >= old.len() {
            return Ok(Err(old));
        }
        let mut part = 1.0;
        let mut left = old.get(needed).map_or(1.0, |o| fill.share(*o));
        if plan.method == Method::ReturnLine && needed > 0 {
            let before = old[needed - 1];
            let after = |part: f64| fill.share(fill.exchanged(before, plan.exchanges(part)[limit]));
            let mut low = 0.0;
            for _ in 0..50 {
                let middle = 0.5 * (low + part);
                if self.meets(after(middle))? {
                    part = middle
                } else {
                    low = middle
                }
            }
            left = after(part);
        }
        let rounds = needed.saturating_sub(1) as f64 + if needed > 0 { part } else { 0.0 };
        let volume = self.request.fresh.case.reservoir.volume * plan.exchanged * rounds;
        Ok(Ok(Rounds {
            old,
            needed,
            volume,
            left,
        }))
    }

    /// The rounds of the requested plan, in the worst case (`limit` 0) or in the best case (1) of dilution.
    fn planned(&self, limit: usize) -> Result<Rounds, Trouble> {
        let found = self.rounds(&self.request.plan, limit)?;
        found.map_err(|old| self.no_end(&old))
    }

    /// The error reported if no number of rounds meets the target.
    fn no_end(&self, old: &[Old]) -> Trouble {
        let fill = self.request.plan.fill;
        let units = self.request.fresh.units;
        let share = fill.share(old.last().copied().unwrap_or(Old::ALL));
        let percent = units.show(Kind::Share, share);
        let mut found = if old.len() > MOST {
            format!("after {MOST} rounds, {percent} of the old oil is still left")
        } else {
            format!("{percent} of the old oil remains, however many rounds are made")
        };
        if let (Some(_), Ok(state)) = (self.request.within, self.at(share)) {
            found.push_str(&format!(
                "; the fan then turns at {} instead of {} with fresh oil",
                units.show(Kind::Speed, state.fan_speed),
                units.show(Kind::Speed, self.fresh_speed)
            ));
        }
        let hint = if fill.still > 0.0 && fill.mixing < 1.0 {
            format!(
                "the stagnant volume must mix: run the engine and turn the steering from lock to lock between rounds ({}), or require less",
                MIXING.mention()
            )
        } else {
            format!(
                "exchange more in each round ({}, {}), or require less",
                DRAINED.mention(),
                POUR.mention()
            )
        };
        Trouble::no_answer(found, self.request.asked()).hint(hint)
    }

    /// The values after each round, starting before the first.
    fn series(&self, worse: &Rounds, better: &Rounds) -> Result<Vec<Round>, Trouble> {
        let fill = self.request.plan.fill;
        let shown = shown(worse);
        (0..=shown)
            .map(|round| {
                let old_share = fill.share(worse.after(round));
                let state = self.at(old_share)?;
                Ok(Round {
                    round,
                    fresh_oil: self.request.volume(round as f64),
                    old_share,
                    old_share_low: fill.share(better.after(round)),
                    viscosity: state.oil_viscosity,
                    fan_speed: state.fan_speed,
                })
            })
            .collect()
    }

    /// Remaining old oil versus the fresh oil added, also within each round if oil is poured through.
    fn along(&self, worse: &Rounds, better: &Rounds) -> Vec<(f64, f64, f64)> {
        let plan = &self.request.plan;
        let parts = match plan.method {
            Method::ReturnLine => sweep::values(0.0, 1.0, 25, false),
            _ => vec![0.0, 1.0],
        };
        let share = |rounds: &Rounds, limit: usize, n: usize, part: f64| {
            let exchange = plan.exchanges(part)[limit];
            plan.fill
                .share(plan.fill.exchanged(rounds.after(n), exchange))
        };
        let mut all = Vec::new();
        for n in 0..shown(worse) {
            for part in &parts {
                all.push((
                    self.request.volume(n as f64 + part),
                    share(worse, 0, n, *part),
                    share(better, 1, n, *part),
                ));
            }
        }
        all
    }

    /// Remaining old oil versus the fresh oil added, for a fill without a stagnant volume.
    fn if_none_still(&self, worse: &Rounds) -> Vec<(f64, f64)> {
        let plan = &self.request.plan;
        if plan.method == Method::ReturnLine {
            return Vec::new();
        }
        let left = |n: usize| {
            let left = (1.0 - plan.exchanged).powi(n as i32);
            (self.request.volume(n as f64), left)
        };
        (0..=shown(worse)).map(left).collect()
    }

    /// Fan speed versus the fraction of old oil.
    fn speeds(&self) -> Result<Vec<(f64, f64)>, Trouble> {
        let shares = sweep::values(0.0, 1.0, 61, false).into_iter();
        shares.map(|s| Ok((s, self.at(s)?.fan_speed))).collect()
    }

    /// The fan speeds at other oil temperatures with the old oil, after the rounds needed, and with fresh oil.
    fn over_oil_temp(&self, left: f64) -> Result<Vec<AtOilTemp>, Trouble> {
        let at = |t: f64| {
            let oil_temp = celsius(t);
            let speed = |share: f64| -> Result<f64, Trouble> {
                let mut case = self.case(share)?;
                case.now.oil_temp = oil_temp;
                Ok(State::of(&case)?.0.fan_speed)
            };
            Ok(AtOilTemp {
                oil_temp,
                fan_speed_old: speed(1.0)?,
                fan_speed: speed(left)?,
                fan_speed_fresh: speed(0.0)?,
            })
        };
        TEMPERATURES.into_iter().map(at).collect()
    }

    /// The rounds and fresh oil that each method needs to meet the target.
    fn methods(&self) -> Result<Vec<ByMethod>, Trouble> {
        let one = |method: Method| {
            let mut plan = self.request.plan;
            if method != plan.method {
                plan.method = method;
                plan.exchanged = method.usual_beside(plan.fill.still);
            }
            let found = match (self.rounds(&plan, 0)?, self.rounds(&plan, 1)?) {
                (Ok(worse), Ok(better)) => Some((worse, better)),
                _ => None,
            };
            let litres = |r: &Rounds| Kind::Volume.to_json(r.volume);
            Ok(ByMethod {
                method,
                exchanged_share: plan.exchanged,
                rounds_needed: found.as_ref().map(|f| f.0.needed),
                litres_needed: found.as_ref().map(|f| litres(&f.0)),
                litres_needed_low: found.as_ref().map(|f| litres(&f.1)),
            })
        };
        Method::ALL.into_iter().map(one).collect()
    }
}

/// Number of rounds shown.
fn shown(rounds: &Rounds) -> usize {
    (rounds.needed + 2).max(5)
}

/// The last round that changes the fan speed by a worthwhile amount; 0 if no round does.
fn last_that_pays(speeds: &[f64]) -> usize {
    let changes = speeds.windows(2).map(|pair| {
        let (before, after) = (pair[0], pair[1]);
        (after - before).abs() > PAYS * before.max(after)
    });
    let last = changes.enumerate().rfind(|(_, pays)| *pays);
    last.map_or(0, |(k, _)| k + 1)
}

/// Answers the question.
pub(super) fn find(request: &Flush) -> Result<Found, Trouble> {
    let (setup, plan) = (&request.fresh, &request.plan);
    let fill = plan.fill;
    let blends = Blends::new(request)?;
    let (old, fresh) = (blends.at(1.0)?, blends.at(0.0)?);
    if request.within.is_some() && fresh.fan_speed <= 0.0 {
        return Err(Trouble::no_answer(
            "the fan is stopped even with fresh oil",
            "a condition in which the fan turns, because its speed is required",
        )
        .hint("the condition is set by engine speed, oil temperature and command"));
    }
    let (worse, better) = (blends.planned(0)?, blends.planned(1)?);
    let after = blends.at(worse.left)?;
    let speeds = worse.old.iter();
    let speeds = speeds.map(|old| Ok(blends.at(fill.share(*old))?.fan_speed));
    let speeds = speeds.collect::<Result<Vec<f64>, Trouble>>()?;
    let pays = last_that_pays(&speeds);
    let series = blends.series(&worse, &better)?;
    let litres = Kind::Volume.to_json(worse.volume);
    let band = band::difference(&request.fresh, &request.old);
    Ok(Found {
        method: plan.method,
        rounds_needed: worse.needed,
        litres_needed: litres,
        litres_needed_low: Kind::Volume.to_json(better.volume),
        cost: request.cost_per_litre.map(|p| p * worse.volume * 1e3),
        old_share_left: worse.left,
        last_round_that_pays: pays,
        fan_speed_old: old.fan_speed,
        fan_speed: after.fan_speed,
        fan_speed_fresh: fresh.fan_speed,
        difference_low: band.map(|b| b.low),
        difference_high: band.map(|b| b.high),
        band,
        viscosity_old: old.oil_viscosity,
        viscosity_fresh: fresh.oil_viscosity,
        fill: setup.case.reservoir.volume,
        exchanged_share: plan.exchanged,
        stagnant_share: fill.still,
        mixing_share: fill.mixing,
        target_share: request.target,
        speed_within_share: request.within,
        rounds: series[1..].to_vec(),
        over_oil_temp: blends.over_oil_temp(worse.left)?,
        methods: blends.methods()?,
        series,
        volume: (worse.volume, better.volume),
        speed_paid: speeds.get(pays).copied().unwrap_or(fresh.fan_speed),
        along: blends.along(&worse, &better),
        if_none_still: blends.if_none_still(&worse),
        speeds: blends.speeds()?,
        cautions: all_cautions(request, &fresh)?,
    })
}

/// Collects the cautions to be shown with the result.
fn all_cautions(request: &Flush, fresh: &State) -> Result<Vec<Caution>, Trouble> {
    let setup = &request.fresh;
    let shares = setup.case.steering.is_some();
    let mut all = vec![
        Caution::OilsMayDisagree,
        Caution::SteeringAtRisk { shares },
        Caution::BleedAndCheck,
        Caution::ExchangeAssumed,
    ];
    if request.plan.method == Method::ReturnLine {
        all.push(Caution::PumpMayRunDry);
    }
    let (_, operating) = State::of(&setup.case)?;
    all.extend(cautions(setup, fresh, operating.limit));
    for caution in &request.old.cautions {
        if !all.contains(caution) {
            all.push(caution.clone().of(Whose::OldOil));
        }
    }
    Ok(all)
}
