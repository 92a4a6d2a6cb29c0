//! How a place is named, for the tests of the kinds.

use super::Next;
use crate::api::Refusal;
use crate::evidence::{Mark, Place};
use crate::plan::Plan;
use metrology::setup::Setup;

pub(super) fn next(place: Option<Place>) -> Next {
    Next { place, round: 1 }
}

pub(super) fn named(
    plan: &Plan,
    setup: &Setup,
    marks: &[Mark],
    next: &Next,
    text: &str,
) -> Result<Place, Refusal> {
    plan.work.named(setup, marks, next.place.as_ref(), text)
}

pub(super) fn read(plan: &Plan, text: &str) -> Result<Place, Refusal> {
    let next = crate::pass::next(plan, &Setup::default(), &[], 0);
    named(plan, &Setup::default(), &[], &next, text)
}
