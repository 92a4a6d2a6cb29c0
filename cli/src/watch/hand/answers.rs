//! What came of a request, told to the user.

use super::{Answer, hints};
use crate::outcome_text::ground_words;
use crate::watch::state::{Mode, Watch};
use protocol::api::Code;
use protocol::said;
use protocol::screen::words;

impl Watch {
    /// Takes an answer in; true when it was a refusal, which is worth a sound.
    pub fn on_answer(&mut self, answer: Answer) -> bool {
        let style = self.style();
        self.waiting = false;
        let sent = self.sent.take();
        match answer {
            Answer::Marked(marked) => {
                self.new_round = false;
                self.went_to = None;
                self.place = None;
                let done = words::marked(&marked, style);
                let dwell = || Some(words::dwell(&marked.value?, style));
                let note = marked.note.as_deref().map(|note| words::told(note, style));
                self.done(
                    said!(style, "watch-done", mark = done),
                    note.or_else(dwell).as_deref(),
                );
            }
            Answer::Undone(undone) => {
                self.done(
                    said!(
                        style,
                        "watch-taken-back",
                        number = undone.number,
                        place = undone.place
                    ),
                    Some(&said!(style, "watch-takes-its-place")),
                );
            }
            Answer::PressLeft => self.done(said!(style, "watch-no-mark"), None),
            Answer::Clamped(true) => self.done(
                said!(style, "watch-clamp-tight"),
                Some(&said!(style, "watch-tightening-measured")),
            ),
            Answer::Clamped(false) => self.done(said!(style, "watch-clamp-loose"), None),
            Answer::Ground(ground) => self.done(
                ground_words(ground, false, style),
                Some(&said!(style, "watch-o-again")),
            ),
            Answer::NotGround(ground) => self.done(ground_words(ground, true, style), None),
            Answer::Accepted(accepted) => self.accepted(&accepted),
            Answer::Noted => self.done(said!(style, "note-kept"), None),
            Answer::Stepped(step) => {
                self.done(
                    said!(
                        style,
                        "watch-step-open",
                        kind = style.term("kind", step.plan.kind().word()),
                        step = step.number
                    ),
                    None,
                );
            }
            // The user did something else, and is told of that.
            Answer::Refused(refusal) if refusal.code == Code::Cancelled => {}
            Answer::Refused(refusal) => {
                // A place that cannot be read would be refused with every further mark.
                if matches!(refusal.code, Code::BadValue | Code::UnknownName) {
                    self.place = None;
                }
                let hint = refusal.hint.as_deref().map(hints::for_keys);
                self.refuse(&refusal.message, hint.as_deref());
                if let Some(value) = sent.filter(|_| self.mode == Mode::Plain) {
                    self.mode = Mode::Value(value);
                }
                return true;
            }
        }
        false
    }
}
