//! Sweeping a cone or an edge: readings along the travel, their line, and how straight they lie.
//!
//! As in the zero step a larger reading means the surface nearer to the indicator, and the slope is the residual angle.

mod alike;
mod budget;
mod error;
mod fitted;
mod outcome;
mod parabola;
mod places;
mod rounding;
mod scatter;

pub use error::SweepError;
pub use outcome::{Filtered, SweepOutcome, Zone};
pub use parabola::{SweepSoFar, SweepSums};
pub use places::{Placed, Timed, by_cable, by_steady_feed};

use crate::domain::{LARGEST_MM, Unusable};
use crate::filter::LEFT_OUT;
use crate::fit::{Line, minimum_zone};
use crate::outliers::flagged;
use crate::setup::{Sense, Setup, Station};
use crate::spread::extremes;
use crate::uncertainty::{Budget, COVERAGE, Undecided};
use crate::zero::judged;
use crate::zero::tap;
use crate::zero::{Pivot, Tap};
use crate::{Angle, Length};
use fitted::{Fitted, refused};
use scatter::Scatter;
use serde::{Deserialize, Serialize};

/// A reading at a place on the travel.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SweepPoint {
    /// Distance from A along the travel.
    pub position_mm: f64,
    /// What the indicator shows.
    pub reading_mm: f64,
}

/// What is trusted, and so what the slope judges.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Subject {
    /// The swept edge or cone is right; the slope says how the set-up lies, and what to tap.
    #[default]
    Setup,
    /// The set-up is right; the slope says how the swept cone came out.
    Part,
}

/// Where the positions come from; the result names what is assumed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum PositionsFrom {
    /// Stations, or a column of positions.
    #[default]
    Stations,
    /// A second cable that reports the table's position.
    Cable,
    /// Two marks with a steady feed between them.
    Feed,
}

/// What is asked for beyond the plain line. Without it nothing is filtered and nothing left out.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct SweepOptions {
    /// Cut-off of a Gaussian profile filter for straightness and bow.
    #[serde(rename = "filter_mm", skip_serializing_if = "Option::is_none")]
    pub filter: Option<Length>,
    /// Leave flagged outliers out.
    pub reject_outliers: bool,
    /// What the slope judges.
    pub subject: Subject,
    /// Where the positions come from.
    pub positions: PositionsFrom,
}

