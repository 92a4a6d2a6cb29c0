//! How well the readings round a turn repeat, and what that leaves of run-out and roundness.
//!
//! One turn does not show which of its unevenness is the part and which is scatter. The part is taken to be smooth: a
//! profile of the few harmonics that stand out, and what all of them leave is the scatter. Over five turns or more the
//! eccentricities of the turns themselves tell how far the eccentricity can be trusted, whatever the scatter is like.

use super::angles::Angled;
use super::{Scale, amount};
use crate::fit::{Limacon, directions, limacon, minimum_zone};
use crate::harmonics::{Harmonics, USUAL_ORDER, highest_order};
use crate::setup::Setup;
use crate::uncertainty::{Budget, COVERAGE, f_limit, rounding_left};
use std::f64::consts::TAU;

/// From this many turns on their own spread is the better witness.
const TURNS_TELL: usize = 5;

/// An order belongs to the part when it brings this many times what chance brings once in twenty; from once to this it is
/// left out and its scatter counted. Found by simulation of 20 000 turns a case, so that the limits hold the truth as often as they say: taken in
/// too easily, orders that are chance raise the run-out; too late, small lobes are missed.
const CERTAIN: f64 = 3.0;

/// Places at which a fitted profile is looked at for its extremes.
const PLACES: usize = 720;

/// What readings round a turn tell of their scatter.
pub(super) struct Scatter {
    /// The part as far as it is smooth.
    profile: Harmonics,
    /// Which orders, from 1, belong to the part.
    kept: Vec<bool>,
    /// Which may belong to it: their scatter counts.
    counted: Vec<bool>,
    /// Standard deviation of a single reading about it, mm.
    sd: f64,
    dof: f64,
    /// Standard uncertainty of each component of the centre, with its degrees of freedom.
    centre: (f64, f64),
    /// What uneven angles let leak into the centre, mm.
    leak: f64,
    places: usize,
}

/// What the indicator adds.
pub(super) struct Indicator {
    /// One step of the display as a radial movement, mm.
    step_mm: f64,
    /// Whether the readings move over so few steps that their rounding does not average out.
    few_steps: bool,
    /// Component and standard uncertainty of its own error, mm.
    error: Option<(&'static str, f64)>,
}

impl Indicator {
    pub(super) fn of(setup: &Setup, scale: Scale, height_mm: f64) -> Self {
        let error = setup.indicator.error();
        let factor = scale.factor * setup.indicator.lever_factor();
        Self {
            step_mm: scale.step_mm,
            few_steps: height_mm < 2.0 * scale.step_mm,
            error: error.map(|error| (error.component, error.u_mm * factor)),
        }
    }

    /// What rounding leaves in one place of a profile, mm, before it is averaged over places.
    fn rounding(&self, sd: f64) -> f64 {
        // Sheppard's correction: the scatter of rounded readings holds the rounding's own q²/12.
        let before = (sd * sd - self.step_mm * self.step_mm / 12.0)
            .max(0.0)
            .sqrt();
        rounding_left(self.step_mm, before)
    }

    /// The budget, µm, of the centre's place square to the eccentricity: two opposite places with one reading, which the
    /// indicator's error leaves alike.
    pub(super) fn sideways(&self, angled: &Angled, scatter: Option<&Scatter>) -> Budget {
        let mut budget = Budget::new("um");
        if let Some(scatter) = scatter {
            let (u, dof) = scatter.centre;
            budget.add("scatter of the readings", u * 1e3, Some(dof));
            budget.add("uneven angles", scatter.leak * 1e3, None);
        }
        let sd = scatter.map_or(0.0, |s| s.sd);
        let places = scatter.map_or(angled.y.len(), |s| s.places);
        let averaged = if self.few_steps {
            1.0
        } else {
            (2.0 / places as f64).sqrt()
        };
        budget.add(
            "resolution of the indicator",
            self.rounding(sd) * averaged * 1e3,
            None,
        );
        budget
    }

