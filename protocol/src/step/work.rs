//! What a kind of step says, alone, with its options and with its plan.

use super::{
    Asked, ConeFound, Next, NoOutcome, Occasion, OfKind, Options, Outcome, PartState, Recorded,
    Step, StepKind, StepOptions, Subject, Taught, Work,
};
use crate::api::Refusal;
use crate::evidence::{Evidence, Mark, Place};
use crate::for_kind;
use metrology::Length;
use metrology::setup::Setup;
use metrology::zero::Moved;

impl StepKind {
    /// Its name in commands and files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        for_kind!(self, Self => S, S::NAME)
    }

    /// The kind of that name; none where no kind has it.
    ///
    /// ```
    /// use conewright_protocol::step::StepKind;
    /// assert_eq!(StepKind::named("runout"), Some(StepKind::Runout));
    /// assert_eq!(StepKind::named("run-out"), None);
    /// ```
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.name() == name)
    }

    /// Its name in prose.
    #[must_use]
    pub const fn word(self) -> &'static str {
        for_kind!(self, Self => S, S::WORD)
    }

    /// What its outcome is about.
    #[must_use]
    pub const fn subject(self) -> Subject {
        for_kind!(self, Self => S, S::SUBJECT)
    }

    /// What it is for, in half a line.
    #[must_use]
    pub const fn purpose(self) -> &'static str {
        for_kind!(self, Self => S, S::PURPOSE)
    }

    /// Where it is marked, for a message: "this step is marked ...".
    #[must_use]
    pub const fn marked(self) -> &'static str {
        for_kind!(self, Self => S, S::MARKED)
    }

    /// What to mark where only the user can say what the mark is about, with the command.
    #[must_use]
    pub const fn how_to_mark(self) -> &'static str {
        for_kind!(self, Self => S, S::HOW_TO_MARK)
    }

    /// Whether the user judges by eye: its marks have no readings.
    #[must_use]
    pub const fn by_eye(self) -> bool {
        for_kind!(self, Self => S, S::BY_EYE)
    }

    /// What the user is asked for where it is judged by eye, with an example.
    #[must_use]
    pub const fn judged(self) -> &'static str {
        for_kind!(self, Self => S, S::JUDGED)
    }

    /// No reading that is taken in it lies further than this to either side; what does is a slip of the unit.
    #[must_use]
    pub const fn farthest_reading(self) -> Length {
        for_kind!(self, Self => S, S::FARTHEST_READING)
    }

    /// Whether each of its inputs brings the display's step with it.
    #[must_use]
    pub const fn inputs_tell_resolution(self) -> bool {
        for_kind!(self, Self => S, S::INPUTS_TELL_RESOLUTION)
    }

    /// What the machinist does in it, as a line of a check list.
    #[must_use]
    pub const fn task(self) -> &'static str {
        for_kind!(self, Self => S, S::TASK)
    }

    /// The work that it is, for the cautions that belong to it.
    #[must_use]
    pub const fn occasions(self) -> &'static [Occasion] {
        for_kind!(self, Self => S, S::OCCASIONS)
    }
}

impl StepOptions {
    /// Nothing is stated.
    #[must_use]
    pub fn usual(kind: StepKind) -> Self {
        for_kind!(kind, StepKind => S, <S as Step>::Options::default().into())
    }

    /// Its kind.
    #[must_use]
    pub const fn kind(&self) -> StepKind {
        for_kind!(self, Self(_) => S, S::KIND)
    }

    /// [`Options::state`].
    #[must_use]
    pub fn state(&self) -> &PartState {
        for_kind!(self, Self(options) => S, <S as Step>::Options::state(options))
    }

    /// [`Options::cable`].
    #[must_use]
    pub fn cable(&self) -> Option<&str> {
        for_kind!(self, Self(options) => S, <S as Step>::Options::cable(options))
    }
}

impl Work {
    /// A step of this kind with the usual plan.
    #[must_use]
    pub fn usual(kind: StepKind) -> Self {
        for_kind!(kind, StepKind => S, S::default().into())
    }

    /// Its kind.
    #[must_use]
    pub const fn kind(&self) -> StepKind {
        for_kind!(self, Self(_) => S, S::KIND)
    }

