//! The open step: its evidence, and what is computed from it after every mark.

use super::change::LearnedChange;
use super::recording::Recording;
use crate::store::{Learned, OpenStep, Row};
use metrology::setup::{IndicatorSide, LearnedPivot, Setup};
use metrology::uncertainty::Verdict;
use protocol::api::StepLabel;
use protocol::evidence::{Evidence, Mark, Reading, Time};
use protocol::fold::{self, Outcome};
use protocol::plan::{About, Plan, Work};
use std::sync::Arc;

/// A step.
#[derive(Debug, Clone)]
pub(crate) struct Step {
    pub id: i64,
    pub number: u32,
    pub plan: Plan,
    /// Every mark, and only the readings that marks use: the others are in the store, and a step may be open
    /// for a day. What a step records is held beside it, in [`Recording`].
    pub evidence: Evidence,
    pub outcome: Option<Outcome>,
    /// Why there is no outcome.
    pub no_outcome: Option<String>,
    learned: Option<Learned>,
}

impl Step {
    pub fn new(id: i64, number: u32, plan: Plan, setup: &Setup) -> Self {
        let mut step = Self {
            id,
            number,
            plan,
            evidence: Evidence::default(),
            outcome: None,
            no_outcome: None,
            learned: None,
        };
        step.compute(setup, None);
        step
    }

    /// The step as the store has it, and what it has recorded.
    pub fn restored(found: OpenStep, setup: &Setup) -> (Self, Option<Recording>) {
        let mut step = Self {
            evidence: found.evidence,
            ..Self::new(found.id, found.number, found.plan, setup)
        };
        let mut recording = None;
        if step.plan.records() {
            let readings = std::mem::take(&mut step.evidence.readings);
            recording = Recording::restored(&step, setup, readings);
        }
        step.compute(setup, recording.as_mut());
        (step, recording)
    }

    pub fn label(&self) -> StepLabel {
        StepLabel {
            kind: self.plan.kind(),
            number: self.number,
        }
    }

    /// Computes the outcome anew. Returns what has to be stored with it, and what the fixture learns.
    pub fn compute(
        &mut self,
        setup: &Setup,
        recording: Option<&mut Recording>,
    ) -> Option<LearnedChange> {
        match self.outcome_now(setup, recording) {
            Ok(outcome) => {
                self.outcome = Some(outcome);
                self.no_outcome = None;
            }
            Err(why) => {
                self.outcome = None;
                self.no_outcome = Some(why);
            }
        }
        // A pivot that was stated without a fixture belongs to this set-up alone; its fixture has no name.
        let fixture = setup.fixture.as_ref().filter(|f| !f.name.is_empty())?;
        let is_level =
            matches!(&self.plan.work, Work::Zero(options) if options.about == About::Level);
        // Made level it turns otherwise, about another place, than it does in the plane of the table.
        let now = (self.outcome.as_ref())
            .filter(|_| !is_level)
            .and_then(|outcome| learned_from(outcome, setup.sense.map(|sense| sense.indicator)));
        if now == self.learned {
            return None;
        }
        self.learned.clone_from(&now);
        Some(LearnedChange {
            fixture: fixture.name.clone(),
            step: self.id,
            what: now,
        })
    }

    fn outcome_now(
        &mut self,
        setup: &Setup,
        recording: Option<&mut Recording>,
    ) -> Result<Outcome, String> {
        let Some(recording) = recording else {
            return fold::outcome(&self.plan, setup, &self.evidence);
        };
        recording.is_whole(&self.evidence.marks)?;
        recording.exchange(&mut self.evidence.readings);
        let outcome = fold::outcome(&self.plan, setup, &self.evidence);
        recording.exchange(&mut self.evidence.readings);
        outcome
    }

    /// The decision about the part or its set-up. That about an indicator is none about them.
    pub fn verdict(&self) -> Option<Verdict> {
        match self.outcome.as_ref()? {
            Outcome::Dial(_) => None,
            outcome => outcome.verdict(),
        }
    }

    /// The number of the next mark: none is used twice, taken back or not.
    pub fn next_number(&self) -> u32 {
        self.evidence.marks.last().map_or(1, |mark| mark.number + 1)
    }

    /// Keeps a mark, and the readings that it uses.
    pub fn keep(&mut self, mark: Mark, used: &[(Arc<str>, Vec<Reading>)]) {
        self.evidence.marks.push(mark);
        for (cable, used) in used {
            let kept = self.evidence.readings.entry(cable.to_string()).or_default();
            // A dwell may begin with readings of the one before; in time it never lies before it.
            let known = kept.last().map_or(0, |last| last.seq + 1);
            kept.extend(used.iter().filter(|reading| reading.seq >= known));
        }
    }
}

/// What an outcome teaches about the fixture, with the indicator on this side.
fn learned_from(outcome: &Outcome, side: Option<IndicatorSide>) -> Option<Learned> {
    match outcome {
        Outcome::Sweep(_)
        | Outcome::Runout(_)
        | Outcome::Size(_)
        | Outcome::Contact(_)
        | Outcome::Dial(_) => None,
        Outcome::Zero(zero) => {
            let pivot = zero
                .pivot
                .as_ref()
                .filter(|pivot| !pivot.from_rounds.is_empty())
                .and_then(|pivot| {
                    Some(LearnedPivot {
                        position_mm: pivot.position_mm,
                        u_mm: pivot.u_mm?,
                    })
                });
            let clamp_shifts = zero
                .clamp_shift
                .as_ref()
                .map(|shift| shift.seen.clone())
                .unwrap_or_default();
            (pivot.is_some() || !clamp_shifts.is_empty()).then_some(Learned {
                pivot,
                clamp_shifts,
                side,
            })
        }
    }
}

/// What closes a step in the store.
pub(crate) fn closed_row(step: &Step, closed: Time) -> Row {
    Row::StepClosed {
        id: step.id,
        closed,
    }
}
