//! What a session must hold after each thing that was done in it, kept beside the daemon and compared with what is
//! found on the disk.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use crate::client::{Answered, Client};
use daemon::store::{NoFault, Reader, Store, Which, check};
use protocol::api::SessionFilter;
use protocol::evidence::Evidence;
use protocol::record::{EventKind, Record};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::io;
use std::path::Path;

/// Something that a user does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Act {
    /// Opens a session.
    Open,
    /// Opens a zero step.
    Step,
    /// Marks the settled reading, or a typed one.
    Mark(Option<String>),
    /// Takes the last mark back.
    Undo,
    /// Writes a note.
    Note(String),
    /// Tightens or loosens the clamp.
    Clamp(bool),
    /// Closes the step.
    CloseStep,
    /// Closes the session.
    CloseSession,
}

impl Act {
    /// Does it.
    ///
    /// # Errors
    /// The daemon did not answer: it may or may not have been done.
    pub fn with(&self, client: &Client) -> io::Result<Answered> {
        let (path, body) = match self {
            Self::Open => (
                "/v1/sessions",
                json!({ "name": "spindle seat", "taper": "1:12", "length": "30",
                        "tolerance": "5arcsec", "span": "80" }),
            ),
            Self::Step => ("/v1/steps", json!({ "kind": "zero" })),
            Self::Mark(None) => ("/v1/marks", json!({})),
            Self::Mark(Some(value)) => ("/v1/marks", json!({ "value": value })),
            Self::Undo => ("/v1/marks/undo", json!({})),
            Self::Note(text) => ("/v1/notes", json!({ "text": text })),
            Self::Clamp(tight) => ("/v1/clamp", json!({ "tight": tight })),
            Self::CloseStep => ("/v1/steps/current/close", json!({})),
            Self::CloseSession => ("/v1/sessions/current/close", json!({})),
        };
        client.post(path, &body)
    }
}

/// A mark as it was acknowledged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MarkKept {
    /// Its place, in words.
    pub place: String,
    /// Its round.
    pub round: u64,
    /// Its value, mm, to the last bit.
    pub value: u64,
    /// Whether it was taken back.
    pub taken_back: bool,
}

/// Everything that was acknowledged.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Kept {
    /// Whether each session is closed.
    pub sessions: BTreeMap<i64, bool>,
    /// Whether each step is closed, by session and number.
    pub steps: BTreeMap<(i64, u32), bool>,
    /// The marks, by session, step and number.
    pub marks: BTreeMap<(i64, u32, u64), MarkKept>,
    /// The notes, in order.
    pub notes: Vec<String>,
    /// Whether the clamp is tight in the open session.
    pub clamped: bool,
}

impl Kept {
    /// The open session.
    #[must_use]
    pub fn session(&self) -> Option<i64> {
        let (number, closed) = self.sessions.last_key_value()?;
        (!closed).then_some(*number)
    }

    /// The open step.
    #[must_use]
    pub fn step(&self) -> Option<(i64, u32)> {
        let session = self.session()?;
        let (number, closed) = self.steps.last_key_value()?;
        (number.0 == session && !closed).then_some(*number)
    }

    /// How many marks of the open step count.
    #[must_use]
    pub fn counting(&self) -> usize {
        let Some((session, step)) = self.step() else {
            return 0;
        };
        let marks = self
            .marks
            .range((session, step, 0)..=(session, step, u64::MAX));
        marks.filter(|(_, mark)| !mark.taken_back).count()
    }

    /// The last mark of the open step that counts.
    fn last_mark(&mut self) -> Option<&mut MarkKept> {
        let (session, step) = self.step()?;
        let marks = self
            .marks
            .range_mut((session, step, 0)..=(session, step, u64::MAX));
        marks
            .rev()
            .map(|(_, mark)| mark)
            .find(|mark| !mark.taken_back)
    }

