//! How well a mark repeats, with its degrees of freedom, or that nothing tells it.
//!
//! Four things can tell it. The readings of a dwell scatter about their mean: many degrees of freedom, but blind to a
//! station that is never found again quite the same. Marks at a station that was come back to differ: they see all, and are
//! few. The user may state it, and the indicator's last check may have found it. A return shows drift as well as scatter;
//! drift is taken out only where several rounds show the same, and counts as scatter where they cannot be told apart.

use super::round::{RoundLine, Unexplained};
use super::stated::{Stated, stated};
use crate::setup::Setup;
use crate::uncertainty::{f_limit, f_limit_at, rounding_left};
use std::cell::Cell;

/// The scatter of a round's marks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Scatter {
    /// Each mark's variance is the within-dwell variance over its number of readings, times `factor`.
    Within {
        variance: f64,
        factor: f64,
        dof: f64,
    },
    /// Each mark has this variance, or that of its own dwell where that is larger.
    Between {
        variance: f64,
        dof: f64,
        component: &'static str,
        /// Whether the display's own rounding is not in it.
        true_sd: bool,
    },
    /// Single readings, and no station come back to: nothing tells.
    Unknown,
}

const OF_MARKS: &str = "scatter of the marks";
/// How sure a drift must be before it is taken out of the scatter that the marks alone tell.
const SURE: f64 = 0.999;
/// Degrees of freedom that are as good as infinite.
const MANY: f64 = 1e5;

/// Sums of squares and degrees of freedom of what lines leave.
#[derive(Debug, Clone, Copy, Default)]
struct Left {
    squares: f64,
    dof: f64,
}

impl Left {
    fn variance(self) -> f64 {
        self.squares / self.dof
    }

    /// Whether a variance with these degrees of freedom is compatible with a known one.
    fn fits(self, variance: f64, dof: f64) -> bool {
        // Equal readings throughout leave nothing on either side.
        self.dof == 0.0
            || self.squares <= 0.0
            || self.variance() <= variance * f_limit(self.dof, dof.min(MANY))
    }

    /// Of two the one with the larger variance.
    fn larger(self, other: Self) -> Self {
        if other.variance() > self.variance() {
            other
        } else {
            self
        }
    }

    /// As the scatter of marks, whose readings show the display's `rounding` variance as well: readings that are all the same
    /// scatter by less than the display can tell, not by nothing.
    fn between(self, rounding: f64) -> Scatter {
        Scatter::Between {
            variance: self.variance().max(rounding),
            dof: self.dof,
            component: OF_MARKS,
            true_sd: false,
        }
    }
}

/// What was found for all rounds, with the variance and the degrees of freedom that were asked about.
#[derive(Debug, Clone, Copy)]
struct Answered {
    asked: (f64, f64),
    answer: Option<Left>,
}

/// What all rounds of a step say of their scatter, computed once.
pub(super) struct Evidence {
    /// What each round leaves, and behind them what each doubtful return does.
    parts: Vec<Unexplained>,
    /// Their sum.
    all: Unexplained,
    /// Within the dwells: variance of a single reading, its degrees of freedom, and the mean variance of a mark by it.
    within: Option<(f64, f64, f64)>,
    stated: Option<Stated>,
    /// The last answer that holds for all rounds.
    answered: Cell<Option<Answered>>,
    /// What the marks alone say, with the rounding that it was asked for last.
    alone: Cell<Option<(f64, Left)>>,
}

