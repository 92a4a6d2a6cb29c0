//! Drafts that open and close sessions and steps.

use super::draft::{Draft, Drafted};
use super::session::Session;
use super::step::Step;
use super::stored_setup::as_read_again;
use super::text::plain_text;
use crate::store::{Found, Row, SessionRow, StepRow};
use crate::timeline::Moment;
use metrology::dial::IndicatorCheck;
use metrology::setup::Setup;
use metrology::zero;
use protocol::api::{SessionClosed, SessionOpened, StepClosed, StepOpened};
use protocol::plan::Plan;
use protocol::record::CableSettings;
use std::sync::Arc;

/// Characters of a part's name.
const MOST_NAME: usize = 200;

impl Session {
    pub fn open(
        id: i64,
        name: &str,
        setup: Setup,
        cables: Vec<CableSettings>,
        now: Moment,
    ) -> Drafted<Box<SessionOpened>> {
        let name = plain_text("the part's name", name, MOST_NAME, false)?;
        let setup = as_read_again(&setup)?;
        let session = Self {
            id,
            name: name.clone(),
            setup: Arc::new(setup.clone()),
            clamped: false,
            setting: 0,
            steps: 0,
            found: Found::default(),
            step: None,
        };
        let row = Row::Session(Box::new(SessionRow {
            id,
            name: name.clone(),
            opened: now.t,
            opened_utc: now.utc,
            setup: setup.clone(),
            cables,
        }));
        let opened = SessionOpened {
            session: id,
            name,
            capability: zero::of_setup(&setup),
            setup,
        };
        Ok((Draft::of(vec![row], Some(session)), Box::new(opened)))
    }

    /// Closes the session, and its open step with it.
    pub fn close(&self, now: Moment) -> Drafted<SessionClosed> {
        let mut rows = Vec::new();
        let mut checked = None;
        if let Some(step) = &self.step {
            rows.push(closed_row(step, now));
            checked = self.clone().learn_from(step, now, &mut rows);
        }
        rows.push(Row::SessionClosed {
            id: self.id,
            closed_utc: now.utc,
        });
        let closed = SessionClosed {
            session: self.id,
            name: self.name.clone(),
        };
        let mut draft = Draft::of(rows, None);
        draft.checked = checked;
        Ok((draft, closed))
    }

    pub fn with_step(&self, step_id: i64, plan: Plan, now: Moment) -> Drafted<StepOpened> {
        self.may_open_step()?;
        let number = self.steps + 1;
        let row = Row::Step(Box::new(StepRow {
            id: step_id,
            session: self.id,
            number,
            plan: plan.clone(),
            opened: now.t,
        }));
        let mut after = self.clone();
        after.steps = number;
        after.step = Some(Step::new(step_id, number, plan.clone(), &self.setup));
        let opened = StepOpened { plan, number };
        Ok((Draft::of(vec![row], Some(after)), opened))
    }

    pub fn close_step(&self, now: Moment) -> Drafted<Box<StepClosed>> {
        let step = self.open_step()?;
        let mut rows = vec![closed_row(step, now)];
        let closed = StepClosed {
            kind: step.plan.kind(),
            number: step.number,
            outcome: step.outcome().cloned(),
        };
        let mut after = self.clone();
        after.step = None;
        let checked = after.learn_from(step, now, &mut rows);
        let mut draft = Draft::of(rows, Some(after));
        draft.checked = checked;
        Ok((draft, Box::new(closed)))
    }

    /// Keeps what the closed step found for the steps after it, and adds the rows that store it.
    fn learn_from(
        &mut self,
        step: &Step,
        now: Moment,
        rows: &mut Vec<Row>,
    ) -> Option<(String, IndicatorCheck)> {
        step.outcome()?;
        self.found.verdict = step.verdict().or(self.found.verdict);
        let taught = step.taught();
        if let Some(found) = taught.half_angle_arcsec {
            self.found.half_angle_arcsec = Some(found);
        }
        let mut checked = None;
        if let Some(check) = &taught.check {
            let mut check = check.clone();
            check.checked_utc_ns = Some(now.utc.0);
            match step.plan.cable(&self.setup) {
                Some(cable) => {
                    rows.push(Row::Checked {
                        cable: cable.to_owned(),
                        step: step.id,
                        check: check.clone(),
                    });
                    checked = Some((cable.to_owned(), check));
                }
                None => self.found.check = Some(check),
            }
        }
        rows.push(Row::Found {
            session: self.id,
            found: self.found.clone(),
        });
        rows.push(self.verdict_row(None));
        checked
    }
}

/// The row that closes a step.
fn closed_row(step: &Step, now: Moment) -> Row {
    Row::StepClosed {
        id: step.id,
        closed: now.t,
    }
}
