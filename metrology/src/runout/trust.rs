//! How far the readings of one plane can be trusted: what the part itself does, and what is proved of it.

use super::angles::Angled;
use super::outcome::OwnAmount;
use super::own::{Limits, Own};
use super::plane::{PlaneReadings, Round};
use super::repeatability::Repeatability;
use super::scatter::{Indicator, Scatter};
use super::{Scale, amount};
use crate::fit::minimum_zone::Ring;
use crate::harmonics::Harmonics;
use crate::setup::Setup;
use crate::uncertainty::{Budget, COVERAGE, Undecided, Verdict, t_factor};

/// What is known of the scatter, of the indicator and of the part behind the readings.
pub(super) struct Trust {
    indicator: Indicator,
    known: Option<Repeatability>,
    /// None where the scatter is not known.
    scatter: Option<Scatter>,
    /// The part's own profile; none where the scatter is not known.
    own: Option<Own>,
    /// Of the eccentricity, µm.
    pub budget: Budget,
}

impl Trust {
    /// `height_mm` is the range of all readings.
    pub(super) fn of(
        setup: &Setup,
        scale: Scale,
        height_mm: f64,
        angled: &Angled,
        round: &Round,
    ) -> Self {
        let limacon = &round.limacon;
        let known = Repeatability::of(setup, scale).and_then(|known| known.needed(&angled.angles));
        let own = Own::of(&angled.angles, &angled.y, [limacon.a, limacon.b], known);
        let mut scatter = Scatter::of(angled, limacon, known);
        if let (Some(scatter), Some(own)) = (&mut scatter, &own) {
            scatter.with_hidden(own.centre_squares);
        }
        let indicator = Indicator::of(setup, scale, height_mm);
        Self {
            budget: indicator.budget(angled, scatter.as_ref()),
            indicator,
            known,
            scatter,
            own,
        }
    }

    /// Standard uncertainty of each component of the centre, mm, with its degrees of freedom.
    pub(super) fn centre_u(&self) -> Option<(f64, f64)> {
        self.scatter.as_ref()?;
        let dof = self.budget.effective_degrees_of_freedom();
        Some((self.budget.combined() * 1e-3, dof))
    }

    /// The limits of an eccentricity, mm.
    pub(super) fn eccentricity_interval(&self, eccentricity_mm: f64) -> Option<[f64; 2]> {
        let (u, dof) = self.centre_u()?;
        Some(amount::interval(eccentricity_mm, u, dof, COVERAGE))
    }

    /// The part's own run-out.
    pub(super) fn part_runout(&self) -> Option<OwnAmount> {
        self.amount(self.own.as_ref()?.run_out, &[1.0, 1.0])
    }

    /// The part's own roundness, by the places that touch its minimum zone.
    pub(super) fn part_roundness(
        &self,
        readings: &PlaneReadings<'_>,
        round: &Round,
        ring: &Ring,
    ) -> Option<OwnAmount> {
        let own = self.own.as_ref()?;
        let drawn = match readings.radius_mm {
            None => own.roundness,
            // About the circle itself, not the limaçon.
            Some(_) => {
                let angles = &readings.angled.angles;
                Own::of(angles, &round.rest, [0.0; 2], self.known)?.roundness
            }
        };
        self.amount(drawn, &ring.weights)
    }

    /// What the drawn parts do, with what the indicator adds, µm: `parts` are the shares of the places that make the amount.
    /// None where the scatter is not known.
    fn amount(&self, drawn: Limits, parts: &[f64]) -> Option<OwnAmount> {
        let scatter = self.scatter.as_ref()?;
        let Limits { middle, low, high } = drawn;
        // The width of the limits tells how far the readings average.
        let normal = 2.0 * t_factor(COVERAGE, f64::INFINITY);
        let averaged = ((high - low) / normal / scatter.sd.max(f64::MIN_POSITIVE)).powi(2);
        let adds = self.indicator.adds(scatter, averaged, parts);
        let interval = [
            (middle - (middle - low).hypot(adds)).max(0.0),
            middle + (high - middle).hypot(adds),
        ];
        Some(OwnAmount {
            um: middle * 1e3,
            interval_um: interval.map(|mm| mm * 1e3),
        })
    }

    /// The decision on the run-out, with the reason where there is none.
    pub(super) fn verdict(
        &self,
        limit_um: f64,
        tir_interval_um: Option<[f64; 2]>,
        part: Option<OwnAmount>,
    ) -> (Option<Verdict>, Option<Undecided>) {
        let limits = tir_interval_um.zip(part);
        let verdict = limits.map_or(Verdict::Undecided, |([_, highest], part)| {
            // An amount far below its own uncertainty has a short interval, which proves nothing of the part.
            let told = 2.0 * self.budget.expanded(COVERAGE) <= limit_um;
            // What the indicator showed must be within the limit too.
            if highest <= limit_um && told {
                Verdict::In
            } else if part.interval_um[0] > limit_um {
                Verdict::Out
            } else {
                Verdict::Undecided
            }
        });
        Undecided::decided(Some(verdict), limits.is_some())
    }

    /// The orders from 2 whose amplitude is larger than chance makes the largest of them once in twenty, and larger than the
    /// indicator's display and its error may make.
    pub(super) fn proved(&self, harmonics: &Harmonics) -> Vec<usize> {
        let Some(scatter) = &self.scatter else {
            return Vec::new();
        };
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
            found.powi(2) > by_chance * variance && found > self.indicator.least_amplitude()
        };
        (2..=harmonics.order()).filter(stands_out).collect()
    }

    /// Expanded uncertainty of the high spot, degrees; 180 where the eccentricity is within its own uncertainty and
    /// may point anywhere.
    pub(super) fn high_spot_expanded_deg(&self, eccentricity_um: f64, angled: &Angled) -> f64 {
        let sideways = self.indicator.sideways(angled, self.scatter.as_ref());
        let share = sideways.expanded(COVERAGE) / eccentricity_um;
        if share >= 1.0 {
            return 180.0;
        }
        // The angle counts from the first reading, and the circle is the mean of all turns, half of them later on average: an
        // error of the period has added up by then.
        let drift = angled.period.as_ref().map_or(0.0, |period| {
            let a_turn = period.turn_u_s / period.turn_s * 360.0;
            t_factor(COVERAGE, f64::INFINITY) * a_turn * angled.turns as f64 / 2.0
        });
        share.asin().to_degrees().hypot(drift).min(180.0)
    }
}

/// Limits widened to hold a value.
pub(super) fn holding([low, high]: [f64; 2], value: f64) -> [f64; 2] {
    [low.min(value), high.max(value)]
}
