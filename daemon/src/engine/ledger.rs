//! What has to go into the store, and what is on its way there.
//!
//! One transaction is under way at a time. Readings gather while it is, so that a slow disk makes larger groups
//! and no queue; a change takes the readings before it along, and is answered when all of it is on the disk.

use super::change::{Answer, Pending};
use crate::store::{ReadingRow, Row, StoreError, Write, Writer, Written};
use protocol::api::Done;
use protocol::evidence::Time;
use std::time::Duration;
use tokio::time::Instant;

/// How long a reading waits for others to share its transaction.
const GATHER: Duration = Duration::from_millis(20);
/// How long the store is left alone after it refused readings. A change is tried at once.
const AFTER_REFUSAL: Duration = Duration::from_secs(1);
/// Readings that wait while the store refuses; beyond it the oldest are given up, and counted.
const MOST_READINGS: usize = 20_000;
/// Events that wait; beyond it the oldest are given up.
const MOST_ROWS: usize = 1_000;

/// What is under way.
enum UnderWay {
    /// Readings and events, and somebody who waits until they are there.
    Group(Option<Answer<Done>>),
    /// A change that somebody waits for.
    Change(Box<Pending>),
}

/// Why the store refuses, and how often it has.
struct Refusing {
    why: String,
    times: u64,
}

/// What came of a transaction, for the engine.
pub(crate) enum Came {
    /// Nothing that anybody waits for.
    Nothing,
    /// A change is on the disk.
    Stored(Box<Pending>),
    /// A change was refused.
    Refused(Box<Pending>, StoreError),
}

/// What has to go into the store.
pub(crate) struct Ledger {
    writer: Writer,
    readings: Vec<ReadingRow>,
    rows: Vec<Row>,
    under_way: Option<UnderWay>,
    /// What the store's thread did not take since it has ended.
    undelivered: Option<Write>,
    due: Option<Instant>,
    refusing: Option<Refusing>,
    /// Readings given up while the store refused; told once it takes again.
    lost: u64,
    /// Of these, those that nobody has been told of yet.
    given_up: Vec<ReadingRow>,
}

impl Ledger {
    pub fn new(writer: Writer) -> Self {
        Self {
            writer,
            readings: Vec::new(),
            rows: Vec::new(),
            under_way: None,
            undelivered: None,
            due: None,
            refusing: None,
            lost: 0,
            given_up: Vec::new(),
        }
    }

    /// Whether nothing is under way.
    pub fn is_idle(&self) -> bool {
        self.under_way.is_none()
    }

    /// When the gathered readings have to go.
    pub fn due(&self) -> Option<Instant> {
        self.due
    }

    /// Why the store refuses, for the user.
    pub fn refusing(&self) -> Option<&str> {
        self.refusing.as_ref().map(|refusing| &*refusing.why)
    }

    /// How many readings were given up, once the store takes again.
    pub fn take_lost(&mut self) -> Option<u64> {
        (self.refusing.is_none() && self.lost > 0).then(|| std::mem::take(&mut self.lost))
    }

    /// The readings that were given up since this was asked: they are in no record, and must count nowhere.
    pub fn take_given_up(&mut self) -> Vec<ReadingRow> {
        std::mem::take(&mut self.given_up)
    }

    /// A reading of the open step.
    pub fn reading(&mut self, row: ReadingRow) {
        self.readings.push(row);
        // A tenth more at a time, so that a store that refuses for long does not cost a shift per reading.
        if self.readings.len() > MOST_READINGS + MOST_READINGS / 10 {
            self.give_up_oldest();
        }
        self.due.get_or_insert_with(|| Instant::now() + GATHER);
    }

    /// Something that nobody waits for.
    pub fn row(&mut self, row: Row) {
        self.rows.push(row);
        if self.rows.len() > MOST_ROWS {
            self.rows.remove(0);
        }
        self.due.get_or_insert_with(|| Instant::now() + GATHER);
    }

    /// Sends what has gathered. Only when nothing is under way. `waiting` is answered when it was tried: whoever
    /// reads the store then finds all that it takes.
    pub fn send_group(&mut self, waiting: Option<Answer<Done>>) {
        self.due = None;
        if self.readings.is_empty() && self.rows.is_empty() {
            tried(waiting);
            return;
        }
        let write = Write {
            readings: std::mem::take(&mut self.readings),
            rows: std::mem::take(&mut self.rows),
        };
        self.under_way = Some(UnderWay::Group(waiting));
        self.hand_over(write);
    }

