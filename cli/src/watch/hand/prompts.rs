//! What is asked before a mark or a step can be made: where it is, what the eye judges, which step, and whether what is in
//! hand may go.

use super::{Request, hints};
use crate::watch::state::{Mode, Question, Then, Watch};
use protocol::plan::StepKind;
use protocol::said;
use protocol::screen::{self, words};
use protocol::step::Work;

impl Watch {
    /// Whether the open step is judged by eye.
    pub(super) fn judges(&self) -> bool {
        let status = self.known.status.as_ref();
        status.is_some_and(|s| s.step.is_some_and(|step| step.kind.by_eye()))
    }

    /// Whether the open step has no cable: each reading is typed.
    fn types_values(&self) -> bool {
        let status = self.known.status.as_ref();
        status.is_some_and(|s| s.step.is_some() && s.indicator.is_none())
    }

    /// Whether the next mark needs a place that nobody knows: the plan names no more of them.
    fn wants_place(&self) -> bool {
        self.place.is_none()
            && !self.press_is_asked()
            && self.known.status.as_ref().is_some_and(|status| {
                status.step.is_some()
                    && !status.recording
                    && self.user().next(Some(status), self.style()).is_none()
            })
    }

    /// Marks, or asks first what the mark needs.
    pub(super) fn mark_or_prompt(&mut self) -> Option<Request> {
        if self.judges() && !self.press_is_asked() {
            self.mode = Mode::Judged(String::new());
            return None;
        }
        if self.types_values() && !self.press_is_asked() {
            self.mode = Mode::Value(String::new());
            return None;
        }
        self.mark_there(None)
    }

    pub(super) fn mark_there(&mut self, value: Option<String>) -> Option<Request> {
        if self.wants_place() {
            self.mode = Mode::Place {
                text: String::new(),
                then: Then::Mark(value),
            };
            return None;
        }
        self.send_mark(value)
    }

    /// Sends a mark; a typed value is kept until it is known that it was taken.
    pub(super) fn send_mark(&mut self, value: Option<String>) -> Option<Request> {
        let request = self.ask(Request::Mark(self.mark(value.clone())))?;
        self.sent = value;
        Some(request)
    }

    /// What was judged by eye, as typed. What the step cannot read is put right, not lost.
    pub(super) fn judged(&mut self, text: String) -> Option<Request> {
        let status = self.known.status.as_ref()?;
        let work = Work::usual(status.step?.kind);
        let setup = status.setup.clone().unwrap_or_default();
        if let Err(refusal) = work.named(&setup, [], None, &text) {
            let hint = refusal.hint.as_deref().map(hints::for_keys);
            self.mode = Mode::Judged(text);
            self.refuse(&refusal.message, hint.as_deref());
            return None;
        }
        let mut mark = self.mark(None);
        mark.station = Some(text.trim().to_owned());
        self.ask(Request::Mark(mark))
    }

    /// Says that the part was ground; where that was the last thing said, asks whether it was a mistake.
    pub(super) fn ground(&mut self) -> Option<Request> {
        if self.known.status.as_ref().is_some_and(|s| s.ground) {
            let style = self.style();
            self.question(Question::NotGround, said!(style, "watch-not-ground"));
            return None;
        }
        self.ask(Request::Ground { not: false })
    }

    pub(super) fn offer_steps(&mut self) {
        let Some(status) = &self.known.status else {
            return;
        };
        if status.session.is_some() {
            self.mode = Mode::Menu;
        } else {
            let style = self.style();
            self.refuse(
                &said!(style, "watch-no-session"),
                Some(&said!(style, "watch-session-opens")),
            );
        }
    }

    /// Opens a step; the open one is closed first, and where that loses something in hand the user is asked.
    pub(super) fn open(&mut self, kind: StepKind) -> Option<Request> {
        self.mode = Mode::Plain;
        let status = self.known.status.as_ref()?;
        let Some(step) = status.step else {
            return self.ask(Request::NextStep { close: false, kind });
        };
        let style = self.style();
        let Some(lost) = screen::loses(status, style) else {
            return self.ask(Request::NextStep { close: true, kind });
        };
        let text = said!(
            style,
            "watch-close-step",
            kind = style.term("kind", step.kind.word()),
            step = step.number,
            lost = lost
        );
        self.question(Question::NextStep(kind), text);
        None
    }

    /// Asks whether the last mark is to be taken back.
    pub(super) fn offer_undo(&mut self) {
        let style = self.style();
        match self.last_mark().map(|mark| words::mark_line(mark, style)) {
            Some(line) => {
                self.question(Question::Undo, said!(style, "watch-take-back", mark = line));
            }
            None => self.refuse(&said!(style, "watch-nothing-to-undo"), None),
        }
    }

    /// The indicator was taken to the place of the target.
    pub(super) fn go(&mut self) {
        let style = self.style();
        let station = self
            .known
            .status
            .as_ref()
            .and_then(|status| screen::target(status, style))
            .map(|target| target.place);
        match station {
            Some(station) => self.went_to = Some(station),
            None => self.refuse(
                &said!(style, "watch-no-target"),
                Some(&said!(style, "watch-gives-target")),
            ),
        }
    }
}
