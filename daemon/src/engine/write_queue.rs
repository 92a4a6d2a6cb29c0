//! The rows and readings that wait for the store, and the transaction that it commits.
//!
//! There is one transaction at a time. Readings gather meanwhile, so that a slow disk makes larger groups and no longer queue.
//! A change is committed together with the readings before it, and acknowledged when all of it is on the disk.

use super::draft::Pending;
use super::request::Answer;
use super::session::Session;
use crate::store::{ReadingRow, Row, StoreError, Write, Writer, Written};
use protocol::api::Done;
use protocol::evidence::Time;
use std::time::Duration;
use tokio::time::Instant;

/// How long a reading waits for others to share its transaction.
/// A mark takes the readings before it along at once.
const GATHER: Duration = Duration::from_secs(1);
/// So many are sent at once, however little time they took to come.
const FULL: usize = 10_000;
/// How long the engine waits before it retries readings that the store rejected. It tries a change at once.
const AFTER_REFUSAL: Duration = Duration::from_secs(1);
/// Readings that wait while the store rejects writes; beyond it the oldest are dropped, and counted.
const MOST_READINGS: usize = 20_000;
/// Readings that wait while the store is slow: some 8 MiB. A port that sends without a pause is ahead of any disk for a while.
const MOST_BEHIND: usize = 100_000;
/// Events that wait; beyond it the oldest are dropped, and counted.
const MOST_ROWS: usize = 1_000;

/// The transaction under way.
enum UnderWay {
    /// Readings and events, and a client that waits until they are committed.
    Group(Option<Answer<Done>>),
    /// A change that a client waits for.
    Change(Box<Pending>),
}

/// Why the store rejects writes, and how often it has.
struct Refusing {
    why: String,
    times: u64,
}

/// What was dropped while the store rejected writes.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Lost {
    pub readings: u64,
    pub events: u64,
}

/// The result of a transaction, for the engine.
pub(crate) enum WriteOutcome {
    /// Readings and events alone: the engine has nothing to do.
    Nothing,
    /// The store committed a change.
    Stored(Box<Pending>),
    /// The store rejected a change.
    Refused(Box<Pending>, StoreError),
}

/// What waits for the store.
pub(crate) struct WriteQueue {
    writer: Writer,
    readings: Vec<ReadingRow>,
    rows: Vec<Row>,
    under_way: Option<UnderWay>,
    /// What could not be handed over because the store's thread has ended.
    undelivered: Option<Write>,
    due: Option<Instant>,
    refusing: Option<Refusing>,
    /// Reported once the store accepts writes again.
    lost: Lost,
    /// Those of them that the engine has not removed from the recording yet.
    given_up: Vec<ReadingRow>,
}

impl WriteQueue {
    pub fn new(writer: Writer) -> Self {
        Self {
            writer,
            readings: Vec::new(),
            rows: Vec::new(),
            under_way: None,
            undelivered: None,
            due: None,
            refusing: None,
            lost: Lost::default(),
            given_up: Vec::new(),
        }
    }

    /// Whether no transaction is under way.
    pub fn is_idle(&self) -> bool {
        self.under_way.is_none()
    }

    /// When the gathered readings have to be sent.
    pub fn due(&self) -> Option<Instant> {
        self.due
    }

    /// Why the store rejects writes, for the user.
    pub fn refusing(&self) -> Option<&str> {
        self.refusing.as_ref().map(|refusing| &*refusing.why)
    }

    /// What was dropped, once the store accepts writes again.
    pub fn take_lost(&mut self) -> Option<Lost> {
        let any = self.refusing.is_none() && self.lost != Lost::default();
        any.then(|| std::mem::take(&mut self.lost))
    }

    /// The readings that were dropped since the last call: no record has them, so they must count nowhere.
    pub fn take_given_up(&mut self) -> Vec<ReadingRow> {
        std::mem::take(&mut self.given_up)
    }

    /// A reading of the open step.
    pub fn reading(&mut self, row: ReadingRow) {
        self.readings.push(row);
        let most = self.most_readings();
        // A tenth more at a time, so that a store that refuses for long does not cost a shift per reading.
        if self.readings.len() > most + most / 10 {
            self.give_up_oldest();
        }
        let now = Instant::now();
        let due = self.due.get_or_insert(now + GATHER);
        if self.readings.len() >= FULL && self.refusing.is_none() {
            *due = now.min(*due);
        }
    }

    /// A row that no client waits for.
    pub fn row(&mut self, row: Row) {
        self.rows.push(row);
        self.give_up_oldest_rows();
        self.due.get_or_insert_with(|| Instant::now() + GATHER);
    }

    /// Sends what has gathered. Only when no transaction is under way. `waiting` gets its answer after the attempt: a client
    /// that then reads the store finds all that was accepted.
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

