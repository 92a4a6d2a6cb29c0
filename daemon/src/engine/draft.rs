//! A change before it is in force: the session as it will be, and the rows that the store has to commit first.

use super::session::Session;
use super::step::LearnedChange;
use crate::store::{Row, Write};
use metrology::dial::IndicatorCheck;
use protocol::api::Refusal;

/// A draft and the reply to its client, or why the change is rejected.
pub(crate) type Drafted<T> = Result<(Draft, T), Refusal>;

/// What a change would make of the current session, and what has to be stored for it.
#[derive(Debug, Default)]
pub(crate) struct Draft {
    pub write: Write,
    /// The current session afterwards; none when it is closed. Readings that arrive before the commit are added to it as well.
    pub after: Option<Session>,
    /// What the open step has taught about its fixture, when that has changed.
    pub learned: Option<LearnedChange>,
    /// The check of an indicator, by its cable's name.
    pub checked: Option<(String, IndicatorCheck)>,
    /// The cable whose instrument is accepted with it.
    pub accepted: Option<String>,
    /// Whether the change needs the readings before it: the store commits both or neither.
    pub with_readings: bool,
}

impl Draft {
    pub fn of(rows: Vec<Row>, after: Option<Session>) -> Self {
        let mut draft = Self {
            after,
            ..Self::default()
        };
        draft.write.rows = rows;
        draft
    }

    /// The same with what the step teaches.
    pub fn learning(mut self, learned: Option<LearnedChange>) -> Self {
        self.write
            .rows
            .extend(learned.as_ref().map(LearnedChange::row));
        self.learned = learned;
        self
    }
}

/// A draft that the store is committing.
pub(crate) struct Pending {
    pub draft: Draft,
    /// How many readings and rows at the end of the transaction belong to the draft.
    own: (usize, usize),
    /// What is not done when the store rejects the draft, for the user.
    pub not_done: &'static str,
    /// Answers the client.
    pub answer: Box<dyn FnOnce(Result<(), Refusal>) + Send>,
}

impl Pending {
    pub fn new(
        draft: Draft,
        not_done: &'static str,
        answer: Box<dyn FnOnce(Result<(), Refusal>) + Send>,
    ) -> Self {
        Self {
            own: (draft.write.readings.len(), draft.write.rows.len()),
            draft,
            not_done,
            answer,
        }
    }

    /// What the transaction held beside the draft. It has to be written again when the store rejects the draft.
    pub fn without_its_own(&self, mut write: Write) -> Write {
        let (readings, rows) = self.own;
        write
            .readings
            .truncate(write.readings.len().saturating_sub(readings));
        write.rows.truncate(write.rows.len().saturating_sub(rows));
        write
    }
}
