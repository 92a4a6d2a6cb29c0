//! How often the stated 95 % intervals hold the truth, over simulated steps of which the truth is known.

mod dial;
mod runout;
mod size;
mod sweep;
mod zero;

use crate::chance::Chance;
use metrology::uncertainty::Verdict;
use std::collections::BTreeMap;

/// Thousands of simulated steps of one kind.
pub struct Case {
    /// The step.
    pub step: &'static str,
    /// What is simulated, in a few words.
    pub what: &'static str,
    /// Whether a run takes so long that a test makes fewer of them.
    pub costly: bool,
    /// One simulated step: for each interval that it states, whether that holds the truth.
    run: Box<Simulated>,
}

impl Case {
    fn new(
        step: &'static str,
        what: &'static str,
        run: impl Fn(&mut Chance) -> Vec<Held> + 'static,
    ) -> Self {
        Self {
            step,
            what,
            costly: false,
            run: Box::new(run),
        }
    }

    /// A run takes long.
    fn costly(self) -> Self {
        Self {
            costly: true,
            ..self
        }
    }
}

/// What is simulated, but for something that is otherwise than usual.
fn but<T>(mut usual: T, change: impl FnOnce(&mut T)) -> T {
    change(&mut usual);
    usual
}

type Simulated = dyn Fn(&mut Chance) -> Vec<Held>;

/// What one simulated step claimed, and whether that is so.
pub struct Held {
    interval: &'static str,
    held: bool,
    /// Half the width of the interval; none for a verdict.
    half_width: Option<f64>,
    /// Half the width of the narrowest honest interval, where the case knows it.
    narrowest: Option<f64>,
}

/// The row that counts verdicts: *in tolerance* said, and said rightly.
pub const SAID_IN: &str = "said in";

impl Held {
    /// A value with its expanded uncertainty. None states nothing and is not counted.
    fn within(
        interval: &'static str,
        value: f64,
        expanded: Option<f64>,
        truth: f64,
    ) -> Option<Self> {
        expanded.map(|u| Self {
            interval,
            held: (value - truth).abs() <= u,
            half_width: Some(u),
            narrowest: None,
        })
    }

    /// An interval by its limits.
    fn between(interval: &'static str, limits: Option<[f64; 2]>, truth: f64) -> Option<Self> {
        limits.map(|[low, high]| Self {
            interval,
            held: low <= truth && truth <= high,
            half_width: Some((high - low) / 2.0),
            narrowest: None,
        })
    }

    /// Beside the narrowest honest interval: 1.96 times the standard deviation that the estimate really has in this case,
    /// which only the simulation knows.
    fn beside(self, narrowest: f64) -> Self {
        Self {
            narrowest: Some(narrowest),
            ..self
        }
    }

    /// A verdict: counted when it says *in*, and held when the truth is in tolerance.
    fn said_in(verdict: Option<Verdict>, truly_in: bool) -> Option<Self> {
        (verdict == Some(Verdict::In)).then_some(Self {
            interval: SAID_IN,
            held: truly_in,
            half_width: None,
            narrowest: None,
        })
    }
}

/// How often one interval of a case held the truth.
pub struct Coverage {
    /// The step.
    pub step: &'static str,
    /// The case.
    pub what: &'static str,
    /// The interval, or [`SAID_IN`].
    pub interval: &'static str,
    /// How many steps were simulated.
    pub runs: usize,
    /// How many intervals were stated.
    pub stated: usize,
    /// How many of them held the truth.
    pub held: usize,
    /// Median width beside that of the narrowest honest interval, where the case knows it.
    pub width_ratio: Option<f64>,
}

impl Coverage {
    /// Held of stated, per cent.
    #[must_use]
    pub fn percent(&self) -> f64 {
        100.0 * self.held as f64 / self.stated as f64
    }

    /// Whether the row is a verdict's.
    #[must_use]
    pub fn is_verdict(&self) -> bool {
        self.interval == SAID_IN
    }

    /// Whether the claim is honest: intervals hold at least 94 %; *in* is false in at most 2.5 % of those said, or in at
    /// most 0.5 % of all steps where it is said rarely.
    #[must_use]
    pub fn honest(&self) -> bool {
        if self.is_verdict() {
            let wrong = (self.stated - self.held) as f64;
            wrong <= 0.025 * self.stated as f64 || wrong <= 0.005 * self.runs as f64
        } else {
            self.percent() >= 94.0
        }
    }
}

/// Every case, in the order of the work.
#[must_use]
pub fn cases() -> Vec<Case> {
    let mut cases = Vec::new();
    cases.extend(zero::cases());
    cases.extend(sweep::cases());
    cases.extend(runout::cases());
    cases.extend(size::cases());
    cases.extend(dial::cases());
    cases
}

/// Simulates a case so many times.
#[must_use]
pub fn simulate(case: &Case, runs: usize, seed: u64) -> Vec<Coverage> {
    let mut chance = Chance::seeded(seed);
    let mut claims: BTreeMap<&'static str, Vec<Held>> = BTreeMap::new();
    for _ in 0..runs {
        for held in (case.run)(&mut chance) {
            claims.entry(held.interval).or_default().push(held);
        }
    }
    claims
        .into_iter()
        .map(|(interval, claims)| Coverage {
            step: case.step,
            what: case.what,
            interval,
            runs,
            stated: claims.len(),
            held: claims.iter().filter(|claim| claim.held).count(),
            width_ratio: width_ratio(&claims),
        })
        .collect()
}

/// The median of the intervals' widths beside those of the narrowest honest ones.
fn width_ratio(claims: &[Held]) -> Option<f64> {
    let mut ratios: Vec<f64> = claims
        .iter()
        .filter_map(|claim| Some(claim.half_width? / claim.narrowest?))
        .collect();
    ratios.sort_by(f64::total_cmp);
    ratios.get(ratios.len() / 2).copied()
}
