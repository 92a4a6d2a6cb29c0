//! What is known of a single reading's scatter before a part is read.

use super::Scale;
use super::angles::distinct;
use crate::harmonics::USUAL_ORDER;
use crate::setup::Setup;

/// A statement is good to a tenth: JCGM 100, G.4.2.
const STATED_DOF: f64 = 50.0;
/// Fewer degrees of freedom than this cannot be computed with.
const LEAST_DOF: f64 = 1.0;
/// Readings at places already read, from which on the readings tell their scatter themselves.
const ENOUGH_REPEATS: usize = 8;

/// What is known of a single reading's scatter beside the readings.
#[derive(Debug, Clone, Copy)]
pub(super) struct Repeatability {
    /// Standard deviation, mm.
    pub sd: f64,
    pub dof: f64,
}

impl Repeatability {
    /// From the indicator's last check, else from the statement; with the rounding of its display, as a radial movement.
    pub(super) fn of(setup: &Setup, scale: Scale) -> Option<Self> {
        let indicator = &setup.indicator;
        let checked = indicator.check.as_ref().and_then(|check| {
            let (sd, dof) = check.repeatability_mm()?;
            Some((sd, dof.max(LEAST_DOF)))
        });
        let stated = indicator.repeatability.map(|sd| (sd.mm(), STATED_DOF));
        let (sd, dof) = checked.or(stated)?;
        let rounding = scale.step_mm / 12.0_f64.sqrt();
        Some(Self {
            sd: (sd * scale.factor * indicator.lever_factor()).hypot(rounding),
            dof,
        })
    }

    /// Only where the readings themselves tell too little: neither places read again nor places enough that no lobe is
    /// taken for scatter.
    pub(super) fn needed(self, angles: &[f64]) -> Option<Self> {
        let places = distinct(angles);
        let tell = angles.len() - places >= ENOUGH_REPEATS || places >= 4 * USUAL_ORDER;
        (!tell).then_some(self)
    }
}
