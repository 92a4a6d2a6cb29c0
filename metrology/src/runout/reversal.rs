//! Reversal: the part turned half a turn against the spindle and the indicator moved across, so that the part's own form
//! reads the same and the spindle's motion the other way.
//!
//! With both set-ups read at the same angles of the part, `part = (m₁ + m₂)/2` and `spindle = (m₁ − m₂)/2`. Source: R. R.
//! Donaldson, *A simple method for separating spindle error from test ball roundness error*, CIRP Annals 21 (1972), from
//! memory; ISO 230-7, annex on error separation.

use super::{Readings, RunoutError, RunoutOptions, RunoutPoint, outcome};
use crate::domain::{LARGEST_MM, Unusable};
use crate::setup::Setup;
use crate::spread::mean;
use serde::{Deserialize, Serialize};

/// One of the two that a reversal tells apart.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Parted {
    /// Eccentricity: of a part, how far its form is off the place where it is held; of a spindle, its run-out's half.
    pub eccentricity_um: f64,
    /// Its high spot.
    pub high_spot_deg: f64,
    /// Peak to valley about the least squares circle: of the part its roundness, of the spindle its error motion.
    pub error_ls_um: f64,
    /// Peak to valley by the minimum zone.
    pub error_mz_um: f64,
    /// Amplitudes of the orders 2, 3, …
    pub harmonics_um: Vec<f64>,
    /// The orders among them that neither scatter nor the indicator explains.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub proved_orders: Vec<usize>,
    /// The profile at the outcome's angles, its mean taken off.
    pub profile_um: Vec<f64>,
}

/// The outcome of a reversal.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct ReversalOutcome {
    /// The angles, rising.
    pub angles_deg: Vec<f64>,
    /// The part.
    pub part: Parted,
    /// The spindle.
    pub spindle: Parted,
    /// What was done to the readings because the set-up or an option asks for it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub corrections: Vec<String>,
    /// What the user should know.
    pub remarks: Vec<String>,
}

/// Angles closer than this (degrees) are one place.
const SAME_DEG: f64 = 1e-3;

/// Means of the readings at each angle, in order of angle; readings over several turns are averaged.
fn averaged(
    points: &[RunoutPoint],
    setup_number: usize,
) -> Result<Vec<(f64, f64, usize)>, RunoutError> {
    let mut rows: Vec<(f64, f64, usize)> = Vec::with_capacity(points.len());
    for (index, point) in points.iter().enumerate() {
        let row = index + 1;
        let column = if setup_number == 1 {
            "first set-up"
        } else {
            "turned set-up"
        };
        Unusable::check(row, column, point.angle_deg, LARGEST_MM)?;
        Unusable::check(row, column, point.reading_mm, LARGEST_MM)?;
        if !(0.0..=360.0).contains(&point.angle_deg) {
            return Err(RunoutError::AngleBeyondTurn {
                row,
                angle_deg: point.angle_deg,
            });
        }
        let place = if point.angle_deg > 360.0 - SAME_DEG {
            0.0
        } else {
            point.angle_deg
        };
        rows.push((place, point.reading_mm, row));
    }
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let places = rows.chunk_by(|a, b| b.0 - a.0 < SAME_DEG).map(|same| {
        let mean = same.iter().map(|r| r.1).sum::<f64>() / same.len() as f64;
        (same[0].0, mean, same[0].2)
    });
    Ok(places.collect())
}

/// Tells part and spindle apart. Angles are of the part in both set-ups: each place of the part is read at the same
/// angle, from the other side. The indicator's readings count the same way in both: larger is nearer to it.
///
/// # Errors
/// Angles of one set-up that are not those of the other, and what [`outcome`] refuses.
///
/// ```
/// use conewright_metrology::runout::{RunoutOptions, RunoutPoint, reversal};
/// use conewright_metrology::setup::Setup;
/// // An oval part on a spindle with three lobes.
/// let read = |sign: f64| -> Vec<RunoutPoint> {
///     (0..36)
///         .map(|i| {
///             let t = (f64::from(i) * 10.0).to_radians();
///             let reading_mm = 2e-3 * (2.0 * t).cos() + sign * 1e-3 * (3.0 * t).cos();
///             RunoutPoint { angle_deg: f64::from(i) * 10.0, reading_mm, plane_mm: None }
///         })
///         .collect()
/// };
/// let found = reversal(&Setup::default(), &RunoutOptions::default(), &read(1.0), &read(-1.0))?;
/// assert!((found.part.harmonics_um[0] - 2.0).abs() < 1e-9 && found.part.harmonics_um[1] < 1e-9);
/// assert!((found.spindle.harmonics_um[1] - 1.0).abs() < 1e-9);
/// # Ok::<(), conewright_metrology::runout::RunoutError>(())
/// ```
pub fn reversal(
    setup: &Setup,
    options: &RunoutOptions,
    first: &[RunoutPoint],
    turned: &[RunoutPoint],
) -> Result<ReversalOutcome, RunoutError> {
    let (first, turned) = (averaged(first, 1)?, averaged(turned, 2)?);
    let mut angles_deg = Vec::with_capacity(first.len());
    let (mut part, mut spindle) = (Vec::new(), Vec::new());
    for (i, (place, shown, row)) in turned.iter().enumerate() {
        let Some((angle, m1, _)) = first.get(i).filter(|f| (f.0 - place).abs() < SAME_DEG) else {
            return Err(RunoutError::ReversalAngles {
                row: *row,
                angle_deg: *place,
            });
        };
        let (m1, m2) = (
            setup.indicator.true_mm(*m1),
            setup.indicator.true_mm(*shown),
        );
        angles_deg.push(*angle);
        part.push((m1 + m2) / 2.0);
        spindle.push((m1 - m2) / 2.0);
    }
    if first.len() > turned.len() {
        let (angle_deg, _, row) = first[turned.len()];
        return Err(RunoutError::ReversalAngles { row, angle_deg });
    }
    // The indicator's corrections are made; what is left is plain.
    let mut plain = setup.clone();
    plain.indicator.check = None;
    plain.indicator.lever_angle = None;
    let told = |profile: &[f64]| -> Result<Parted, RunoutError> {
        let points: Vec<RunoutPoint> = angles_deg
            .iter()
            .zip(profile)
            .map(|(a, y)| RunoutPoint {
                angle_deg: *a,
                reading_mm: *y,
                plane_mm: None,
            })
            .collect();
        let section = outcome(&plain, options, Readings::Angles(&points))?.section;
        let mean = mean(profile);
        Ok(Parted {
            eccentricity_um: section.eccentricity_um,
            high_spot_deg: section.high_spot_deg,
            error_ls_um: section.roundness_ls_um.unwrap_or(0.0),
            error_mz_um: section.roundness_mz_um.unwrap_or(0.0),
            harmonics_um: section.harmonics_um,
            proved_orders: section.proved_orders,
            profile_um: profile.iter().map(|y| (y - mean) * 1e3).collect(),
        })
    };
    let mut corrections = setup.indicator.corrections();
    super::scale(setup, options, &mut corrections)?;
    Ok(ReversalOutcome {
        part: told(&part)?,
        spindle: told(&spindle)?,
        angles_deg,
        corrections,
        remarks: vec![
            "eccentricities hold how the part was centred each time; what lies above them is the form".into(),
        ],
    })
}
