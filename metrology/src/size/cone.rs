//! The cone through the mean diameters at planes, and what each of them contributes to a result.

use super::repeats::{LengthError, Place};
use super::{SizeError, SizeOptions};
use crate::Angle;
use crate::fit::line;
use crate::spread::{mean, squares};
use crate::uncertainty::{Budget, f_limit};

/// A cone through the mean diameters at planes.
pub(super) struct Cone {
    pub half: Angle,
    /// Diameter at plane 0, mm, and its change per mm.
    line: [f64; 2],
    /// Radians of half angle per mm of each diameter.
    pub sensitivities: Vec<f64>,
    /// How much was measured at each plane.
    counts: Vec<usize>,
    /// Scatter about the cone, µm, with its degrees of freedom, where it exceeds what the uncertainty of the diameters explains.
    scatter: Option<(f64, f64)>,
}

impl Cone {
    /// # Errors
    /// All places are at one plane.
    pub(super) fn through(
        options: &SizeOptions,
        error: &LengthError,
        places: &[Place],
    ) -> Result<Self, SizeError> {
        let x: Vec<f64> = places.iter().map(|place| place.at_mm).collect();
        let y: Vec<f64> = places.iter().map(Place::mean_mm).collect();
        let counts: Vec<usize> = places.iter().map(|place| place.values_mm.len()).collect();
        let n = places.len() as f64;
        let one_plane = SizeError::OnePlane {
            plane_mm: x[0],
            rows: places.len(),
        };
        let fit = line(&x, &y).map_err(|_| one_plane)?;
        // Planes count toward the small end: the diameter falls by 2 tan α.
        let tan = -fit.slope / 2.0;
        let half = Angle::from_rad(tan.atan());
        let (mean, squares) = (mean(&x), squares(&x));
        let per_tan = -half.cos().powi(2) / 2.0;
        let dof = n - 2.0;
        let scatter_um = fit.residual_sd * 1e3;
        let planes_um = options.plane_u.map_or(0.0, |u| 2.0 * tan.abs() * u.um());
        let of_lengths = counts.iter().map(|n| error.u_um(*n).powi(2)).sum::<f64>() / n;
        let expected = of_lengths.sqrt().hypot(planes_um);
        let limit = f_limit(dof.max(1.0), error.degrees_of_freedom().unwrap_or(1e6));
        let more = !error.is_known() || (scatter_um / expected).powi(2) > limit;
        Ok(Self {
            half,
            line: [fit.intercept, fit.slope],
            sensitivities: x.iter().map(|x| (x - mean) / squares * per_tan).collect(),
            counts,
            scatter: (dof > 0.0 && more).then_some((scatter_um, dof)),
        })
    }

    /// Whether anything tells how well the diameters repeat.
    pub(super) const fn repeats(&self, error: &LengthError) -> bool {
        error.is_known() || self.scatter.is_some()
    }

    /// The cone's diameter at a plane, mm.
    pub(super) fn at(&self, plane_mm: f64) -> f64 {
        self.line[0] + self.line[1] * plane_mm
    }

    /// How the cone's diameter at a plane depends on each measured one.
    pub(super) fn shares(places: &[Place], plane_mm: f64) -> Vec<f64> {
        let n = places.len() as f64;
        let x: Vec<f64> = places.iter().map(|place| place.at_mm).collect();
        let (mean, squares) = (mean(&x), squares(&x));
        x.iter()
            .map(|x| 1.0 / n + (plane_mm - mean) * (x - mean) / squares)
            .collect()
    }

    /// Adds what the measured diameters contribute to a result, by its sensitivity to each.
    pub(super) fn add(
        &self,
        budget: &mut Budget,
        options: &SizeOptions,
        error: &LengthError,
        sensitivities: &[f64],
    ) {
        let counted: Vec<(f64, usize)> = sensitivities
            .iter()
            .copied()
            .zip(self.counts.iter().copied())
            .collect();
        let Some((scatter_um, dof)) = self.scatter else {
            error.add(budget, &counted);
            add_planes(budget, options, self.half.tan(), sensitivities);
            return;
        };
        let all = sensitivities.iter().map(|s| s * s).sum::<f64>().sqrt();
        let (sd_um, rounding_um) = error.seen_between(scatter_um);
        budget.add("scatter about the cone", sd_um * all, Some(dof));
        let rounding: Vec<f64> = sensitivities.iter().map(|s| s * rounding_um).collect();
        budget.add_rectangular("resolution of the instrument", &rounding);
        if !error.is_known() {
            // An error that is the same everywhere does not scatter.
            error.add_instrument(budget, &counted);
        }
    }

    /// Arc-seconds of half angle per µm of each diameter.
    pub(super) fn arcsec_per_um(&self) -> Vec<f64> {
        self.sensitivities
            .iter()
            .map(|s| Angle::from_rad(s * 1e-3).arcsec())
            .collect()
    }

    /// The half angle with its budget.
    pub(super) fn half_angle(&self, options: &SizeOptions, error: &LengthError) -> (Angle, Budget) {
        let mut budget = Budget::new("arcsec");
        self.add(&mut budget, options, error, &self.arcsec_per_um());
        (self.half, budget)
    }
}

/// Adds the error of the planes' places: over that error the diameter changes as the cone does.
pub(super) fn add_planes(
    budget: &mut Budget,
    options: &SizeOptions,
    tan: f64,
    sensitivities: &[f64],
) {
    if let Some(u) = options.plane_u {
        let all = sensitivities.iter().map(|s| s * s).sum::<f64>().sqrt();
        budget.add("places of the planes", 2.0 * tan.abs() * u.um() * all, None);
    }
}