    /// Takes note of an acknowledged act. Gives back whether it can have been acknowledged here at all.
    #[must_use]
    pub fn after(&mut self, act: &Act, answer: &Value) -> bool {
        let number = |key: &str| answer[key].as_i64().unwrap_or(-1);
        match act {
            Act::Open => self.sessions.insert(number("session"), false).is_none(),
            Act::Step => {
                let Some(session) = self.session() else {
                    return false;
                };
                let key = (session, number("number") as u32);
                self.steps.insert(key, false).is_none()
            }
            Act::Mark(_) => {
                let Some((session, step)) = self.step() else {
                    return false;
                };
                let mark = MarkKept {
                    place: answer["place"].as_str().unwrap_or_default().to_owned(),
                    round: answer["round"].as_u64().unwrap_or(0),
                    value: answer["value_mm"].as_f64().unwrap_or(f64::NAN).to_bits(),
                    taken_back: false,
                };
                let key = (session, step, answer["number"].as_u64().unwrap_or(0));
                self.marks.insert(key, mark).is_none()
            }
            Act::Undo => self
                .last_mark()
                .map(|mark| mark.taken_back = true)
                .is_some(),
            Act::Note(text) => {
                self.notes.push(text.clone());
                true
            }
            Act::Clamp(tight) => {
                self.clamped = *tight;
                true
            }
            Act::CloseStep => {
                let step = self.step();
                step.is_some_and(|step| self.steps.insert(step, true) == Some(false))
            }
            Act::CloseSession => {
                if let Some(step) = self.step() {
                    self.steps.insert(step, true);
                }
                self.clamped = false;
                let session = self.session();
                session.is_some_and(|session| self.sessions.insert(session, true) == Some(false))
            }
        }
    }

    /// Whether `found` is this, or this and an act that was under way: all of the act, or nothing of it.
    #[must_use]
    pub fn agrees(&self, under_way: Option<&Act>, found: &Self) -> bool {
        if self == found {
            return true;
        }
        let Some(act) = under_way else {
            return false;
        };
        let mut next = self.clone();
        // What an unanswered act would have been answered with is read from what it left.
        let answer = match act {
            Act::Open => json!({ "session": found.session() }),
            Act::Step => json!({ "number": found.step().map(|step| step.1) }),
            Act::Mark(_) => {
                let last = self.step().and_then(|(session, step)| {
                    let marks = found
                        .marks
                        .range((session, step, 0)..=(session, step, u64::MAX));
                    marks.last()
                });
                match last {
                    Some((key, mark)) => json!({
                        "number": key.2, "place": mark.place, "round": mark.round,
                        "value_mm": f64::from_bits(mark.value),
                    }),
                    None => return false,
                }
            }
            _ => Value::Null,
        };
        next.after(act, &answer) && next == *found
    }

    /// Takes up the session of a record.
    fn take(&mut self, record: &Record) {
        let session = record.session.id;
        self.sessions
            .insert(session, record.session.closed_utc_ns.is_some());
        for step in &record.steps {
            self.steps
                .insert((session, step.number), step.closed.is_some());
            self.take_marks((session, step.number), &step.evidence);
        }
        let notes = record.events.iter().filter(|e| e.what == EventKind::Note);
        self.notes.extend(notes.map(|event| event.text.clone()));
    }

    fn take_marks(&mut self, (session, step): (i64, u32), evidence: &Evidence) {
        for mark in &evidence.marks {
            let value = evidence
                .value(mark)
                .map_or(f64::NAN, |value| value.value_mm);
            let kept = MarkKept {
                place: mark.place.to_string(),
                round: u64::from(mark.round),
                value: value.to_bits(),
                taken_back: mark.taken_back,
            };
            let key = (session, step, u64::from(mark.number));
            let twice = self.marks.insert(key, kept);
            assert!(twice.is_none(), "mark {key:?} is there twice");
        }
    }
}

/// What is on the disk, after the daemon's own way of opening it; the store must be sound.
///
/// # Errors
/// It cannot be opened, or is not sound, in words.
pub fn found(data: &Path) -> Result<Kept, String> {
    let told = |what: &str, error: &dyn std::fmt::Display| format!("{what}: {error}");
    let mut store = Store::open(data, Box::new(NoFault)).map_err(|e| told("open", &e))?;
    let restored = store.restore().map_err(|e| told("restore", &e))?;
    let soundness = check(data).map_err(|e| told("check", &e))?;
    if !soundness.is_sound() {
        return Err(format!("not sound: {:?}", soundness.faults));
    }
    let mut kept = Kept {
        clamped: restored.open.is_some_and(|open| open.clamped),
        ..Kept::default()
    };
    let mut reader = Reader::open(data).map_err(|e| told("read", &e))?;
    let mut sessions = reader
        .sessions(&SessionFilter::default())
        .map_err(|e| told("list", &e))?;
    sessions.reverse();
    for line in sessions {
        let which = Which::Number(line.session);
        let record = reader.session(which, "").map_err(|e| told("record", &e))?;
        kept.take(&record);
    }
    drop(reader);
    // Without its closing, which would bring the log into the file: the next image is made from the same journal.
    drop(store);
    Ok(kept)
}
