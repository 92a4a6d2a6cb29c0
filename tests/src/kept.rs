//! What a session must hold after each thing that was done in it, kept beside the daemon and compared with what is
//! found on the disk.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use crate::script::{Act, Kind};
use crate::toolroom::Toolroom;
use daemon::store::{NoFault, Reader, Store, Which, check};
use protocol::api::SessionFilter;
use protocol::evidence::{Evidence, Mark};
use protocol::fold::Outcome;
use protocol::record::{EventKind, Record};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::path::Path;

/// A mark as it was acknowledged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MarkKept {
    /// Its place, in words: a station, and in a step that records a beginning, an end, a turn.
    pub place: String,
    /// Its round.
    pub round: u64,
    /// Its value, mm, to the last bit; that of no number for a moment or a print.
    pub value: u64,
    /// Whether it was taken back.
    pub taken_back: bool,
}

/// A step as it was acknowledged.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct StepKept {
    /// Whether it is closed.
    pub closed: bool,
    /// What it is for, with everything that earlier steps handed to it.
    pub plan: Value,
    /// What it came to, when it is closed and that was told.
    pub outcome: Option<Value>,
    /// The marks before which the part was ground.
    pub ground: Vec<u32>,
}

/// Everything that was acknowledged.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Kept {
    /// Whether each session is closed.
    pub sessions: BTreeMap<i64, bool>,
    /// The steps, by session and number.
    pub steps: BTreeMap<(i64, u32), StepKept>,
    /// The marks, by session, step and number.
    pub marks: BTreeMap<(i64, u32, u64), MarkKept>,
    /// The notes, in order.
    pub notes: Vec<String>,
    /// Whether the clamp is tight in the open session.
    pub clamped: bool,
    /// What the closed steps of the open session found of the half angle, for a print.
    pub half_angle: Option<[u64; 2]>,
    /// What the last check of the indicator said, for every step after it.
    pub check: Option<Value>,
}

/// A check without the moment at which its step was closed, which only the daemon knows.
fn timeless(check: &Value) -> Value {
    let mut check = check.clone();
    if let Some(check) = check.as_object_mut() {
        check.remove("checked_utc_ns");
    }
    check
}

impl Kept {
    /// Checks that what is stored in a data directory is this.
    ///
    /// # Errors
    /// It is not, or it cannot be read.
    pub fn is_at(&self, data: &Path) -> Result<(), String> {
        let there = found(data)?;
        if self.agrees(None, &there) {
            return Ok(());
        }
        Err(format!("acknowledged {self:?}\nfound {there:?}"))
    }

