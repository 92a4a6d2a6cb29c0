//! A pass: what the next mark is about, and which round it belongs to.

use crate::evidence::Mark;
use crate::plan::Plan;
use crate::step::Next;
use metrology::setup::Setup;

/// The next mark of a step.
///
/// It follows the last mark that counts, named by the user or not. A round is complete when its pass is; a change of
/// clamp or part begins a new one, since readings before and after it do not belong together. `setting` is the present
/// count of such changes. Stretches that are recorded are a round each, and the turns of a part are one.
#[must_use]
pub fn next<'a>(
    plan: &Plan,
    setup: &Setup,
    marks: impl IntoIterator<Item = &'a Mark>,
    setting: u32,
) -> Next {
    let counting: Vec<&Mark> = marks.into_iter().filter(|mark| !mark.taken_back).collect();
    let Some(last) = counting.last() else {
        return Next {
            place: plan.work.first(setup),
            round: 1,
        };
    };
    let anew = || Next {
        place: plan.work.first(setup),
        round: last.round + 1,
    };
    // What is recorded is not divided by a change of clamp or part.
    if !plan.records() && last.setting != setting {
        return anew();
    }
    plan.work.next(setup, &counting, last).unwrap_or_else(anew)
}

/// The next mark when the user asks for a new round; the same as [`next`] when that begins one, or one is recorded.
#[must_use]
pub fn new_round<'a>(
    plan: &Plan,
    setup: &Setup,
    marks: impl IntoIterator<Item = &'a Mark> + Clone,
    setting: u32,
) -> Next {
    let next = next(plan, setup, marks.clone(), setting);
    let begun = marks
        .into_iter()
        .any(|mark| !mark.taken_back && mark.round == next.round);
    if plan.records() || !begun {
        return next;
    }
    Next {
        place: plan.work.first(setup),
        round: next.round + 1,
    }
}

#[cfg(test)]
mod tests;
