//! The current session.

use super::step::Step;
use crate::store::{Found, OpenSession, ReadingRow, Row};
use crate::timeline::Moment;
use metrology::dial::IndicatorCheck;
use metrology::setup::Setup;
use protocol::api::{Code, Refusal, SessionLabel};
use protocol::evidence::Reading;
use protocol::plan::Plan;
use protocol::record::{Event, EventKind};
use protocol::step::Subject;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The session that is open. A copy shares the set-up and the evidence with the original.
#[derive(Debug, Clone)]
pub(crate) struct Session {
    pub id: i64,
    pub name: String,
    pub setup: Arc<Setup>,
    pub clamped: bool,
    pub setting: u32,
    /// Steps so far.
    pub steps: u32,
    /// What the closed steps found, for those after them.
    pub found: Found,
    pub step: Option<Step>,
}

impl Session {
    /// The session as the store has it, and what its open step has recorded.
    pub fn restored(stored: OpenSession) -> Self {
        Self {
            id: stored.info.id,
            name: stored.info.name,
            step: stored.step.map(|step| Step::restored(step, &stored.setup)),
            setup: Arc::new(stored.setup),
            clamped: stored.clamped,
            setting: stored.setting,
            steps: stored.steps,
            found: stored.found,
        }
    }

    /// Takes a reading that has arrived. True when it is the first that the recording has no room for.
    pub fn take(&mut self, cable: &str, reading: &Reading) -> bool {
        let step = self.step.as_mut();
        step.is_some_and(|step| step.take(cable, reading))
    }

    /// Removes readings that were dropped before the store accepted them.
    pub fn forget(&mut self, given_up: &[ReadingRow]) {
        if let Some(step) = &mut self.step {
            step.forget(given_up);
        }
    }

    /// The open step.
    ///
    /// # Errors
    /// None is open.
    pub fn open_step(&self) -> Result<&Step, Refusal> {
        self.step.as_ref().ok_or_else(no_step)
    }

    /// Checks that no step is open.
    ///
    /// # Errors
    /// One is.
    pub fn may_open_step(&self) -> Result<(), Refusal> {
        if let Some(step) = &self.step {
            return Err(Refusal::new(
                Code::StepOpen,
                format!(
                    "step {} ({}) is open already",
                    step.number,
                    step.plan.kind().name()
                ),
            )
            .hint("close it first: `conewright step close`"));
        }
        Ok(())
    }

    /// Completes a plan with what earlier steps found: the last check of its indicator, where the set-up states none, and
    /// for a print what the half angle was found to be.
    pub fn complete(&self, plan: &mut Plan, checked: &BTreeMap<String, IndicatorCheck>) {
        plan.work.learn_half_angle(self.found.half_angle_arcsec);
        let indicator = plan.indicator.as_ref().unwrap_or(&self.setup.indicator);
        // A check of an indicator does not use its earlier checks.
        if plan.kind().subject() == Subject::Indicator || indicator.check.is_some() {
            return;
        }
        let check = match &indicator.cable {
            Some(cable) => checked.get(cable),
            None => self.found.check.as_ref(),
        };
        if let Some(check) = check {
            let mut indicator = indicator.clone();
            indicator.check = Some(check.clone());
            plan.indicator = Some(indicator);
        }
    }

    /// The session's verdict as the list of sessions shows it: that of the open step where it has one, else the last of
    /// those before it.
    pub fn verdict_row(&self, step: Option<&Step>) -> Row {
        Row::Verdict {
            session: self.id,
            verdict: step.and_then(Step::verdict).or(self.found.verdict),
        }
    }

    /// Something that happened in this session.
    pub fn event(&self, what: EventKind, text: String, now: Moment) -> Row {
        Row::Event {
            session: self.id,
            event: Event {
                t: now.t,
                utc_ns: now.utc,
                what,
                text,
            },
        }
    }

    pub fn label(&self) -> SessionLabel {
        SessionLabel {
            id: self.id,
            name: self.name.clone(),
        }
    }
}

/// There is no open session.
pub(crate) fn no_session() -> Refusal {
    Refusal::new(Code::NoSession, "no session is open")
        .hint("open one: `conewright session open NAME`")
}

/// There is no open step.
pub(crate) fn no_step() -> Refusal {
    Refusal::new(Code::NoStep, "no step is open").hint("open one: `conewright step zero`")
}