    /// The budget of the eccentricity, µm: half a difference of two opposite places, each with its own error.
    pub(super) fn budget(&self, angled: &Angled, scatter: Option<&Scatter>) -> Budget {
        let mut budget = self.sideways(angled, scatter);
        if let Some((component, u)) = self.error {
            budget.add_rectangular(component, &[u / 2.0 * 1e3; 2]);
        }
        budget
    }
}

/// How many different places there are round the turn.
fn distinct(angles: &[f64]) -> usize {
    let mut places: Vec<i64> = angles
        .iter()
        .map(|a| (a.rem_euclid(TAU) * 1e6).round() as i64)
        .collect();
    places.sort_unstable();
    places.dedup();
    places.len()
}

impl Scatter {
    /// `None` when there are no more readings than unknowns.
    pub(super) fn of(angled: &Angled, whole: &Limacon) -> Option<Self> {
        let places = distinct(&angled.angles);
        let most = (places / 4)
            .min(USUAL_ORDER)
            .min(highest_order(&angled.angles))
            .max(1);
        let fullest = (1..=most)
            .rev()
            .filter_map(|order| Harmonics::fit(&angled.angles, &angled.y, order).ok())
            .find(|fit| fit.degrees_of_freedom() > 0)?;
        let (left, left_dof) = (
            fullest.residual_squares,
            fullest.degrees_of_freedom() as f64,
        );
        // What stands out of the scatter belongs to the part; what may be either counts as doubt.
        let mut profile = fullest;
        let chance = f_limit(2.0, left_dof) * left / left_dof;
        let (mut kept, mut counted) = (vec![true; profile.order()], vec![true; profile.order()]);
        for order in 2..=profile.order() {
            let mut gradient = vec![0.0; 2 * profile.order() + 1];
            gradient[2 * order - 1] = 1.0;
            let of_cosine = profile.variance_of(&gradient);
            gradient.swap(2 * order - 1, 2 * order);
            let of_sine = profile.variance_of(&gradient);
            let by_chance = chance * (of_cosine + of_sine);
            let found = profile.amplitude(order).powi(2);
            kept[order - 1] = found > CERTAIN * by_chance;
            counted[order - 1] = found > by_chance;
            if !kept[order - 1] {
                profile.terms[order - 1] = [0.0; 2];
            }
        }
        // Judged by what the most harmonics leave: what the fewest leave was chosen for being small.
        let (sd, dof) = ((left / left_dof).sqrt(), left_dof);
        let of_limacon = sd * ((whole.cofactors[1][1] + whole.cofactors[2][2]) / 2.0).sqrt();
        let leak = profile.terms.first().map_or(0.0, |[a, b]| {
            ((a - whole.a).powi(2) + (b - whole.b).powi(2)).sqrt() / 2.0_f64.sqrt()
        });
        Some(Self {
            centre: turn_by_turn(angled).unwrap_or((of_limacon, dof)),
            // What differs by less than the scatter is scatter.
            leak: if leak > of_limacon * 1e-6 { leak } else { 0.0 },
            profile,
            kept,
            counted,
            sd,
            dof,
            places,
        })
    }

    /// The limits of the run-out that the readings' scatter leaves, mm.
    pub(super) fn run_out(&self, indicator: &Indicator) -> [f64; 2] {
        if let ([[a, b], ..], false) = (&self.profile.terms[..], self.kept[1..].contains(&true)) {
            // A circle off centre and nothing else: twice the eccentricity, with the limits of such an amount.
            let factor = self.factor(&[(0.0, 1.0), (std::f64::consts::PI, -1.0)], 1);
            let budget = self.difference(factor, indicator, &[1.0, 1.0]);
            let dof = budget.effective_degrees_of_freedom();
            return amount::interval(2.0 * a.hypot(*b), budget.combined(), dof, COVERAGE);
        }
        let places: Vec<f64> = (0..PLACES)
            .map(|i| TAU * i as f64 / PLACES as f64)
            .collect();
        let (cos, sin) = directions(&places);
        let at = |i: &usize| self.profile.at(cos[*i], sin[*i]);
        let high = (0..PLACES)
            .max_by(|i, j| at(i).total_cmp(&at(j)))
            .unwrap_or(0);
        let low = (0..PLACES)
            .min_by(|i, j| at(i).total_cmp(&at(j)))
            .unwrap_or(0);
        let found = at(&high) - at(&low);
        let bias = self.bias(places[high]) + self.bias(places[low]);
        let factor = self.factor(&[(places[high], 1.0), (places[low], -1.0)], 1);
        self.limits(found - bias, factor, indicator, &[1.0, 1.0])
    }

