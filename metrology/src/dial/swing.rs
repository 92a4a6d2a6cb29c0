//! The errors of an indicator over the checked range, and the interval that holds a reading with them.

use super::nominal::Nominal;
use crate::uncertainty::COVERAGE;
use statrs::distribution::{ContinuousCDF, Normal};

/// The errors that a reading may have before its scatter, µm, each with the share of the checked range that it stands for.
///
/// They are taken as found at the nominals, each for the stretch half way to its neighbours: straight lines between them would
/// cut the tops off an error that swings within a few steps.
pub(super) struct Swing(Vec<(f64, f64)>);

impl Swing {
    /// With a correction what is left is half the hysteresis to either side; without one the whole error.
    /// `offset` is what the errors count from, and `real` the share of the hysteresis that is hysteresis.
    pub(super) fn over(nominals: &[Nominal], offset: f64, corrected: bool, real: f64) -> Self {
        let place = |i: usize| nominals[i].nominal_mm;
        let last = nominals.len() - 1;
        let range = place(last) - place(0);
        let errors = nominals.iter().enumerate().flat_map(|(i, nominal)| {
            let stretch = (place((i + 1).min(last)) - place(i.saturating_sub(1))) / 2.0;
            let half = nominal.hysteresis().unwrap_or(0.0) * real / 2.0;
            let middle = if corrected {
                0.0
            } else {
                nominal.middle() - offset
            };
            [middle - half, middle + half].map(|error| (error, stretch / range / 2.0))
        });
        Self(errors.collect())
    }

    /// Root mean square over the range, µm.
    pub(super) fn rms(&self) -> f64 {
        self.0
            .iter()
            .map(|(e, share)| e * e * share)
            .sum::<f64>()
            .sqrt()
    }

    /// The half width that holds 95 % of single readings with normal scatter about these errors and two roundings within
    /// ± `half_step`: its own, and that of the errors as found, which is one and the same at nominals a whole number of the
    /// display's steps apart. The errors are bounded, so a factor times the standard uncertainty would be far too wide: the
    /// distribution is taken as it is, which JCGM 101 asks for.
    pub(super) fn expanded(&self, sd: f64, half_step: f64) -> f64 {
        /// Places within a display's step that stand for all of them.
        const PLACES: u32 = 20;
        let shifts: Vec<f64> = if half_step > 0.0 {
            (0..PLACES)
                .map(|i| (f64::from(i) + 0.5) / f64::from(PLACES))
                .map(|share| {
                    // The quantiles of a sum of two equal rectangles.
                    let from_edge = (2.0 * share.min(1.0 - share)).sqrt();
                    2.0 * half_step * (1.0 - from_edge) * (share - 0.5).signum()
                })
                .collect()
        } else {
            vec![0.0]
        };
        let largest = self.0.iter().map(|(e, _)| e.abs()).fold(0.0, f64::max);
        let within = |half_width: f64| -> f64 {
            let held = |error: f64| match Normal::new(error, sd) {
                Ok(normal) => normal.cdf(half_width) - normal.cdf(-half_width),
                Err(_) => f64::from(u8::from(error.abs() <= half_width)),
            };
            let rounded = |error: f64| {
                shifts.iter().map(|shift| held(error + shift)).sum::<f64>() / shifts.len() as f64
            };
            self.0
                .iter()
                .map(|(error, share)| rounded(*error) * share)
                .sum()
        };
        let (mut low, mut high) = (0.0, largest + 2.0 * half_step + 10.0 * sd);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            // The shares sum to one but for rounding.
            if within(middle) < COVERAGE - 1e-12 {
                low = middle;
            } else {
                high = middle;
            }
        }
        high
    }
}