    /// Sends a change. Only when no transaction is under way.
    pub fn send_change(&mut self, mut pending: Pending) {
        let mut write = std::mem::take(&mut pending.draft.write);
        // On a disk that is nearly full there may be room for the mark alone, so nothing else is sent with it then. But the
        // begin or end of a recording needs the readings before it.
        if self.refusing.is_none() || pending.draft.with_readings {
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
        // Handing over fails only when the thread has ended.
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

    /// The session as the change under way would have it: readings that arrive belong to it as well.
    pub fn session_under_way(&mut self) -> Option<&mut Session> {
        match &mut self.under_way {
            Some(UnderWay::Change(pending)) => pending.draft.after.as_mut(),
            Some(UnderWay::Group(_)) | None => None,
        }
    }

    /// Ends the transaction under way with its result.
    pub fn finish(&mut self, Written { write, result }: Written) -> WriteOutcome {
        let Some(under_way) = self.under_way.take() else {
            return WriteOutcome::Nothing;
        };
        match (result, under_way) {
            (Ok(()), under_way) => {
                self.takes_again();
                self.leave_closed_steps(&write.rows);
                match under_way {
                    UnderWay::Group(waiting) => {
                        tried(waiting);
                        WriteOutcome::Nothing
                    }
                    UnderWay::Change(pending) => WriteOutcome::Stored(pending),
                }
            }
            (Err(error), under_way) => {
                self.refuses(&error);
                match under_way {
                    UnderWay::Group(waiting) => {
                        tried(waiting);
                        self.keep(write);
                        WriteOutcome::Nothing
                    }
                    UnderWay::Change(pending) => {
                        self.keep(pending.without_its_own(write));
                        WriteOutcome::Refused(pending, error)
                    }
                }
            }
        }
    }

    /// Drops readings that arrived after the end of their step, while that end was being committed: else they would be added to
    /// a record that somebody may have exported by then.
    fn leave_closed_steps(&mut self, rows: &[Row]) {
        for row in rows {
            if let Row::StepClosed { id, closed } = row {
                let late = |row: &ReadingRow| row.step == *id && row.reading.t > *closed;
                self.readings.retain(|row| !late(row));
            }
        }
    }

    /// Keeps for a retry what the store rejected.
    fn keep(&mut self, mut write: Write) {
        write.readings.append(&mut self.readings);
        self.readings = write.readings;
        write.rows.append(&mut self.rows);
        self.rows = write.rows;
        self.give_up_oldest_rows();
        self.give_up_oldest();
        self.due = Some(Instant::now() + AFTER_REFUSAL);
    }

    const fn most_readings(&self) -> usize {
        if self.refusing.is_some() {
            MOST_READINGS
        } else {
            MOST_BEHIND
        }
    }

    fn give_up_oldest(&mut self) {
        let over = self.readings.len().saturating_sub(self.most_readings());
        self.given_up.extend(self.readings.drain(..over));
        self.lost.readings += over as u64;
    }

    fn give_up_oldest_rows(&mut self) {
        let over = self.rows.len().saturating_sub(MOST_ROWS);
        self.rows.drain(..over);
        self.lost.events += over as u64;
    }

    fn refuses(&mut self, error: &StoreError) {
        let why = error.to_string();
        match &mut self.refusing {
            Some(refusing) if refusing.why == why => refusing.times += 1,
            _ => {
                tracing::error!(%error, "the store rejects writes; readings wait in memory");
                self.refusing = Some(Refusing { why, times: 1 });
            }
        }
    }

    fn takes_again(&mut self) {
        if let Some(Refusing { why, times }) = self.refusing.take() {
            let Lost { readings, events } = self.lost;
            tracing::info!(
                why,
                times,
                readings,
                events,
                "the store accepts writes again"
            );
            self.due = Some(Instant::now());
        }
    }

    /// Writes all that is left, ends the run and closes the store. Only when no transaction is under way.
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::{NoFault, Store};
    use metrology::Length;
    use protocol::evidence::Reading;
    use std::sync::Arc;

    fn reading(seq: u64) -> ReadingRow {
        ReadingRow {
            step: 1,
            cable: Arc::from("bench"),
            reading: Reading {
                seq,
                t: Time(seq as i64),
                value: Length::from_um(1),
                resolution: Length::from_um(1),
            },
        }
    }

    #[tokio::test]
    async fn drops_readings_of_a_store_that_rejects_them_and_not_of_a_slow_one() {
        let directory = tempfile::tempdir().unwrap();
        let store = Store::open(directory.path(), Box::new(NoFault)).unwrap();
        let (writer, _hand) = Writer::by_hand(store);
        let mut queue = WriteQueue::new(writer);
        let many = 4 * MOST_READINGS as u64;
        (0..many).for_each(|seq| queue.reading(reading(seq)));
        assert_eq!(queue.take_given_up(), []);
        assert_eq!(queue.lost, Lost::default());
        queue.refuses(&StoreError::Ended);
        queue.reading(reading(many));
        let given_up = queue.take_given_up();
        assert_eq!(given_up.len() as u64, many + 1 - MOST_READINGS as u64);
        assert_eq!(given_up[0], reading(0), "the oldest first");
    }
}
