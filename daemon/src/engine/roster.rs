//! The cables that are served: their tasks, states and last readings.

use super::fitted::Fitted;
use super::looks::Nudge;
use super::ring::Ring;
use crate::cable::CableEvent;
use crate::clock::Clock;
use config::{Cable, Cadence};
use metrology::setup::SettleRule;
use metrology::{Length, Unit};
use protocol::api::{CableState, CableStatus};
use protocol::dwell;
use protocol::evidence::{Reading, Time};
use std::collections::BTreeMap;
use std::pin::Pin;
use std::sync::Arc;
use tokio::sync::{mpsc, watch};
use tokio::task::JoinHandle;

/// Serves one cable until its watch says stop: [`crate::cable::run`], or a test's own.
pub type Serve = Arc<
    dyn Fn(
            Cable,
            usize,
            Arc<dyn Clock>,
            mpsc::Sender<CableEvent>,
            watch::Receiver<bool>,
        ) -> Pin<Box<dyn Future<Output = ()> + Send>>
        + Send
        + Sync,
>;

/// How long it is not asked again whether a cable's reading has settled, s. A mark asks for itself.
const SETTLED_FOR_S: f64 = 0.01;

/// One cable that is served.
pub(crate) struct ServedCable {
    pub config: Cable,
    pub name: Arc<str>,
    pub state: CableState,
    pub detail: Option<String>,
    pub ring: Ring,
    pub fitted: Fitted,
    /// It was live when the computer went to sleep, and no reading has come since it woke.
    slept: bool,
    /// Whether it had settled when that was last asked.
    settled: Option<(Time, bool)>,
    /// The count of the next reading.
    next_seq: u64,
    /// Readings since the daemon started.
    readings: u64,
    skipped_bytes: u64,
    last_skipped: Option<String>,
    /// The unit of its readings as last reported, and since when; none before the first reading.
    pub sends_in: Option<(Unit, Time)>,
    /// Distinguishes its events from those of the task that served this cable before.
    task_number: usize,
    task: Option<JoinHandle<()>>,
    stop: watch::Sender<bool>,
}

impl ServedCable {
    /// Takes a reading that has arrived.
    pub fn take(&mut self, t: Time, value: Length, resolution: Length) -> Reading {
        let reading = Reading {
            seq: self.next_seq,
            t,
            value,
            resolution,
        };
        self.next_seq += 1;
        self.readings += 1;
        self.ring.push(reading);
        reading
    }

    /// Whether the reading has settled, as a live view shows it: nobody sees a change sooner than [`SETTLED_FOR_S`].
    pub fn settled(&mut self, now: Time, rule: &SettleRule) -> bool {
        match self.settled {
            Some((at, settled)) if (0.0..SETTLED_FOR_S).contains(&now.since_s(at)) => settled,
            _ => {
                let settled = dwell::settle(self.ring.unbroken(), now, rule).is_ok();
                self.settled = Some((now, settled));
                settled
            }
        }
    }

    pub fn skipped(&mut self, total: u64, last: String) {
        self.skipped_bytes = total;
        self.last_skipped = Some(last);
    }

    /// Whether it is live again after a sleep: its task did not notice any, and does not report it.
    pub fn woke(&mut self) -> bool {
        let woke = self.slept && !self.ring.unbroken().is_empty();
        self.slept &= !woke;
        woke
    }

    /// Its task reports a state.
    pub fn reported(&mut self, state: CableState, detail: Option<String>) {
        self.slept = false;
        self.state = state;
        self.detail = detail;
    }

    pub fn presses(&self) -> bool {
        matches!(self.config.cadence, Cadence::Press)
    }

    pub fn status(&self, now: Time) -> CableStatus {
        let last = self.ring.last();
        let (state, detail) = if self.slept {
            let why = "no reading since the computer slept";
            (CableState::Stale, Some(why.to_owned()))
        } else {
            (self.state, self.detail.clone())
        };
        CableStatus {
            name: self.config.name.clone(),
            state,
            detail,
            instrument: self.fitted.known_as(),
            other_instrument: self.fitted.other(),
            reading: last.map(|reading| reading.value),
            resolution: last.map(|reading| reading.resolution),
            age_s: last.map(|reading| now.since_s(reading.t).max(0.0)),
            readings: self.readings,
            skipped_bytes: self.skipped_bytes,
            last_skipped: self.last_skipped.clone(),
        }
    }
}

/// Whether a cable in this state cannot send.
pub(crate) fn is_away(state: CableState) -> bool {
    matches!(
        state,
        CableState::Gone | CableState::Busy | CableState::Denied
    )
}

/// A reason, to be appended to what happened.
pub(crate) fn reason_suffix(detail: Option<String>) -> String {
    detail.map_or_else(String::new, |detail| format!(": {detail}"))
}

/// All cables that are served, in the order of the configuration.
pub(crate) struct Roster {
    pub served: Vec<ServedCable>,
    serve: Serve,
    clock: Arc<dyn Clock>,
    events: mpsc::Sender<CableEvent>,
    tasks_started: usize,
    /// The next counts of cables that are not served now. A cable that comes back under its name goes on
    /// counting, since a count must not come twice in a step.
    next_seqs: BTreeMap<String, u64>,
    /// Dropped with a task.
    ended: Nudge,
}