    /// Sends a change. Only when nothing is under way.
    pub fn send_change(&mut self, mut pending: Pending) {
        let mut write = std::mem::take(&mut pending.write);
        // Where little room is left the mark alone may still find it, so nothing else goes along then; but a moment of what
        // is recorded is nothing without the readings before it.
        if self.refusing.is_none() || pending.with_readings {
            self.due = None;
            let mut rows = std::mem::take(&mut self.rows);
            rows.append(&mut write.rows);
            write.rows = rows;
            let mut readings = std::mem::take(&mut self.readings);
            readings.append(&mut write.readings);
            write.readings = readings;
        }
        self.under_way = Some(UnderWay::Change(Box::new(pending)));
        self.hand_over(write);
    }

    fn hand_over(&mut self, write: Write) {
        // Only a thread that is gone takes nothing.
        self.undelivered = self.writer.write(write).err();
    }

    /// Waits for the transaction under way. May be dropped while it waits.
    pub async fn written(&mut self) -> Written {
        let ended = |write| Written {
            write,
            result: Err(StoreError::Ended),
        };
        match self.undelivered.take() {
            Some(write) => ended(write),
            None => self
                .writer
                .written()
                .await
                .unwrap_or_else(|| ended(Write::default())),
        }
    }

    /// Takes note of what became of the transaction under way.
    pub fn came(&mut self, Written { write, result }: Written) -> Came {
        let Some(under_way) = self.under_way.take() else {
            return Came::Nothing;
        };
        match (result, under_way) {
            (Ok(()), under_way) => {
                self.takes_again();
                self.leave_closed_steps(&write.rows);
                match under_way {
                    UnderWay::Group(waiting) => {
                        tried(waiting);
                        Came::Nothing
                    }
                    UnderWay::Change(pending) => Came::Stored(pending),
                }
            }
            (Err(error), under_way) => {
                self.refuses(&error);
                match under_way {
                    UnderWay::Group(waiting) => {
                        tried(waiting);
                        self.keep(write);
                        Came::Nothing
                    }
                    UnderWay::Change(pending) => {
                        self.keep(pending.without_its_own(write));
                        Came::Refused(pending, error)
                    }
                }
            }
        }
    }

    /// Gives up readings that came after the end of their step, while that end was on its way to the disk: else they would be
    /// added to a record that somebody may have by then.
    fn leave_closed_steps(&mut self, rows: &[Row]) {
        for row in rows {
            if let Row::StepClosed { id, closed } = row {
                let late = |row: &ReadingRow| row.step == *id && row.reading.t > *closed;
                self.readings.retain(|row| !late(row));
            }
        }
    }

    /// Keeps for later what the store did not take.
    fn keep(&mut self, mut write: Write) {
        write.readings.append(&mut self.readings);
        self.readings = write.readings;
        write.rows.append(&mut self.rows);
        self.rows = write.rows;
        let over = self.rows.len().saturating_sub(MOST_ROWS);
        self.rows.drain(..over);
        self.give_up_oldest();
        self.due = Some(Instant::now() + AFTER_REFUSAL);
    }

    fn give_up_oldest(&mut self) {
        let over = self.readings.len().saturating_sub(MOST_READINGS);
        self.given_up.extend(self.readings.drain(..over));
        self.lost += over as u64;
    }

    fn refuses(&mut self, error: &StoreError) {
        let why = error.to_string();
        match &mut self.refusing {
            Some(refusing) if refusing.why == why => refusing.times += 1,
            _ => {
                tracing::error!(%error, "the store refuses; readings wait in memory");
                self.refusing = Some(Refusing { why, times: 1 });
            }
        }
    }

    fn takes_again(&mut self) {
        if let Some(Refusing { why, times }) = self.refusing.take() {
            let lost = self.lost;
            tracing::info!(why, times, lost, "the store takes again");
            self.due = Some(Instant::now());
        }
    }

    /// Writes all that is left, ends the run and closes the store. Only when nothing is under way.
    pub async fn close(mut self, at: Time) -> Result<(), StoreError> {
        self.send_group(None);
        let left = if self.is_idle() {
            Ok(())
        } else {
            self.written().await.result
        };
        self.writer.close(at).await.and(left)
    }
}

fn tried(waiting: Option<Answer<Done>>) {
    if let Some(waiting) = waiting {
        // A client that has gone does not need its answer.
        drop(waiting.send(Ok(Done {})));
    }
}
