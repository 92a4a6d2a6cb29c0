//! One plane round the axis: eccentricity, roundness, harmonics, and how far they can be trusted.

use super::angles::Angled;
use super::outcome::{OwnAmount, Section};
use super::own::{Limits, Own, Repeatability};
use super::scatter::{Indicator, Scatter};
use super::{Period, RunoutError, RunoutOptions, Scale, amount, turns};
use crate::domain::Unusable;
use crate::filter;
use crate::fit::minimum_zone::{self, Ring};
use crate::fit::{FitError, Limacon, circle, directions, limacon_of_directions};
use crate::harmonics::{Harmonics, USUAL_ORDER, highest_order};
use crate::outliers::flagged;
use crate::setup::Setup;
use crate::uncertainty::{Budget, COVERAGE, Undecided, Verdict, t_factor};
use std::f64::consts::TAU;

/// A section with the vector of its eccentricity, for the axis.
pub(super) struct Found {
    pub section: Section,
    /// Along 0° and along 90°, mm.
    pub centre: [f64; 2],
    /// Standard uncertainty of each and its degrees of freedom; `None` when nothing tells the scatter.
    pub u: Option<(f64, f64)>,
}

/// A circle found by least squares, whether as a limaçon or at its radius.
struct Round {
    centre: [f64; 2],
    mean: f64,
    /// Reading less circle.
    rest: Vec<f64>,
    limacon: Limacon,
}

/// Readings with their directions.
struct Readings<'a> {
    angled: &'a Angled,
    cos: Vec<f64>,
    sin: Vec<f64>,
    plane_mm: Option<f64>,
    radius_mm: Option<f64>,
}

impl Readings<'_> {
    fn refused(&self, error: FitError, needed: usize) -> RunoutError {
        let plane_mm = self.plane_mm;
        match error {
            FitError::TooFew { points, needed } => RunoutError::TooFew {
                plane_mm,
                points,
                needed,
            },
            FitError::NotFinite { index } => RunoutError::Unusable {
                row: self.angled.rows[index],
                column: "reading_mm",
                why: Unusable::NotANumber,
            },
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
    fn circle(&self, y: &[f64]) -> Result<Round, RunoutError> {
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
        let points = self.plane(y, radius, limacon.mean);
        let fit = circle(&points).map_err(|error| self.refused(error, 3))?;
        let rest = points.iter().map(|p| fit.deviation(*p)).collect();
        Ok(Round {
            centre: fit.centre,
            mean: limacon.mean + fit.radius - radius,
            rest,
            limacon,
        })
    }

    fn plane(&self, y: &[f64], radius: f64, mean: f64) -> Vec<[f64; 2]> {
        (0..y.len())
            .map(|i| {
                let r = radius + y[i] - mean;
                [r * self.cos[i], r * self.sin[i]]
            })
            .collect()
    }

    fn zone(&self, y: &[f64], mean: f64) -> Result<Ring, FitError> {
        match self.radius_mm {
            None => minimum_zone::limacon_of_directions(&self.cos, &self.sin, y),
            Some(radius) => minimum_zone::circle(&self.plane(y, radius, mean)).map(|mut ring| {
                ring.inner += mean - radius;
                ring.outer += mean - radius;
                ring
            }),
        }
    }
}

fn range(v: impl Iterator<Item = f64>) -> f64 {
    let (low, high) = v.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
        (l.min(v), h.max(v))
    });
    high - low
}