impl Roster {
    /// A roster without cables. `next_seqs` are the counts that cables go on with; others begin with 1.
    pub fn new(
        serve: Serve,
        clock: Arc<dyn Clock>,
        events: mpsc::Sender<CableEvent>,
        next_seqs: BTreeMap<String, u64>,
        ended: Nudge,
    ) -> Self {
        Self {
            served: Vec::new(),
            serve,
            clock,
            events,
            tasks_started: 0,
            next_seqs,
            ended,
        }
    }

    pub fn find(&self, name: &str) -> Option<&ServedCable> {
        self.served.iter().find(|served| &*served.name == name)
    }

    /// A cable goes on with the instrument that it had before the daemon started.
    pub fn expect(&mut self, name: &str, known_as: Option<String>) {
        let mut cables = self.served.iter_mut();
        if let Some(served) = cables.find(|served| &*served.name == name) {
            served.fitted.expect(known_as);
        }
    }

    /// The index of the cable whose present task has this number.
    pub fn index_of_task(&self, task_number: usize) -> Option<usize> {
        self.served
            .iter()
            .position(|served| served.task_number == task_number)
    }

    /// Serves these cables from now on. One whose settings have not changed goes on undisturbed. Returns the names of those that
    /// were added, restarted or removed.
    pub fn configure(&mut self, cables: &[Cable]) -> Vec<String> {
        let mut before: Vec<ServedCable> = std::mem::take(&mut self.served);
        let mut changed = Vec::new();
        for cable in cables {
            let known = before
                .iter()
                .position(|served| *served.name == *cable.name)
                .map(|place| before.remove(place));
            let served = match known {
                Some(served) if served.config == *cable => served,
                mut known => {
                    changed.push(cable.name.clone());
                    let readings = known.as_ref().map_or(0, |old| old.readings);
                    let next_seq = match &known {
                        Some(old) => old.next_seq,
                        None => self.next_seqs.remove(&cable.name).unwrap_or(1),
                    };
                    // Other settings of the same port are no other instrument.
                    let same_port = known.as_mut().filter(|old| old.config.port == cable.port);
                    let fitted = same_port.map(|old| std::mem::take(&mut old.fitted));
                    let after = known.and_then(ServedCable::leave);
                    let mut served = self.begin(cable.clone(), next_seq, after);
                    served.fitted = fitted.unwrap_or_default();
                    served.readings = readings;
                    served
                }
            };
            self.served.push(served);
        }
        for left_out in before {
            changed.push(left_out.config.name.clone());
            self.next_seqs
                .insert(left_out.config.name.clone(), left_out.next_seq);
            drop(left_out.leave());
        }
        changed
    }

    /// Starts the task of a cable, after the task before it has released the port.
    fn begin(&mut self, cable: Cable, next_seq: u64, after: Option<JoinHandle<()>>) -> ServedCable {
        let (stop, stopped) = watch::channel(false);
        let task_number = self.tasks_started;
        self.tasks_started += 1;
        let work = (self.serve)(
            cable.clone(),
            task_number,
            Arc::clone(&self.clock),
            self.events.clone(),
            stopped,
        );
        let ended = self.ended.clone();
        let task = tokio::spawn(async move {
            let _ended = ended;
            if let Some(after) = after {
                // How it ended does not matter: the port is free.
                let _ = after.await;
            }
            work.await;
        });
        ServedCable {
            name: cable.name.as_str().into(),
            config: cable,
            state: CableState::Quiet,
            detail: None,
            ring: Ring::default(),
            fitted: Fitted::default(),
            slept: false,
            settled: None,
            next_seq,
            readings: 0,
            skipped_bytes: 0,
            last_skipped: None,
            sends_in: None,
            task_number,
            task: Some(task),
            stop,
        }
    }

    /// Restarts the tasks that have failed. Returns the names of their cables.
    pub fn revive(&mut self) -> Vec<String> {
        let mut revived = Vec::new();
        for place in 0..self.served.len() {
            let old = &self.served[place];
            if old.task.as_ref().is_some_and(JoinHandle::is_finished) {
                let (cable, next_seq) = (old.config.clone(), old.next_seq);
                revived.push(cable.name.clone());
                let mut served = self.begin(cable, next_seq, None);
                let old = &mut self.served[place];
                served.readings = old.readings;
                served.sends_in = old.sends_in;
                served.ring = std::mem::take(&mut old.ring);
                served.ring.break_here();
                served.fitted = std::mem::take(&mut old.fitted);
                *old = served;
            }
        }
        revived
    }

    /// Nothing taken before this moment is joined to what was taken after it, and no value from before is live.
    pub fn break_rings(&mut self, t: Time) {
        for served in &mut self.served {
            served.ring.break_at(t);
            if served.state == CableState::Live && served.ring.unbroken().is_empty() {
                served.slept = true;
            }
        }
    }

    /// Asks every task to stop, and returns their handles to wait for.
    pub fn stop(&mut self) -> Vec<JoinHandle<()>> {
        self.served
            .iter_mut()
            .filter_map(|served| {
                served.stop.send_replace(true);
                served.task.take()
            })
            .collect()
    }
}

impl ServedCable {
    /// Asks its task to stop.
    fn leave(self) -> Option<JoinHandle<()>> {
        self.stop.send_replace(true);
        self.task
    }
}
