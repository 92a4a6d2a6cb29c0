//! Outliers among readings round a turn.

use crate::fit::directions;
use crate::harmonics::{Harmonics, USUAL_ORDER, highest_order};
use crate::outliers::flagged;

/// Readings that lie far from a profile of few harmonics.
///
/// A far one draws the profile to it, and its neighbours then seem off too; so the profile is fitted again without what was
/// flagged, until it flags the same.
pub(super) fn outliers(angles: &[f64], y: &[f64], step_mm: f64) -> Vec<usize> {
    let most = highest_order(angles)
        .min(USUAL_ORDER)
        .min(y.len() / 4)
        .max(1);
    let (cos, sin) = directions(angles);
    let mut out: Vec<usize> = Vec::new();
    for _ in 0..4 {
        let kept = |v: &[f64]| -> Vec<f64> {
            let is_in = |i: &usize| out.binary_search(i).is_err();
            (0..v.len()).filter(is_in).map(|i| v[i]).collect()
        };
        let (kept_angles, kept_y) = (kept(angles), kept(y));
        let fit = |order| Harmonics::fit(&kept_angles, &kept_y, order).ok();
        let Some(fit) = (1..=most).rev().find_map(fit) else {
            break;
        };
        let rest: Vec<f64> = (0..y.len())
            .map(|i| y[i] - fit.at(cos[i], sin[i]))
            .collect();
        let now = flagged(&rest, step_mm);
        if now == out {
            break;
        }
        out = now;
    }
    out
}
