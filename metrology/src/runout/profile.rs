//! The readings of each plane as radial movements at their angles: what a plot of a run-out draws.

use super::angles::{self, Angled};
use super::{
    ONE_PLANE, Period, Readings, RunoutError, RunoutOptions, RunoutOutcome, Section, by_plane,
    scale, timed,
};
use crate::setup::Setup;

/// The readings of one plane with their angles, in the order they were read; nothing is left out but what has no angle.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Profile {
    /// Where the plane is, when planes were given.
    pub plane_mm: Option<f64>,
    /// Angles, radians, going on from turn to turn.
    pub angles_rad: Vec<f64>,
    /// Radial movements: the indicator's corrections made, and that of an indicator square to the cone.
    pub radial_mm: Vec<f64>,
    /// Radial movement for a millimetre of corrected reading: 1 but for an indicator square to the cone.
    pub factor: f64,
    /// The turn that each reading belongs to, from 0.
    pub turn: Vec<usize>,
    /// Rows of the readings, from 1: those by which an outcome names outliers.
    pub rows: Vec<usize>,
}

/// The profile of each plane of an outcome, in order of place: the same planes, angles and lengths that it was computed
/// from. A period that it found in the readings is not searched for again.
///
/// # Errors
/// What [`outcome`](super::outcome) refuses of angles, times and values.
///
/// ```
/// use conewright_metrology::runout::{self, Readings, RunoutOptions, RunoutPoint};
/// use conewright_metrology::setup::Setup;
/// let point = |angle_deg, reading_mm| RunoutPoint { angle_deg, reading_mm, plane_mm: None };
/// let points = [point(0.0, 0.001), point(120.0, 0.0), point(240.0, 0.0), point(0.0, 0.001)];
/// let (setup, options) = (Setup::default(), RunoutOptions::default());
/// let found = runout::outcome(&setup, &options, Readings::Angles(&points))?;
/// let planes = runout::profiles(&setup, &options, Readings::Angles(&points), &found)?;
/// assert_eq!((planes.len(), planes[0].turn.as_slice()), (1, &[0, 0, 0, 0][..]), "it closes the turn");
/// # Ok::<(), conewright_metrology::runout::RunoutError>(())
/// ```
pub fn profiles(
    setup: &Setup,
    options: &RunoutOptions,
    readings: Readings<'_>,
    outcome: &RunoutOutcome,
) -> Result<Vec<Profile>, RunoutError> {
    let scale = scale(setup, options, &mut Vec::new())?;
    let placed = match readings {
        Readings::Steady(readings) => timed(readings, |of_plane| {
            let plane_mm = of_plane.first().and_then(|(_, r)| r.plane_mm);
            match known_period(outcome, plane_mm) {
                Some(period) => angles::by_known_period(of_plane, period.clone()),
                None => angles::by_period(of_plane),
            }
        }),
        other => by_plane(&other),
    }?;
    let of_plane = |(plane_mm, angled): (Option<f64>, Angled)| Profile {
        plane_mm,
        factor: scale.factor,
        radial_mm: angled
            .y
            .iter()
            .map(|shown| setup.indicator.true_mm(*shown) * scale.factor)
            .collect(),
        angles_rad: angled.angles,
        turn: angled.turn,
        rows: angled.rows,
    };
    Ok(placed.into_iter().map(of_plane).collect())
}

/// The period that an outcome found in a plane.
fn known_period(outcome: &RunoutOutcome, plane_mm: Option<f64>) -> Option<&Period> {
    let one = std::slice::from_ref(&outcome.section);
    let sections = if outcome.planes.is_empty() {
        one
    } else {
        &outcome.planes
    };
    let same = |section: &&Section| match (section.plane_mm, plane_mm) {
        (Some(a), Some(b)) => (a - b).abs() < ONE_PLANE,
        (None, None) => true,
        _ => false,
    };
    sections.iter().find(same)?.period.as_ref()
}
