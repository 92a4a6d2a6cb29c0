//! What the user does: keys go in, requests come out, answers go in.

mod answers;
mod bench;
mod hints;
mod instruments;
mod prompts;
mod sounds;
#[cfg(test)]
mod tests;

use super::help;
use super::keys::{Action, Setting, action};
use super::practice::Act;
use super::state::{Link, Message, Mode, Question, Then, Tone, Watch};
use protocol::api::{Accepted, Ground, MarkRequest, Marked, Refusal, StepOpened, Undone};
use protocol::plan::StepKind;
use protocol::said;
use ratatui::crossterm::event::KeyEvent;

/// What the view asks of the background process.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Request {
    /// Mark.
    Mark(MarkRequest),
    /// Take the last mark back.
    Undo,
    /// The press that is asked about is no mark.
    LeavePress,
    /// The clamp is tight, or loose, now.
    Clamp(bool),
    /// The part was ground; or it was not, and was said to be by mistake.
    Ground {
        /// It was not.
        not: bool,
    },
    /// What is plugged in now counts, on this cable or the indicator's.
    Accept(Option<String>),
    /// Keep a note.
    Note(String),
    /// Close the open step, if one is, and open this one.
    NextStep {
        /// Close first.
        close: bool,
        /// The kind to open.
        kind: StepKind,
    },
    /// Do something on the bench of a practice.
    OnTheBench(Act),
    /// Leave.
    Quit,
}

/// What came of a request.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// A mark is on the disk.
    Marked(Marked),
    /// A mark was taken back.
    Undone(Undone),
    /// The press that was asked about is no mark.
    PressLeft,
    /// The clamp is tight, or loose.
    Clamped(bool),
    /// It is noted that the part was ground.
    Ground(Ground),
    /// It is noted that the part was not ground.
    NotGround(Ground),
    /// What is plugged in now counts.
    Accepted(Accepted),
    /// The note is kept.
    Noted,
    /// A step is open.
    Stepped(Box<StepOpened>),
    /// It was not done.
    Refused(Refusal),
}

/// What the API takes as a note.
const NOTE_LIMIT: usize = 2_000;
/// No instrument shows more.
const VALUE_LIMIT: usize = 24;

impl Watch {
    /// Takes a key in.
    pub fn on_key(&mut self, key: KeyEvent, now_s: f64) -> Option<Request> {
        let setting = match &self.mode {
            Mode::Plain if self.practice.is_some() => Setting::Practice,
            Mode::Plain => Setting::Plain,
            Mode::Value(_) | Mode::Note(_) | Mode::Place { .. } | Mode::Judged(_) => {
                Setting::Typing
            }
            Mode::Asked(_) => Setting::Asked,
            Mode::Menu => Setting::Menu,
            Mode::Help(_) => Setting::Help,
        };
        let action = action(setting, key)?;
        let steered = self.steering.is_some();
        if steered
            && !matches!(
                action,
                Action::Quit | Action::Help | Action::Scroll(_) | Action::No
            )
        {
            return None;
        }
        let guarded = matches!(
            action,
            Action::Mark
                | Action::Undo
                | Action::Clamp
                | Action::Ground
                | Action::Instrument
                | Action::NewRound
                | Action::NextStep
                | Action::Open(_)
                | Action::Yes
        );
        if guarded && !self.held.admits(key, now_s) {
            return None;
        }
        if !steered {
            self.message = None;
        }
        if self.is_out_of_practice(action) {
            return None;
        }
        self.act(action, key, now_s)
    }

    fn act(&mut self, action: Action, key: KeyEvent, now_s: f64) -> Option<Request> {
        match action {
            Action::Quit => return Some(Request::Quit),
            Action::Help => self.mode = Mode::Help(0),
            Action::Scroll(entries) => self.scroll_help(entries),
            // What waits is no mark yet: dropping it takes nothing away.
            Action::No if self.mode == Mode::Plain && self.known.waits_for_rest() => {
                return self.ask(Request::LeavePress);
            }
            Action::No => self.leave(),
            Action::Mark => return self.mark_or_prompt(),
            // A press that is asked about is no mark yet: leaving it takes nothing away.
            Action::Undo if self.press_is_asked() || self.known.waits_for_rest() => {
                return self.ask(Request::LeavePress);
            }
            Action::Undo => self.offer_undo(),
            Action::Clamp => {
                let tight = !self
                    .known
                    .status
                    .as_ref()
                    .is_some_and(|status| status.clamped);
                return self.ask(Request::Clamp(tight));
            }
            Action::Ground => return self.ground(),
            Action::Instrument => self.offer_instrument(),
            Action::NewRound => self.new_round = !self.new_round,
            Action::Go => self.go(),
            Action::NextStep => self.offer_steps(),
            Action::Open(kind) => return self.open(kind),
            Action::Place => {
                self.mode = Mode::Place {
                    text: String::new(),
                    then: Then::Keep,
                };
            }
            Action::Note => self.mode = Mode::Note(String::new()),
            Action::Sound => self.turn_sound(),
            Action::Value(c) if self.judges() => self.mode = Mode::Judged(c.to_string()),
            Action::Value(c) => self.mode = Mode::Value(c.to_string()),
            Action::Type(c) => self.typed(c),
            Action::Rub => self.rub(),
            Action::Submit => {
                // Held down, the key that ends a note would go on to mark.
                self.held.did(key, now_s);
                return self.submit();
            }
            Action::Yes => return self.confirmed(),
            Action::Bench(act) => return self.on_the_bench(act),
        }
        None
    }

