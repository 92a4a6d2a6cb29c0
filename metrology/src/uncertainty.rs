//! Uncertainty budgets of JCGM 100, and the decision of ISO 14253-1.

mod factors;
mod rectangular;

use factors::{Asked, Of, kept};
use serde::{Deserialize, Serialize};
use statrs::distribution::{ContinuousCDF, FisherSnedecor, Normal, StudentsT};

/// The coverage of every expanded uncertainty here unless another is asked for.
pub const COVERAGE: f64 = 0.95;

/// Above this many degrees of freedom Student's t is the normal distribution to four figures.
const MANY: f64 = 1e5;

/// One line of a budget as it is shown: a component's contribution to the result.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Component {
    /// What it comes from, in the trade's words.
    pub component: String,
    /// Standard uncertainty contributed to the result, in `unit`.
    pub u: f64,
    /// The result's unit.
    pub unit: String,
    /// Degrees of freedom; absent where they are infinite.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub degrees_of_freedom: Option<f64>,
}

/// A budget: components of one result, all in its unit, their sensitivities applied.
///
/// Source: JCGM 100:2008, clause 5.1.2 (combination) and annex G.4 (effective degrees of freedom).
///
/// ```
/// use conewright_metrology::uncertainty::Budget;
/// let mut budget = Budget::new("arcsec");
/// budget.add("scatter of the marks", 3.0, Some(4.0));
/// budget.add("resolution", 4.0, None);
/// assert!((budget.combined() - 5.0).abs() < 1e-12);
/// assert!((budget.effective_degrees_of_freedom() - 4.0 * 625.0 / 81.0).abs() < 1e-9);
/// assert_eq!(budget.components()[0].component, "resolution", "largest first");
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Budget {
    unit: &'static str,
    components: Vec<Component>,
    /// Standard uncertainties of the rectangular errors among the components.
    rectangular: Vec<f64>,
}

impl Budget {
    /// An empty budget of a result in `unit`.
    #[must_use]
    pub const fn new(unit: &'static str) -> Self {
        Self {
            unit,
            components: Vec::new(),
            rectangular: Vec::new(),
        }
    }

    /// Adds a contribution (already times its sensitivity), with its degrees of freedom where they are finite. One of
    /// exactly zero is left out: it says nothing.
    pub fn add(&mut self, component: impl Into<String>, u: f64, degrees_of_freedom: Option<f64>) {
        let u = u.abs();
        if u > 0.0 {
            let unit = self.unit.to_owned();
            self.components.push(Component {
                component: component.into(),
                u,
                unit,
                degrees_of_freedom,
            });
        }
    }

    /// Adds all components of another budget of the same result.
    pub fn extend(&mut self, other: &Self) {
        self.components.extend_from_slice(&other.components);
        self.rectangular.extend_from_slice(&other.rectangular);
    }

    /// Adds a contribution made of rectangular ones: limits of error, each with its own sensitivity.
    ///
    /// `parts` are the standard uncertainties that the independent errors contribute. A few of them make a sum with
    /// shorter tails than the normal distribution's, which [`Budget::expanded`] counts.
    pub fn add_rectangular(&mut self, component: impl Into<String>, parts: &[f64]) {
        let u = parts.iter().map(|part| part * part).sum::<f64>().sqrt();
        self.rectangular.extend(
            parts
                .iter()
                .map(|part| part.abs())
                .filter(|part| *part > 0.0),
        );
        self.add(component, u, None);
    }

    /// Combined standard uncertainty: the root of the sum of squares.
    #[must_use]
    pub fn combined(&self) -> f64 {
        self.components
            .iter()
            .map(|c| c.u * c.u)
            .sum::<f64>()
            .sqrt()
    }

    /// Effective degrees of freedom by Welch–Satterthwaite; infinite when no component's are finite.
    #[must_use]
    pub fn effective_degrees_of_freedom(&self) -> f64 {
        let spent: f64 = self
            .components
            .iter()
            .filter_map(|c| c.degrees_of_freedom.map(|dof| c.u.powi(4) / dof))
            .sum();
        // An empty sum is −0.0, and dividing by it would give −∞.
        if spent > 0.0 {
            self.combined().powi(4) / spent
        } else {
            f64::INFINITY
        }
    }

