//! Starting values for the search for the operating point.

use crate::balance::ready::{Point, Ready};
use crate::numeric::Dual64;

/// A first guess of the fan speed, rad/s: from the flow that remains after leakage or, if lower, from the pressure at
/// which a valve bypasses the surplus or the belt slips.
pub(super) fn guess(ready: &Ready<'_, f64>) -> f64 {
    let case = ready.case;
    let swept = case.pump.displacement * ready.pump_speed;
    let size = case.motor.displacement;
    let push = (size * (1.0 - case.motor.friction)).max(1e-12);
    let factor = ready.load.factor().max(1e-12);
    let (pump_mu, motor_mu) = (
        ready.pump_oil.clearance(ready.rho, 0.0),
        ready.motor_drag_mu,
    );
    let drag = case.motor.drag * size * motor_mu;
    let drop = |omega: f64| (factor * omega * omega + drag * omega + case.motor.dry_torque) / push;
    let jet = (2.0 / ready.rho).sqrt();
    let leak = |laminar: f64, turbulent: f64| move |dp: f64| laminar * dp + turbulent * dp.sqrt();
    let (pump, motor) = (&case.pump, &case.motor);
    let pump_slip = leak(
        pump.slip * pump.displacement / pump_mu,
        pump.turbulent_slip * ready.pump_gap * jet,
    );
    let motor_slip = leak(
        motor.slip * size / motor_mu,
        motor.turbulent_slip * ready.motor_gap * jet,
    );
    // Priority steering takes flow from the fan; steering downstream of the motor adds back-pressure.
    let (first, least, held) = match &case.steering {
        Some(s) if case.shape.steering_first => (s.flow, s.pressure, 0.0),
        Some(s) => (0.0, 0.0, s.pressure),
        None => (0.0, 0.0, 0.0),
    };
    let fed = |omega: f64| {
        let dp = drop(omega);
        let at_pump = (dp + held).max(least);
        let shrunk = ready.air * at_pump / (at_pump + ready.atmosphere);
        let inlet = ready.inlet_bound.unwrap_or(swept) * (1.0 - shrunk);
        let drawn = (swept * (1.0 - shrunk) - pump_slip(at_pump)).min(inlet);
        let flow = ready.regulated.map_or(drawn, |q| drawn.min(q));
        flow - first - motor_slip(dp)
    };
    // Leakage is taken as proportional to speed squared; the speed is then the positive root of a ω² + V ω = flow.
    let most = fed(0.0).max(0.0) / size;
    let lost = (size * most - fed(most)).max(0.0) / (most * most).max(1e-12);
    let flow_bound = if lost > 0.0 {
        ((size * size + 4.0 * lost * size * most).sqrt() - size) / (2.0 * lost)
    } else {
        most
    };
    let at = |dp: f64| {
        let torque = (dp * push - case.motor.dry_torque).max(0.0);
        ((drag * drag + 4.0 * factor * torque).sqrt() - drag) / (2.0 * factor)
    };
    let valve = |opens: f64, slope: f64| {
        let cracks = at(opens);
        if cracks >= flow_bound {
            flow_bound
        } else {
            at(opens + slope * (fed(cracks) - size * cracks).max(0.0)).min(flow_bound)
        }
    };
    let beside = case.shape.valve_to_motor_outlet;
    let opens_at = ready.opens_at - if beside { 0.0 } else { held };
    let relieves_at = case.relief.setting - held;
    // Once the belt slips, the pressure can rise only slightly further.
    let slips_at = case.belt.as_ref().map_or(f64::INFINITY, |belt| {
        let loss = ready.pump_drag_mu * pump.drag * pump.displacement * ready.pump_speed;
        let push = belt.torque_limit * belt.grip - loss - pump.dry_torque;
        at(push.max(0.0) / (pump.displacement * (1.0 + pump.friction)) - held)
    });
    valve(opens_at, case.valve.slope)
        .min(valve(relieves_at, case.relief.slope))
        .min(slips_at)
}

/// First guess of the unknown of a stopped motor: how far pressure builds up towards the pressure at which the motor
/// would start (1 = reached).
/// The pressure stops rising when a valve bypasses the flow `offered` at zero pressure (m³/s) or leakage takes it all;
/// leakage grows with the second to fourth power of the unknown.
pub(super) fn builds_up(ready: &Ready<'_, f64>, turning: &Point<Dual64>, offered: f64) -> f64 {
    let case = ready.case;
    let leaked = offered - (turning.residual + turning.valve_flow + turning.relief_flow).re;
    let rise = |share: f64| {
        if share > 0.0 {
            share.sqrt().sqrt().min(1.0)
        } else {
            1.0
        }
    };
    // The pressure at a valve is the motor's pressure plus the constant back-pressure of the steering.
    let held = turning.return_side.steering_drop.re;
    let valve = {
        let held = if case.shape.valve_to_motor_outlet {
            0.0
        } else {
            held
        };
        let opens_at = ready.opens_at + case.valve.slope * offered;
        rise((opens_at - held) / (turning.valve_drop.re - held))
    };
    let relief = {
        let opens_at = case.relief.setting + case.relief.slope * offered;
        let seen = (turning.outlet - case.reservoir.pressure).re;
        rise((opens_at - held) / (seen - held))
    };
    let leaks = rise(offered / leaked);
    leaks.min(valve).min(relief)
}
