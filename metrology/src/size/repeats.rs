//! What was measured again at the same places: how well a length repeats, and whether the rounds are of one state of the part.

use super::SizeOptions;
use crate::setup::Setup;
use crate::spread::{mean, squares};
use crate::uncertainty::{Budget, f_limit, rectangular, rounding_left, t_factor};

/// Rounds that differ by more than this share of chance allows are asked about.
const AGREEMENT: f64 = 0.99;

/// Where nothing tells how well an instrument repeats, half a step of its display is taken for the question whether rounds
/// agree, and for nothing else: common practice.
const USUAL_SD_STEPS: f64 = 0.5;

/// More degrees of freedom than any source has.
const MANY: f64 = 1e6;

/// A place that is measured, with everything measured there.
#[derive(Debug, Clone)]
pub(super) struct Place {
    /// Where on the axis of the cone, mm; rollers by the height of their stacks, downward.
    pub at_mm: f64,
    /// What was measured, mm, in the order of the rounds.
    pub values_mm: Vec<f64>,
    /// The row in which it was measured first, from 1.
    pub row: usize,
}

impl Place {
    pub fn mean_mm(&self) -> f64 {
        mean(&self.values_mm)
    }
}

/// The most that was measured at one place.
pub(super) fn rounds(places: &[Place]) -> usize {
    places.iter().map(|p| p.values_mm.len()).max().unwrap_or(0)
}

/// Scatter of repeated values about the mean of their place, µm, with its degrees of freedom; none where nothing was measured
/// again.
fn within(groups: impl Iterator<Item = impl AsRef<[f64]>>) -> Option<(f64, f64)> {
    let (mut sum, mut dof) = (0.0, 0.0);
    for group in groups {
        let values = group.as_ref();
        if values.len() > 1 {
            sum += squares(values);
            dof += (values.len() - 1) as f64;
        }
    }
    (dof > 0.0).then(|| ((sum / dof).sqrt() * 1e3, dof))
}

/// How well a single length repeats, the display's rounding aside where it was stated or checked, and with it where it was
/// seen in what was measured again.
#[derive(Debug, Clone, Copy)]
struct Repeatability {
    component: &'static str,
    sd_um: f64,
    /// None where they are infinite.
    degrees_of_freedom: Option<f64>,
    /// Seen here: it holds the rounding that changes from one value to the next.
    seen: bool,
}