    /// The limits of the minimum zone roundness that the readings' scatter leaves, mm; `None` when they tell too few
    /// harmonics for one.
    pub(super) fn roundness(&self, indicator: &Indicator) -> Option<[f64; 2]> {
        if !self.kept[1..].contains(&true) {
            return None;
        }
        let places: Vec<f64> = (0..PLACES)
            .map(|i| TAU * i as f64 / PLACES as f64)
            .collect();
        let (cos, sin) = directions(&places);
        let y: Vec<f64> = (0..PLACES)
            .map(|i| self.profile.at(cos[i], sin[i]))
            .collect();
        let ring = minimum_zone::limacon_of_directions(&cos, &sin, &y).ok()?;
        let mut weights = Vec::with_capacity(4);
        let mut bias = 0.0;
        for (i, contact) in ring.contacts.iter().enumerate() {
            let sign = if ring.on_outer[i] { 1.0 } else { -1.0 };
            weights.push((places[*contact], sign * ring.weights[i]));
            bias += ring.weights[i] * self.bias(places[*contact]);
        }
        let factor = self.factor(&weights, 2);
        Some(self.limits(ring.width - bias, factor, indicator, &ring.weights))
    }

    /// Variance, over that of a single reading, of a weighted sum of the profile's places whose weights sum to nothing,
    /// by the orders from `from` on that belong to it.
    fn factor(&self, weights: &[(f64, f64)], from: usize) -> f64 {
        let mut gradient = vec![0.0; 2 * self.profile.order() + 1];
        for k in (from..=self.profile.order()).filter(|k| self.counted[k - 1]) {
            for (angle, weight) in weights {
                let (s, c) = (k as f64 * angle).sin_cos();
                gradient[2 * k - 1] += weight * c;
                gradient[2 * k] += weight * s;
            }
        }
        self.profile.variance_of(&gradient)
    }

    /// By how much an extreme of the fitted profile is on the average too high: the scatter moves the place of the
    /// extreme to where it is higher. To second order `σ² var(f′) / (2 |f″|)`, and no more than the scatter itself.
    fn bias(&self, angle: f64) -> f64 {
        let order = self.profile.order();
        let mut slope = vec![0.0; 2 * order + 1];
        let mut bend = 0.0;
        for k in (1..=order).filter(|k| self.kept[k - 1]) {
            let (s, c) = (k as f64 * angle).sin_cos();
            let [a, b] = self.profile.terms[k - 1];
            slope[2 * k - 1] = -(k as f64) * s;
            slope[2 * k] = k as f64 * c;
            bend -= (k * k) as f64 * (a * c + b * s);
        }
        let spread = self.sd * self.sd * self.profile.variance_of(&slope);
        (spread / (2.0 * bend.abs()).max(f64::MIN_POSITIVE)).min(self.sd)
    }

    /// The budget, mm, of a weighted difference of places of the profile.
    fn difference(&self, factor: f64, indicator: &Indicator, parts: &[f64]) -> Budget {
        let mut budget = Budget::new("mm");
        budget.add("scatter", self.sd * factor.sqrt(), Some(self.dof));
        let averaged = if indicator.few_steps { 2.0 } else { factor };
        budget.add(
            "resolution",
            indicator.rounding(self.sd) * averaged.sqrt(),
            None,
        );
        if let Some((component, u)) = indicator.error {
            let parts: Vec<f64> = parts.iter().map(|part| part * u).collect();
            budget.add_rectangular(component, &parts);
        }
        budget
    }

    fn limits(&self, found: f64, factor: f64, indicator: &Indicator, parts: &[f64]) -> [f64; 2] {
        let expanded = self.difference(factor, indicator, parts).expanded(COVERAGE);
        [(found - expanded).max(0.0), (found + expanded).max(0.0)]
    }
}

/// Standard uncertainty of the mean eccentricity's components by the spread of the turns' own, and its degrees of freedom.
fn turn_by_turn(angled: &Angled) -> Option<(f64, f64)> {
    if angled.turns < TURNS_TELL {
        return None;
    }
    let mut turns = vec![(Vec::new(), Vec::new()); angled.turns];
    for ((angle, y), turn) in angled.angles.iter().zip(&angled.y).zip(&angled.turn) {
        // A turn that was begun and not gone round is none.
        if let Some((angles, readings)) = turns.get_mut(*turn) {
            angles.push(*angle);
            readings.push(*y);
        }
    }
    let mut centres: Vec<[f64; 2]> = Vec::with_capacity(turns.len());
    for (angles, readings) in &turns {
        let fit = limacon(angles, readings).ok()?;
        centres.push([fit.a, fit.b]);
    }
    let n = centres.len() as f64;
    let squares: f64 = [0, 1]
        .map(|axis| {
            let mean = centres.iter().map(|c| c[axis]).sum::<f64>() / n;
            centres
                .iter()
                .map(|c| (c[axis] - mean).powi(2))
                .sum::<f64>()
        })
        .iter()
        .sum();
    let dof = 2.0 * (n - 1.0);
    Some(((squares / dof / n).sqrt(), dof))
}