/// Computes the outcome of a sweep from its points, in any order.
///
/// Results are in true lengths: the corrections of the set-up's indicator (its check, its lever) are made first, and
/// said. `slope_u` and `residual_sd_mm` are those of the plain least squares line. The expanded uncertainty
///
/// - takes a bow out first when it stands out of the scatter of ten points or more, because a bow is form and not scatter;
/// - counts neighbours that err alike as fewer readings, from twenty readings on;
/// - falls back on the indicator's stated or checked repeatability where the line leaves few degrees of freedom;
/// - is absent where none of these tells how well the readings repeat, and then nothing is decided.
///
/// # Errors
/// [`SweepError`]: too few points, all at one place, a value that is not a number, a filter that does not fit the profile.
///
/// ```
/// use conewright_metrology::setup::Setup;
/// use conewright_metrology::sweep::{self, SweepError, SweepOptions, SweepPoint};
/// let point = |position_mm, reading_mm| SweepPoint { position_mm, reading_mm };
/// let bowed = [point(0.0, 0.0), point(30.0, 0.003), point(60.0, 0.0)];
/// let outcome = sweep::outcome(&Setup::default(), &SweepOptions::default(), &bowed)?;
/// assert!((outcome.straightness_mz_um - 3.0).abs() < 1e-9 && outcome.slope.abs() < 1e-15);
/// assert!((outcome.bow_um.unwrap() - 3.0).abs() < 1e-9);
/// let one_place = sweep::outcome(&Setup::default(), &SweepOptions::default(), &[bowed[0]; 4]);
/// assert!(matches!(one_place, Err(SweepError::OnePlace { points: 4, .. })));
/// # Ok::<(), SweepError>(())
/// ```
pub fn outcome(
    setup: &Setup,
    options: &SweepOptions,
    points: &[SweepPoint],
) -> Result<SweepOutcome, SweepError> {
    let step = setup.indicator.true_step_mm();
    let (fitted, outliers) = fit(options, profile(setup, points)?, step)?;
    let rejected = points.len() - fitted.x.len();
    let (form_x, form_y) = match options.filter {
        Some(cut_off) => fitted.filtered(cut_off).map_err(SweepError::Filter)?,
        None => (fitted.x.clone(), fitted.y.clone()),
    };
    let form = Fitted::of(form_x, form_y)?;
    let strip = minimum_zone::line(&form.x, &form.y).map_err(|e| refused(&e, &form.x))?;

    let line = fitted.line;
    let residual = Angle::from_rad(line.slope.atan());
    let scatter = fitted.scatter(&setup.indicator, step);
    let budget = fitted.budget(setup, step, scatter.as_ref());
    let way = setup.sense.map(Sense::steeper_sign);
    let turned = match options.subject {
        Subject::Setup => 1.0,
        Subject::Part => -1.0,
    };
    let signed = residual * (way.unwrap_or(1.0) * turned);
    let judged = judged::judge(setup, signed, way.is_some(), &budget)?;
    let about_the_line = fitted.x.len() > 2;
    let claimed = |expanded: f64| scatter.is_some().then_some(expanded);
    let (verdict, undecided_because) = Undecided::decided(judged.verdict, scatter.is_some());
    let half_angle = judged
        .half_angle
        .map(|part| (part.error_arcsec, part.expanded_arcsec))
        .or_else(|| {
            let known = way.is_some() && setup.taper.is_some();
            known.then_some((signed.arcsec(), judged.residual_expanded_arcsec))
        });
    let [low, high] = fitted.span();
    let pivot = Pivot::known(setup);
    let square = |slope: f64| (1.0 + slope * slope).sqrt();
    Ok(SweepOutcome {
        points: fitted.x.len(),
        effective_points: scatter.and_then(|scatter| scatter.counts_as),
        slope: line.slope,
        slope_u: about_the_line.then_some(line.slope_sd),
        intercept_mm: line.intercept,
        intercept_u_mm: about_the_line.then_some(line.intercept_sd),
        residual_sd_mm: about_the_line.then_some(line.residual_sd),
        straightness_ls_um: form.height_mm() / square(form.line.slope) * 1e3,
        straightness_mz_um: strip.width * 1e3,
        bow_um: form.sums.so_far().and_then(|so_far| so_far.bow_um),
        outliers: outliers.len(),
        outlier_rows: outliers.iter().map(|index| index + 1).collect(),
        rejected,
        filtered: options.filter.map(|cut_off| Filtered {
            filter: "Gaussian, ISO 16610-21".into(),
            cut_off_mm: cut_off.mm(),
            left_out_mm: Some(LEFT_OUT * cut_off.mm()),
        }),
        from_mm: low,
        to_mm: high,
        zone: Zone {
            slope: strip.slope,
            low_mm: strip.low,
            high_mm: strip.high,
        },
        residual_arcsec: residual.arcsec(),
        residual_expanded_arcsec: claimed(judged.residual_expanded_arcsec),
        cone: judged.cone,
        over_span_um: line.slope * (high - low) * 1e3,
        over_taper_um: judged.over_taper_um,
        half_angle_error_arcsec: half_angle.map(|(error, _)| error),
        half_angle_expanded_arcsec: half_angle.and_then(|(_, u)| claimed(u)),
        limits_arcsec: judged.limits_arcsec,
        verdict,
        undecided_because,
        tap: advice(setup, options, points, &line, pivot.as_ref()),
        pivot: pivot.filter(|_| options.subject == Subject::Setup),
        budget: judged.components,
        corrections: setup.indicator.corrections(),
        remarks: remarks(options, points.len() - rejected, scatter.as_ref(), &budget),
    })
}

/// What the user should know beside the figures.
fn remarks(
    options: &SweepOptions,
    points: usize,
    scatter: Option<&Scatter>,
    budget: &Budget,
) -> Vec<String> {
    let mut remarks = Vec::new();
    if options.positions == PositionsFrom::Feed {
        remarks.push("the positions assume a steady feed between the two marks".into());
    }
    if scatter.is_none() {
        remarks.push(
            "two points tell no scatter: mark more places, or state `--repeatability`".into(),
        );
        let without = budget.expanded(COVERAGE);
        if without > 0.0 {
            remarks.push(format!(
                "the display and the stated errors alone allow ± {without:.2}″; how readings repeat comes on top"
            ));
        }
    }
    // Chance alone often makes neighbours look a little alike; that is in the uncertainty and not worth a sentence.
    let few = |counts_as: &f64| *counts_as < points as f64 / 2.0;
    if let Some(counts_as) = scatter.and_then(|scatter| scatter.counts_as).filter(few) {
        remarks.push(format!(
            "neighbouring readings err alike: the {points} readings count as {counts_as:.1} independent ones"
        ));
    }
    remarks
}

