//! A step's outcome as a pure function of set-up, plan and evidence: the same code live, after a crash, on export,
//! in `analyse` and in `verify`.

pub use crate::step::{Outcome, StepKind, Turning};

use crate::evidence::Evidence;
use crate::gaps;
use crate::plan::Plan;
use crate::step::{NoOutcome, Taught};
use metrology::Length;
use metrology::setup::Setup;
use metrology::zero::Moved;
use std::borrow::Cow;

/// What the last mark of a step shows, when the set-up was moved before it within its round: it opens the next one.
#[must_use]
pub fn moved(plan: &Plan, setup: &Setup, evidence: &Evidence) -> Option<Moved> {
    plan.work.moved(&plan.setup(setup), evidence)
}

/// Computes a step's outcome.
///
/// # Errors
/// What in the evidence cannot be used.
pub fn outcome(plan: &Plan, setup: &Setup, evidence: &Evidence) -> Result<Outcome, NoOutcome> {
    taught(plan, setup, evidence).map(|(outcome, _)| outcome)
}

/// Computes a step's outcome, and what it teaches the steps after it.
///
/// # Errors
/// As [`outcome`].
pub fn taught(
    plan: &Plan,
    setup: &Setup,
    evidence: &Evidence,
) -> Result<(Outcome, Taught), NoOutcome> {
    let mut more = Vec::new();
    if plan.records() {
        more.extend(gaps::remarks(&plan.recorded_cables(setup), evidence));
    }
    more.extend(of_grinding(evidence));
    let shown = plan.work.resolution(evidence, plan.cable(setup));
    let setup = setup_for(plan, setup, shown);
    plan.work.outcome(&setup, evidence, more)
}

/// What was left out because the part was ground since, and that it was ground since all of it.
fn of_grinding(evidence: &Evidence) -> Vec<String> {
    let mut said = Vec::new();
    let counted = evidence.of_last_state().count();
    let marks = evidence.marks.iter().filter(|mark| !mark.taken_back);
    let before = marks.count() - counted;
    if before > 0 {
        said.push(format!(
            "the part was ground between: its {before} marks before that are not counted"
        ));
    }
    if evidence.is_ground_since() {
        said.push(
            "the part was ground after this was measured: measure again to see how it is now"
                .to_owned(),
        );
    }
    said
}

/// The set-up as a step's arithmetic takes it: with the step's own indicator, and with the display's step as the readings
/// tell it, `shown`, where the set-up has no word on it.
#[must_use]
pub fn setup_for<'a>(plan: &Plan, setup: &'a Setup, shown: Option<Length>) -> Cow<'a, Setup> {
    let mut setup = plan.setup(setup);
    let wanted = !plan.kind().inputs_tell_resolution() && setup.indicator.resolution.is_none();
    if wanted && shown.is_some() {
        setup.to_mut().indicator.resolution = shown;
    }
    setup
}
