//! What is asked before a mark or a step can be made: where it is, what printed, which step, and whether what is in
//! hand may go.

use super::Request;
use crate::watch::state::{Mode, Question, Then, Watch};
use protocol::plan::StepKind;
use protocol::screen;

impl Watch {
    /// Whether the open step is judged by eye.
    pub(super) fn judges(&self) -> bool {
        let status = self.known.status.as_ref();
        status.is_some_and(|s| s.step.is_some_and(|step| step.kind.by_eye()))
    }

    /// Whether the next mark needs a place that nobody knows: the plan names no more of them.
    fn wants_place(&self) -> bool {
        self.place.is_none()
            && !self.press_is_asked()
            && self.known.status.as_ref().is_some_and(|status| {
                status.step.is_some()
                    && !status.recording
                    && self.user().next(Some(status)).is_none()
            })
    }

    /// Marks, or asks first what the mark needs.
    pub(super) fn mark_or_prompt(&mut self) -> Option<Request> {
        if self.judges() && !self.press_is_asked() {
            self.mode = Mode::Print(String::new());
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
        self.ask(Request::Mark(self.mark(value)))
    }

    /// A print as typed: three shares in per cent, big end first.
    pub(super) fn print(&mut self, text: String) -> Option<Request> {
        let Some(zones) = zones(&text) else {
            self.mode = Mode::Print(text);
            self.refuse(
                "a print is three numbers from 0 to 100: big end, middle, small end",
                Some("as 90 40 0"),
            );
            return None;
        };
        let mut mark = self.mark(None);
        mark.station = Some(zones);
        self.ask(Request::Mark(mark))
    }

    pub(super) fn offer_steps(&mut self) {
        let Some(status) = &self.known.status else {
            return;
        };
        if status.session.is_some() {
            self.mode = Mode::Menu;
        } else {
            self.refuse(
                "no session is open",
                Some("`conewright session open NAME` opens one"),
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
        let Some(lost) = screen::loses(status) else {
            return self.ask(Request::NextStep { close: true, kind });
        };
        let text = format!(
            "close the {} step {}? {lost}",
            step.kind.word(),
            step.number
        );
        self.question(Question::NextStep(kind), text);
        None
    }
}

/// Three shares as the request takes them; between them stand blanks, commas or strokes.
fn zones(text: &str) -> Option<String> {
    let text = text.trim();
    // With blanks between, a comma is a decimal one.
    let parts: Vec<String> = if text.contains(char::is_whitespace) {
        text.split_whitespace()
            .map(|p| p.trim_matches([',', '/']).replace(',', "."))
            .collect()
    } else {
        text.split([',', '/']).map(str::to_owned).collect()
    };
    let inside = |part: &String| {
        part.parse::<f64>()
            .is_ok_and(|percent| (0.0..=100.0).contains(&percent))
    };
    (parts.len() == 3 && parts.iter().all(inside)).then(|| parts.join(","))
}
