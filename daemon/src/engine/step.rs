//! The open step: its evidence, what it records, and what is computed from both after every mark.

use super::recording::{NotHeld, Recording};
use crate::store::{Learned, OpenStep, ReadingRow, Row};
use metrology::setup::{IndicatorSide, Setup};
use metrology::uncertainty::Verdict;
use protocol::api::{Code, Refusal, StepLabel};
use protocol::evidence::{Evidence, Mark, Place, Reading, Time};
use protocol::fold::{self, Outcome};
use protocol::plan::Plan;
use protocol::step::{NoOutcome, Subject, Taught};
use std::borrow::Cow;
use std::sync::Arc;

/// A step. A copy shares its marks, its readings and its outcome with the original.
#[derive(Debug, Clone)]
pub(crate) struct Step {
    pub id: i64,
    pub number: u32,
    pub plan: Arc<Plan>,
    /// Every mark, and only the readings that marks use: the others are in the store, and a step may be open for a day.
    pub evidence: Evidence,
    /// What the step records, once a recording has begun.
    pub recording: Option<Recording>,
    /// What the evidence comes to.
    computed: Arc<Computed>,
}

/// What the evidence of a step comes to.
#[derive(Debug)]
struct Computed {
    outcome: Result<Outcome, NotComputed>,
    taught: Taught,
    learned: Option<Learned>,
}

/// Why there is no outcome.
#[derive(Debug, thiserror::Error)]
pub(crate) enum NotComputed {
    #[error(transparent)]
    NoOutcome(#[from] NoOutcome),
    #[error(transparent)]
    NotHeld(#[from] NotHeld),
}

/// What a step teaches about a fixture, in place of what it taught before.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct LearnedChange {
    pub fixture: String,
    pub step: i64,
    pub what: Option<Learned>,
}

impl LearnedChange {
    pub fn row(&self) -> Row {
        Row::Learned {
            fixture: self.fixture.clone(),
            step: self.step,
            what: self.what.clone(),
        }
    }
}

impl Step {
    pub fn new(id: i64, number: u32, plan: Plan, setup: &Setup) -> Self {
        let evidence = Evidence::default();
        Self::with(id, number, plan, evidence, None, setup)
    }

    /// The step as the store has it, and what it has recorded.
    pub fn restored(found: OpenStep, setup: &Setup) -> Self {
        let (plan, mut evidence) = (found.plan, found.evidence);
        let mut recording = None;
        if plan.records() {
            let mut all = Recording::new(&plan, setup);
            for (cable, readings) in std::mem::take(&mut evidence.readings) {
                for reading in &readings {
                    all.hold(&cable, reading);
                }
            }
            recording = all.with_marks(&evidence.marks);
        }
        Self::with(found.id, found.number, plan, evidence, recording, setup)
    }

    fn with(
        id: i64,
        number: u32,
        plan: Plan,
        evidence: Evidence,
        recording: Option<Recording>,
        setup: &Setup,
    ) -> Self {
        let mut step = Self {
            id,
            number,
            plan: Arc::new(plan),
            evidence,
            recording,
            computed: Arc::new(Computed {
                outcome: Err(NoOutcome::NothingMarked.into()),
                taught: Taught::default(),
                learned: None,
            }),
        };
        step.compute(setup);
        step
    }

    pub fn label(&self) -> StepLabel {
        StepLabel {
            kind: self.plan.kind(),
            number: self.number,
        }
    }

    /// Takes a reading that has arrived. True when it is the first that the recording has no room for.
    pub fn take(&mut self, cable: &str, reading: &Reading) -> bool {
        let recording = self.recording.as_mut();
        recording.is_some_and(|recording| recording.take(cable, reading))
    }

    /// Removes readings of this step that were dropped before the store accepted them.
    pub fn forget(&mut self, given_up: &[ReadingRow]) {
        if let Some(recording) = &mut self.recording {
            let own = given_up.iter().filter(|row| row.step == self.id);
            recording.forget(&own.collect::<Vec<_>>());
        }
    }

    /// Holds every reading from the moment `at` on, where a stretch begins. `since` gives those of a cable that have arrived
    /// between that moment and now.
    pub fn begin_recording<'a>(
        &mut self,
        setup: &Setup,
        at: Time,
        since: impl Fn(&str) -> &'a [Reading],
    ) {
        let recording = self.recording.get_or_insert_with(|| {
            let mut fresh = Recording::new(&self.plan, setup);
            for cable in self.plan.recorded_cables(setup) {
                for reading in since(cable) {
                    fresh.hold(cable, reading);
                }
            }
            fresh
        });
        recording.make_room(&self.evidence.marks, at);
    }