    /// Stops the daemon in its own order, and checks that it leaves this.
    ///
    /// # Errors
    /// It fails, or what it leaves is not this.
    pub fn is_left_by(&self, room: &mut Toolroom) -> Result<(), String> {
        let ended = room.stop_daemon();
        if !ended.success() {
            return Err(format!("the daemon ended with {ended}"));
        }
        self.is_at(&room.data())
    }

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
        let (number, step) = self.steps.last_key_value()?;
        (number.0 == session && !step.closed).then_some(*number)
    }

    /// The kind of the open step.
    ///
    /// # Panics
    /// When it is one that no script opens.
    #[must_use]
    pub fn kind(&self) -> Option<Kind> {
        let plan = &self.steps.get(&self.step()?)?.plan;
        let by = |key: &str| plan["options"][key].as_str().unwrap_or_default();
        Some(match plan["kind"].as_str().unwrap_or_default() {
            "zero" => Kind::Zero,
            "sweep" if by("positions") == "cable" => Kind::Places,
            "sweep" => Kind::Feed,
            "runout" if by("angles") == "steady" => Kind::Steady,
            "runout" => Kind::Turns,
            "size" => Kind::Size,
            "dial" => Kind::Dial,
            "contact" => Kind::Contact,
            other => panic!("a {other} step"),
        })
    }

    /// The marks of the open step.
    fn open_marks(&self) -> impl DoubleEndedIterator<Item = (u64, &MarkKept)> {
        let (session, step) = self.step().unwrap_or_default();
        self.marks
            .range((session, step, 0)..=(session, step, u64::MAX))
            .map(|(key, mark)| (key.2, mark))
    }

    /// How many marks of the open step count.
    #[must_use]
    pub fn counting(&self) -> usize {
        self.open_marks()
            .filter(|(_, mark)| !mark.taken_back)
            .count()
    }

    /// Whether every reading that comes now counts: the last mark that does is a beginning or a turn.
    #[must_use]
    pub fn is_recording(&self) -> bool {
        let last = self.open_marks().rfind(|(_, mark)| !mark.taken_back);
        last.is_some_and(|(_, mark)| {
            mark.place.starts_with("begin") || mark.place.starts_with("turn")
        })
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
            Act::Step(kind) => self.begin(*kind, answer),
            Act::Mark(_) | Act::Print(_) => {
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
            Act::Record(_) => self.is_recording(),
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
            Act::Ground => {
                let before = answer["before_mark"].as_u64().unwrap_or(0) as u32;
                // Before the first mark nothing was measured, and nothing is kept.
                let measured = self.counting() > 0;
                let Some(step) = self.step().and_then(|step| self.steps.get_mut(&step)) else {
                    return false;
                };
                if measured && !step.ground.contains(&before) {
                    step.ground.push(before);
                    step.ground.sort_unstable();
                }
                before > 0
            }
            Act::CloseStep => self.end(Some(&answer["outcome"])),
            Act::CloseSession => {
                if self.step().is_some() && !self.end(None) {
                    return false;
                }
                self.clamped = false;
                self.half_angle = None;
                let session = self.session();
                session.is_some_and(|session| self.sessions.insert(session, true) == Some(false))
            }
        }
    }

    /// A step is opened: with the indicator's last check, and a print's with the half angle that was found.
    fn begin(&mut self, kind: Kind, answer: &Value) -> bool {
        let (Some(session), None) = (self.session(), self.step()) else {
            return false;
        };
        let Some(number) = answer["number"].as_u64() else {
            return false;
        };
        let plan: serde_json::Map<String, Value> = ["kind", "options", "condition", "indicator"]
            .into_iter()
            .filter_map(|key| Some((key.to_owned(), answer.get(key)?.clone())))
            .collect();
        let plan = Value::Object(plan);
        let handed = match kind {
            Kind::Contact => {
                let found = &plan["options"]["found_arcsec"];
                let bits = |n: usize| found[n].as_f64().map(f64::to_bits);
                bits(0).zip(bits(1)).map(<[u64; 2]>::from) == self.half_angle
            }
            _ => true,
        };
        let check = &plan["indicator"]["check"];
        let checked = match (&self.check, kind) {
            (Some(known), kind) if kind != Kind::Dial => timeless(check) == *known,
            _ => check.is_null(),
        };
        let key = (session, number as u32);
        let step = StepKept {
            plan,
            ..StepKept::default()
        };
        handed && checked && self.steps.insert(key, step).is_none()
    }

    /// The open step is closed; `outcome` is what it came to, where that was told.
    fn end(&mut self, outcome: Option<&Value>) -> bool {
        let step = self.step().and_then(|step| self.steps.get_mut(&step));
        let Some(step) = step.filter(|step| !step.closed) else {
            return false;
        };
        step.closed = true;
        step.outcome = outcome.cloned();
        let Some(Ok(found)) = outcome.map(|found| serde_json::from_value::<Outcome>(found.clone()))
        else {
            return true;
        };
        if let Some(found) = found.half_angle_found() {
            self.half_angle = Some(found.map(f64::to_bits));
        }
        if let (Outcome::Dial(_), Some(outcome)) = (found, outcome) {
            self.check = Some(timeless(&outcome["check"]));
        }
        true
    }

    /// Whether `found` is this, or this and an act that was under way: all of the act, or nothing of it.
    #[must_use]
    pub fn agrees(&self, under_way: Option<&Act>, found: &Self) -> bool {
        if self.is(found) {
            return true;
        }
        let Some(act) = under_way else {
            return false;
        };
        let mut next = self.clone();
        next.after(act, &self.would_be_answered(act, found)) && next.is(found)
    }

    /// What an unanswered act would have been answered with, read from what it left.
    fn would_be_answered(&self, act: &Act, found: &Self) -> Value {
        match act {
            Act::Open => json!({ "session": found.session() }),
            Act::Step(_) => {
                let step = found
                    .step()
                    .and_then(|key| Some((key, found.steps.get(&key)?)));
                let Some((key, step)) = step else {
                    return Value::Null;
                };
                let mut answer = step.plan.clone();
                answer["number"] = json!(key.1);
                answer
            }
            Act::Mark(_) | Act::Print(_) => match found.open_marks().next_back() {
                Some((number, mark)) => json!({
                    "number": number, "place": mark.place, "round": mark.round,
                    "value_mm": f64::from_bits(mark.value),
                }),
                None => Value::Null,
            },
            Act::Ground => {
                // Which of them is new; where none is, it was said before.
                let ground = |kept: &Self| {
                    let step = kept.step().and_then(|step| kept.steps.get(&step));
                    step.map_or_else(Vec::new, |step| step.ground.clone())
                };
                let (before, after) = (ground(self), ground(found));
                let new = after.iter().find(|mark| !before.contains(mark));
                json!({ "before_mark": new.or_else(|| after.last()) })
            }
            Act::CloseStep => {
                let step = self.step().and_then(|step| found.steps.get(&step));
                json!({ "outcome": step.and_then(|step| step.outcome.clone()) })
            }
            _ => Value::Null,
        }
    }

    /// Whether `found` is this. What a step came to is known only where it was told.
    fn is(&self, found: &Self) -> bool {
        let mut own = self.clone();
        for (key, step) in &mut own.steps {
            let there = found.steps.get(key);
            if step.closed && step.outcome.is_none() {
                step.outcome = there.and_then(|there| there.outcome.clone());
            }
        }
        own == *found
    }

    /// Takes up the session of a record.
    fn take(&mut self, record: &Record) {
        let session = record.session.id;
        self.sessions
            .insert(session, record.session.closed_utc_ns.is_some());
        for step in &record.steps {
            let kept = StepKept {
                closed: step.closed.is_some(),
                plan: as_told(serde_json::to_string(&step.plan)),
                outcome: step
                    .closed
                    .map(|_| as_told(serde_json::to_string(&step.outcome))),
                ground: step.evidence.ground_before.clone(),
            };
            self.steps.insert((session, step.number), kept);
            self.take_marks((session, step.number), &step.evidence);
        }
        let notes = record.events.iter().filter(|e| e.what == EventKind::Note);
        self.notes.extend(notes.map(|event| event.text.clone()));
    }

    fn take_marks(&mut self, (session, step): (i64, u32), evidence: &Evidence) {
        let kept = |mark: &Mark| MarkKept {
            place: mark.place.to_string(),
            round: u64::from(mark.round),
            value: evidence
                .value(mark)
                .map_or(f64::NAN, |value| value.value_mm)
                .to_bits(),
            taken_back: mark.taken_back,
        };
        for mark in &evidence.marks {
            let key = (session, step, u64::from(mark.number));
            let twice = self.marks.insert(key, kept(mark));
            assert!(twice.is_none(), "mark {key:?} is there twice");
        }
    }
}

