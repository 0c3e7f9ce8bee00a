//! The operating points of a set's fans, and cautions about them.

use super::sides::Main;
use super::{Auxfan, Curves, Set, Working, mounted_as};
use crate::balance::AirWay;
use crate::model::{AuxiliaryFan, Caution, Mount};

/// Relative deviation of a fan curve from its points above which a caution is given.
const MISFIT: f64 = 0.1;

/// Number of points along a curve.
const STEPS: usize = 41;

/// The operating points of the fans at each spot.
pub(super) fn points(request: &Auxfan, main: &Main, set: &Set) -> Vec<Working> {
    let Some(warm) = main.with(request, set, true).shown() else {
        return Vec::new();
    };
    let Some(way) = AirWay::of(&warm.case) else {
        return Vec::new();
    };
    let airflow = &warm.budget.airflow;
    let each = request.spots.iter().zip(set).enumerate();
    each.filter_map(|(k, (spot, one))| {
        let one = one.as_ref()?;
        let fan = request.fans.get(one.fan)?;
        let (zone, v) = (way.zones.get(spot.slot)?, *airflow.speed.get(spot.slot)?);
        let at_fan = match spot.mount {
            Mount::Pusher => way.outer,
            Mount::Puller => way.inner,
        };
        let flow = zone.area * v * way.outer / at_fan / one.count as f64;
        // The flow that corresponds to this operating point on the data sheet's curve.
        let sheet = flow / mounted_as(fan, spot.mount).0;
        Some(Working {
            place: spot.key.clone(),
            fans: one.count,
            flow,
            pressure: zone.fan_pressure(v),
            current: fan.current_at(sheet),
            of_free: flow / fan.free_flow,
            helped: airflow.over_core,
            spot: k,
            beyond: fan.points.last().is_some_and(|p| sheet > p.flow)
                || fan.points.first().is_some_and(|p| sheet < p.flow),
            back: airflow.back / (airflow.mass + airflow.back).max(1e-12),
        })
    })
    .collect()
}

/// The fan curve and the system resistance curve at each spot.
pub(super) fn curves(request: &Auxfan, main: &Main, set: &Set) -> Vec<Curves> {
    let Some(warm) = main.with(request, set, true).shown() else {
        return Vec::new();
    };
    let Some(way) = AirWay::of(&warm.case) else {
        return Vec::new();
    };
    let airflow = &warm.budget.airflow;
    let each = request.spots.iter().zip(set).enumerate();
    each.filter_map(|(k, (spot, one))| {
        let one = one.as_ref()?;
        let fan = request.fans.get(one.fan)?;
        let (zone, at) = (way.zones.get(spot.slot)?, *airflow.speed.get(spot.slot)?);
        let free = fan.free_flow * mounted_as(fan, spot.mount).0 * one.count as f64;
        let most = (1.1 * free).max(1.1 * zone.area * at) / zone.area;
        let top = 1.25 * zone.fan_pressure(0.0);
        let line = |pressure: &dyn Fn(f64) -> f64, low: f64, high: f64| {
            let point = |k: usize| {
                let v = most * k as f64 / (STEPS - 1) as f64;
                let p = pressure(v);
                let inside = p >= low && p <= high;
                (zone.area * v, if inside { p } else { f64::NAN })
            };
            (0..STEPS).map(point).collect()
        };
        Some(Curves {
            spot: k,
            fans: line(&|v| zone.fan_pressure(v), 0.0, f64::INFINITY),
            asked: line(&|v| zone.resistance(v) - airflow.over_core, -0.3 * top, top),
            at: (zone.area * at, zone.fan_pressure(at)),
        })
    })
    .collect()
}

/// Collects the cautions about a set.
pub(super) fn cautions(
    request: &Auxfan,
    main: &Main,
    set: &Set,
    points: &[Working],
) -> Vec<Caution> {
    let mut all = Vec::new();
    if let Some(fraction) = points.iter().map(|p| p.back).find(|b| *b > 0.005) {
        all.push(Caution::AirBlownBack { fraction });
    }
    if points.iter().any(|p| p.helped < 0.0) {
        all.push(Caution::AirAgainstFans);
    }
    let flow = |main: &Main| main.shown().map(|w| w.budget.airflow.flow);
    if let (Some(alone), Some(with)) = (flow(main), flow(&main.with(request, set, true)))
        && with < alone
    {
        all.push(Caution::MainFanStarved);
    }
    let used = set.iter().flatten().filter_map(|s| request.fans.get(s.fan));
    let rough = |fan: &AuxiliaryFan| Caution::FanCurveMisfit {
        fan: fan.name.clone(),
        fraction: fan.misfit,
    };
    all.extend(used.filter(|f| f.misfit > MISFIT).map(rough));
    if points.iter().any(|p| p.beyond) {
        all.push(Caution::FanBeyondData);
    }
    all.push(Caution::FansRatedFree);
    all
}
