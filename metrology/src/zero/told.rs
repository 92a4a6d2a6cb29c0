//! What is told of each round: how its marks scatter, and what that means for its slope.

use super::Known;
use super::round::RoundLine;
use super::scatter::{Evidence, Scatter};

/// How the marks of one round scatter, computed once for all that asks for it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Told {
    pub scatter: Scatter,
    /// One step of the display, mm.
    pub step_mm: f64,
    /// What the display's rounding leaves in a mark's value, mm.
    pub rounding_mm: f64,
    /// Standard uncertainty of the slope from the scatter, with its degrees of freedom and its name in the budget; `None`
    /// when unknown.
    pub slope_u: Option<(f64, f64, &'static str)>,
}

impl Known<'_> {
    /// What is told of each round, in order. Most rounds share scatter and display with the one before them.
    pub(super) fn told(&self, evidence: &Evidence, lines: &[RoundLine<'_>]) -> Vec<Told> {
        let mut told: Vec<Told> = Vec::with_capacity(lines.len());
        for (number, line) in lines.iter().enumerate() {
            let step_mm = self.step_mm(line);
            let scatter = evidence.of_round(number, step_mm);
            let same = |before: &&Told| before.step_mm == step_mm && before.scatter == scatter;
            let rounding_mm = told
                .last()
                .filter(same)
                .map_or_else(|| scatter.rounding_mm(step_mm), |before| before.rounding_mm);
            told.push(Told {
                scatter,
                step_mm,
                rounding_mm,
                slope_u: scatter.slope_u(line, step_mm, rounding_mm),
            });
        }
        told
    }
}
