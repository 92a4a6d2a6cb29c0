//! Run-out: readings round a turn, and what they say of the part, its axis and the spindle.
//!
//! A larger reading means the surface nearer to the indicator. Angles are of the part about its axis, 0° at the first mark,
//! counted the way the part's places pass the indicator.

mod amount;
mod angles;
mod axis;
mod centre;
mod error;
mod live;
mod outcome;
mod outliers;
mod own;
mod period;
mod plane;
mod profile;
mod repeatability;
mod reversal;
mod scatter;
mod section;
mod spectrum;
mod trust;
mod turns;

pub use error::RunoutError;
pub use live::{RunoutSoFar, RunoutSums};
pub use outcome::{Axis, Elsewhere, OwnAmount, RunoutOutcome, Section, Truing};
pub use period::Period;
pub use profile::{Profile, profiles};
pub use reversal::{Parted, ReversalOutcome, reversal};

use crate::domain::{LARGEST_MM, LARGEST_S, Unusable};
use crate::harmonics::USUAL_ORDER;
use crate::setup::Setup;
use crate::{Angle, Length};
use angles::Angled;
use section::Found;
use serde::{Deserialize, Serialize};

/// A reading at an angle.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct RunoutPoint {
    /// Angle of the part, 0° to 360°; the next turn begins at 0° again.
    pub angle_deg: f64,
    /// What the indicator shows.
    pub reading_mm: f64,
    /// The plane across the axis, when more than one is read.
    pub plane_mm: Option<f64>,
}

/// A reading at a time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TimedReading {
    /// When, s from any start.
    pub time_s: f64,
    /// What the indicator shows.
    pub reading_mm: f64,
    /// The plane across the axis, when more than one is read.
    pub plane_mm: Option<f64>,
}

/// Where the angle comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Readings<'a> {
    /// It was marked or given for each reading.
    Angles(&'a [RunoutPoint]),
    /// It runs evenly from turn mark to turn mark: one at the start of each turn, one at the end of the last.
    TurnMarks {
        /// The readings, by rising time.
        readings: &'a [TimedReading],
        /// The marks' times.
        marks_s: &'a [f64],
    },
    /// It is found from the readings of several turns at a steady speed.
    Steady(&'a [TimedReading]),
}

/// What is asked for beyond the plain figures. Without it nothing is filtered, corrected or left out.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct RunoutOptions {
    /// Cut-off of a Gaussian filter for roundness, undulations per turn: usually 15, 50, 150 or 500.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub filter_upr: Option<u32>,
    /// Leave flagged outliers out.
    pub reject_outliers: bool,
    /// The indicator stands square to the cone's surface: radial movement is the reading over cos α of the set-up's taper.
    pub square_to_cone: bool,
    /// Radius of the part at the plane: then the circle itself is fitted and not the limaçon, which takes an eccentricity
    /// of e for an ovality of e²/4R.
    #[serde(rename = "radius_mm", skip_serializing_if = "Option::is_none")]
    pub radius: Option<Length>,
    /// The highest harmonic told; 15 unless another is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub harmonics: Option<usize>,
    /// What the run-out may be, for a verdict.
    #[serde(rename = "limit_mm", skip_serializing_if = "Option::is_none")]
    pub limit: Option<Length>,
    /// Planes at which the run-out of the axis is wanted, mm.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub at_planes_mm: Vec<f64>,
}

/// How shown readings become radial movements.
#[derive(Clone, Copy)]
struct Scale {
    /// Beside the indicator's own corrections.
    factor: f64,
    /// One step of the display as a radial movement, mm; 0 when not known.
    step_mm: f64,
}