/// As an answer says it: every number as it comes back from its text.
fn as_told(text: serde_json::Result<String>) -> Value {
    serde_json::from_str(&text.unwrap()).unwrap()
}

/// What is on the disk, after the daemon's own way of opening it; the store must be sound.
///
/// # Errors
/// It cannot be opened, or is not sound, in words.
pub fn found(data: &Path) -> Result<Kept, String> {
    found_with_records(data).map(|(kept, _)| kept)
}

/// The same, with the records of all sessions.
///
/// # Errors
/// As [`found`].
pub fn found_with_records(data: &Path) -> Result<(Kept, Vec<Record>), String> {
    let told = |what: &str, error: &dyn std::fmt::Display| format!("{what}: {error}");
    let mut store = Store::open(data, Box::new(NoFault)).map_err(|e| told("open", &e))?;
    let restored = store.restore().map_err(|e| told("restore", &e))?;
    let soundness = check(data).map_err(|e| told("check", &e))?;
    if !soundness.is_sound() {
        return Err(format!(
            "not sound: {:?} {:?}",
            soundness.faults, soundness.lost
        ));
    }
    let open = restored.open.as_ref();
    let half_angle = open.and_then(|open| open.found.half_angle_arcsec);
    let mut kept = Kept {
        clamped: open.is_some_and(|open| open.clamped),
        half_angle: half_angle.map(|found| found.map(f64::to_bits)),
        check: restored
            .checked
            .get("bench")
            .map(|check| timeless(&as_told(serde_json::to_string(check)))),
        ..Kept::default()
    };
    let mut reader = Reader::open(data).map_err(|e| told("read", &e))?;
    let mut sessions = reader
        .sessions(&SessionFilter::default())
        .map_err(|e| told("list", &e))?;
    sessions.reverse();
    let mut records = Vec::new();
    for line in sessions {
        let which = Which::Number(line.session);
        let record = reader.session(which, "").map_err(|e| told("record", &e))?;
        kept.take(&record);
        records.push(record);
    }
    drop(reader);
    // Without its closing, which would bring the log into the file: the next image is made from the same journal.
    drop(store);
    Ok((kept, records))
}
