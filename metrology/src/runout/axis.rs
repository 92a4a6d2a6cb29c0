//! The part's axis from two planes or more: offset, tilt, and the run-out anywhere along it.

use super::centre::{direction_deg, length};
use super::outcome::{Axis, Elsewhere};
use super::section::Found;
use super::{RunoutError, amount};
use crate::uncertainty::COVERAGE;

/// Planes nearer to each other than this (mm) give no tilt that means anything.
const LEAST_APART: f64 = 0.1;

/// The axis as a line of centres: at the first plane, and its lean per mm, each along 0° and along 90°.
pub(super) struct Line {
    at_first: [f64; 2],
    lean: [f64; 2],
    first_mm: f64,
    lean_u: Option<(f64, f64)>,
}

/// The axis through the centres of planes in order of place; `None` for a single plane.
///
/// # Errors
/// Two planes that coincide.
pub(super) fn through(planes: &[Found]) -> Result<Option<Line>, RunoutError> {
    let place = |found: &Found| found.section.plane_mm.unwrap_or(0.0);
    let (Some(first), Some(_)) = (planes.first(), planes.get(1)) else {
        return Ok(None);
    };
    if let Some(pair) = planes
        .windows(2)
        .find(|p| place(&p[1]) - place(&p[0]) < LEAST_APART)
    {
        let (first_mm, second_mm) = (place(&pair[0]), place(&pair[1]));
        return Err(RunoutError::PlanesCoincide {
            first_mm,
            second_mm,
        });
    }
    let n = planes.len() as f64;
    let mean = planes.iter().map(place).sum::<f64>() / n;
    let squares: f64 = planes.iter().map(|p| (place(p) - mean).powi(2)).sum();
    let lean = [0, 1].map(|axis| {
        planes
            .iter()
            .map(|p| (place(p) - mean) * p.centre[axis])
            .sum::<f64>()
            / squares
    });
    let middle = [0, 1].map(|axis| planes.iter().map(|p| p.centre[axis]).sum::<f64>() / n);
    let first_mm = place(first);
    let at_first = [0, 1].map(|axis| middle[axis] + lean[axis] * (first_mm - mean));
    // Welch–Satterthwaite over the planes, each with its share in the lean.
    let shares = || {
        planes
            .iter()
            .map(|p| p.u.map(|(u, dof)| (u * (place(p) - mean) / squares, dof)))
    };
    let lean_u = shares().collect::<Option<Vec<_>>>().map(|shares| {
        let variance: f64 = shares.iter().map(|(u, _)| u * u).sum();
        let spent: f64 = shares.iter().map(|(u, dof)| u.powi(4) / dof).sum();
        let dof = if spent > 0.0 {
            variance * variance / spent
        } else {
            f64::INFINITY
        };
        (variance.sqrt(), dof)
    });
    Ok(Some(Line {
        at_first,
        lean,
        first_mm,
        lean_u,
    }))
}

impl Line {
    pub(super) fn told(&self) -> Axis {
        let tilt = length(self.lean);
        let interval = self
            .lean_u
            .map(|(u, dof)| amount::interval(tilt, u, dof, COVERAGE));
        Axis {
            offset_um: length(self.at_first) * 1e3,
            tilt_urad: tilt * 1e6,
            direction_deg: direction_deg(self.lean),
            offset_direction_deg: direction_deg(self.at_first),
            plane_mm: self.first_mm,
            tilt_interval_urad: interval.map(|limits| limits.map(|v| v * 1e6)),
        }
    }

    /// The run-out that the axis gives at a plane.
    pub(super) fn elsewhere(&self, plane_mm: f64) -> Elsewhere {
        let centre =
            [0, 1].map(|axis| self.at_first[axis] + self.lean[axis] * (plane_mm - self.first_mm));
        let eccentricity_um = length(centre) * 1e3;
        Elsewhere {
            plane_mm,
            runout_um: 2.0 * eccentricity_um,
            eccentricity_um,
            high_spot_deg: direction_deg(centre),
        }
    }
}