/// Computes the outcome of a run-out step.
///
/// # Errors
/// [`RunoutError`]: which row, what, and what is needed.
///
/// ```
/// use conewright_metrology::runout::{self, Readings, RunoutOptions, RunoutPoint};
/// use conewright_metrology::setup::Setup;
/// // Clock positions, high at four o'clock.
/// let points: Vec<RunoutPoint> = (0..12)
///     .map(|hour| RunoutPoint {
///         angle_deg: f64::from(hour) * 30.0,
///         reading_mm: 0.003 * (f64::from(hour - 4) * 30.0).to_radians().cos(),
///         plane_mm: None,
///     })
///     .collect();
/// let (setup, options) = (Setup::default(), RunoutOptions::default());
/// let outcome = runout::outcome(&setup, &options, Readings::Angles(&points))?;
/// assert!((outcome.section.eccentricity_um - 3.0).abs() < 1e-9);
/// assert!((outcome.section.high_spot_deg - 120.0).abs() < 1e-9);
/// assert!(outcome.section.roundness_mz_um.unwrap() < 1e-9);
/// assert!(runout::outcome(&setup, &options, Readings::Angles(&points[..2])).is_err());
/// # Ok::<(), runout::RunoutError>(())
/// ```
pub fn outcome(
    setup: &Setup,
    options: &RunoutOptions,
    readings: Readings<'_>,
) -> Result<RunoutOutcome, RunoutError> {
    let mut corrections = setup.indicator.corrections();
    let scale = scale(setup, options, &mut corrections)?;
    let mut remarks = Vec::new();
    let mut planes = Vec::new();
    for (plane_mm, angled) in by_plane(&readings)? {
        planes.push(section::analyse(setup, options, scale, plane_mm, &angled)?);
    }
    let common_zero = !matches!(readings, Readings::Steady(_));
    let axis = if common_zero {
        axis::through(&planes)?
    } else {
        None
    };
    if !common_zero {
        remarks.push("the angle counts from the first reading, at a speed taken as steady".into());
        if planes.len() > 1 {
            remarks.push(
                "the planes' angles have no common zero, so they give no axis: mark each turn"
                    .into(),
            );
        }
    }
    if matches!(readings, Readings::TurnMarks { .. }) {
        remarks.push("within each marked turn the speed is taken as steady".into());
    }
    let Some(mut first) = planes.first().map(|found| found.section.clone()) else {
        return Err(RunoutError::TooFew {
            plane_mm: None,
            points: 0,
            needed: 3,
        });
    };
    remarks.extend(told(&first));
    let truing = truing(&first);
    if options.filter_upr.is_some() {
        // The limits are of the whole profile's roundness, and say nothing of what a filter leaves of it.
        for section in planes
            .iter_mut()
            .map(|found| &mut found.section)
            .chain([&mut first])
        {
            section.roundness_interval_um = None;
            section.part_roundness = None;
        }
    }
    Ok(RunoutOutcome {
        truing,
        planes: if planes.len() > 1 {
            planes
                .into_iter()
                .map(|found: Found| found.section)
                .collect()
        } else {
            Vec::new()
        },
        elsewhere: axis
            .iter()
            .flat_map(|axis| {
                options
                    .at_planes_mm
                    .iter()
                    .map(|plane| axis.elsewhere(*plane))
            })
            .collect(),
        axis: axis.map(|axis| axis.told()),
        reversal: None,
        filter_upr: options.filter_upr,
        corrections,
        remarks,
        section: first,
    })
}

/// The factor from indicator readings to radial movements, with what it is said to be.
fn scale(
    setup: &Setup,
    options: &RunoutOptions,
    corrections: &mut Vec<String>,
) -> Result<Scale, RunoutError> {
    let mut factor = 1.0;
    if options.square_to_cone {
        let half = setup.taper.as_ref().ok_or(RunoutError::NoTaper)?.half_angle;
        factor = 1.0 / half.cos();
        corrections.push(format!(
            "readings are divided by {:.4}, the cosine of the half angle, for an indicator square to the cone",
            half.cos()
        ));
    }
    let step = setup.indicator.resolution.unwrap_or(Length::ZERO).mm();
    Ok(Scale {
        factor,
        step_mm: step * factor * setup.indicator.lever_factor(),
    })
}

/// Planes closer than this (mm) are one.
const ONE_PLANE: f64 = 1e-6;

/// The readings by plane, in order of place, each with its angles.
fn by_plane(readings: &Readings<'_>) -> Result<Vec<(Option<f64>, Angled)>, RunoutError> {
    match readings {
        Readings::Angles(points) => {
            let checked = points
                .iter()
                .map(|p| ("angle_deg", p.angle_deg, p.reading_mm, p.plane_mm));
            grouped(checked)?
                .into_iter()
                .map(|(plane, rows)| {
                    let of_plane: Vec<_> = rows.iter().map(|i| (i + 1, &points[*i])).collect();
                    Ok((plane, angles::given(&of_plane)?))
                })
                .collect()
        }
        Readings::TurnMarks { readings, marks_s } => {
            timed(readings, |of_plane| angles::by_marks(of_plane, marks_s))
        }
        Readings::Steady(readings) => timed(readings, angles::by_period),
    }
}

