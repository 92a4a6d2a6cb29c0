//! What the live view knows and what its user is in the middle of. Events go in. There is no terminal, no
//! connection and no clock here.

use super::keys::Held;
use super::look::Look;
use super::practice::Standing;
use protocol::api::{Live, MarkLine, Status};
use protocol::plan::StepKind;
use protocol::screen::{Known, Seen, Trace, User};
use protocol::style::Style;

/// The connection to the background process.
#[derive(Debug, Clone, PartialEq)]
pub enum Link {
    /// Not made yet.
    Waiting,
    /// There.
    Up,
    /// Lost, and being sought.
    Lost {
        /// Since when, local clock.
        since_s: f64,
        /// Why, in words.
        why: String,
    },
}

/// A question that only `y` answers with yes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Question {
    /// Take the last mark back?
    Undo,
    /// Say that the part was not ground after all?
    NotGround,
    /// Count what is plugged in now?
    Instrument,
    /// Close the open step, which loses something in hand, and open one of this kind?
    NextStep(StepKind),
}

/// What the user is in the middle of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Mode {
    /// Nothing.
    Plain,
    /// Typing a value for the next mark.
    Value(String),
    /// Typing a note.
    Note(String),
    /// Typing where the next mark is.
    Place {
        /// What was typed.
        text: String,
        /// What follows.
        then: Then,
    },
    /// Typing what is judged by eye.
    Judged(String),
    /// Choosing the kind of the next step.
    Menu,
    /// Being asked.
    Asked(Question),
    /// Reading the help, from this entry on.
    Help(usize),
}

/// What follows when the place is typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Then {
    /// Nothing: the place is kept for the next mark.
    Keep,
    /// The mark, with this typed value or else with the reading there.
    Mark(Option<String>),
}

/// How a message is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// It was done.
    Done,
    /// It was not done.
    Refused,
    /// An answer is wanted.
    Question,
}

/// Words for the user, shown until the next key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Message {
    /// How it is meant.
    pub tone: Tone,
    /// What.
    pub text: String,
    /// What next.
    pub hint: Option<String>,
}

/// What another hand does.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Steering {
    /// In words.
    pub caption: String,
    /// The station that it has taken the indicator to without marking there.
    pub stands_at: Option<String>,
}

/// Everything that the view draws from.
#[derive(Debug, Clone, PartialEq)]
pub struct Watch {
    /// What the events have told.
    pub known: Known,
    /// What the indicator read lately.
    pub trace: Trace,
    /// The connection.
    pub link: Link,
    /// What the user is in the middle of.
    pub mode: Mode,
    /// Words until the next key.
    pub message: Option<Message>,
    /// The station that the user went to without marking there.
    pub went_to: Option<String>,
    /// The next mark begins a new round.
    pub new_round: bool,
    /// Where the next mark is, when the user said so.
    pub place: Option<String>,
    /// A request is under way.
    pub waiting: bool,
    /// A typed value whose mark is under way: refused, it can be put right.
    pub(super) sent: Option<String>,
    /// Sound is wanted.
    pub sound: bool,
    /// Set when another hand steers, as in the demo: keys only look and leave.
    pub steering: Option<Steering>,
    /// How the virtual bench of a practice stands, where keys are hands at it.
    pub practice: Option<Standing>,
    /// How things look.
    pub look: Look,
    /// Tells a held key from one pressed again.
    pub(super) held: Held,
}

impl Watch {
    /// Knows nothing yet.
    #[must_use]
    pub fn new(look: Look) -> Self {
        Self {
            known: Known::default(),
            trace: Trace::default(),
            link: Link::Waiting,
            mode: Mode::Plain,
            message: None,
            went_to: None,
            new_round: false,
            place: None,
            waiting: false,
            sent: None,
            sound: false,
            steering: None,
            practice: None,
            look,
            held: Held::default(),
        }
    }

    /// Takes an event of the stream in.
    pub fn on_live(&mut self, live: Live, now_s: f64) {
        self.link = Link::Up;
        if let Live::Snapshot(status) = &live {
            self.before_status(status);
        }
        self.known.on_live(live.clone(), now_s);
        let style = self.style();
        self.trace.on_live(&live, &self.known, now_s, style);
    }

    /// What the user said of a mark was of the step and the place that it was to be in.
    fn before_status(&mut self, status: &Status) {
        let Some(old) = &self.known.status else {
            return;
        };
        let place = |s: &Status| (s.session.clone(), s.step, s.marks.last().map(|m| m.number));
        if place(old) != place(status) {
            self.went_to = None;
        }
        let step = |s: &Status| (s.session.as_ref().map(|s| s.id), s.step);
        if step(old) != step(status) {
            self.place = None;
            self.new_round = false;
        }
    }

    /// The connection is gone, or still is.
    pub fn on_lost(&mut self, why: &str, now_s: f64) {
        self.waiting = false;
        self.known.on_lost();
        match &mut self.link {
            Link::Lost { why: known, .. } => why.clone_into(known),
            link => {
                *link = Link::Lost {
                    since_s: now_s,
                    why: why.to_owned(),
                };
            }
        }
    }

    /// What is known, for the description of the screen.
    #[must_use]
    pub fn seen(&self, now_s: f64) -> Seen<'_> {
        Seen {
            connected: self.link == Link::Up,
            ..self.known.seen(now_s, self.user(), self.style())
        }
    }

    /// How it is shown.
    #[must_use]
    pub fn style(&self) -> Style {
        let status = self.known.status.as_ref();
        let words = self.look.words;
        words.in_unit(self.look.unit, status.and_then(|s| s.setup.as_ref()))
    }

    /// What the user has said or begun.
    #[must_use]
    pub fn user(&self) -> User<'_> {
        let steered = self.steering.as_ref().and_then(|s| s.stands_at.as_deref());
        let stands = self.practice.as_ref().map(|bench| &*bench.at);
        User {
            place: self.place.as_deref(),
            new_round: self.new_round,
            went_to: steered.or(stands).or(self.went_to.as_deref()),
            typing: match &self.mode {
                Mode::Value(typed) if !typed.is_empty() => Some(typed),
                _ => None,
            },
        }
    }

    /// The last mark that counts.
    #[must_use]
    pub fn last_mark(&self) -> Option<&MarkLine> {
        self.known.status.as_ref()?.marks.last()
    }
}