    /// [`Step::qualifier`].
    #[must_use]
    pub fn qualifier(&self) -> &'static str {
        for_kind!(self, Self(step) => S, S::qualifier(step))
    }

    /// [`Step::recorded`].
    #[must_use]
    pub fn recorded(&self) -> Option<Recorded<'_>> {
        for_kind!(self, Self(step) => S, S::recorded(step))
    }

    /// [`Step::takes_angles`].
    #[must_use]
    pub fn takes_angles(&self) -> bool {
        for_kind!(self, Self(step) => S, S::takes_angles(step))
    }

    /// [`Step::first`].
    #[must_use]
    pub fn first(&self, setup: &Setup) -> Option<Place> {
        for_kind!(self, Self(step) => S, S::first(step, setup))
    }

    /// [`Step::next`].
    #[must_use]
    pub fn next(&self, setup: &Setup, counting: &[&Mark], last: &Mark) -> Option<Next> {
        for_kind!(self, Self(step) => S, S::next(step, setup, counting, last))
    }

    /// [`Step::named`].
    ///
    /// # Errors
    /// [`Code::BadValue`](crate::api::Code::BadValue) or [`Code::UnknownName`](crate::api::Code::UnknownName): what cannot be
    /// read or does not belong to the step, and what to write.
    pub fn named<'a>(
        &self,
        setup: &Setup,
        marks: impl IntoIterator<Item = &'a Mark>,
        next: Option<&Place>,
        text: &str,
    ) -> Result<Place, Refusal> {
        let marks: Vec<&Mark> = marks.into_iter().collect();
        let asked = Asked {
            setup,
            marks: &marks,
            next,
            text: text.trim(),
        };
        for_kind!(self, Self(step) => S, S::named(step, &asked))
    }

    /// [`Step::instruction`].
    #[must_use]
    pub fn instruction(&self, next: &str) -> String {
        for_kind!(self, Self(step) => S, S::instruction(step, next))
    }

    /// [`Step::place_wanted`].
    #[must_use]
    pub fn place_wanted(&self) -> Refusal {
        for_kind!(self, Self(step) => S, S::place_wanted(step))
    }

    /// [`Step::resolution`].
    #[must_use]
    pub fn resolution(&self, evidence: &Evidence, cable: Option<&str>) -> Option<Length> {
        for_kind!(self, Self(step) => S, S::resolution(step, evidence, cable))
    }

    /// What the evidence comes to, and what that teaches the steps after it. `setup` is as the arithmetic takes it, `more` is
    /// added to the remarks.
    ///
    /// # Errors
    /// What in the evidence cannot be used.
    pub fn outcome(
        &self,
        setup: &Setup,
        evidence: &Evidence,
        more: Vec<String>,
    ) -> Result<(Outcome, Taught), NoOutcome> {
        for_kind!(self, Self(step) => S, {
            let inputs = S::inputs(step, evidence).map_err(|why| {
                // Where nothing counts yet, that says it better than what is missing first.
                if evidence.of_last_state().next().is_some() {
                    why
                } else if self.recorded().is_some() {
                    NoOutcome::NothingRecorded
                } else {
                    NoOutcome::NothingMarked
                }
            })?;
            let mut found = S::compute(step, setup, &inputs)?;
            S::look_back(step, setup, evidence, &mut found);
            S::remarks_mut(&mut found).extend(more);
            let taught = S::teaches(step, &found);
            Ok((found.into(), taught))
        })
    }

    /// What an outcome of it teaches the steps after it; nothing where the outcome is of another kind of step.
    #[must_use]
    pub fn teaches(&self, outcome: &Outcome) -> Taught {
        for_kind!(self, Self(step) => S, {
            let own = <S as Step>::Outcome::of(outcome);
            own.map(|own| S::teaches(step, own)).unwrap_or_default()
        })
    }

    /// What an outcome of it tells of the part's own cone; none where the outcome is of another kind of step.
    #[must_use]
    pub fn cone_found(&self, setup: &Setup, outcome: &Outcome) -> Option<ConeFound> {
        for_kind!(self, Self(step) => S, {
            let own = <S as Step>::Outcome::of(outcome)?;
            S::cone_found(step, setup, own)
        })
    }

    /// [`Step::moved`].
    #[must_use]
    pub fn moved(&self, setup: &Setup, evidence: &Evidence) -> Option<Moved> {
        for_kind!(self, Self(step) => S, S::moved(step, setup, evidence))
    }

    /// [`Step::learn_half_angle`].
    pub fn learn_half_angle(&mut self, found_arcsec: Option<[f64; 2]>) {
        for_kind!(self, Self(step) => S, S::learn_half_angle(step, found_arcsec));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_has_its_own_name_and_plan() {
        for kind in StepKind::ALL {
            assert_eq!(Work::usual(kind).kind(), kind);
            let name = serde_json::to_value(kind).unwrap();
            assert_eq!(name.as_str(), Some(kind.name()));
        }
    }
}
