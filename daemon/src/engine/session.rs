//! The current session, and what may be changed about it beside marks.

use super::change::{Draft, LearnedChange};
use super::recording::Recording;
use super::step::{Step, closed_row};
use crate::store::{Found, Learned, OpenSession as Stored, Row, SessionRow, StepRow};
use crate::timeline::Moment;
use metrology::dial::IndicatorCheck;
use metrology::setup::{IndicatorSide, Setup};
use metrology::zero;
use protocol::api::{
    ClampRequest, Code, Done, Ground, GroundRequest, NoteRequest, Refusal, SessionClosed,
    SessionLabel, SessionOpened, StepClosed, StepOpened, Undone,
};
use protocol::evidence::Time;
use protocol::plan::Plan;
use protocol::record::{CableSettings, Event, EventKind};
use protocol::step::Subject;
use std::collections::BTreeMap;

/// Characters of a part's name.
pub(crate) const MOST_NAME: usize = 200;
/// Characters of a note.
pub(crate) const MOST_NOTE: usize = 2_000;
/// Clamp shifts of earlier sessions that are gone by.
const SHIFTS_REMEMBERED: usize = 20;

/// The session that is open.
#[derive(Debug, Clone)]
pub(crate) struct Session {
    pub id: i64,
    pub name: String,
    pub setup: Setup,
    pub clamped: bool,
    pub setting: u32,
    /// Steps so far.
    steps: u32,
    /// What the closed steps found, for those after them.
    pub found: Found,
    pub step: Option<Step>,
}

/// A change worked out, and what its client is told.
pub(crate) type Worked<T> = Result<(Draft, T), Refusal>;

impl Session {
    /// The session as the store has it, and what its open step has recorded.
    pub fn restored(stored: Stored) -> (Self, Option<Recording>) {
        let (step, recording) = match stored.step {
            Some(step) => {
                let (step, recording) = Step::restored(step, &stored.setup);
                (Some(step), recording)
            }
            None => (None, None),
        };
        let session = Self {
            id: stored.info.id,
            name: stored.info.name,
            step,
            setup: stored.setup,
            clamped: stored.clamped,
            setting: stored.setting,
            steps: stored.steps,
            found: stored.found,
        };
        (session, recording)
    }