impl Evidence {
    /// `doubtful_mm` are differences of returns that may have been a small move, or scatter after all.
    pub(super) fn of(setup: &Setup, rounds: &[RoundLine<'_>], doubtful_mm: &[f64]) -> Self {
        let doubtful = doubtful_mm.iter().map(|by| Unexplained {
            yy: by * by / 2.0,
            yt: 0.0,
            tt: 0.0,
            dof: 1.0,
        });
        let of_rounds = rounds.iter().map(|round| round.unexplained);
        let parts: Vec<Unexplained> = of_rounds.chain(doubtful).collect();
        let sum = |of: fn(&Unexplained) -> f64| parts.iter().map(of).sum::<f64>();
        Self {
            all: Unexplained {
                yy: sum(|p| p.yy),
                yt: sum(|p| p.yt),
                tt: sum(|p| p.tt),
                dof: sum(|p| p.dof),
            },
            within: within(rounds),
            stated: stated(setup),
            answered: Cell::new(None),
            alone: Cell::new(None),
            parts,
        }
    }

    /// The drift that all rounds share, taken out of what a round leaves.
    fn without_drift(&self, part: &Unexplained) -> f64 {
        let drift = self.all.yt / self.all.tt;
        (part.yy - 2.0 * drift * part.yt + drift * drift * part.tt).max(0.0)
    }

    /// Drift can be told from scatter only where more than one return shows it.
    fn tells_drift(&self) -> bool {
        self.all.tt > 0.0 && self.all.dof > 1.0
    }

    /// What the rounds leave with the common drift taken out, where it can be told: to compare with a scatter that is
    /// known without drift.
    fn compared(&self) -> Left {
        if self.tells_drift() {
            Left {
                squares: self.without_drift(&self.all),
                dof: self.all.dof - 1.0,
            }
        } else {
            self.plain()
        }
    }

    fn plain(&self) -> Left {
        Left {
            squares: self.all.yy,
            dof: self.all.dof,
        }
    }

    /// What the marks alone say: the drift taken out only where it stands out.
    fn alone(&self, rounding: f64) -> Left {
        if let Some((_, left)) = self.alone.get().filter(|(asked, _)| *asked == rounding) {
            return left;
        }
        let left = self.found_alone(rounding);
        self.alone.set(Some((rounding, left)));
        left
    }

    /// The same, found anew.
    fn found_alone(&self, rounding: f64) -> Left {
        let (plain, left) = (self.plain(), self.compared());
        let explained = plain.squares - left.squares;
        // Equal readings scatter by less than the display can tell.
        let noise = left.variance().max(rounding);
        if self.tells_drift() && explained > noise * f_limit_at(SURE, 1.0, left.dof) {
            left
        } else {
            plain
        }
    }

    /// What one round leaves.
    fn own(&self, round: usize) -> Left {
        let part = &self.parts[round];
        Left {
            squares: if self.tells_drift() {
                self.without_drift(part)
            } else {
                part.yy
            },
            dof: part.dof,
        }
    }

    /// What the rounds leave that is compatible with a known scatter, for one of them; `None` where that one or a third of them are
    /// not. A few that are not were tapped before they were closed, and count nowhere.
    fn compatible(&self, round: usize, variance: f64, dof: f64) -> Option<Left> {
        if !self.own(round).fits(variance, dof) {
            return None;
        }
        let asked = (variance, dof);
        if let Some(before) = self.answered.get().filter(|before| before.asked == asked) {
            return before.answer;
        }
        let answer = self.compatible_in_all(variance, dof);
        self.answered.set(Some(Answered { asked, answer }));
        answer
    }

    /// The same, whatever the round.
    fn compatible_in_all(&self, variance: f64, dof: f64) -> Option<Left> {
        let all = self.compared();
        if all.fits(variance, dof) {
            return Some(all);
        }
        let returned = |i: &usize| self.parts[*i].dof > 0.0;
        let fitting: Vec<Left> = (0..self.parts.len())
            .filter(returned)
            .map(|i| self.own(i))
            .filter(|left| left.fits(variance, dof))
            .collect();
        let count = (0..self.parts.len()).filter(returned).count();
        (3 * fitting.len() > 2 * count).then(|| {
            fitting.iter().fold(Left::default(), |sum, left| Left {
                squares: sum.squares + left.squares,
                dof: sum.dof + left.dof,
            })
        })
    }

    /// The scatter that counts for the marks of one round. `step_mm` is one step of the display.
    pub(super) fn of_round(&self, round: usize, step_mm: f64) -> Scatter {
        let rounding = step_mm * step_mm / 12.0;
        let own = self.own(round);
        if let Some(known) = self.stated {
            let variance = known.sd_mm * known.sd_mm + rounding;
            return match self.compatible(round, variance, known.dof) {
                Some(left) => known.pooled(left),
                None => self.alone(rounding).between(rounding),
            };
        }
        let Some((variance, dof, expected)) = self.within else {
            let all = self.alone(rounding);
            if all.dof == 0.0 {
                return Scatter::Unknown;
            }
            let others = Left {
                squares: (all.squares - own.squares).max(0.0),
                dof: all.dof - own.dof,
            };
            // Where this round stands out of the others (drift, scatter, or a small tap) it counts alone.
            let alone = others.dof > 0.0 && !own.fits(others.variance().max(rounding), others.dof);
            return if alone { own } else { all }.between(rounding);
        };
        let Some(left) = self.compatible(round, expected, dof) else {
            let all = self.alone(rounding);
            return if own.fits(expected, dof) {
                all
            } else {
                own.larger(all)
            }
            .between(rounding);
        };
        let ratio = left.squares / expected;
        let ratio = if ratio.is_nan() { left.dof } else { ratio };
        Scatter::Within {
            variance,
            factor: (ratio + dof) / (left.dof + dof),
            dof: left.dof + dof,
        }
    }
}

impl Stated {
    /// With what the marks themselves leave.
    fn pooled(self, left: Left) -> Scatter {
        let variance = self.sd_mm * self.sd_mm;
        let dof = self.dof + left.dof;
        Scatter::Between {
            variance: if self.dof.is_finite() {
                (self.dof * variance + left.squares) / dof
            } else {
                variance
            },
            dof,
            component: self.component,
            true_sd: true,
        }
    }
}

impl Scatter {
    /// Standard uncertainty of a round's slope from this scatter, with its degrees of freedom and its name in the budget;
    /// `None` when unknown. `rounding_mm` is what [`Scatter::rounding_mm`] tells.
    pub(super) fn slope_u(
        &self,
        round: &RoundLine<'_>,
        step_mm: f64,
        rounding_mm: f64,
    ) -> Option<(f64, f64, &'static str)> {
        /// Of marks with these numbers of readings.
        fn u(round: &RoundLine<'_>, variance: impl Fn(f64) -> f64) -> f64 {
            let parts = round.influence.iter().zip(round.marks);
            parts
                .map(|(c, mark)| c * c * variance(mark.readings as f64))
                .sum::<f64>()
                .sqrt()
        }
        match *self {
            Self::Within {
                variance,
                factor,
                dof,
            } => Some((u(round, |of| factor * variance / of), dof, OF_MARKS)),
            Self::Between {
                variance,
                dof,
                component,
                true_sd,
            } => {
                // Where the scatter is known without the display's rounding, what scatter makes random of it comes beside.
                let random = if true_sd {
                    (step_mm * step_mm / 12.0 - rounding_mm * rounding_mm).max(0.0)
                } else {
                    0.0
                };
                Some((u(round, |of| variance + random / of), dof, component))
            }
            Self::Unknown => None,
        }
    }

