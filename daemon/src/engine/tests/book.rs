//! The plain book: what was acknowledged, line by line, and nothing computed. It knows nothing of readings, drafts or tables.

use super::act::Act;
use crate::store::{Reader, Which, check};
use protocol::api::{SessionFilter, Status};
use protocol::plan::StepKind;
use protocol::record::{EventKind, Record, Verified, verify};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::Path;

/// A mark: where, in which round, what, and whether it was taken back.
#[derive(Debug, Clone, PartialEq)]
struct Line {
    place: String,
    round: u64,
    /// As bits: the same number to the last one.
    value: Option<u64>,
    taken_back: bool,
}

/// A step.
#[derive(Debug, Clone, Default, PartialEq)]
struct Sheet {
    kind: String,
    closed: bool,
    marks: BTreeMap<u64, Line>,
    ground: Vec<u64>,
}

/// A session.
#[derive(Debug, Clone, Default, PartialEq)]
struct Page {
    closed: bool,
    steps: BTreeMap<u64, Sheet>,
    notes: Vec<String>,
    /// Whether the clamp was tight from then on.
    clamps: Vec<bool>,
    /// How often what a cable has was accepted.
    accepted: usize,
}

/// All of it, by the session's number.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Book(BTreeMap<i64, Page>);

/// As an answer has it.
fn kind_name(kind: StepKind) -> String {
    let name = serde_json::to_value(kind).unwrap();
    name.as_str().unwrap().to_owned()
}

fn bits(value: &Value) -> Option<u64> {
    value.as_f64().map(f64::to_bits)
}

impl Book {
    fn page(&mut self) -> Option<&mut Page> {
        let (_, page) = self.0.iter_mut().next_back()?;
        (!page.closed).then_some(page)
    }

    fn sheet(&mut self) -> Option<&mut Sheet> {
        let (_, sheet) = self.page()?.steps.iter_mut().next_back()?;
        (!sheet.closed).then_some(sheet)
    }

    /// Writes down what was acknowledged.
    ///
    /// # Errors
    /// It can not have been acknowledged here, or not so.
    pub fn write(&mut self, act: &Act, answer: &Value) -> Result<(), String> {
        let wrong = || format!("{act:?} was acknowledged with {answer}, against {self:?}");
        let mut next = self.clone();
        if next.written(act, answer).is_none() {
            return Err(wrong());
        }
        *self = next;
        Ok(())
    }

    fn written(&mut self, act: &Act, answer: &Value) -> Option<()> {
        match act {
            Act::Open => {
                let number = answer["session"].as_i64()?;
                let above = self
                    .0
                    .last_key_value()
                    .is_none_or(|(last, _)| *last < number);
                let free = self.page().is_none() && above;
                free.then(|| self.0.insert(number, Page::default()))?;
            }
            Act::CloseSession => {
                if let Some(sheet) = self.sheet() {
                    sheet.closed = true;
                }
                self.page()?.closed = true;
            }
            Act::Step(_) => {
                let number = answer["number"].as_u64()?;
                let free = self.sheet().is_none();
                let page = self.page()?;
                let next = page.steps.len() as u64 + 1;
                let sheet = Sheet {
                    kind: answer["kind"].as_str()?.to_owned(),
                    ..Sheet::default()
                };
                (free && number == next).then(|| page.steps.insert(number, sheet))?;
            }
            Act::CloseStep => self.sheet()?.closed = true,
            Act::Type(_) | Act::Mark(_) | Act::At(_) => {
                let number = answer["number"].as_u64()?;
                let line = Line {
                    place: answer["place"].as_str()?.to_owned(),
                    round: answer["round"].as_u64()?,
                    value: bits(&answer["value_mm"]),
                    taken_back: false,
                };
                let sheet = self.sheet()?;
                // A number is never used again.
                let next = sheet.marks.len() as u64 + 1;
                (number == next).then(|| sheet.marks.insert(number, line))?;
            }
            Act::Undo => {
                let number = answer["number"].as_u64()?;
                let marks = &mut self.sheet()?.marks;
                let (last, line) = marks.iter_mut().rfind(|(_, line)| !line.taken_back)?;
                (*last == number).then(|| line.taken_back = true)?;
            }
            // Said again, it is nothing new.
            Act::Clamp(tight) => {
                let page = self.page()?;
                let is_tight = page.clamps.last().copied().unwrap_or(false);
                if is_tight != *tight {
                    page.clamps.push(*tight);
                }
            }
            Act::Ground => {
                let before = answer["before_mark"].as_u64()?;
                let sheet = self.sheet()?;
                let measured = sheet.marks.values().any(|line| !line.taken_back);
                if measured && !sheet.ground.contains(&before) {
                    sheet.ground.push(before);
                    sheet.ground.sort_unstable();
                }
            }
            Act::Note(number) => self.page()?.notes.push(format!("note {number}")),
            // Without a session it counts from now on, and nobody writes it down.
            Act::Accept => {
                if let Some(page) = self.page() {
                    page.accepted += 1;
                }
            }
            Act::Flush => {}
        }
        Some(())
    }