    fn ask(&mut self, request: Request) -> Option<Request> {
        // While a mark waits for rest, anything else overtakes it; the same key again only keeps it waiting.
        let same = matches!(&request, Request::Mark(mark) if mark.value.is_none());
        if self.waiting && (same || !self.known.waits_for_rest()) {
            return None;
        }
        if self.link != Link::Up {
            let style = self.style();
            self.refuse(
                &said!(style, "watch-no-answer"),
                Some(&said!(style, "watch-ask-again")),
            );
            return None;
        }
        self.waiting = true;
        Some(request)
    }

    fn refuse(&mut self, text: &str, hint: Option<&str>) {
        self.message = Some(Message {
            tone: Tone::Refused,
            text: text.to_owned(),
            hint: hint.map(str::to_owned),
        });
    }

    fn done(&mut self, text: String, hint: Option<&str>) {
        self.message = Some(Message {
            tone: Tone::Done,
            text,
            hint: hint.map(str::to_owned),
        });
    }

    fn question(&mut self, question: Question, text: String) {
        let style = self.style();
        self.mode = Mode::Asked(question);
        self.message = Some(Message {
            tone: Tone::Question,
            text,
            hint: Some(said!(style, "watch-y-does-it")),
        });
    }

    fn mark(&self, value: Option<String>) -> MarkRequest {
        MarkRequest {
            value,
            station: self.place.clone(),
            new_round: self.new_round,
            ..MarkRequest::default()
        }
    }

    fn press_is_asked(&self) -> bool {
        let status = self.known.status.as_ref();
        status.is_some_and(|status| status.double_press.is_some())
    }

    fn leave(&mut self) {
        self.mode = Mode::Plain;
    }

    fn scroll_help(&mut self, entries: isize) {
        let last = help::entries(self.practice.is_some(), self.style()).count() - 1;
        if let Mode::Help(from) = &mut self.mode {
            *from = from.saturating_add_signed(entries).min(last);
        }
    }

    fn confirmed(&mut self) -> Option<Request> {
        let Mode::Asked(question) = self.mode else {
            return None;
        };
        self.mode = Mode::Plain;
        self.ask(match question {
            Question::Undo => Request::Undo,
            Question::NotGround => Request::Ground { not: true },
            Question::Instrument => self.accept(),
            Question::NextStep(kind) => Request::NextStep { close: true, kind },
        })
    }

    fn typed(&mut self, c: char) {
        let (text, limit) = match &mut self.mode {
            Mode::Value(text) => (text, VALUE_LIMIT),
            Mode::Place { text, .. } | Mode::Judged(text) => (text, VALUE_LIMIT),
            Mode::Note(text) => (text, NOTE_LIMIT),
            _ => return,
        };
        if !c.is_control() && text.chars().count() < limit {
            text.push(c);
        }
    }

    /// Takes pasted text in: it belongs into what is being typed, and is never a row of keys.
    pub fn on_paste(&mut self, pasted: &str) {
        pasted.chars().for_each(|c| self.typed(c));
    }

    fn rub(&mut self) {
        if let Mode::Value(text)
        | Mode::Note(text)
        | Mode::Place { text, .. }
        | Mode::Judged(text) = &mut self.mode
        {
            text.pop();
            if text.is_empty() {
                self.mode = Mode::Plain;
            }
        }
    }

    fn submit(&mut self) -> Option<Request> {
        match std::mem::replace(&mut self.mode, Mode::Plain) {
            // The key that asked for it, held down, is no value.
            Mode::Value(text) if text.trim().is_empty() => {
                self.mode = Mode::Value(text);
                None
            }
            Mode::Value(text) => self.mark_there(Some(text)),
            Mode::Judged(text) => self.judged(text),
            Mode::Place { text, then } => {
                let text = text.trim().to_owned();
                if text.is_empty() && matches!(then, Then::Mark(_)) {
                    // A slip of the key must not take away what was typed before it.
                    self.mode = Mode::Place { text, then };
                    let style = self.style();
                    self.refuse(
                        &said!(style, "watch-needs-place"),
                        Some(&said!(style, "watch-esc-drops")),
                    );
                    return None;
                }
                self.place = (!text.is_empty()).then_some(text);
                match then {
                    Then::Mark(value) => self.send_mark(value),
                    Then::Keep => None,
                }
            }
            Mode::Note(text) if !text.trim().is_empty() => self.ask(Request::Note(text)),
            _ => None,
        }
    }
}