/// Analyses one plane.
pub(super) fn analyse(
    setup: &Setup,
    options: &RunoutOptions,
    scale: Scale,
    plane_mm: Option<f64>,
    angled: &Angled,
) -> Result<Found, RunoutError> {
    let n = angled.y.len();
    if n < 3 {
        return Err(RunoutError::TooFew {
            plane_mm,
            points: n,
            needed: 3,
        });
    }
    let radius_mm = options.radius.map(crate::Length::mm);
    let true_y: Vec<f64> = angled
        .y
        .iter()
        .map(|shown| setup.indicator.true_mm(*shown) * scale.factor)
        .collect();
    let height = range(true_y.iter().copied());
    if let Some(radius_mm) = radius_mm
        && radius_mm <= height
    {
        return Err(RunoutError::Radius { radius_mm });
    }
    let outliers = outliers(&angled.angles, &true_y, scale.step_mm);
    let outlier_rows: Vec<usize> = outliers.iter().map(|i| angled.rows[*i]).collect();
    let angled = Angled {
        y: true_y,
        ..angled.clone()
    };
    let kept = if options.reject_outliers {
        without(&angled, &outliers)
    } else {
        angled
    };
    let (cos, sin) = directions(&kept.angles);
    let readings = Readings {
        angled: &kept,
        cos,
        sin,
        plane_mm,
        radius_mm,
    };
    let gap_deg = readings.gap_deg();
    if gap_deg > 180.0 + 1e-6 {
        return Err(RunoutError::NotRound { plane_mm, gap_deg });
    }
    let round = readings.circle(&kept.y)?;
    let limacon = &round.limacon;
    let highest = highest_order(&kept.angles).min(options.harmonics.unwrap_or(USUAL_ORDER));
    // Angles that are neither even nor many may tell fewer orders than they look to.
    let harmonics = (1..=highest)
        .rev()
        .find_map(|order| Harmonics::fit(&kept.angles, &round.rest, order).ok());
    let smooth = match options.filter_upr {
        Some(cut_off_upr) => Some(
            filter::closed(&kept.angles, &kept.y, cut_off_upr)
                .map_err(|error| RunoutError::Filter { cut_off_upr, error })?,
        ),
        None => None,
    };
    let form = smooth.as_deref().unwrap_or(&kept.y);
    let rest = match &smooth {
        Some(smooth) => readings.circle(smooth)?.rest,
        None => round.rest.clone(),
    };
    let zone = if kept.y.len() > 3 {
        Some(
            readings
                .zone(form, round.mean)
                .map_err(|error| readings.refused(error, 4))?,
        )
    } else {
        None
    };
    let known = Repeatability::of(setup, scale).and_then(|known| known.needed(&kept.angles));
    let own = Own::of(&kept.angles, &kept.y, [limacon.a, limacon.b], known);
    let mut scatter = Scatter::of(&kept, limacon, known);
    if let (Some(scatter), Some(own)) = (&mut scatter, &own) {
        scatter.with_hidden(own.centre_squares);
    }
    let scatter = scatter;
    let e = (round.centre[0].powi(2) + round.centre[1].powi(2)).sqrt();
    let indicator = Indicator::of(setup, scale, height);
    let budget = indicator.budget(&kept, scatter.as_ref());
    let u = scatter.is_some().then(|| {
        (
            budget.combined() * 1e-3,
            budget.effective_degrees_of_freedom(),
        )
    });
    let interval = u.map(|(u, dof)| amount::interval(e, u, dof, COVERAGE));
    let high_spot = round.centre[1]
        .atan2(round.centre[0])
        .rem_euclid(TAU)
        .to_degrees();
    let tir_um = range(kept.y.iter().copied()) * 1e3;
    let amount = |drawn: Limits, parts: &[f64]| {
        (scatter.as_ref()).map(|scatter| own_amount(drawn, &indicator, scatter, parts))
    };
    let part_runout = (own.as_ref()).and_then(|own| amount(own.run_out, &[1.0, 1.0]));
    let part_roundness = own.as_ref().zip(zone).and_then(|(own, ring)| {
        let own = match radius_mm {
            None => own.roundness,
            // About the circle itself, not the limaçon.
            Some(_) => Own::of(&kept.angles, &round.rest, [0.0; 2], known)?.roundness,
        };
        amount(own, &ring.weights)
    });
    let tir_interval_um = part_runout.map(|own| holding(own.interval_um, tir_um));
    let synchronous = turns::split(&kept);
    let (verdict, undecided_because) = match options.limit {
        Some(limit) => verdict(limit.um(), tir_interval_um, part_runout, &budget),
        None => (None, None),
    };
    let section = Section {
        plane_mm,
        points: kept.y.len(),
        turns: kept.turns,
        turn_s: kept.period.as_ref().map(|period| period.turn_s),
        period: kept.period.clone(),
        tir_um,
        tir_interval_um,
        part_runout,
        eccentricity_um: e * 1e3,
        eccentricity_interval_um: interval.map(|limits| limits.map(|v| v * 1e3)),
        // The high spot of a direction that is nothing is nothing: 360° is 0°.
        high_spot_deg: if high_spot >= 360.0 { 0.0 } else { high_spot },
        high_spot_expanded_deg: interval.map(|_| {
            let sideways = indicator.sideways(&kept, scatter.as_ref());
            high_spot_expanded_deg(e * 1e3, &sideways, kept.period.as_ref(), kept.turns)
        }),
        mean_mm: setup.indicator.shown_mm(round.mean / scale.factor),
        roundness_ls_um: (kept.y.len() > 3).then(|| range(rest.iter().copied()) * 1e3),
        roundness_mz_um: zone.map(|ring| ring.width * 1e3),
        roundness_interval_um: part_roundness
            .zip(zone)
            .map(|(own, ring)| holding(own.interval_um, ring.width * 1e3)),
        part_roundness,
        zone_centre_um: zone.map(|ring| ring.centre.map(|v| v * 1e3)),
        zone_mm: zone.map(|ring| [ring.inner, ring.outer]),
        proved_orders: harmonics
            .as_ref()
            .zip(scatter.as_ref())
            .map_or_else(Vec::new, |(harmonics, scatter)| {
                proved(harmonics, scatter, &indicator)
            }),
        harmonics_um: harmonics
            .map(|h| (2..=h.order()).map(|k| h.amplitude(k) * 1e3).collect())
            .unwrap_or_default(),
        lobes_shown: Some(highest_order(&kept.angles)).filter(|shown| *shown < USUAL_ORDER),
        synchronous_um: synchronous.map(|(synchronous, _)| synchronous * 1e3),
        asynchronous_um: synchronous.map(|(_, asynchronous)| asynchronous * 1e3),
        outliers: outliers.len(),
        outlier_rows,
        rejected: n - kept.y.len(),
        unplaced: kept.unplaced,
        verdict,
        undecided_because,
        budget: budget.components(),
    };
    Ok(Found {
        section,
        centre: round.centre,
        u,
    })
}

