//! A single reading after the check, anywhere in the checked range: its budget, its interval, and the decision on the
//! stated limit.

use super::nominal::{Nominal, between, mean_of, real_share};
use super::repeats::Repeats;
use super::swing::Swing;
use crate::indicator::Correction;
use crate::uncertainty::{Budget, COVERAGE, Verdict, t_factor};

/// A single reading with the plunger moving either way, corrected where a correction is wanted.
pub(super) struct SingleReading<'a> {
    nominals: &'a [Nominal],
    /// Whether a correction is wanted.
    correct: bool,
    repeats: &'a Repeats,
    /// The mean error, from which errors count, µm.
    offset_um: f64,
    swing: Swing,
    /// Standard deviation of a single reading with its degrees of freedom; 0 where it is not known.
    sd: (f64, Option<f64>),
    /// Standard uncertainty of the mean at a nominal by the scatter of its readings, µm.
    of_mean_um: f64,
    /// Standard uncertainty of the blocks, root mean square over the nominals, µm.
    blocks_um: f64,
}

impl<'a> SingleReading<'a> {
    pub(super) fn of(
        nominals: &'a [Nominal],
        repeats: &'a Repeats,
        readings: usize,
        correct: bool,
    ) -> Self {
        let count = nominals.len() as f64;
        let offset_um = nominals.iter().map(Nominal::middle).sum::<f64>() / count;
        let real = real_share(nominals, repeats.counted().map(|(sd, _)| sd));
        let sd = repeats.counted().unwrap_or((0.0, None));
        let each = readings as f64 / count;
        let squares = nominals.iter().map(|n| n.u_um * n.u_um).sum::<f64>();
        Self {
            swing: Swing::over(nominals, offset_um, correct, real),
            of_mean_um: sd.0 / each.sqrt(),
            blocks_um: (squares / count).sqrt(),
            nominals,
            correct,
            repeats,
            offset_um,
            sd,
        }
    }

    /// The indicator's errors.
    fn errors(&self) -> Budget {
        let mut budget = Budget::new("um");
        let name = if self.correct {
            "hysteresis, either way"
        } else {
            "error of indication over the range"
        };
        budget.add(name, self.swing.rms(), None);
        budget
    }

    /// How well these errors are known.
    fn known_to(&self) -> Budget {
        let mut budget = Budget::new("um");
        budget.add("gauge blocks", self.blocks_um, None);
        if self.correct {
            let between = between(self.nominals, self.of_mean_um);
            budget.add("between the nominals", between, None);
            budget.add("the correction's own scatter", self.of_mean_um, self.sd.1);
        }
        budget
    }

    /// Everything that makes a reading scatter about these errors, except its rounding.
    fn scattered(&self) -> Budget {
        let mut budget = self.known_to();
        let (sd, dof) = self.sd;
        budget.add("repeatability of a single reading", sd, dof);
        budget
    }

    /// Standard uncertainty from the indicator itself, µm, without how single readings repeat.
    pub(super) fn u_um(&self) -> f64 {
        self.errors().combined().hypot(self.known_to().combined())
    }

    /// The whole budget. It has two roundings: that of the reading, and that of the errors found.
    pub(super) fn budget(&self) -> Budget {
        let mut budget = self.errors();
        budget.extend(&self.scattered());
        let rounding = self.repeats.rounding_um();
        budget.add("resolution", rounding * 2_f64.sqrt(), None);
        budget
    }

    /// The half width of the interval that holds it with 95 %, µm; none where the repeatability is not known.
    pub(super) fn expanded_um(&self) -> Option<f64> {
        self.repeats.counted()?;
        let scattered = self.scattered();
        let student = t_factor(COVERAGE, scattered.effective_degrees_of_freedom())
            / t_factor(COVERAGE, f64::INFINITY);
        let half_step = self.repeats.rounding_um() * 3_f64.sqrt();
        let sd = scattered.combined() * student;
        Some(self.swing.expanded(sd, half_step))
    }

    /// The decision on a limit of error, µm: whether the largest of the mean errors lies within it.
    pub(super) fn verdict(&self, limit_um: f64) -> Verdict {
        let ways = || self.nominals.iter().flat_map(Nominal::ways);
        let worst = ways()
            .filter_map(|way| mean_of(way))
            .map(|error| (error - self.offset_um).abs())
            .fold(0.0, f64::max);
        let fewest = ways().map(Vec::len).filter(|reads| *reads > 0).min();
        let (sd, dof) = self.sd;
        let mut means = Budget::new("um");
        means.add("scatter", sd / (fewest.unwrap_or(1) as f64).sqrt(), dof);
        means.add("gauge blocks", self.blocks_um, None);
        means.add("resolution", self.repeats.rounding_um(), None);
        Verdict::on(worst, means.expanded(COVERAGE), [-limit_um, limit_um])
    }

    /// The correction table, when one is wanted; `lever` is the cosine of the lever's angle.
    pub(super) fn correction(&self, lever: f64) -> Vec<Correction> {
        let row = |n: &Nominal| Correction {
            reading_mm: n.nominal_mm / lever + n.middle() * 1e-3,
            add_um: -(n.middle() - self.offset_um),
        };
        let wanted = if self.correct { self.nominals } else { &[] };
        wanted.iter().map(row).collect()
    }
}
