//! What the live view knows and what its user is in the middle of. Events go in. There is no terminal, no
//! connection and no clock here.

use super::keys::Held;
use super::look::Look;
use metrology::Length;
use protocol::api::{Live, LiveReading, MarkLine, SoFar, Status};
use protocol::plan::StepKind;
use protocol::screen::{LastReading, Seen, User};
use std::collections::BTreeMap;

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

/// The last reading of a cable.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Latest {
    /// Its value.
    pub value: Length,
    /// One step of the display.
    pub resolution: Length,
    /// Whether a mark made now would be accepted, as far as it is known.
    pub settled: bool,
    /// When it came, local clock.
    pub at_s: f64,
}

/// A question that only `y` answers with yes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Question {
    /// Take the last mark back?
    Undo,
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
    /// Typing how much of each third printed.
    Print(String),
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

/// Skipped bytes are news this long, s.
const SKIPPED_S: f64 = 30.0;

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
    /// The last snapshot.
    pub status: Option<Status>,
    /// The connection.
    pub link: Link,
    /// The last reading of each cable.
    pub latest: BTreeMap<String, Latest>,
    /// When bytes were last skipped while the view looked on, local clock.
    pub skipped_at_s: Option<f64>,
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
    /// What the readings that are being recorded tell so far.
    pub so_far: Option<SoFar>,
    /// A request is under way.
    pub waiting: bool,
    /// Until when a mark waits for rest, local clock.
    pub rest_until_s: Option<f64>,
    /// Set when another hand steers, as in the demo: keys only look and leave.
    pub steering: Option<Steering>,
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
            status: None,
            link: Link::Waiting,
            latest: BTreeMap::new(),
            skipped_at_s: None,
            mode: Mode::Plain,
            message: None,
            went_to: None,
            new_round: false,
            place: None,
            so_far: None,
            waiting: false,
            rest_until_s: None,
            steering: None,
            look,
            held: Held::default(),
        }
    }

    /// Takes an event of the stream in.
    pub fn on_live(&mut self, live: Live, now_s: f64) {
        self.link = Link::Up;
        match live {
            Live::Reading(LiveReading {
                cable,
                value,
                resolution,
                settled,
                so_far,
                ..
            }) => {
                self.so_far = so_far.or(self.so_far);
                let latest = Latest {
                    value,
                    resolution,
                    settled,
                    at_s: now_s,
                };
                self.latest.insert(cable, latest);
            }
            Live::Snapshot(status) => self.on_status(*status, now_s),
        }
    }

    fn on_status(&mut self, status: Status, now_s: f64) {
        for cable in &status.cables {
            let (Some(value), Some(resolution), Some(age_s)) =
                (cable.reading, cable.resolution, cable.age_s)
            else {
                continue;
            };
            let at_s = now_s - age_s;
            // A reading that came by itself tells more than the snapshot does of the same one.
            let newer = self.latest.get(&cable.name).is_none_or(|known| {
                at_s > known.at_s + 0.2 || (at_s > known.at_s - 0.2 && value != known.value)
            });
            if newer {
                let latest = Latest {
                    value,
                    resolution,
                    settled: false,
                    at_s,
                };
                self.latest.insert(cable.name.clone(), latest);
            }
        }
        let skipped = |s: &Status| s.cables.iter().map(|c| c.skipped_bytes).sum::<u64>();
        if self
            .status
            .as_ref()
            .is_some_and(|old| skipped(old) < skipped(&status))
        {
            self.skipped_at_s = Some(now_s);
        }
        let place = |s: &Status| (s.session.clone(), s.step, s.marks.last().map(|m| m.number));
        if self
            .status
            .as_ref()
            .is_some_and(|old| place(old) != place(&status))
        {
            self.went_to = None;
        }
        let step = |s: &Status| (s.session.as_ref().map(|s| s.id), s.step);
        if self
            .status
            .as_ref()
            .is_some_and(|old| step(old) != step(&status))
        {
            // What was said of a mark was of the step that it was to be in.
            self.place = None;
            self.new_round = false;
            self.so_far = None;
        }
        self.so_far = match status.recording {
            true => status.so_far.or(self.so_far),
            false => None,
        };
        let waiting = status.waiting.as_ref();
        self.rest_until_s = waiting.map(|waiting| now_s + waiting.left_s);
        self.status = Some(status);
    }

    /// The connection is gone, or still is.
    pub fn on_lost(&mut self, why: &str, now_s: f64) {
        self.waiting = false;
        self.rest_until_s = None;
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
        let readings = self.latest.iter().map(|(cable, latest)| {
            let reading = LastReading {
                value: latest.value,
                resolution: latest.resolution,
                settled: latest.settled,
                age_s: (now_s - latest.at_s).max(0.0),
            };
            (&**cable, reading)
        });
        Seen {
            status: self.status.as_ref(),
            connected: self.link == Link::Up,
            readings: readings.collect(),
            so_far: self.so_far,
            waits_s: self.rest_until_s.map(|until_s| until_s - now_s),
            skips: self.skipped_at_s.is_some_and(|at| now_s - at < SKIPPED_S),
            user: self.user(),
            units: self.look.units,
        }
    }

    /// What the user has said or begun.
    #[must_use]
    pub fn user(&self) -> User<'_> {
        let steered = self.steering.as_ref().and_then(|s| s.stands_at.as_deref());
        User {
            place: self.place.as_deref(),
            new_round: self.new_round,
            went_to: steered.or(self.went_to.as_deref()),
            typing: match &self.mode {
                Mode::Value(typed) => Some(typed),
                _ => None,
            },
        }
    }

    /// The last mark that counts.
    #[must_use]
    pub fn last_mark(&self) -> Option<&MarkLine> {
        self.status.as_ref()?.marks.last()
    }
}