/// What the drawn parts do, with what the indicator adds, µm.
fn own_amount(
    Limits { middle, low, high }: Limits,
    indicator: &Indicator,
    scatter: &Scatter,
    parts: &[f64],
) -> OwnAmount {
    // The width of the limits tells how far the readings average.
    let normal = 2.0 * t_factor(COVERAGE, f64::INFINITY);
    let averaged = ((high - low) / normal / scatter.sd.max(f64::MIN_POSITIVE)).powi(2);
    let adds = indicator.adds(scatter, averaged, parts);
    let interval = [
        (middle - (middle - low).hypot(adds)).max(0.0),
        middle + (high - middle).hypot(adds),
    ];
    OwnAmount {
        um: middle * 1e3,
        interval_um: interval.map(|mm| mm * 1e3),
    }
}

/// Limits widened to hold a value.
fn holding([low, high]: [f64; 2], value: f64) -> [f64; 2] {
    [low.min(value), high.max(value)]
}

/// The decision on the run-out, with the reason where there is none.
fn verdict(
    limit_um: f64,
    tir_interval_um: Option<[f64; 2]>,
    part: Option<OwnAmount>,
    budget: &Budget,
) -> (Option<Verdict>, Option<Undecided>) {
    let (Some([_, highest]), Some(part)) = (tir_interval_um, part) else {
        return (
            Some(Verdict::Undecided),
            Some(Undecided::RepeatabilityUnknown),
        );
    };
    // An amount far below its own uncertainty has a short interval, which proves nothing of the part.
    let told = 2.0 * budget.expanded(COVERAGE) <= limit_um;
    // What the indicator showed must be within the limit too.
    let verdict = if highest <= limit_um && told {
        Verdict::In
    } else if part.interval_um[0] > limit_um {
        Verdict::Out
    } else {
        Verdict::Undecided
    };
    (Some(verdict), Undecided::usual(Some(verdict)))
}