    /// What the display's rounding leaves in a mark's value, mm: scatter wipes it out.
    pub(super) fn rounding_mm(&self, step_mm: f64) -> f64 {
        let own = step_mm * step_mm / 12.0;
        let variance = match *self {
            // Sheppard's correction: the scatter of rounded readings holds the rounding's own q²/12.
            Self::Within { variance, .. } => variance - own,
            Self::Between {
                variance, true_sd, ..
            } => variance - if true_sd { 0.0 } else { own },
            Self::Unknown => 0.0,
        };
        rounding_left(step_mm, variance.max(0.0).sqrt())
    }
}

/// Variance of a single reading within the dwells, its degrees of freedom, and the mean variance of a mark by it.
fn within(rounds: &[RoundLine<'_>]) -> Option<(f64, f64, f64)> {
    let marks = || rounds.iter().flat_map(|round| round.marks.iter());
    let (mut squares, mut dof) = (0.0, 0.0);
    for mark in marks() {
        if let Some(sd) = mark.sd_mm {
            let own = (mark.readings - 1) as f64;
            squares += own * sd * sd;
            dof += own;
        }
    }
    if dof == 0.0 {
        return None;
    }
    let variance = squares / dof;
    let count = marks().count() as f64;
    let expected = marks()
        .map(|mark| variance / mark.readings as f64)
        .sum::<f64>()
        / count;
    Some((variance, dof, expected))
}
