//! What a slope against the travel means for the part. The zero step and the sweep share it.

use super::Sloping;
use super::budget::HalfAngle;
use crate::Angle;
use crate::setup::Setup;
use crate::taper::error_on_diameter_mm;
use crate::tolerance::{AtSide, Tolerance, ToleranceError};
use crate::uncertainty::{Budget, COVERAGE, Component, Verdict};

/// A residual angle, judged.
pub(crate) struct Judged {
    /// Expanded uncertainty of the residual, 95 %.
    pub residual_expanded_arcsec: f64,
    /// Which way, when the sense is known and the residual is not nothing.
    pub cone: Option<Sloping>,
    /// What it is worth on diameter over the taper's length.
    pub over_taper_um: Option<f64>,
    /// The half angle with stack and bar, when the plan has a stack and the sense is known.
    pub half_angle: Option<HalfAngle>,
    pub limits_arcsec: Option<[f64; 2]>,
    pub verdict: Option<Verdict>,
    /// The budget: of the half angle when the plan has a stack, else of the residual.
    pub components: Vec<Component>,
}

/// The error of the half angle that a tap aims at, arc-seconds: none, but the middle of a tolerance to one side.
pub(super) fn wanted_error_arcsec(limits: Option<[f64; 2]>) -> f64 {
    match limits {
        Some([low, high]) if low >= 0.0 || high <= 0.0 => f64::midpoint(low, high),
        _ => 0.0,
    }
}

/// Judges a residual, counted positive for a steeper cone when `way_known`, else either way.
///
/// # Errors
/// The tolerance cannot be made into limits of the half angle.
pub(crate) fn judge(
    setup: &Setup,
    signed: Angle,
    way_known: bool,
    budget: &Budget,
) -> Result<Judged, ToleranceError> {
    let expanded = budget.expanded(COVERAGE);
    let part = HalfAngle::with_stack(setup, signed, budget);
    let limits = setup.limits_arcsec()?;
    // Where the sense is not known, the stack's own error may add to the residual or take from it.
    let stack_arcsec = part
        .as_ref()
        .map_or(0.0, |part| part.error_arcsec - signed.arcsec());
    let judged_expanded = part.as_ref().map_or(expanded, |part| part.expanded_arcsec);
    let other_way = if way_known { 1.0 } else { -1.0 };
    // A tolerance to one side can be judged only when it is known which side is which.
    let one_sided =
        matches!(setup.tolerance, Some(Tolerance::At { side, .. }) if side != AtSide::Both);
    let verdict = limits.filter(|_| way_known || !one_sided).map(|limits| {
        let on = |way: f64| {
            let error = way * signed.arcsec() + stack_arcsec;
            Verdict::on(error, judged_expanded, limits)
        };
        Some(on(1.0))
            .filter(|verdict| *verdict == on(other_way))
            .unwrap_or(Verdict::Undecided)
    });
    let part = part.filter(|_| way_known);
    let cone = (way_known && signed.rad() != 0.0).then(|| {
        if signed.rad() > 0.0 {
            Sloping::Steeper
        } else {
            Sloping::Shallower
        }
    });
    Ok(Judged {
        residual_expanded_arcsec: expanded,
        cone,
        over_taper_um: setup
            .taper_length()
            .map(|length| error_on_diameter_mm(setup.half_angle(), signed, length) * 1e3),
        components: part
            .as_ref()
            .map_or_else(|| budget.components(), |part| part.components.clone()),
        half_angle: part,
        limits_arcsec: limits,
        verdict,
    })
}