/// The orders from 2 whose amplitude is larger than chance makes the largest of them once in twenty, and larger than the
/// indicator's display and its error may make.
fn proved(harmonics: &Harmonics, scatter: &Scatter, indicator: &Indicator) -> Vec<usize> {
    let orders = harmonics.order().max(2) - 1;
    // Fisher's F of 2 and ν degrees of freedom has the quantile ν/2 (p^(−2/ν) − 1), shared among the orders.
    let p: f64 = (1.0 - COVERAGE) / orders as f64;
    let by_chance = scatter.dof / 2.0 * (p.powf(-2.0 / scatter.dof) - 1.0) * scatter.sd.powi(2);
    let stands_out = |order: &usize| {
        let mut gradient = vec![0.0; 2 * harmonics.order() + 1];
        gradient[2 * order - 1] = 1.0;
        let of_cosine = harmonics.variance_of(&gradient);
        gradient.swap(2 * order - 1, 2 * order);
        let variance = of_cosine + harmonics.variance_of(&gradient);
        let found = harmonics.amplitude(*order);
        found.powi(2) > by_chance * variance && found > indicator.least_amplitude()
    };
    (2..=harmonics.order()).filter(stands_out).collect()
}

/// Expanded uncertainty of the high spot, degrees; 180 where the eccentricity is within its own uncertainty and
/// may point anywhere.
fn high_spot_expanded_deg(
    eccentricity_um: f64,
    sideways: &Budget,
    period: Option<&Period>,
    turns: usize,
) -> f64 {
    let share = sideways.expanded(COVERAGE) / eccentricity_um;
    if share >= 1.0 {
        return 180.0;
    }
    // The angle counts from the first reading, and the circle lies on the average half the turns later: by then an error of
    // the period has added up.
    let drift = period.map_or(0.0, |period| {
        let a_turn = period.turn_u_s / period.turn_s * 360.0;
        t_factor(COVERAGE, f64::INFINITY) * a_turn * turns as f64 / 2.0
    });
    share.asin().to_degrees().hypot(drift).min(180.0)
}

/// Readings that lie far from a profile of few harmonics.
///
/// A far one draws the profile to it, and its neighbours then seem off too; so the profile is fitted again without what was
/// flagged, until it flags the same.
fn outliers(angles: &[f64], y: &[f64], step_mm: f64) -> Vec<usize> {
    let most = highest_order(angles)
        .min(USUAL_ORDER)
        .min(y.len() / 4)
        .max(1);
    let (cos, sin) = directions(angles);
    let mut out: Vec<usize> = Vec::new();
    for _ in 0..4 {
        let kept = |v: &[f64]| -> Vec<f64> {
            let is_in = |i: &usize| out.binary_search(i).is_err();
            (0..v.len()).filter(is_in).map(|i| v[i]).collect()
        };
        let (kept_angles, kept_y) = (kept(angles), kept(y));
        let fit = |order| Harmonics::fit(&kept_angles, &kept_y, order).ok();
        let Some(fit) = (1..=most).rev().find_map(fit) else {
            break;
        };
        let rest: Vec<f64> = (0..y.len())
            .map(|i| y[i] - fit.at(cos[i], sin[i]))
            .collect();
        let now = flagged(&rest, step_mm);
        if now == out {
            break;
        }
        out = now;
    }
    out
}

/// The readings but those at some indices, which rise.
fn without(angled: &Angled, indices: &[usize]) -> Angled {
    let mut out = indices.iter().peekable();
    let kept: Vec<usize> = (0..angled.y.len())
        .filter(|i| out.next_if(|o| *o == i).is_none())
        .collect();
    Angled {
        angles: kept.iter().map(|i| angled.angles[*i]).collect(),
        y: kept.iter().map(|i| angled.y[*i]).collect(),
        turn: kept.iter().map(|i| angled.turn[*i]).collect(),
        rows: kept.iter().map(|i| angled.rows[*i]).collect(),
        turns: angled.turns,
        period: angled.period.clone(),
        unplaced: angled.unplaced,
    }
}