    /// Computes the outcome again after the evidence was changed. Returns what the fixture learns, when that has changed.
    pub fn compute(&mut self, setup: &Setup) -> Option<LearnedChange> {
        self.recording = self
            .recording
            .take()
            .and_then(|recording| recording.with_marks(&self.evidence.marks));
        let (outcome, taught) = match self.outcome_now(setup) {
            Ok((outcome, taught)) => (Ok(outcome), taught),
            Err(why) => (Err(why), Taught::default()),
        };
        // A pivot that was stated without a fixture belongs to this set-up alone; its fixture has no name.
        let fixture = setup.fixture.as_ref().filter(|f| !f.name.is_empty());
        let before = self.computed.learned.clone();
        let learned = match fixture {
            Some(_) => of_fixture(&taught, setup.sense.map(|sense| sense.indicator)),
            None => before.clone(),
        };
        let change = fixture
            .filter(|_| learned != before)
            .map(|fixture| LearnedChange {
                fixture: fixture.name.clone(),
                step: self.id,
                what: learned.clone(),
            });
        self.computed = Arc::new(Computed {
            outcome,
            taught,
            learned,
        });
        change
    }

    fn outcome_now(&self, setup: &Setup) -> Result<(Outcome, Taught), NotComputed> {
        let evidence = match &self.recording {
            Some(recording) => Cow::Owned(Evidence {
                readings: recording.whole()?.clone(),
                ..self.evidence.clone()
            }),
            None => Cow::Borrowed(&self.evidence),
        };
        Ok(fold::taught(&self.plan, setup, &evidence)?)
    }

    pub fn outcome(&self) -> Option<&Outcome> {
        self.computed.outcome.as_ref().ok()
    }

    /// Why there is no outcome.
    pub fn no_outcome(&self) -> Option<&NotComputed> {
        self.computed.outcome.as_ref().err()
    }

    /// What the outcome teaches.
    pub fn taught(&self) -> &Taught {
        &self.computed.taught
    }

    /// The verdict on the part or its set-up; none in a step that checks an indicator.
    pub fn verdict(&self) -> Option<Verdict> {
        let outcome = self.outcome()?;
        match outcome.kind().subject() {
            Subject::Indicator => None,
            Subject::Part | Subject::Setup => outcome.verdict(),
        }
    }

    /// The number of the next mark. The number of a mark that was taken back is not used again.
    pub fn next_number(&self) -> u32 {
        self.evidence.marks.last().map_or(1, |mark| mark.number + 1)
    }

    /// The first mark of the round that disagrees with those before it, where there is one.
    pub fn disagrees_from(&self) -> Option<u32> {
        let round = self.outcome()?.said().disagrees_from_round?;
        self.evidence.first_of_round(round)
    }

    /// Whether the user may say now that the part was ground.
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
            .hint("say that the part was ground in a step that measures it"));
        }
        let last = self.evidence.marks.iter().rfind(|mark| !mark.taken_back);
        if matches!(last.map(|mark| &mark.place), Some(Place::Begin { .. })) {
            return Err(
                Refusal::new(Code::BadValue, "the recording has no end yet").hint(
                    "mark its end first with `conewright mark`, then say that the part was ground",
                ),
            );
        }
        Ok(())
    }

    /// Moves the last mark to another round than the pass gave it.
    pub fn set_last_round(&mut self, round: u32) {
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
            kept.extend(used.iter().filter(|reading| reading.seq >= known).copied());
        }
    }

    /// Takes back the last mark that counts. It stays in the evidence and counts nowhere. `None` when no mark counts.
    pub fn take_back(&mut self) -> Option<&Mark> {
        let marks = &mut self.evidence.marks;
        let after = marks.iter().rev().position(|mark| !mark.taken_back)?;
        let index = marks.len() - 1 - after;
        let last = &mut marks[index];
        last.taken_back = true;
        Some(last)
    }
}

/// What a step teaches about the fixture, with the indicator on this side.
fn of_fixture(taught: &Taught, side: Option<IndicatorSide>) -> Option<Learned> {
    let (pivot, clamp_shifts) = (taught.pivot, taught.clamp_shifts.clone());
    (pivot.is_some() || !clamp_shifts.is_empty()).then_some(Learned {
        pivot,
        clamp_shifts,
        side,
    })
}
