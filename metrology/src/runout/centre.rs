//! A centre beside the axis, as a vector along 0° and along 90°.

use std::f64::consts::TAU;

pub(super) fn length([a, b]: [f64; 2]) -> f64 {
    (a * a + b * b).sqrt()
}

/// From 0° to below 360°.
pub(super) fn direction_deg([a, b]: [f64; 2]) -> f64 {
    let deg = b.atan2(a).rem_euclid(TAU).to_degrees();
    if deg >= 360.0 { 0.0 } else { deg }
}