    /// Expanded uncertainty for a coverage between 0 and 1, by Student's t.
    ///
    /// Where rectangular errors are among the components, the distribution of the whole is taken as it is: one such error
    /// alone is held to 95 % by 1.645 standard uncertainties and not by 1.960. What the other components lack in degrees of
    /// freedom then widens them by Student's factor.
    ///
    /// ```
    /// use conewright_metrology::uncertainty::Budget;
    /// let mut budget = Budget::new("um");
    /// budget.add_rectangular("error of the indicator", &[1.0 / 3_f64.sqrt()]);
    /// assert!((budget.expanded(0.95) - 0.95).abs() < 1e-3, "95 % of a rectangle of ±1");
    /// ```
    #[must_use]
    pub fn expanded(&self, coverage: f64) -> f64 {
        let u = self.combined();
        if u == 0.0 {
            return 0.0;
        }
        if self.rectangular.is_empty() {
            return u * t_factor(coverage, self.effective_degrees_of_freedom());
        }
        let limits: f64 = self.rectangular.iter().map(|part| part * part).sum();
        let normal = (u * u - limits).max(0.0);
        // Welch–Satterthwaite over what is not rectangular.
        let degrees_of_freedom = normal * normal * self.effective_degrees_of_freedom() / u.powi(4);
        let student = t_factor(coverage, degrees_of_freedom) / t_factor(coverage, f64::INFINITY);
        rectangular::half_width(normal.sqrt() * student, &self.rectangular, coverage)
    }

    /// The components, largest first.
    #[must_use]
    pub fn components(&self) -> Vec<Component> {
        let mut sorted = self.components.clone();
        sorted.sort_by(|a, b| b.u.total_cmp(&a.u));
        sorted
    }
}

/// The factor `t_p(ν)` that holds a two-sided share `coverage` of Student's distribution; normal for infinite ν.
///
/// `coverage` is between 0 and 1 and ν at least 1 (fewer are taken as 1). Held to table G.2 of JCGM 100:2008.
///
/// ```
/// use conewright_metrology::uncertainty::t_factor;
/// assert!((t_factor(0.95, 1.0) - 12.71).abs() < 0.005);
/// assert!((t_factor(0.95, f64::INFINITY) - 1.960).abs() < 0.0005);
/// ```
#[must_use]
pub fn t_factor(coverage: f64, degrees_of_freedom: f64) -> f64 {
    let p = 0.5 + coverage / 2.0;
    if degrees_of_freedom.is_nan() || degrees_of_freedom > MANY {
        return kept(Asked::new(Of::Normal, [p, 0.0, 0.0]), || {
            Normal::standard().inverse_cdf(p)
        });
    }
    let dof = degrees_of_freedom.max(1.0);
    kept(Asked::new(Of::Student, [p, dof, 0.0]), || {
        StudentsT::new(0.0, 1.0, dof).map_or(f64::INFINITY, |t| t.inverse_cdf(p))
    })
}

/// The value that F of the given degrees of freedom stays below with a probability of 95 %.
#[must_use]
pub fn f_limit(numerator: f64, denominator: f64) -> f64 {
    f_limit_at(0.95, numerator, denominator)
}

/// The same with another probability.
#[must_use]
pub fn f_limit_at(probability: f64, numerator: f64, denominator: f64) -> f64 {
    let asked = Asked::new(Of::Fisher, [probability, numerator, denominator]);
    kept(asked, || {
        FisherSnedecor::new(numerator, denominator)
            .map_or(f64::INFINITY, |f| f.inverse_cdf(probability))
    })
}

/// The standard uncertainty of a value known to lie within ± `half_width`, anywhere with equal right: `a/√3`.
/// Source: JCGM 100:2008, 4.3.7.
#[must_use]
pub fn rectangular(half_width: f64) -> f64 {
    half_width / 3.0_f64.sqrt()
}