    /// Whether the store has just this, in sound files, and every record computes what it says.
    ///
    /// # Errors
    /// It has not, in words.
    pub fn is_in(&self, data: &Path) -> Result<(), String> {
        let soundness = check(data).map_err(|error| format!("check: {error}"))?;
        if !soundness.is_sound() {
            return Err(format!(
                "not sound: {:?} {:?}",
                soundness.faults, soundness.lost
            ));
        }
        let mut found = Self::default();
        for record in records(data)? {
            found.0.insert(record.session.id, page_of(&record));
            match verify(&record.write()) {
                Ok(Verified::Agrees { .. }) => {}
                other => return Err(format!("a record of the store: {other:?}")),
            }
        }
        if found == *self {
            return Ok(());
        }
        Err(format!("acknowledged {self:?}\nfound        {found:?}"))
    }

    /// Whether a status shows just this of the open session.
    ///
    /// # Errors
    /// It does not, in words.
    pub fn is_shown_by(&self, status: &Status) -> Result<(), String> {
        let mut own = self.clone();
        let session = own.page().is_some().then(|| self.0.last_key_value());
        let session = session.flatten().map(|(number, _)| *number);
        let shown = status.session.as_ref().map(|session| session.id);
        let step = own.sheet().map(|sheet| sheet.kind.clone());
        let shown_step = status.step.map(|step| kind_name(step.kind));
        let counting = own.sheet().map_or(0, |sheet| {
            let with_value = |line: &&Line| !line.taken_back && line.value.is_some();
            sheet.marks.values().filter(with_value).count()
        });
        let shown_marks = status
            .marks
            .iter()
            .filter(|line| line.value.is_some())
            .count();
        if (session, &step, counting) == (shown, &shown_step, shown_marks) {
            return Ok(());
        }
        Err(format!(
            "acknowledged {:?}, shown {:?}",
            (session, step, counting),
            (shown, shown_step, shown_marks)
        ))
    }

    /// How many marks were acknowledged.
    pub fn marks(&self) -> usize {
        let steps = self.0.values().flat_map(|page| page.steps.values());
        steps.map(|sheet| sheet.marks.len()).sum()
    }
}

/// The records of all sessions, the oldest first.
fn records(data: &Path) -> Result<Vec<Record>, String> {
    let read = |error| format!("the store cannot be read: {error}");
    let mut reader = Reader::open(data).map_err(read)?;
    let mut lines = reader.sessions(&SessionFilter::default()).map_err(read)?;
    lines.reverse();
    let number = |line: &protocol::api::SessionLine| Which::Number(line.session);
    let each = lines
        .iter()
        .map(|line| reader.session(number(line), "").map_err(read));
    each.collect()
}

/// The outcome of the open step in the store, or of the last one.
pub(super) fn outcome_in(data: &Path) -> Result<Value, String> {
    let records = records(data)?;
    let step = records.last().and_then(|record| record.steps.last());
    Ok(serde_json::to_value(step.and_then(|step| step.outcome.as_ref())).unwrap())
}

fn page_of(record: &Record) -> Page {
    let of = |kind: EventKind| record.events.iter().filter(move |event| event.what == kind);
    Page {
        closed: record.session.closed_utc_ns.is_some(),
        steps: record.steps.iter().map(sheet_of).collect(),
        notes: of(EventKind::Note)
            .map(|event| event.text.clone())
            .collect(),
        clamps: of(EventKind::Clamp)
            .map(|event| event.text.contains("tight"))
            .collect(),
        accepted: of(EventKind::Cable)
            .filter(|event| event.text.starts_with("the user accepted"))
            .count(),
    }
}

fn sheet_of(step: &protocol::record::StepRecord) -> (u64, Sheet) {
    let evidence = &step.evidence;
    let line = |mark: &protocol::evidence::Mark| Line {
        place: mark.place.to_string(),
        round: u64::from(mark.round),
        value: evidence.value(mark).map(|value| value.value_mm.to_bits()),
        taken_back: mark.taken_back,
    };
    let marks = evidence.marks.iter();
    let sheet = Sheet {
        kind: kind_name(step.plan.kind()),
        closed: step.closed.is_some(),
        marks: marks
            .map(|mark| (u64::from(mark.number), line(mark)))
            .collect(),
        ground: evidence
            .ground_before
            .iter()
            .copied()
            .map(u64::from)
            .collect(),
    };
    (u64::from(step.number), sheet)
}
