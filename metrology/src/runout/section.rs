//! One plane round the axis: eccentricity, roundness, harmonics, and how far they can be trusted.

use super::angles::Angled;
use super::centre::{direction_deg, length};
use super::outcome::Section;
use super::outliers::outliers;
use super::plane::{PlaneReadings, Round};
use super::trust::{Trust, holding};
use super::{RunoutError, RunoutOptions, Scale, turns};
use crate::filter;
use crate::fit::minimum_zone::Ring;
use crate::harmonics::{Harmonics, USUAL_ORDER, highest_order};
use crate::setup::Setup;
use crate::spread::range;

/// A section with the vector of its eccentricity, for the axis.
pub(super) struct Found {
    pub section: Section,
    /// Along 0° and along 90°, mm.
    pub centre: [f64; 2],
    /// Standard uncertainty of each and its degrees of freedom; `None` when nothing tells the scatter.
    pub u: Option<(f64, f64)>,
}

/// Analyses one plane.
pub(super) fn analyse(
    setup: &Setup,
    options: &RunoutOptions,
    scale: Scale,
    plane_mm: Option<f64>,
    angled: &Angled,
) -> Result<Found, RunoutError> {
    let points = angled.y.len();
    if points < 3 {
        return Err(RunoutError::TooFew {
            plane_mm,
            points,
            needed: 3,
        });
    }
    let true_mm = |shown: &f64| setup.indicator.true_mm(*shown) * scale.factor;
    let read = Angled {
        y: angled.y.iter().map(true_mm).collect(),
        ..angled.clone()
    };
    let height_mm = range(read.y.iter().copied());
    let radius_mm = options.radius.map(crate::Length::mm);
    if let Some(radius_mm) = radius_mm
        && radius_mm <= height_mm
    {
        return Err(RunoutError::Radius { radius_mm });
    }
    let outliers = outliers(&read.angles, &read.y, scale.step_mm);
    let outlier_rows = outliers.iter().map(|i| read.rows[*i]).collect();
    let kept = if options.reject_outliers {
        read.without(&outliers)
    } else {
        read
    };
    let readings = PlaneReadings::of(&kept, plane_mm, radius_mm)?;
    let form = Form::of(&readings, options)?;
    let trust = Trust::of(setup, scale, height_mm, &kept, &form.round);
    Ok(Found {
        section: Section {
            outliers: outliers.len(),
            outlier_rows,
            rejected: points - kept.y.len(),
            mean_mm: setup.indicator.shown_mm(form.round.mean / scale.factor),
            ..section(options, &readings, &form, &trust)
        },
        centre: form.round.centre,
        u: trust.centre_u(),
    })
}

/// The form of a profile: its circle, and what deviates from it.
struct Form {
    round: Round,
    harmonics: Option<Harmonics>,
    /// Reading less circle, behind the filter where one is asked for.
    rest: Vec<f64>,
    /// The minimum zone behind the filter; three readings have none.
    zone: Option<Ring>,
}

impl Form {
    fn of(readings: &PlaneReadings<'_>, options: &RunoutOptions) -> Result<Self, RunoutError> {
        let Angled { angles, y, .. } = readings.angled;
        let round = readings.circle(y)?;
        let highest = highest_order(angles).min(options.harmonics.unwrap_or(USUAL_ORDER));
        // Angles that are neither even nor many may tell fewer orders than they look to.
        let harmonics = (1..=highest)
            .rev()
            .find_map(|order| Harmonics::fit(angles, &round.rest, order).ok());
        let smooth = match options.filter_upr {
            Some(cut_off_upr) => Some(
                filter::closed(angles, y, cut_off_upr)
                    .map_err(|error| RunoutError::Filter { cut_off_upr, error })?,
            ),
            None => None,
        };
        let rest = match &smooth {
            Some(smooth) => readings.circle(smooth)?.rest,
            None => round.rest.clone(),
        };
        let zone = if y.len() > 3 {
            Some(readings.zone(smooth.as_deref().unwrap_or(y), round.mean)?)
        } else {
            None
        };
        Ok(Self {
            round,
            harmonics,
            rest,
            zone,
        })
    }
}

/// The section as reported, without the figures on outliers and the mean, which [`analyse`] adds.
fn section(
    options: &RunoutOptions,
    readings: &PlaneReadings<'_>,
    form: &Form,
    trust: &Trust,
) -> Section {
    let angled = readings.angled;
    let zone = form.zone;
    let tir_um = range(angled.y.iter().copied()) * 1e3;
    let part_runout = trust.part_runout();
    let part_roundness = zone.and_then(|ring| trust.part_roundness(readings, &form.round, &ring));
    let tir_interval_um = part_runout.map(|own| holding(own.interval_um, tir_um));
    let (verdict, undecided_because) = match options.limit {
        Some(limit) => trust.verdict(limit.um(), tir_interval_um, part_runout),
        None => (None, None),
    };
    let eccentricity_mm = length(form.round.centre);
    let interval = trust.eccentricity_interval(eccentricity_mm);
    let harmonics = form.harmonics.as_ref();
    let synchronous = turns::split(angled);
    Section {
        plane_mm: readings.plane_mm,
        points: angled.y.len(),
        turns: angled.turns,
        turn_s: angled.period.as_ref().map(|period| period.turn_s),
        period: angled.period.clone(),
        tir_um,
        tir_interval_um,
        part_runout,
        eccentricity_um: eccentricity_mm * 1e3,
        eccentricity_interval_um: interval.map(|limits| limits.map(|v| v * 1e3)),
        high_spot_deg: direction_deg(form.round.centre),
        high_spot_expanded_deg: interval
            .map(|_| trust.high_spot_expanded_deg(eccentricity_mm * 1e3, angled)),
        roundness_ls_um: zone.map(|_| range(form.rest.iter().copied()) * 1e3),
        roundness_mz_um: zone.map(|ring| ring.width * 1e3),
        roundness_interval_um: part_roundness
            .zip(zone)
            .map(|(own, ring)| holding(own.interval_um, ring.width * 1e3)),
        part_roundness,
        zone_centre_um: zone.map(|ring| ring.centre.map(|v| v * 1e3)),
        zone_mm: zone.map(|ring| [ring.inner, ring.outer]),
        proved_orders: harmonics.map_or_else(Vec::new, |harmonics| trust.proved(harmonics)),
        harmonics_um: harmonics
            .map(|h| (2..=h.order()).map(|k| h.amplitude(k) * 1e3).collect())
            .unwrap_or_default(),
        lobes_shown: Some(highest_order(&angled.angles)).filter(|shown| *shown < USUAL_ORDER),
        synchronous_um: synchronous.map(|(synchronous, _)| synchronous * 1e3),
        asynchronous_um: synchronous.map(|(_, asynchronous)| asynchronous * 1e3),
        unplaced: angled.unplaced,
        verdict,
        undecided_because,
        budget: trust.budget.components(),
        ..Section::default()
    }
}