    pub fn open(
        id: i64,
        name: &str,
        setup: Setup,
        cables: Vec<CableSettings>,
        now: Moment,
    ) -> Worked<Box<SessionOpened>> {
        let name = plain_text("the part's name", name, MOST_NAME, false)?;
        let setup = as_read_again(&setup)?;
        let session = Self {
            id,
            name: name.clone(),
            setup: setup.clone(),
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
    pub fn close(&self, now: Moment) -> Worked<SessionClosed> {
        let mut rows = Vec::new();
        let mut checked = None;
        if let Some(step) = &self.step {
            rows.push(closed_row(step, now.t));
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

    /// That no step is open.
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
        // An indicator is not checked by what an earlier check of it said.
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

    pub fn open_step(&self, step_id: i64, plan: Plan, now: Moment) -> Worked<StepOpened> {
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

    pub fn close_step(&self, now: Moment) -> Worked<Box<StepClosed>> {
        let step = self.step.as_ref().ok_or_else(no_step)?;
        let mut rows = vec![closed_row(step, now.t)];
        let closed = StepClosed {
            kind: step.plan.kind(),
            number: step.number,
            outcome: step.outcome.clone(),
        };
        let mut after = self.clone();
        after.step = None;
        let checked = after.learn_from(step, now, &mut rows);
        let mut draft = Draft::of(rows, Some(after));
        draft.checked = checked;
        Ok((draft, Box::new(closed)))
    }

    /// Keeps what a step found that is being closed, and adds what the store has to know of it.
    fn learn_from(
        &mut self,
        step: &Step,
        now: Moment,
        rows: &mut Vec<Row>,
    ) -> Option<(String, IndicatorCheck)> {
        step.outcome.as_ref()?;
        self.found.verdict = step.verdict().or(self.found.verdict);
        let taught = &step.taught;
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

    /// The session's verdict as the list of sessions shows it: that of the open step where it has one, else the last of
    /// those before it.
    pub fn verdict_row(&self, step: Option<&Step>) -> Row {
        Row::Verdict {
            session: self.id,
            verdict: step.and_then(Step::verdict).or(self.found.verdict),
        }
    }

    /// Takes the last mark that counts back. It stays in the store.
    pub fn undo(&self, recording: Option<&mut Recording>) -> Worked<Undone> {
        let mut after = self.clone();
        let step = after.step.as_mut().ok_or_else(no_step)?;
        let last = step
            .evidence
            .marks
            .iter_mut()
            .rfind(|mark| !mark.taken_back)
            .ok_or_else(|| {
                Refusal::new(
                    Code::NoMark,
                    format!("step {} has no mark that could be taken back", step.number),
                )
                .hint("nothing has to be done")
            })?;
        last.taken_back = true;
        let undone = Undone {
            number: last.number,
            station: last.station().map(|station| station.name.clone()),
            place: last.place.to_string(),
        };
        let row = Row::TakenBack {
            step: step.id,
            number: undone.number,
        };
        let learned = step.compute(&self.setup, recording);
        let rows = vec![row, self.verdict_row(Some(step))];
        Ok((Draft::of(rows, Some(after)).learning(learned), undone))
    }

    /// Notes the clamp. Marks before and after a change of it are not of one round.
    pub fn clamp(&self, request: ClampRequest, now: Moment) -> Worked<Done> {
        if self.step.is_none() {
            return Err(Refusal::new(
                Code::NoStep,
                "the clamp is noted in a step, and no step is open",
            )
            .hint("open one: `conewright step zero`"));
        }
        let mut after = self.clone();
        if request.tight == self.clamped {
            return Ok((Draft::of(Vec::new(), Some(after)), Done {}));
        }
        after.clamped = request.tight;
        after.setting += 1;
        let text = if request.tight {
            "the clamp was tightened"
        } else {
            "the clamp was loosened"
        };
        let rows = vec![
            Row::Clamp {
                session: self.id,
                clamped: after.clamped,
                setting: after.setting,
            },
            self.event(EventKind::Clamp, text.to_owned(), now),
        ];
        Ok((Draft::of(rows, Some(after)), Done {}))
    }

    /// Notes that the part was ground: before the round that disagrees with those before it, where that is asked, else before
    /// the next mark. Marks before and after it are not of one state of the part.
    pub fn ground(
        &self,
        request: GroundRequest,
        recording: Option<&mut Recording>,
        now: Moment,
    ) -> Worked<Ground> {
        let mut after = self.clone();
        let step = after.step.as_mut().ok_or_else(no_step)?;
        step.may_be_ground()?;
        let next = step.next_number();
        let (before_mark, text) = if request.not {
            let last = step.evidence.ground_before.pop().ok_or_else(|| {
                Refusal::new(
                    Code::BadValue,
                    format!(
                        "step {} knows of no grinding that could be taken back",
                        step.number
                    ),
                )
                .hint("nothing has to be done")
            })?;
            (
                last,
                format!("the part was not ground before mark {last}: that was taken back"),
            )
        } else {
            let before = step.disagrees_from().unwrap_or(next);
            let known = &mut step.evidence.ground_before;
            // Said twice it is said once; and before the first mark nothing was measured.
            if known.contains(&before) || step.evidence.marks.iter().all(|mark| mark.taken_back) {
                let reply = Ground {
                    before_mark: before,
                    next: before == next,
                };
                return Ok((Draft::of(Vec::new(), Some(self.clone())), reply));
            }
            known.push(before);
            known.sort_unstable();
            (before, format!("the part was ground before mark {before}"))
        };
        let reply = Ground {
            before_mark,
            next: before_mark == next,
        };
        let row = Row::Ground {
            step: step.id,
            before: step.evidence.ground_before.clone(),
        };
        let learned = step.compute(&self.setup, recording);
        let verdict = self.verdict_row(after.step.as_ref());
        let mut rows = vec![row, verdict, self.event(EventKind::Ground, text, now)];
        if reply.next {
            // What is marked next begins a round.
            after.setting += 1;
            rows.push(Row::Clamp {
                session: self.id,
                clamped: after.clamped,
                setting: after.setting,
            });
        }
        Ok((Draft::of(rows, Some(after)).learning(learned), reply))
    }

    pub fn note(&self, request: &NoteRequest, now: Moment) -> Worked<Done> {
        let text = plain_text("the note", &request.text, MOST_NOTE, true)?;
        let row = self.event(EventKind::Note, text, now);
        Ok((Draft::of(vec![row], Some(self.clone())), Done {}))
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

impl Draft {
    pub fn of(rows: Vec<Row>, after: Option<Session>) -> Self {
        let mut draft = Self {
            after,
            ..Self::default()
        };
        draft.write.rows = rows;
        draft
    }

    /// The same with what the step teaches.
    pub fn learning(mut self, learned: Option<LearnedChange>) -> Self {
        self.write
            .rows
            .extend(learned.as_ref().map(LearnedChange::row));
        self.learned = learned;
        self
    }
}

/// Gives the fixture of a set-up what earlier sessions found: the pivot where its owner states none, and the clamp's
/// shifts beside those that the owner states.
pub(crate) fn remember(setup: &mut Setup, learned: &BTreeMap<String, BTreeMap<i64, Learned>>) {
    let Some(fixture) = &mut setup.fixture else {
        return;
    };
    let side = setup.sense.map(|sense| sense.indicator);
    // The owner states them as they read on the wheel's side.
    if side == Some(IndicatorSide::Opposite) {
        fixture
            .clamp_shifts
            .iter_mut()
            .for_each(|shift| *shift = -*shift);
    }
    let Some(steps) = learned.get(&fixture.name) else {
        return;
    };
    if fixture.learned_pivot.is_none() {
        fixture.learned_pivot = steps.values().rev().find_map(|step| step.pivot);
    }
    // What the owner states is experience too: it comes first, as the oldest, and what was seen here joins it.
    // Where only one of the two says on which side the indicator stands, nobody knows which way it would read now.
    let sided = |step: &'_ Learned| match (step.side, side) {
        (Some(then), Some(now)) if then != now => Some(-1.0),
        (then, now) => (then == now).then_some(1.0),
    };
    let seen = steps
        .values()
        .filter_map(|step| Some((step, sided(step)?)))
        .flat_map(|(step, sign)| step.clamp_shifts.iter().map(move |shift| sign * shift));
    fixture.clamp_shifts.extend(seen);
    let surplus = fixture.clamp_shifts.len().saturating_sub(SHIFTS_REMEMBERED);
    fixture.clamp_shifts.drain(..surplus);
}

/// A set-up as the next daemon will read it, so that what is computed now is computed again then, to the last bit: an
/// angle is kept in radians and written in degrees, and the first time the last digit may change. One that cannot be
/// read again would keep that daemon from starting on its store, so it is refused here, whatever let it through.
fn as_read_again(setup: &Setup) -> Result<Setup, Refusal> {
    /// It changes once, seldom twice.
    const TRIES: usize = 8;
    let refused = |error: serde_json::Error| {
        Refusal::new(
            Code::BadValue,
            format!("the set-up cannot be stored: {error}"),
        )
        .hint("a value in it is far beyond what can be measured: state it smaller or larger")
    };
    let mut now = setup.clone();
    for _ in 0..TRIES {
        let written = serde_json::to_string(&now).map_err(refused)?;
        let again = serde_json::from_str(&written).map_err(refused)?;
        if again == now {
            break;
        }
        now = again;
    }
    Ok(now)
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

/// The user's words without the blanks around them.
fn plain_text(what: &str, text: &str, most: usize, lines: bool) -> Result<String, Refusal> {
    let text = text.trim();
    let refuse =
        |message: String| Err(Refusal::new(Code::BadValue, message).hint("write it in plain text"));
    if text.is_empty() {
        return refuse(format!("{what} is empty"));
    }
    let length = text.chars().count();
    if length > most {
        return refuse(format!(
            "{what} has {length} characters; at most {most} are kept"
        ));
    }
    let allowed = |c: char| !c.is_control() || (lines && matches!(c, '\n' | '\t'));
    if let Some(wrong) = text.chars().find(|c| !allowed(*c)) {
        return refuse(format!(
            "{what} holds the control character {}",
            wrong.escape_unicode()
        ));
    }
    Ok(text.to_owned())
}

/// Tells how long the daemon was not there, and why.
pub(crate) fn gap_text(from: Option<Time>, now: Time, clean: bool) -> String {
    let how = if clean {
        "the daemon was stopped"
    } else {
        "the daemon ended without being stopped"
    };
    match from {
        Some(from) => format!(
            "no readings for {:.1} s: {how}, and went on",
            now.since_s(from).max(0.0)
        ),
        None => format!("{how}, and went on"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use metrology::Angle;
    use metrology::setup::{BigEnd, Fixture, Sense};
    use metrology::tolerance::Tolerance;

    /// A turn of the set-up that reads one way on the wheel's side reads the other way on the opposite one.
    #[test]
    fn clamp_shifts_are_remembered_with_the_indicators_side() {
        use IndicatorSide::{Opposite, Wheel};
        let learned = |side| Learned {
            clamp_shifts: vec![-1e-4],
            side,
            ..Learned::default()
        };
        let now = |then, now| {
            let mut setup = Setup {
                sense: (now as Option<_>).map(|indicator| Sense {
                    big_end: BigEnd::A,
                    indicator,
                }),
                fixture: Some(Fixture {
                    name: "plate".to_owned(),
                    pivot: None,
                    learned_pivot: None,
                    clamp_shifts: vec![-3e-4],
                }),
                ..Setup::default()
            };
            let steps = BTreeMap::from([(1, learned(then))]);
            remember(&mut setup, &BTreeMap::from([("plate".to_owned(), steps)]));
            setup.fixture.unwrap().clamp_shifts
        };
        // The owner's own first, as they read on the wheel's side.
        assert_eq!(now(Some(Wheel), Some(Wheel)), [-3e-4, -1e-4]);
        assert_eq!(now(Some(Wheel), Some(Opposite)), [3e-4, 1e-4]);
        assert_eq!(now(Some(Opposite), Some(Opposite)), [3e-4, -1e-4]);
        assert_eq!(now(None, None), [-3e-4, -1e-4], "as it always stands");
        assert_eq!(now(None, Some(Wheel)), [-3e-4], "nobody knows");
        assert_eq!(now(Some(Wheel), None), [-3e-4], "nobody knows");
    }

    #[test]
    fn a_set_up_that_could_not_be_read_again_is_not_stored() {
        let limit = |deg| Setup {
            tolerance: Some(Tolerance::HalfAngle(Angle::from_deg(deg))),
            ..Setup::default()
        };
        assert!(as_read_again(&limit(0.001)).is_ok());
        let refusal = as_read_again(&limit(1e24)).unwrap_err();
        assert_eq!(refusal.code, Code::BadValue);
        assert!(refusal.message.contains("cannot be read"), "{refusal:?}");
    }

    /// Found by fuzzing: the half angle of 1:19 changed in its last digit over a restart, and every result with it.
    #[test]
    fn a_set_up_is_the_same_after_a_restart() {
        let mut changed = 0;
        for n in 1..200 {
            let options = protocol::api::SetupOptions {
                taper: Some(format!("1:{n}")),
                length: Some("40".to_owned()),
                ..Default::default()
            };
            let resolved = config::resolve(&config::Config::default(), &options).unwrap();
            let setup = as_read_again(&resolved).unwrap();
            changed += usize::from(setup != resolved);
            let text = serde_json::to_string(&setup).unwrap();
            assert_eq!(
                serde_json::from_str::<Setup>(&text).unwrap(),
                setup,
                "1:{n}"
            );
        }
        assert!(changed > 0, "some do change the first time");
    }
}
