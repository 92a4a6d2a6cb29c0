//! A live view that writes down every reading it is told, for comparing with what is on the disk after a kill.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use protocol::api::{Live, LiveReading};
use protocol::evidence::Time;
use protocol::record::{Record, StepRecord};
use std::collections::{BTreeMap, BTreeSet};
use std::io::{BufRead, BufReader, Write};
use std::os::unix::net::UnixStream;
use std::path::Path;
use std::thread::JoinHandle;

/// The live view, as long as its daemon lives.
#[derive(Debug)]
pub struct Hearing(JoinHandle<Vec<LiveReading>>);

impl Hearing {
    /// Begins to listen, where a daemon does.
    #[must_use]
    pub fn begin(socket: &Path) -> Option<Self> {
        let mut stream = UnixStream::connect(socket).ok()?;
        stream
            .write_all(b"GET /v1/events HTTP/1.1\r\nhost: conewright\r\n\r\n")
            .ok()?;
        Some(Self(std::thread::spawn(move || {
            let mut heard = Vec::new();
            // A line that the kill has cut short is no event.
            for line in BufReader::new(stream).lines().map_while(Result::ok) {
                let event = line.strip_prefix("data: ").map(serde_json::from_str);
                if let Some(Ok(Live::Reading(reading))) = event {
                    heard.push(reading);
                }
            }
            heard
        })))
    }

    /// What was told until the daemon was gone.
    ///
    /// # Panics
    /// When the live view was at fault.
    #[must_use]
    pub fn end(self) -> Vec<LiveReading> {
        self.0.join().unwrap()
    }
}

/// What was done to a step in the life of one daemon.
#[derive(Debug, Clone, Default)]
pub struct Touched {
    /// It was opened in that life, and not found open.
    pub opened: bool,
    /// The marks that were acknowledged.
    pub marks: BTreeSet<u32>,
}

/// What became of the readings that a live view was told of.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Kept {
    /// Told before a mark that was acknowledged, and there.
    pub promised: usize,
    /// Told after it, and there all the same.
    pub after: usize,
    /// Told after it, and gone with the daemon.
    pub gone: usize,
    /// How long before the last that was told the first that is gone came, s.
    pub longest_gone_s: f64,
}

impl Kept {
    /// Adds another life's.
    pub fn add(&mut self, other: &Self) {
        self.promised += other.promised;
        self.after += other.after;
        self.gone += other.gone;
        self.longest_gone_s = self.longest_gone_s.max(other.longest_gone_s);
    }
}

/// Compares what was told with what is on the disk. Every reading up to an acknowledged mark is there; of those after it all, or
/// all up to one of them: none is missing before one that is there.
///
/// # Errors
/// What is missing, or is another.
pub fn compare(
    heard: &[LiveReading],
    touched: &BTreeMap<(i64, u32), Touched>,
    records: &[Record],
) -> Result<Kept, String> {
    let mut kept = Kept::default();
    for ((session, number), touched) in touched {
        let record = records.iter().find(|record| record.session.id == *session);
        let step = record.and_then(|r| Some((r, r.steps.iter().find(|s| s.number == *number)?)));
        let (record, step) =
            step.ok_or_else(|| format!("step {number} of session {session} is gone"))?;
        // Other cables are shown and not stored.
        let own = |told: &&LiveReading| step.plan.takes(&told.cable, &record.setup);
        let heard: Vec<&LiveReading> = heard.iter().filter(own).collect();
        let found = of_step(&heard, touched, step);
        kept.add(&found.map_err(|wrong| format!("step {number} of session {session}: {wrong}"))?);
    }
    Ok(kept)
}

fn of_step(heard: &[&LiveReading], touched: &Touched, step: &StepRecord) -> Result<Kept, String> {
    let mut kept = Kept::default();
    let marks = || {
        let marks = step.evidence.marks.iter();
        marks
            .filter(|mark| touched.marks.contains(&mark.number))
            .map(|mark| mark.t)
    };
    // Between the moment that a step is asked for and that at which it is open its readings are not stored.
    let from = if touched.opened {
        marks().min()
    } else {
        Some(Time(i64::MIN))
    };
    let Some(from) = from else {
        return Ok(kept);
    };
    let promised = marks().max().unwrap_or(Time(i64::MIN));
    let until = step.closed.unwrap_or(Time(i64::MAX));
    let mut first_gone: BTreeMap<&str, Time> = BTreeMap::new();
    let mut last = from;
    for told in heard
        .iter()
        .filter(|told| from <= told.t && told.t <= until)
    {
        last = last.max(told.t);
        let of_cable = step.evidence.readings.get(&told.cable);
        let there = of_cable.and_then(|all| {
            let at = all.partition_point(|reading| reading.seq < told.seq);
            all.get(at).filter(|reading| reading.seq == told.seq)
        });
        match there {
            Some(there) if there.t == told.t && there.value == told.value => {
                if let Some(gone) = first_gone.get(&*told.cable) {
                    return Err(format!(
                        "{told:?} is there, and one of {gone:?} before it is not"
                    ));
                }
                if told.t <= promised {
                    kept.promised += 1;
                } else {
                    kept.after += 1;
                }
            }
            // A count that was told and never stored is another reading's where a further daemon went on after the kill.
            Some(there) if there.t == told.t => {
                return Err(format!("told {told:?}, and there is {there:?}"));
            }
            _ if told.t <= promised => {
                return Err(format!(
                    "{told:?}, before a mark at {promised:?}, is not there"
                ));
            }
            _ => {
                first_gone.entry(&told.cable).or_insert(told.t);
                kept.gone += 1;
            }
        }
    }
    let gone = first_gone.values().map(|gone| last.since_s(*gone));
    kept.longest_gone_s = gone.fold(0.0, f64::max);
    Ok(kept)
}
