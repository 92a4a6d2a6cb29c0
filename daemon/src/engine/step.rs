//! The open step: its evidence, and what is computed from it after every mark.

use super::change::LearnedChange;
use super::recording::Recording;
use crate::store::{Learned, OpenStep, Row};
use metrology::setup::{IndicatorSide, Setup};
use metrology::uncertainty::Verdict;
use protocol::api::{Code, Refusal, StepLabel};
use protocol::evidence::{Evidence, Mark, Place, Reading, Time};
use protocol::fold::{self, Outcome};
use protocol::plan::Plan;
use protocol::step::{Subject, Taught};
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
    /// What the outcome teaches.
    pub taught: Taught,
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
            taught: Taught::default(),
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
            Ok((outcome, taught)) => {
                self.outcome = Some(outcome);
                self.no_outcome = None;
                self.taught = taught;
            }
            Err(why) => {
                self.outcome = None;
                self.no_outcome = Some(why);
                self.taught = Taught::default();
            }
        }
        // A pivot that was stated without a fixture belongs to this set-up alone; its fixture has no name.
        let fixture = setup.fixture.as_ref().filter(|f| !f.name.is_empty())?;
        let now = of_fixture(&self.taught, setup.sense.map(|sense| sense.indicator));
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
    ) -> Result<(Outcome, Taught), String> {
        let Some(recording) = recording else {
            return fold::taught(&self.plan, setup, &self.evidence).map_err(|why| why.to_string());
        };
        recording.is_whole(&self.evidence.marks)?;
        recording.exchange(&mut self.evidence.readings);
        let outcome = fold::taught(&self.plan, setup, &self.evidence);
        recording.exchange(&mut self.evidence.readings);
        outcome.map_err(|why| why.to_string())
    }

    /// The decision about the part or its set-up. That about an indicator is none about them.
    pub fn verdict(&self) -> Option<Verdict> {
        let outcome = self.outcome.as_ref()?;
        match outcome.kind().subject() {
            Subject::Indicator => None,
            Subject::Part | Subject::Setup => outcome.verdict(),
        }
    }

    /// The number of the next mark: none is used twice, taken back or not.
    pub fn next_number(&self) -> u32 {
        self.evidence.marks.last().map_or(1, |mark| mark.number + 1)
    }

    /// The mark from which the rounds disagree with those before it, where that is asked.
    pub fn disagrees_from(&self) -> Option<u32> {
        let round = self.outcome.as_ref()?.said().disagrees_from_round?;
        self.evidence.first_of_round(round)
    }

    /// That grinding says something here and now.
    ///
    /// # Errors
    /// The step is not about the part, or something is being recorded.
    pub fn may_be_ground(&self) -> Result<(), Refusal> {
        let subject = self.plan.kind().subject();
        if subject != Subject::Part {
            return Err(Refusal::new(
                Code::BadValue,
                format!(
                    "a {} step is about {}, and grinding the part does not change that",
                    self.plan.kind().word(),
                    subject.word()
                ),
            )
            .hint("nothing has to be said"));
        }
        let last = self.evidence.marks.iter().rfind(|mark| !mark.taken_back);
        if matches!(last.map(|mark| &mark.place), Some(Place::Begin { .. })) {
            return Err(
                Refusal::new(Code::BadValue, "what is being recorded has no end yet")
                    .hint("mark its end first, then say that the part was ground"),
            );
        }
        Ok(())
    }

    /// The last mark belongs to another round than the pass says.
    pub fn put_last_into(&mut self, round: u32) {
        if let Some(last) = self.evidence.marks.last_mut() {
            last.round = round;
        }
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

/// What is taught about the fixture, with the indicator on this side.
fn of_fixture(taught: &Taught, side: Option<IndicatorSide>) -> Option<Learned> {
    let (pivot, clamp_shifts) = (taught.pivot, taught.clamp_shifts.clone());
    (pivot.is_some() || !clamp_shifts.is_empty()).then_some(Learned {
        pivot,
        clamp_shifts,
        side,
    })
}

/// What closes a step in the store.
pub(crate) fn closed_row(step: &Step, closed: Time) -> Row {
    Row::StepClosed {
        id: step.id,
        closed,
    }
}
