//! What a step computed, whatever its kind.

use super::{Outcome, Said, Step, StepKind};
use crate::for_kind;
use metrology::Angle;
use metrology::setup::Setup;
use metrology::uncertainty::{Component, Undecided, Verdict};

impl Outcome {
    /// The kind of step it is of.
    #[must_use]
    pub const fn kind(&self) -> StepKind {
        for_kind!(self, Self(_) => S, S::KIND)
    }

    /// [`Step::said`].
    #[must_use]
    pub fn said(&self) -> Said<'_> {
        for_kind!(self, Self(outcome) => S, S::said(outcome))
    }

    /// The decision, where the step can make one and a tolerance was stated.
    #[must_use]
    pub fn verdict(&self) -> Option<Verdict> {
        self.said().verdict
    }

    /// Why the decision is undecided, when it is.
    #[must_use]
    pub fn undecided_because(&self) -> Option<Undecided> {
        self.said().undecided_because
    }

    /// The budget, largest first; empty for a judgement by eye.
    #[must_use]
    pub fn budget(&self) -> &[Component] {
        self.said().budget
    }

    /// What else the user should know, in sentences: first what was done to the readings, then remarks.
    pub fn sentences(&self) -> impl Iterator<Item = &str> {
        let said = self.said();
        said.corrections
            .iter()
            .chain(said.remarks)
            .map(String::as_str)
    }

    /// The half angle's error that it found, arc-seconds, steeper positive, with its expanded uncertainty.
    #[must_use]
    pub fn half_angle_found(&self) -> Option<[f64; 2]> {
        for_kind!(self, Self(outcome) => S, S::half_angle_found(outcome))
    }

    /// The half angle of the part as it was measured in this set-up, with its expanded uncertainty in arc-seconds.
    #[must_use]
    pub fn half_angle_measured(&self, setup: &Setup) -> Option<(Angle, f64)> {
        for_kind!(self, Self(outcome) => S, S::half_angle_measured(outcome, setup))
    }
}