fn timed(
    readings: &[TimedReading],
    angled: impl Fn(&[(usize, &TimedReading)]) -> Result<Angled, RunoutError>,
) -> Result<Vec<(Option<f64>, Angled)>, RunoutError> {
    let checked = readings
        .iter()
        .map(|r| ("time_s", r.time_s, r.reading_mm, r.plane_mm));
    grouped(checked)?
        .into_iter()
        .map(|(plane, rows)| {
            let of_plane: Vec<_> = rows.iter().map(|i| (i + 1, &readings[*i])).collect();
            Ok((plane, angled(&of_plane)?))
        })
        .collect()
}

type Group = (Option<f64>, Vec<usize>);

/// Row indices by plane. Every value is checked to be a number.
fn grouped(
    rows: impl Iterator<Item = (&'static str, f64, f64, Option<f64>)>,
) -> Result<Vec<Group>, RunoutError> {
    let mut groups: Vec<Group> = Vec::new();
    for (index, (place, at, reading, plane)) in rows.enumerate() {
        let plane_value = plane.unwrap_or(0.0);
        let largest = if place == "time_s" {
            LARGEST_S
        } else {
            LARGEST_MM
        };
        for (value, column, largest) in [
            (at, place, largest),
            (reading, "reading_mm", LARGEST_MM),
            (plane_value, "plane_mm", LARGEST_MM),
        ] {
            Unusable::check(index + 1, column, value, largest)?;
        }
        let same = |group: &&mut Group| match (group.0, plane) {
            (Some(a), Some(b)) => (a - b).abs() < ONE_PLANE,
            (None, None) => true,
            _ => false,
        };
        match groups.iter_mut().find(same) {
            Some((_, rows)) => rows.push(index),
            None => groups.push((plane, vec![index])),
        }
    }
    groups.sort_by(|a, b| a.0.unwrap_or(0.0).total_cmp(&b.0.unwrap_or(0.0)));
    Ok(groups)
}

/// The way to true the part, when its eccentricity is proved.
fn truing(section: &Section) -> Option<Truing> {
    let [low, _] = section.eccentricity_interval_um?;
    (low > 0.0).then(|| Truing {
        at_deg: section.high_spot_deg,
        move_um: section.eccentricity_um,
        target_mm: section.mean_mm,
        opposite_deg: (Angle::from_deg(section.high_spot_deg + 180.0))
            .deg()
            .rem_euclid(360.0),
    })
}

/// What is doubtful, and what the largest harmonic that stands out usually comes from.
fn told(section: &Section) -> Vec<String> {
    let mut told = Vec::new();
    if let Some(period) = section
        .period
        .as_ref()
        .filter(|period| !period.also_s.is_empty())
    {
        let others: Vec<String> = period.also_s.iter().map(|s| format!("{s:.3} s")).collect();
        told.push(format!(
            "a turn of {} explains the readings nearly as well as one of {:.3} s: time one, or mark the turns",
            others.join(" or "),
            period.turn_s
        ));
    }
    if section.part_runout.is_none() {
        told.push(
            "nothing tells how well the readings repeat: go round again, read more places, or state the indicator's repeatability"
                .into(),
        );
    }
    // Only what stands out is worth a word on where it comes from.
    let largest = (section.proved_orders.iter())
        .filter_map(|order| Some((*order, *section.harmonics_um.get(order - 2)?)))
        .max_by(|a, b| a.1.total_cmp(&b.1));
    if let Some((order, amplitude)) = largest {
        let usual = match order {
            2 => "ovality, as two jaws, a bent spindle or soft centres leave (common practice)",
            3 => {
                "three lobes, as a three-jaw chuck or centreless grinding leaves (common practice)"
            }
            4 => "four lobes, as a four-jaw chuck leaves (common practice)",
            5 | 7 => "an odd number of lobes, as centreless grinding leaves (common practice)",
            _ => {
                "many lobes: chatter or a bearing, rather than how the part was held (common practice)"
            }
        };
        told.push(format!(
            "the largest harmonic is {order} a turn with {amplitude:.2} µm: {usual}"
        ));
    }
    if let Some(lobes) = section.lobes_shown {
        told.push(format!(
            "these places show lobes up to {lobes} a turn; of more lobes the limits take it that they are as those shown: read {} \
             places or more to see {USUAL_ORDER} a turn",
            2 * USUAL_ORDER + 2
        ));
    }
    told
}