/// What is left of a profile, with its line; and the indices of its outliers, left out or not.
fn fit(
    options: &SweepOptions,
    (x, y): (Vec<f64>, Vec<f64>),
    step: f64,
) -> Result<(Fitted, Vec<usize>), SweepError> {
    let whole = Fitted::of(x, y)?;
    let outliers = flagged(&whole.rest(), step);
    if !options.reject_outliers || outliers.is_empty() {
        return Ok((whole, outliers));
    }
    let kept = |v: &[f64]| {
        let mut out = outliers.iter().peekable();
        v.iter()
            .enumerate()
            .filter(|(i, _)| out.next_if(|o| *o == i).is_none())
            .map(|(_, v)| *v)
            .collect::<Vec<f64>>()
    };
    Ok((Fitted::of(kept(&whole.x), kept(&whole.y))?, outliers))
}

/// The profile that a sweep's outcome is computed from, for a plot of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Profile {
    /// Places and true readings, mm, in the points' order; outliers among them.
    pub points: Vec<(f64, f64)>,
    /// The same behind the filter that was asked for, by rising place; empty when none was.
    pub filtered: Vec<(f64, f64)>,
}

/// The profile of a sweep, with the corrections that [`outcome`] makes, and behind its filter.
///
/// # Errors
/// What [`outcome`] refuses.
///
/// ```
/// use conewright_metrology::setup::Setup;
/// use conewright_metrology::sweep::{SweepError, SweepOptions, SweepPoint, profiled};
/// let points = [0.0, 30.0, 60.0].map(|position_mm| SweepPoint { position_mm, reading_mm: 0.001 });
/// let profile = profiled(&Setup::default(), &SweepOptions::default(), &points)?;
/// assert_eq!((profile.points[1], profile.filtered.len()), ((30.0, 0.001), 0));
/// # Ok::<(), SweepError>(())
/// ```
pub fn profiled(
    setup: &Setup,
    options: &SweepOptions,
    points: &[SweepPoint],
) -> Result<Profile, SweepError> {
    let (x, y) = profile(setup, points)?;
    let filtered = match options.filter {
        None => Vec::new(),
        Some(cut_off) => {
            let step = setup.indicator.true_step_mm();
            let (fitted, _) = fit(options, (x.clone(), y.clone()), step)?;
            let (x, y) = fitted.filtered(cut_off).map_err(SweepError::Filter)?;
            x.into_iter().zip(y).collect()
        }
    };
    Ok(Profile {
        points: x.into_iter().zip(y).collect(),
        filtered,
    })
}

/// Places and true readings of the points, checked.
fn profile(setup: &Setup, points: &[SweepPoint]) -> Result<(Vec<f64>, Vec<f64>), SweepError> {
    for (index, point) in points.iter().enumerate() {
        for (value, column) in [
            (point.position_mm, "position_mm"),
            (point.reading_mm, "reading_mm"),
        ] {
            Unusable::check(index + 1, column, value, LARGEST_MM)?;
        }
    }
    Ok(points
        .iter()
        .map(|p| (p.position_mm, setup.indicator.true_mm(p.reading_mm)))
        .unzip())
}

/// Part of the swept length by which a station may lie outside it and still be told by the line.
const MARGIN: f64 = 0.01;

/// The tap that brings the slope to zero, by the zero step's rule, in the shown reading.
fn advice(
    setup: &Setup,
    options: &SweepOptions,
    points: &[SweepPoint],
    line: &Line,
    pivot: Option<&Pivot>,
) -> Option<Tap> {
    if options.subject == Subject::Part {
        return None;
    }
    let places = || points.iter().map(|p| p.position_mm);
    let [low, high] = extremes(places());
    // A recorded sweep ends a reading or two short of where it was marked, and its line holds there as well.
    let margin = (high - low) * MARGIN;
    let mut stations: Vec<Station> = setup
        .stations
        .iter()
        .filter(|s| (low - margin..=high + margin).contains(&s.position.mm()))
        .cloned()
        .collect();
    if stations.len() < 2 {
        // A sweep between no named places is told by its ends.
        stations = [low, high]
            .into_iter()
            .filter_map(|mm| {
                // To a tenth of a millimetre, as a hand can stand at it.
                let position = Length::from_mm((mm * 10.0).round() / 10.0)?;
                Some(Station {
                    name: position.to_string(),
                    position,
                })
            })
            .collect();
    }
    stations.sort_by_key(|station| station.position);
    let lever = setup.indicator.lever_factor();
    // The tap's target is compared with what the indicator shows, so the line goes back through the shown readings.
    let n = points.len() as f64;
    let shown_mean = points.iter().map(|p| p.reading_mm).sum::<f64>() / n;
    let place_mean = places().sum::<f64>() / n;
    let slope_now = line.slope / lever;
    tap::advise(&tap::Aim {
        at_zero_mm: shown_mean - slope_now * place_mean,
        slope_now,
        standing_mm: points.last()?.position_mm,
        stations: &stations,
        pivot,
        slope: 0.0,
    })
}