/// How a single reading scattered before the display rounded it to its step, where rounded readings scatter by `sd`: that
/// scatter holds the rounding's own `q²/12` (Sheppard's correction).
#[must_use]
pub fn before_rounding(step: f64, sd: f64) -> f64 {
    (sd * sd - step * step / 12.0).max(0.0).sqrt()
}

/// What is left of a display's rounding in the mean of many readings whose single value scatters by `sd`.
///
/// One reading is off by up to half a step, `u = q/√12`. Scatter wipes the step out: averaged over all places within a
/// step, the error of the mean has the variance `q²/(2π²) · Σₖ exp(−4π²k²σ²/q²)/k²`, which is `q²/12` without scatter
/// and nothing from about σ = q/2 on, where the readings' own scatter holds it. Source: B. Widrow, I. Kollár,
/// *Quantization Noise*, Cambridge 2008, from memory; held to a simulation in the tests.
#[must_use]
pub fn rounding_left(step: f64, sd: f64) -> f64 {
    use std::f64::consts::PI;
    if step <= 0.0 {
        return 0.0;
    }
    if sd <= 0.0 {
        return rectangular(step / 2.0);
    }
    let decay = 4.0 * PI * PI * (sd / step).powi(2);
    // Without scatter the series falls only as 1/k²: enough terms that what is cut is below 0.1 %.
    let sum: f64 = (1..=600)
        .map(f64::from)
        .map(|k| (-decay * k * k).exp() / (k * k))
        .take_while(|term| *term > 1e-12)
        .sum();
    (step * step / (2.0 * PI * PI) * sum).sqrt()
}

/// The decision of ISO 14253-1: conformity is proved, its opposite is proved, or neither.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// Within the tolerance even with the uncertainty against it.
    In,
    /// Beyond the tolerance even with the uncertainty in its favour.
    Out,
    /// The limit lies within the expanded uncertainty of the value.
    Undecided,
}

impl Verdict {
    /// The rule of decision, as a document states it beside its verdicts.
    pub const RULE: &str = "Verdicts follow ISO 14253-1: a value is in tolerance when its whole interval at 95 % lies within the \
         limits, out of tolerance when its whole interval lies outside them, and undecided otherwise.";

    /// Decides on a value with its expanded uncertainty between two limits, all in one unit. Source: ISO 14253-1:
    /// the zones of conformity and of non-conformity are the tolerance less, and more, the expanded uncertainty.
    ///
    /// ```
    /// use conewright_metrology::uncertainty::Verdict;
    /// assert_eq!(Verdict::on(1.0, 0.5, [-2.0, 2.0]), Verdict::In);
    /// assert_eq!(Verdict::on(1.8, 0.5, [-2.0, 2.0]), Verdict::Undecided);
    /// assert_eq!(Verdict::on(-2.6, 0.5, [-2.0, 2.0]), Verdict::Out);
    /// ```
    #[must_use]
    pub fn on(value: f64, expanded: f64, [lower, upper]: [f64; 2]) -> Self {
        if value - expanded >= lower && value + expanded <= upper {
            Self::In
        } else if value + expanded < lower || value - expanded > upper {
            Self::Out
        } else {
            Self::Undecided
        }
    }
}

/// Why a decision is undecided.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Undecided {
    /// The limit lies within the expanded uncertainty of the value.
    TooClose,
    /// Nothing tells how well the readings repeat, so there is no 95 % interval.
    RepeatabilityUnknown,
    /// The set-up was moved since the readings that the value rests on.
    Moved,
    /// Rounds of one state disagree by more than their uncertainty allows.
    RoundsDisagree,
}

impl Undecided {
    /// The usual reason of a verdict: what was decided is not undecided, and else the limit is too close.
    #[must_use]
    pub fn usual(verdict: Option<Verdict>) -> Option<Self> {
        (verdict == Some(Verdict::Undecided)).then_some(Self::TooClose)
    }

