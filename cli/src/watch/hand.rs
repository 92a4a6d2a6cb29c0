//! What the user does: keys go in, requests come out, answers go in.

use super::keys::{Action, Setting, action};
use super::state::{Link, Message, Mode, Question, Tone, Watch};
use super::words;
use protocol::api::{MarkRequest, Marked, Refusal, StepOpened, Undone};
use protocol::fold::StepKind;
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
    /// Keep a note.
    Note(String),
    /// Close the open step, if one is, and open this one.
    NextStep {
        /// Close first.
        close: bool,
        /// The kind to open.
        kind: StepKind,
    },
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
            Mode::Plain => Setting::Plain,
            Mode::Value(_) | Mode::Note(_) => Setting::Typing,
            Mode::Asked(_) => Setting::Asked,
            Mode::Help => Setting::Help,
        };
        let action = action(setting, key)?;
        let steered = self.steering.is_some();
        if steered && !matches!(action, Action::Quit | Action::Help | Action::No) {
            return None;
        }
        let guarded = matches!(
            action,
            Action::Mark
                | Action::Undo
                | Action::Clamp
                | Action::NewRound
                | Action::NextStep
                | Action::Yes
        );
        if guarded && !self.held.admits(key, now_s) {
            return None;
        }
        if !steered {
            self.message = None;
        }
        match action {
            Action::Quit => return Some(Request::Quit),
            Action::Help => self.mode = Mode::Help,
            Action::No => self.leave(),
            Action::Mark => return self.ask(Request::Mark(self.mark(None))),
            // A press that is asked about is no mark yet: leaving it takes nothing away.
            Action::Undo if self.press_is_asked() => return self.ask(Request::LeavePress),
            Action::Undo => self.offer_undo(),
            Action::Clamp => {
                let tight = !self.status.as_ref().is_some_and(|status| status.clamped);
                return self.ask(Request::Clamp(tight));
            }
            Action::NewRound => self.new_round = !self.new_round,
            Action::Go => self.go(),
            Action::NextStep => return self.next_step(),
            Action::Note => self.mode = Mode::Note(String::new()),
            Action::Value(c) => self.mode = Mode::Value(c.to_string()),
            Action::Type(c) => self.typed(c),
            Action::Rub => self.rub(),
            Action::Submit => {
                // Held down, the key that ends a note would go on to mark.
                self.held.did(key, now_s);
                return self.submit();
            }
            Action::Yes => return self.confirmed(),
        }
        None
    }

    fn ask(&mut self, request: Request) -> Option<Request> {
        if self.waiting {
            return None;
        }
        if self.link != Link::Up {
            self.refuse(
                "the background process does not answer, so nothing was stored",
                Some("what was asked can be asked again once it is back"),
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
        self.mode = Mode::Asked(question);
        self.message = Some(Message {
            tone: Tone::Question,
            text,
            hint: Some("y does it; any other key leaves all as it is".to_owned()),
        });
    }

    fn mark(&self, value: Option<String>) -> MarkRequest {
        MarkRequest {
            value,
            new_round: self.new_round,
            ..MarkRequest::default()
        }
    }

    fn press_is_asked(&self) -> bool {
        let status = self.status.as_ref();
        status.is_some_and(|status| status.double_press.is_some())
    }

    fn leave(&mut self) {
        self.mode = Mode::Plain;
    }

    fn offer_undo(&mut self) {
        match self
            .last_mark()
            .map(|mark| words::mark_line(mark, self.look.units))
        {
            Some(line) => self.question(Question::Undo, format!("take back {line}?")),
            None => self.refuse("there is no mark to take back in this step", None),
        }
    }

    fn go(&mut self) {
        let station = self
            .status
            .as_ref()
            .and_then(words::tap)
            .map(|tap| tap.station.clone());
        match station {
            Some(station) => self.went_to = Some(station),
            None => self.refuse("there is no tap to go to yet", Some("a round gives one")),
        }
    }

    fn next_step(&mut self) -> Option<Request> {
        let kind = StepKind::Zero;
        let status = self.status.as_ref()?;
        match (&status.session, status.step) {
            (None, _) => {
                self.refuse(
                    "no session is open",
                    Some("`conewright session open NAME` opens one"),
                );
                None
            }
            (Some(_), None) => self.ask(Request::NextStep { close: false, kind }),
            (Some(_), Some(step)) => {
                let text = format!(
                    "close the {} step {} and open a new one?",
                    step.kind.name(),
                    step.number
                );
                self.question(Question::NextStep, text);
                None
            }
        }
    }

    fn confirmed(&mut self) -> Option<Request> {
        let Mode::Asked(question) = self.mode else {
            return None;
        };
        self.mode = Mode::Plain;
        self.ask(match question {
            Question::Undo => Request::Undo,
            Question::NextStep => Request::NextStep {
                close: true,
                kind: StepKind::Zero,
            },
        })
    }

    fn typed(&mut self, c: char) {
        let (text, limit) = match &mut self.mode {
            Mode::Value(text) => (text, VALUE_LIMIT),
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
        if let Mode::Value(text) | Mode::Note(text) = &mut self.mode {
            text.pop();
            if text.is_empty() {
                self.mode = Mode::Plain;
            }
        }
    }

    fn submit(&mut self) -> Option<Request> {
        match std::mem::replace(&mut self.mode, Mode::Plain) {
            Mode::Value(text) => self.ask(Request::Mark(self.mark(Some(text)))),
            Mode::Note(text) if !text.trim().is_empty() => self.ask(Request::Note(text)),
            _ => None,
        }
    }

    /// Takes an answer in; true when it was a refusal, which is worth a sound.
    pub fn on_answer(&mut self, answer: Answer) -> bool {
        self.waiting = false;
        match answer {
            Answer::Marked(marked) => {
                self.new_round = false;
                self.went_to = None;
                self.done(
                    format!("DONE: {}", words::marked(&marked, self.look.units)),
                    marked
                        .value
                        .map(|value| words::dwell(&value, self.look.units))
                        .as_deref(),
                );
            }
            Answer::Undone(undone) => {
                self.done(
                    format!(
                        "TAKEN BACK: mark {} at {}. The record keeps it, as taken back",
                        undone.number, undone.place
                    ),
                    Some("the next mark takes its place"),
                );
            }
            Answer::PressLeft => self.done("the second press is no mark".to_owned(), None),
            Answer::Clamped(true) => self.done(
                "clamp TIGHT".to_owned(),
                Some("the next round measures what tightening did"),
            ),
            Answer::Clamped(false) => self.done("clamp LOOSE".to_owned(), None),
            Answer::Noted => self.done("note kept".to_owned(), None),
            Answer::Stepped(step) => {
                self.done(
                    format!("{} step {} is open", step.plan.kind().name(), step.number),
                    None,
                );
            }
            Answer::Refused(refusal) => {
                self.refuse(&refusal.message, refusal.hint.as_deref());
                return true;
            }
        }
        false
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::watch::look::Look;
    use crate::watch::state::Steering;
    use metrology::Length;
    use protocol::api::{Code, DoublePress, Live, MarkLine, SessionLabel, Status, StepLabel};
    use protocol::evidence::MarkValue;
    use ratatui::crossterm::event::{KeyCode, KeyModifiers};

    fn watching() -> Watch {
        let value = MarkValue {
            value_mm: 0.0125,
            spread_um: 1.0,
            sd_um: None,
            readings: 9,
            resolution: Length::from_um(1),
        };
        let status = Status {
            session: Some(SessionLabel {
                id: 1,
                name: "seat".to_owned(),
            }),
            step: Some(StepLabel {
                kind: StepKind::Zero,
                number: 1,
            }),
            marks: vec![MarkLine {
                number: 4,
                station: Some("B".to_owned()),
                place: "B".to_owned(),
                at: None,
                round: 2,
                value: Some(value),
            }],
            ..Status::default()
        };
        let mut watch = Watch::new(Look::of(None, None));
        watch.on_live(Live::Snapshot(Box::new(status)), 0.0);
        watch
    }

    /// Presses keys two seconds apart, so that none counts as held; answers each request as done.
    fn press(watch: &mut Watch, keys: &str) -> Vec<Request> {
        let mut asked = Vec::new();
        for (i, c) in keys.chars().enumerate() {
            let code = match c {
                '\n' => KeyCode::Enter,
                '\u{1b}' => KeyCode::Esc,
                '\u{8}' => KeyCode::Backspace,
                c => KeyCode::Char(c),
            };
            let key = KeyEvent::new(code, KeyModifiers::NONE);
            if let Some(request) = watch.on_key(key, 2.0 * i as f64) {
                watch.waiting = false;
                asked.push(request);
            }
        }
        asked
    }

    fn mark(value: Option<&str>, new_round: bool) -> Request {
        Request::Mark(MarkRequest {
            value: value.map(str::to_owned),
            new_round,
            ..MarkRequest::default()
        })
    }

    #[test]
    fn what_keys_ask_for() {
        let step = |close| Request::NextStep {
            close,
            kind: StepKind::Zero,
        };
        for (legend, keys, expected) in [
            ("space marks", " ", vec![mark(None, false)]),
            ("so does enter", "\n", vec![mark(None, false)]),
            ("a new round", "r ", vec![mark(None, true)]),
            (
                "a new round thought better of",
                "rr ",
                vec![mark(None, false)],
            ),
            ("undo is not done by one key", "u", vec![]),
            ("nor by the same key again", "uu", vec![]),
            (
                "nor by the key that marks, which does not mark either",
                "u ",
                vec![],
            ),
            ("only by y", "uy", vec![Request::Undo]),
            ("y alone does nothing", "y", vec![]),
            (
                "a typed value",
                "-3.5div\n",
                vec![mark(Some("-3.5div"), false)],
            ),
            ("a typed value dropped", "12\u{1b}", vec![]),
            (
                "a typed value rubbed out, then a mark",
                "1\u{8} ",
                vec![mark(None, false)],
            ),
            (
                "a note holds the letters of keys",
                "nq u\n",
                vec![Request::Note("q u".to_owned())],
            ),
            ("an empty note is none", "n \n", vec![]),
            ("the clamp", "c", vec![Request::Clamp(true)]),
            ("the next step asks first", "s", vec![]),
            ("and then closes and opens", "sy", vec![step(true)]),
            ("help swallows the next key", "?q", vec![]),
            ("leaving closes nothing", "q", vec![Request::Quit]),
        ] {
            assert_eq!(press(&mut watching(), keys), expected, "{legend}");
        }
    }

    #[test]
    fn a_double_press_is_marked_or_left_by_one_key() {
        let asked = || {
            let mut watch = watching();
            let mut status = watch.status.clone().unwrap();
            status.double_press = Some(DoublePress {
                cable: "dial".to_owned(),
                presses: 2,
                reading: Length::from_um(12),
                resolution: Length::from_um(1),
            });
            watch.on_live(Live::Snapshot(Box::new(status)), 0.0);
            watch
        };
        assert_eq!(press(&mut asked(), "u"), vec![Request::LeavePress]);
        assert_eq!(press(&mut asked(), " "), vec![mark(None, false)]);
        assert_eq!(
            press(&mut asked(), "y"),
            vec![],
            "this question is no other"
        );
    }

    #[test]
    fn a_held_enter_ends_a_note_and_marks_nothing() {
        let mut watch = watching();
        let key = |code| KeyEvent::new(code, KeyModifiers::NONE);
        watch.on_key(key(KeyCode::Char('n')), 0.0);
        watch.on_key(key(KeyCode::Char('x')), 0.1);
        assert!(watch.on_key(key(KeyCode::Enter), 0.2).is_some());
        watch.waiting = false;
        for i in 0..50 {
            let at_s = 0.7 + 0.03 * f64::from(i);
            assert_eq!(watch.on_key(key(KeyCode::Enter), at_s), None);
        }
    }

    #[test]
    fn one_request_at_a_time_and_none_without_a_connection() {
        let space = KeyEvent::new(KeyCode::Char(' '), KeyModifiers::NONE);
        let mut watch = watching();
        assert!(watch.on_key(space, 0.0).is_some());
        assert_eq!(
            watch.on_key(space, 10.0),
            None,
            "the first is not answered yet"
        );
        watch.on_lost("gone", 11.0);
        assert_eq!(watch.on_key(space, 20.0), None);
        assert_eq!(watch.message.as_ref().map(|m| m.tone), Some(Tone::Refused));
    }

    #[test]
    fn a_refusal_stands_until_the_next_key_and_changes_nothing() {
        let mut watch = watching();
        press(&mut watch, "r");
        assert!(watch.on_answer(Answer::Refused(Refusal::new(Code::NotSettled, "moving"))));
        assert!(watch.new_round, "what was asked for still stands");
        assert_eq!(
            watch.message.as_ref().map(|m| m.text.as_str()),
            Some("moving")
        );
        press(&mut watch, "?");
        assert_eq!(watch.message, None);
    }

    #[test]
    fn where_the_indicator_stands_is_forgotten_with_the_next_mark() {
        let mut watch = watching();
        watch.went_to = Some("A".to_owned());
        assert_eq!(watch.stands_at(), Some("A"));
        let mut status = watch.status.clone().unwrap();
        watch.on_live(Live::Snapshot(Box::new(status.clone())), 1.0);
        assert_eq!(
            watch.stands_at(),
            Some("A"),
            "a snapshot for another reason"
        );
        status.marks[0].number = 5;
        watch.on_live(Live::Snapshot(Box::new(status)), 2.0);
        assert_eq!(watch.stands_at(), Some("B"));
    }

    #[test]
    fn where_another_hand_steers_keys_only_look_and_leave() {
        let mut watch = watching();
        watch.steering = Some(Steering::default());
        assert_eq!(press(&mut watch, " ucrsn5\n"), vec![]);
        assert_eq!(press(&mut watch, "q"), vec![Request::Quit]);
    }
}
