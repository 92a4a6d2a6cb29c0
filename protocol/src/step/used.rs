//! The marks that an outcome is computed from.

use super::NoOutcome;
use crate::evidence::{Evidence, Mark, MarkValue};

/// The marks that count: of a part that was ground between, those of its last state.
pub(super) fn counting(evidence: &Evidence) -> impl Iterator<Item = &Mark> {
    evidence.of_last_state()
}

/// The value of a mark.
pub(super) fn value(evidence: &Evidence, mark: &Mark) -> Result<MarkValue, NoOutcome> {
    evidence
        .value(mark)
        .ok_or(NoOutcome::ReadingsMissing(mark.number))
}

/// Of the marks that count those of the round of `last`.
pub(super) fn round_of<'a>(last: &Mark, counting: &[&'a Mark]) -> Vec<&'a Mark> {
    let marks = counting.iter().copied();
    marks.filter(|mark| mark.round == last.round).collect()
}