/// What is known of the error of one measured length, µm.
pub(super) struct LengthError {
    /// Stated of the length itself: measuring it again does not make it smaller.
    stated: Option<(&'static str, f64)>,
    repeatability: Option<Repeatability>,
    /// Standard deviation of a single value and its degrees of freedom, as stated or checked before this was measured.
    before: Option<(f64, f64)>,
    /// One step of the display; 0 where it is not known.
    step_um: f64,
    /// Limit of error of the instrument, as a standard uncertainty.
    instrument: Option<(&'static str, f64)>,
    /// Scatter of what was measured again, as it was seen.
    pub seen: Option<(f64, f64)>,
    /// Whether what was seen scatters more than what was stated or checked.
    pub worse_than_known: bool,
}

impl LengthError {
    pub fn of(
        setup: &Setup,
        options: &SizeOptions,
        stated: Option<(&'static str, f64)>,
        places: &[Place],
    ) -> Self {
        let step_um = setup.indicator.resolution.map_or(0.0, |step| step.um());
        let diameter = options
            .diameter_u
            .map(|u| ("the diameters, as stated", u.um()));
        let stated = stated.or(diameter);
        let seen = within(places.iter().map(|p| &p.values_mm));
        let known = known(setup).filter(|_| stated.is_none());
        let before = known
            .map(|k| (k.sd_um, k.degrees_of_freedom.unwrap_or(MANY)))
            .or(stated.map(|(_, u)| (u, MANY)));
        let worse_than_known = before.is_some_and(|before| is_worse(seen, before, step_um));
        let by_seen = seen.map(|(sd_um, dof)| Repeatability {
            component: "scatter of what was measured again",
            sd_um: sd_um.max(least_scatter(step_um)),
            degrees_of_freedom: Some(dof),
            seen: true,
        });
        let repeatability = match (known, by_seen) {
            (_, Some(seen)) if worse_than_known => Some(seen),
            (Some(known), Some(_)) => Some(pooled(known, seen, step_um)),
            (Some(known), None) => Some(known),
            (None, seen) => seen.filter(|_| stated.is_none()),
        };
        Self {
            stated,
            repeatability,
            before,
            step_um,
            // What is stated of the length holds for the instrument as well.
            instrument: setup
                .indicator
                .error()
                .filter(|_| stated.is_none())
                .map(|e| (e.component, e.u_mm * 1e3)),
            seen,
            worse_than_known,
        }
    }

    /// Whether anything tells how well a length repeats.
    pub const fn is_known(&self) -> bool {
        self.stated.is_some() || self.repeatability.is_some()
    }

    /// Degrees of freedom of what is known, where they are finite.
    pub fn degrees_of_freedom(&self) -> Option<f64> {
        self.repeatability?.degrees_of_freedom
    }

    /// Standard uncertainty of the mean of `n` such lengths at one place, µm; 0 when nothing is known.
    pub fn u_um(&self, n: usize) -> f64 {
        let rounding = self.rounding(n);
        [
            self.stated.map_or(0.0, |(_, u)| u),
            self.repeatability
                .map_or(0.0, |r| r.sd_um / (n as f64).sqrt()),
            rounding.common,
            rounding.own,
            self.instrument.map_or(0.0, |(_, u)| u),
        ]
        .iter()
        .map(|u| u * u)
        .sum::<f64>()
        .sqrt()
    }

    /// What the display's rounding leaves in the mean of `n` values.
    fn rounding(&self, n: usize) -> Rounding {
        let whole = rectangular(self.step_um / 2.0);
        if n == 1 {
            return Rounding {
                common: whole,
                own: 0.0,
            };
        }
        let seen_um = self.seen.map_or(0.0, |(sd, _)| sd);
        let sd_um = match self.repeatability {
            Some(r) if !r.seen => r.sd_um,
            _ => seen_um,
        };
        let common = rounding_kept(self.step_um, sd_um);
        let own = if self.repeatability.is_some_and(|r| r.seen) {
            0.0
        } else {
            ((whole * whole - common * common).max(0.0) / n as f64).sqrt()
        };
        Rounding { common, own }
    }

    /// Adds the contributions of several places to a result, each by its sensitivity and the count of what was measured there.
    pub fn add(&self, budget: &mut Budget, shares: &[(f64, usize)]) {
        let all = |each: &dyn Fn(usize) -> f64| {
            let squares = shares.iter().map(|(s, n)| (s * each(*n)).powi(2));
            squares.sum::<f64>().sqrt()
        };
        if let Some((component, u)) = self.stated {
            budget.add(component, u * all(&|_| 1.0), None);
        }
        if let Some(r) = self.repeatability {
            let u = r.sd_um * all(&|n| 1.0 / (n as f64).sqrt());
            budget.add(r.component, u, r.degrees_of_freedom);
        }
        let rounding: Vec<f64> = shares
            .iter()
            .map(|(s, n)| s * self.rounding(*n).common)
            .collect();
        budget.add_rectangular("resolution of the instrument", &rounding);
        budget.add(
            "resolution, from value to value",
            all(&|n| self.rounding(n).own),
            None,
        );
        self.add_instrument(budget, shares);
    }

    /// Adds the instrument's limit of error alone.
    pub fn add_instrument(&self, budget: &mut Budget, shares: &[(f64, usize)]) {
        if let Some((component, u)) = self.instrument {
            let parts: Vec<f64> = shares.iter().map(|(s, _)| s * u).collect();
            budget.add_rectangular(component, &parts);
        }
    }

    /// Scatter that is taken where `sd_um` was seen between values of this display, and what rounding adds to it.
    pub fn seen_between(&self, sd_um: f64) -> (f64, f64) {
        let least = least_scatter(self.step_um);
        (sd_um.max(least), rounding_kept(self.step_um, sd_um))
    }

    /// Whether the rounds are of one state of the part. `angle` has the arc-seconds of half angle per µm at each place, where
    /// there is one.
    pub fn disagreement(&self, places: &[Place], angle: Option<&[f64]>) -> Option<Disagreement> {
        let worst = (1..rounds(places))
            .filter_map(|from| self.disagree_at(places, angle, from))
            .max_by(|a, b| a.beyond.total_cmp(&b.beyond))?;
        (worst.beyond > 1.0).then_some(worst)
    }

    /// What is measured from one round on, beside what was measured before it.
    fn disagree_at(
        &self,
        places: &[Place],
        angle: Option<&[f64]>,
        from: usize,
    ) -> Option<Disagreement> {
        let split: Vec<(&[f64], &[f64])> = places
            .iter()
            .map(|p| p.values_mm.split_at(from.min(p.values_mm.len())))
            .collect();
        let (sd_um, dof) = self.sd_for_agreement(&split)?;
        let limit = t_factor(AGREEMENT, dof) * sd_um;
        let change = |(before, after): &(&[f64], &[f64])| {
            let by_um = (mean(after) - mean(before)) * 1e3;
            let per_value = 1.0 / before.len() as f64 + 1.0 / after.len() as f64;
            (!after.is_empty()).then_some((by_um, per_value))
        };
        let changes: Vec<Option<(f64, f64)>> = split.iter().map(change).collect();
        let mut beyond = 0.0_f64;
        let mut by_um = 0.0_f64;
        for (um, per_value) in changes.iter().flatten() {
            beyond = beyond.max(um.abs() / (limit * per_value.sqrt()));
            if um.abs() > by_um.abs() {
                by_um = *um;
            }
        }
        let both = changes.iter().copied().collect::<Option<Vec<_>>>();
        let turned = both.zip(angle).map(|(changes, angle)| {
            let turned = changes.iter().zip(angle);
            turned.fold((0.0, 0.0), |(sum, squares), ((um, per_value), arcsec)| {
                (sum + um * arcsec, squares + per_value * arcsec * arcsec)
            })
        });
        if let Some((arcsec, squares)) = turned {
            beyond = beyond.max(arcsec.abs() / (limit * squares.sqrt()));
        }
        Some(Disagreement {
            from,
            by_um,
            by_arcsec: turned.map(|(arcsec, _)| arcsec),
            beyond,
        })
    }

    /// Standard deviation of a single value for the question whether rounds agree, with its degrees of freedom: what was
    /// stated or checked; else the usual, and what the rounds to either side of the question show among themselves.
    fn sd_for_agreement(&self, split: &[(&[f64], &[f64])]) -> Option<(f64, f64)> {
        let rounding = rectangular(self.step_um / 2.0);
        let sides = split.iter();
        let seen = within(sides.flat_map(|(before, after)| [*before, *after]));
        if let Some(before) = self
            .before
            .filter(|before| !is_worse(seen, *before, self.step_um))
        {
            return Some((before.0.hypot(rounding), before.1));
        }
        let usual = USUAL_SD_STEPS * self.step_um;
        // The usual counts as one more degree of freedom: with a single one of their own, rounds would agree with anything.
        let (sd, dof) = seen.map_or((usual, MANY), |(sd, dof)| {
            let squares = (dof * sd * sd + usual * usual) / (dof + 1.0);
            (squares.sqrt().max(usual), dof + 1.0)
        });
        let sd = sd.hypot(rounding);
        (sd > 0.0).then_some((sd, dof))
    }
}

/// Whether what was seen scatters more than what was known before allows.
fn is_worse(seen: Option<(f64, f64)>, (before, before_dof): (f64, f64), step_um: f64) -> bool {
    seen.is_some_and(|(sd, dof)| {
        let expected = before.hypot(rectangular(step_um / 2.0));
        (sd / expected).powi(2) > f_limit(dof, before_dof)
    })
}

/// Values that are all the same still differ by less than the display shows: half of what its rounding alone may do, with
/// which the intervals hold in the simulations.
fn least_scatter(step_um: f64) -> f64 {
    rectangular(step_um / 2.0) / 2.0
}

struct Rounding {
    /// The same in all values.
    common: f64,
    /// Other in each, already averaged.
    own: f64,
}

/// What rounding leaves in a mean: nothing from half a step of scatter on, where less than a hundredth of a step is left.
fn rounding_kept(step_um: f64, sd_um: f64) -> f64 {
    if sd_um >= step_um / 2.0 {
        0.0
    } else {
        rounding_left(step_um, sd_um)
    }
}

/// What the user states, or what the last check of the instrument found.
fn known(setup: &Setup) -> Option<Repeatability> {
    let indicator = &setup.indicator;
    let stated = indicator.repeatability.map(|sd| Repeatability {
        component: "repeatability, as stated",
        sd_um: sd.um(),
        degrees_of_freedom: None,
        seen: false,
    });
    stated.or_else(|| {
        let check = indicator.check.as_ref()?;
        Some(Repeatability {
            component: "repeatability of the instrument",
            sd_um: check.repeatability_sd_um?,
            degrees_of_freedom: check.repeatability_degrees_of_freedom,
            seen: false,
        })
    })
}

/// What is known and what was seen, where the two are compatible, weighed by their degrees of freedom.
fn pooled(known: Repeatability, seen: Option<(f64, f64)>, step_um: f64) -> Repeatability {
    let (Some((sd, dof)), Some(known_dof)) = (seen, known.degrees_of_freedom) else {
        return known;
    };
    let rounding = rectangular(step_um / 2.0);
    let seen_squares = (sd * sd - rounding * rounding).max(0.0);
    let squares = (dof * seen_squares + known_dof * known.sd_um.powi(2)) / (dof + known_dof);
    Repeatability {
        component: "repeatability, checked and seen",
        sd_um: squares.sqrt(),
        degrees_of_freedom: Some(dof + known_dof),
        ..known
    }
}

/// Rounds that are not of one state of the part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Disagreement {
    /// How many rounds lie before the change.
    pub from: usize,
    /// The largest change of a length, µm.
    pub by_um: f64,
    /// The change of the half angle, where both sides tell one.
    pub by_arcsec: Option<f64>,
    /// How far beyond what chance allows; 1 is just at the limit.
    beyond: f64,
}