    /// A verdict, with the reason if it is undecided. Without a known repeatability every verdict is undecided.
    #[must_use]
    pub fn decided(verdict: Option<Verdict>, repeats: bool) -> (Option<Verdict>, Option<Self>) {
        match verdict {
            Some(_) if !repeats => (Some(Verdict::Undecided), Some(Self::RepeatabilityUnknown)),
            verdict => (verdict, Self::usual(verdict)),
        }
    }

    /// The reason, as every screen and page says it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::TooClose => "too close to tell",
            Self::RepeatabilityUnknown => "repeatability unknown",
            Self::Moved => "the set-up was moved",
            Self::RoundsDisagree => "the rounds do not agree",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scatter_before_rounding_is_what_the_step_does_not_explain() {
        // Variances of independent errors add: 0.3² and the rounding's own 1/12.
        let rounded = (0.09_f64 + 1.0 / 12.0).sqrt();
        assert!((before_rounding(1.0, rounded) - 0.3).abs() < 1e-12);
        assert_eq!(before_rounding(0.0, 0.3), 0.3);
        assert_eq!(before_rounding(1.0, 0.2), 0.0, "less than rounding alone");
    }

    #[test]
    fn without_a_finite_component_the_normal_distribution_holds() {
        let mut budget = Budget::new("mm");
        budget.add("resolution", 1.0, None);
        assert_eq!(budget.effective_degrees_of_freedom(), f64::INFINITY);
        assert!((budget.expanded(0.95) - 1.959_964).abs() < 1e-6);
        assert_eq!(Budget::new("mm").expanded(0.95), 0.0);
        // The sum of two equal rectangular errors is triangular: half-width 2a, 95 % within 2a(1 − √0.05).
        let mut two = Budget::new("mm");
        two.add_rectangular("resolution", &[rectangular(1.0); 2]);
        let exact = 2.0 * (1.0 - 0.05_f64.sqrt());
        assert!(
            (two.expanded(0.95) / exact - 1.0).abs() < 0.01,
            "{}",
            two.expanded(0.95)
        );
    }

    #[test]
    fn the_limits_of_a_decision_belong_to_it() {
        assert_eq!(Verdict::on(1.5, 0.5, [-2.0, 2.0]), Verdict::In);
        assert_eq!(
            Verdict::on(1.5 + 1e-12, 0.5, [-2.0, 2.0]),
            Verdict::Undecided
        );
        assert_eq!(Verdict::on(2.5, 0.5, [-2.0, 2.0]), Verdict::Undecided);
        assert_eq!(Verdict::on(2.5 + 1e-12, 0.5, [-2.0, 2.0]), Verdict::Out);
        // An uncertainty wider than the tolerance proves nothing.
        assert_eq!(Verdict::on(0.0, 3.0, [-2.0, 2.0]), Verdict::Undecided);
    }

    /// The mean of very many rounded readings, by the normal distribution's own integral, against the series.
    #[test]
    fn rounding_left_over_is_as_simulated() {
        let normal = Normal::standard();
        let mean_error = |place: f64, sd: f64| -> f64 {
            (-12..=12)
                .map(f64::from)
                .map(|code| {
                    let share = normal.cdf((code + 0.5 - place) / sd)
                        - normal.cdf((code - 0.5 - place) / sd);
                    code * share
                })
                .sum::<f64>()
                - place
        };
        for sd in [0.05, 0.15, 0.3, 0.5] {
            let places = 2_000;
            let squares: f64 = (0..places)
                .map(|i| (f64::from(i) + 0.5) / f64::from(places) - 0.5)
                .map(|place| mean_error(place, sd).powi(2))
                .sum();
            let simulated = (squares / f64::from(places)).sqrt();
            let told = rounding_left(1.0, sd);
            assert!(
                (told - simulated).abs() < 0.002 * simulated + 1e-9,
                "{sd}: {told} {simulated}"
            );
        }
        assert!((rounding_left(1.0, 0.0) - 1.0 / 12.0_f64.sqrt()).abs() < 1e-12);
        assert!((rounding_left(1.0, 1e-4) / rounding_left(1.0, 0.0) - 1.0).abs() < 2e-3);
    }
}
