//! The readings of one plane: the circle and the minimum zone through them.

use super::RunoutError;
use super::angles::Angled;
use crate::domain::{Unusable, WhyUnusable};
use crate::fit::minimum_zone::{self, Ring};
use crate::fit::{FitError, Limacon, circle, directions, limacon_of_directions};
use std::f64::consts::TAU;

/// A circle found by least squares, whether as a limaçon or at its radius.
pub(super) struct Round {
    pub centre: [f64; 2],
    pub mean: f64,
    /// Reading less circle.
    pub rest: Vec<f64>,
    pub limacon: Limacon,
}

/// The readings of one plane with their directions.
pub(super) struct PlaneReadings<'a> {
    pub angled: &'a Angled,
    cos: Vec<f64>,
    sin: Vec<f64>,
    pub plane_mm: Option<f64>,
    /// Radius of the part there, where it is known.
    pub radius_mm: Option<f64>,
}

impl<'a> PlaneReadings<'a> {
    /// # Errors
    /// They leave more than half of the turn empty.
    pub(super) fn of(
        angled: &'a Angled,
        plane_mm: Option<f64>,
        radius_mm: Option<f64>,
    ) -> Result<Self, RunoutError> {
        let (cos, sin) = directions(&angled.angles);
        let readings = Self {
            angled,
            cos,
            sin,
            plane_mm,
            radius_mm,
        };
        let gap_deg = readings.gap_deg();
        if gap_deg > 180.0 + 1e-6 {
            return Err(RunoutError::NotRound { plane_mm, gap_deg });
        }
        Ok(readings)
    }

    /// The error of a run-out step for a fit that failed.
    fn refused(&self, error: FitError, needed: usize) -> RunoutError {
        let plane_mm = self.plane_mm;
        match error {
            FitError::TooFew { points, needed } => RunoutError::TooFew {
                plane_mm,
                points,
                needed,
            },
            FitError::NotFinite { index } => RunoutError::Unusable(Unusable {
                row: self.angled.rows[index],
                column: "reading_mm",
                why: WhyUnusable::NotANumber,
            }),
            FitError::Degenerate if self.gap_deg() > 0.0 => RunoutError::NotRound {
                plane_mm,
                gap_deg: self.gap_deg(),
            },
            FitError::Degenerate => RunoutError::TooFew {
                plane_mm,
                points: self.angled.y.len(),
                needed,
            },
        }
    }

    /// The widest stretch of the turn without a reading.
    fn gap_deg(&self) -> f64 {
        let mut places: Vec<f64> = self
            .angled
            .angles
            .iter()
            .map(|a| a.rem_euclid(TAU))
            .collect();
        places.sort_by(f64::total_cmp);
        let (Some(first), Some(last)) = (places.first(), places.last()) else {
            return 360.0;
        };
        let across = first + TAU - last;
        places
            .windows(2)
            .map(|p| p[1] - p[0])
            .fold(across, f64::max)
            .to_degrees()
    }

    /// The least squares circle of a profile: a limaçon, or where the radius is known the circle itself.
    pub(super) fn circle(&self, y: &[f64]) -> Result<Round, RunoutError> {
        let limacon = limacon_of_directions(&self.cos, &self.sin, y)
            .map_err(|error| self.refused(error, 3))?;
        let Some(radius) = self.radius_mm else {
            let rest = (0..y.len())
                .map(|i| y[i] - limacon.at(self.cos[i], self.sin[i]))
                .collect();
            let centre = [limacon.a, limacon.b];
            return Ok(Round {
                centre,
                mean: limacon.mean,
                rest,
                limacon,
            });
        };
        let points = self.points(y, radius, limacon.mean);
        let fit = circle(&points).map_err(|error| self.refused(error, 3))?;
        let rest = points.iter().map(|p| fit.deviation(*p)).collect();
        Ok(Round {
            centre: fit.centre,
            mean: limacon.mean + fit.radius - radius,
            rest,
            limacon,
        })
    }

    /// The profile as points about the middle of the turn.
    fn points(&self, y: &[f64], radius: f64, mean: f64) -> Vec<[f64; 2]> {
        (0..y.len())
            .map(|i| {
                let r = radius + y[i] - mean;
                [r * self.cos[i], r * self.sin[i]]
            })
            .collect()
    }

    /// The minimum zone of a profile, of which `mean` is the mean.
    pub(super) fn zone(&self, y: &[f64], mean: f64) -> Result<Ring, RunoutError> {
        let ring = match self.radius_mm {
            None => minimum_zone::limacon_of_directions(&self.cos, &self.sin, y),
            Some(radius) => minimum_zone::circle(&self.points(y, radius, mean)).map(|mut ring| {
                ring.inner += mean - radius;
                ring.outer += mean - radius;
                ring
            }),
        };
        ring.map_err(|error| self.refused(error, 4))
    }
}
