//! A sweep of one input, with bands and differences.

use super::states::{DRAWN, Spot};
use super::{At, Curve, Found, Given, Point, Row, Second, Sweep};
use crate::balance::Output;
use crate::model::Setup;
use crate::trouble::Trouble;
use crate::vary::size::Figure;
use crate::vary::{band, sweep};
use rayon::prelude::*;

impl Sweep {
    /// Sweeps one input with each oil.
    pub(super) fn over_one(&self, sides: &[Setup]) -> Result<Found, Trouble> {
        let mut found = Found::default();
        let mut first: Option<(&Setup, Vec<Spot>)> = None;
        if self.band {
            let values = sides.len() * self.along.steps;
            let machines = (2 * sides.len() - 1) * DRAWN;
            let stop = &self.setup.stop;
            stop.expect(self.circuit().map_or(machines, |_| values));
        }
        for side in sides {
            let places = self.along(&side.case)?;
            self.setup.stop.ask()?;
            let found_there = places.iter().flatten();
            found.heats.extend(found_there.filter_map(|p| p.err()));
            let spots: Vec<Spot> = places.iter().filter_map(|p| (*p)?.ok()).collect();
            let given = self.given(side, &spots, first.as_ref())?;
            let told = || spots.iter().zip(&given);
            let rows = told().map(|(s, given)| self.row(side, s, Second(None), *given));
            found.series.extend(rows);
            let limits = spots.iter().map(|s| (s.x, s.operating.limit));
            found.curves.push(Curve {
                oil: side.oil.name.clone(),
                points: told().map(|(s, given)| self.point(s, *given)).collect(),
                stretches: sweep::stretches(limits),
            });
            first.get_or_insert((side, spots));
        }
        Ok(found)
    }

    /// The output, if it is one of the oil circuit at given temperatures.
    fn circuit(&self) -> Option<Output> {
        match (self.output, self.steady) {
            (Figure::Output(output), None) => Some(output),
            _ => None,
        }
    }

    /// The requested output at each step; if requested, with its uncertainty band and its difference from the first
    /// oil.
    fn given(
        &self,
        side: &Setup,
        spots: &[Spot],
        first: Option<&(&Setup, Vec<Spot>)>,
    ) -> Result<Vec<Given>, Trouble> {
        let from_first = |spot: &Spot, ends: Option<(f64, f64)>| {
            let near = first?.1.iter().find(|s| s.x.total_cmp(&spot.x).is_eq())?;
            let (low, high) = ends?;
            Some((spot.value - near.value, low, high))
        };
        let plain = |spot: &Spot| Given {
            output: self.output,
            value: spot.value,
            band: None,
            difference: None,
        };
        match (self.band, self.circuit()) {
            (false, _) => Ok(spots.iter().map(plain).collect()),
            (true, Some(output)) => {
                let one = |spot: &Spot| {
                    self.setup.stop.check()?;
                    let here = self.along.resolve(side, spot.x);
                    let together = &side.machine.correlations;
                    let (case, spread) = (&here.case, &here.spread);
                    let band = band::of_output(case, spread, together, &spot.operating, output);
                    let ends = first.and_then(|(first, _)| {
                        let there = self.along.resolve(first, spot.x);
                        band::output_difference(&here, &there, output)
                    });
                    Ok(Given {
                        band: Some(band),
                        difference: from_first(spot, ends),
                        ..plain(spot)
                    })
                };
                spots.par_iter().map(one).collect()
            }
            (true, None) => {
                let bands = self.bands(side, first.map(|f| f.0))?;
                let values = self.along.values();
                let one = |spot: &Spot| {
                    let at = values.iter().position(|x| x.total_cmp(&spot.x).is_eq());
                    let [band, difference] = at.map_or([None; 2], |k| bands[k]);
                    Given {
                        band,
                        difference: from_first(spot, difference),
                        ..plain(spot)
                    }
                };
                Ok(spots.iter().map(one).collect())
            }
        }
    }

    fn at(&self, spot: &Spot) -> At {
        At {
            along: self.along,
            value: spot.x,
        }
    }

    fn point(&self, spot: &Spot, given: Given) -> Point {
        Point {
            at: self.at(spot),
            fan_speed: spot.state.fan_speed,
            given,
            limited_by: spot.operating.limit,
        }
    }

    pub(super) fn row(&self, side: &Setup, spot: &Spot, second: Second, given: Given) -> Row {
        let oil = &side.oil;
        let named = !oil.key.is_empty();
        Row {
            oil: if named { &oil.key } else { &oil.name }.clone(),
            at: self.at(spot),
            second,
            settles: spot.settles,
            fan_speed: spot.state.fan_speed,
            supply_gauge_pressure: spot.state.supply_gauge_pressure,
            motor_pressure_drop: spot.state.motor_pressure_drop,
            pump_shaft_power: spot.state.pump_shaft_power,
            given,
            limited_by: spot.operating.limit,
        }
    }
}
