//! The engine: one task that owns the cables' last values, the current session and its open step.
//!
//! Everything that happens comes to it as a message and is worked off in order, so that two clients who mark
//! at the same instant make two marks, and undo meets a whole mark or none. It never waits for the disk: a
//! change is worked out, handed to the store, and put in force when the store has answered; readings go on to
//! the clients meanwhile.

mod change;
mod feed;
mod handle;
mod incidents;
mod ledger;
mod marks;
mod pedal;
mod presses;
mod recording;
mod requests;
mod ring;
mod roster;
mod session;
mod status;
mod step;
mod waiting;

pub(crate) use change::Subscription;
pub(crate) use handle::Handle;
pub use pedal::ServePedal;
pub use roster::Serve;

use crate::cable::{CableEvent, CableEventKind};
use crate::clock::Clock;
use crate::reload::ConfigSource;
use crate::store::{Learned, ReadingRow, Restored, StoreError, Writer};
use crate::timeline::{ClockWatch, Timeline};
use change::{Change, Query};
use config::Config;
use feed::Feed;
use ledger::{Came, Ledger};
use metrology::Length;
use metrology::dial::IndicatorCheck;
use pedal::PedalPost;
use presses::DoublePress;
use protocol::api::{Live, LiveReading};
use protocol::dwell;
use protocol::evidence::{Reading, Time};
use recording::Recording;
use roster::Roster;
use session::Session;
use std::collections::{BTreeMap, VecDeque};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::{mpsc, watch};
use tokio::time::{Instant, MissedTickBehavior};

/// How often the clocks, the configuration and the tasks are looked at.
const LOOK: Duration = Duration::from_secs(1);
/// Events of cables that may wait. Only a flood fills it, and then the cables wait.
const CABLE_EVENTS: usize = 1_024;
/// Requests that may wait for the engine.
const REQUESTS: usize = 64;
/// How long something that has just happened is shown.
const PASSING: Duration = Duration::from_secs(20);
/// How long the tasks of cables have to let go of their ports.
const CABLES_STOP: Duration = Duration::from_secs(2);

/// What has just happened, to be shown for a while.
struct Passing {
    words: String,
    until: Instant,
}

/// What the engine is made of.
pub(crate) struct Made {
    pub config: Config,
    pub source: ConfigSource,
    pub serve: Serve,
    pub serve_pedal: ServePedal,
    pub clock: Arc<dyn Clock>,
    pub timeline: Timeline,
    pub restored: Restored,
    pub writer: Writer,
}

pub(crate) struct Engine {
    config: Config,
    source: ConfigSource,
    config_trouble: Option<String>,
    clock: Arc<dyn Clock>,
    timeline: Timeline,
    watch: ClockWatch,
    roster: Roster,
    pedal: PedalPost,
    session: Option<Session>,
    /// What the open step records.
    recording: Option<Recording>,
    /// The last mark's moment. A reading that was taken before it and comes after it counts as one after it: else it would
    /// be added to what the mark has ended, and a record would differ from what was told.
    marked_at: Time,
    learned: BTreeMap<String, BTreeMap<i64, Learned>>,
    /// The last check of each indicator, by its cable's name.
    checked: BTreeMap<String, IndicatorCheck>,
    next_session: i64,
    next_step: i64,
    /// Presses that have to become marks, with their cable's name.
    presses: VecDeque<(Arc<str>, Reading)>,
    last_press: Option<(Arc<str>, Reading)>,
    /// The press that the user is asked about.
    double_press: Option<DoublePress>,
    /// The mark that waits until the reading rests.
    waiting: Option<waiting::Waiting>,
    passing: Option<Passing>,
    /// Something changed that is shown with the next snapshot, or at the next look.
    unshown: bool,
    /// As the clients have been shown.
    store_refuses: bool,
    ledger: Ledger,
    feed: Feed,
    events: mpsc::Receiver<CableEvent>,
    changes: mpsc::Receiver<Change>,
    queries: mpsc::Receiver<Query>,
}

impl Engine {
    /// The engine, and the way to ask it. Its cables are served from now on.
    pub fn new(made: Made) -> (Self, Handle) {
        let (event_to, events) = mpsc::channel(CABLE_EVENTS);
        let (change_to, changes) = mpsc::channel(REQUESTS);
        let (query_to, queries) = mpsc::channel(REQUESTS);
        let Restored {
            last,
            run,
            next_session,
            next_step,
            learned,
            checked,
            open,
        } = made.restored;
        let open_step = open.as_ref().and_then(|open| open.step.as_ref());
        let next_seqs = open_step
            .iter()
            .flat_map(|step| &step.last_seq)
            .map(|(name, last)| (name.clone(), last + 1))
            .collect();
        let mut roster = Roster::new(made.serve, Arc::clone(&made.clock), event_to, next_seqs);
        roster.configure(&made.config.cables);
        let mut pedal = PedalPost::new(made.serve_pedal, Arc::clone(&made.clock));
        pedal.configure(made.config.pedal.as_ref());
        let (session, recording) = match open {
            Some(open) => {
                let (session, recording) = Session::restored(open);
                (Some(session), recording)
            }
            None => (None, None),
        };
        let mut engine = Self {
            watch: ClockWatch::begin(&*made.clock),
            config: made.config,
            source: made.source,
            config_trouble: None,
            timeline: made.timeline,
            roster,
            pedal,
            session,
            recording,
            marked_at: Time(i64::MIN),
            learned,
            checked,
            next_session,
            next_step,
            presses: VecDeque::new(),
            last_press: None,
            double_press: None,
            waiting: None,
            passing: None,
            unshown: false,
            store_refuses: false,
            ledger: Ledger::new(made.writer),
            feed: Feed::new(),
            events,
            changes,
            queries,
            clock: Arc::clone(&made.clock),
        };
        if engine.session.is_some() {
            engine.note_restart(last, run.is_some_and(|run| run.ended.is_some()));
        }
        let handle = Handle::new(change_to, query_to, made.clock);
        (engine, handle)
    }

    /// Works everything off as it comes, until `stop` becomes true; then stops the cables, takes what they still
    /// had, and closes the store.
    ///
    /// # Errors
    /// The store could not be closed as it should.
    pub async fn run(mut self, mut stop: watch::Receiver<bool>) -> Result<(), StoreError> {
        let mut look = tokio::time::interval(LOOK);
        look.set_missed_tick_behavior(MissedTickBehavior::Skip);
        loop {
            let idle = self.ledger.is_idle();
            // A change goes before a group of readings, and takes it along.
            let group = self
                .ledger
                .due()
                .filter(|_| idle && self.changes.is_empty());
            tokio::select! {
                Some(event) = self.events.recv() => self.on_cable(event),
                written = self.ledger.written(), if !idle => {
                    let came = self.ledger.came(written);
                    self.on_stored(came);
                }
                Some(change) = self.changes.recv(), if idle => self.on_change(change),
                Some(query) = self.queries.recv() => self.on_query(query),
                Some(event) = self.pedal.events.recv() => self.on_pedal(event),
                () = tokio::time::sleep_until(group.unwrap_or_else(Instant::now)), if group.is_some() => {
                    self.ledger.send_group(None);
                }
                () = tokio::time::sleep(waiting::LOOK_AGAIN), if self.waiting.is_some() => {}
                _ = look.tick() => self.look(),
                _ = stop.wait_for(|stop| *stop) => break,
            }
            self.mark_presses();
            self.work_waiting();
            self.work_pedal();
        }
        self.close().await
    }

    async fn close(mut self) -> Result<(), StoreError> {
        self.drop_waiting("the daemon was stopped");
        let mut tasks = self.roster.stop();
        tasks.extend(self.pedal.stop());
        let stopped = async {
            for task in tasks {
                // A task that has panicked has let go of its port as well.
                let _ = task.await;
            }
        };
        tokio::pin!(stopped);
        let deadline = tokio::time::sleep(CABLES_STOP);
        tokio::pin!(deadline);
        // Their last readings are taken while they stop: one that waits for room would not stop otherwise.
        loop {
            tokio::select! {
                () = &mut stopped => break,
                () = &mut deadline => {
                    tracing::warn!("a cable has not stopped in time");
                    break;
                }
                Some(event) = self.events.recv() => self.on_cable(event),
            }
        }
        while let Ok(event) = self.events.try_recv() {
            self.on_cable(event);
        }
        // Whoever still waits is answered, and a press that has arrived becomes its mark.
        loop {
            self.mark_presses();
            if self.ledger.is_idle() {
                break;
            }
            let written = self.ledger.written().await;
            let came = self.ledger.came(written);
            self.on_stored(came);
        }
        self.leave_double_press("the daemon was stopped");
        let now = self.timeline.now(&*self.clock);
        self.ledger.close(now.t).await
    }

    fn on_cable(&mut self, event: CableEvent) {
        // A task that was replaced may still have something to say.
        let Some(place) = self.roster.place(event.cable) else {
            return;
        };
        match event.kind {
            CableEventKind::Reading {
                value,
                resolution,
                steady_ns,
                unit,
            } => {
                self.on_unit(place, unit, steady_ns);
                self.on_reading(place, value, resolution, steady_ns);
            }
            CableEventKind::State { state, detail } => self.on_state(place, state, detail),
            CableEventKind::Skipped { total, last } => {
                self.roster.served[place].skipped(total, last);
                // Garbage may come as fast as the line allows; once a second is enough to see it.
                self.unshown = true;
            }
        }
    }

    /// A reading: to the clients first, to the store after that.
    fn on_reading(&mut self, place: usize, value: Length, resolution: Length, steady_ns: i64) {
        self.notice_sleep();
        let t = self.timeline.at(steady_ns).max(self.marked_at);
        let served = &mut self.roster.served[place];
        let reading = served.take(t, value, resolution);
        let name = Arc::clone(&served.name);
        let presses = served.presses();
        if let Some(recording) = &mut self.recording
            && recording.take(&name, &reading)
        {
            let words = format!(
                "{} readings of `{name}` are recorded, as many as the live view computes from: mark the end; what \
                 follows is stored all the same",
                recording.most()
            );
            self.tell(&words);
        }
        if self.feed.has_listeners() {
            let rule = match &self.session {
                Some(session) => &session.setup.settle,
                None => &self.config.settle,
            };
            let ring = &self.roster.served[place].ring;
            let settled = presses || dwell::settle(ring.unbroken(), t, rule).is_ok();
            self.feed.send(&Live::Reading(LiveReading {
                cable: name.to_string(),
                seq: reading.seq,
                t,
                value,
                resolution,
                settled,
                so_far: self
                    .recording
                    .as_ref()
                    .and_then(|recording| recording.with_reading(&name)),
            }));
        }
        let Some(step) = self.session.as_ref().and_then(|s| s.step.as_ref()) else {
            return;
        };
        self.ledger.reading(ReadingRow {
            step: step.id,
            cable: Arc::clone(&name),
            reading,
        });
        let is_mark = presses && !step.plan.records() && self.indicator_name() == Some(&*name);
        // Where a print is judged by eye a press is no mark, nor one of two presses of which one has to be answered first.
        let no_print =
            (is_mark && step.plan.kind().by_eye()).then(|| step.plan.work.place_wanted().message);
        self.forget_given_up();
        match no_print {
            Some(words) => self.tell(&words),
            None if is_mark => self.on_press(name, reading),
            None => {}
        }
    }

    fn on_stored(&mut self, came: Came) {
        match came {
            Came::Nothing => {}
            Came::Stored(pending) => {
                self.install(pending.after, pending.learned, pending.checked);
                (pending.answer)(Ok(()));
            }
            Came::Refused(pending, error) => {
                // A beginning that was refused has begun nothing.
                self.settle_recording();
                let refusal = error.refusal(pending.not_done);
                self.tell(&refusal.message);
                (pending.answer)(Err(refusal));
            }
        }
        self.forget_given_up();
        self.note_lost_readings();
        let refuses = self.ledger.refusing().is_some();
        if refuses != self.store_refuses {
            self.store_refuses = refuses;
            self.show();
        }
    }

    /// Puts a change in force.
    fn install(
        &mut self,
        after: Option<Session>,
        learned: Option<change::LearnedChange>,
        checked: Option<(String, IndicatorCheck)>,
    ) {
        self.checked.extend(checked);
        if let Some(session) = &after {
            self.next_session = self.next_session.max(session.id + 1);
            if let Some(step) = &session.step {
                self.next_step = self.next_step.max(step.id + 1);
            }
        }
        if let Some(change) = learned {
            let steps = self.learned.entry(change.fixture).or_default();
            match change.what {
                Some(what) => steps.insert(change.step, what),
                None => steps.remove(&change.step),
            };
        }
        self.settle_double_press(after.as_ref());
        let dropped = self.settle_waiting(after.as_ref());
        self.session = after;
        self.settle_recording();
        self.passing = None;
        match dropped {
            Some(words) => self.tell(&words),
            None => self.show(),
        }
    }

    /// What is recorded follows from the marks in force.
    fn settle_recording(&mut self) {
        let step = self.session.as_ref().and_then(|s| s.step.as_ref());
        self.recording = Recording::settle(self.recording.take(), step);
    }

    /// What the store never took counts nowhere.
    fn forget_given_up(&mut self) {
        let given_up = self.ledger.take_given_up();
        if let Some(recording) = self.recording.as_mut().filter(|_| !given_up.is_empty()) {
            recording.forget(&given_up);
        }
    }

    /// Shows the clients the state of everything.
    fn show(&mut self) {
        self.unshown = false;
        if self.feed.has_listeners() {
            let now = self.timeline.now(&*self.clock).t;
            self.feed.send(&Live::Snapshot(Box::new(self.status(now))));
        }
    }

    /// Tells the user something that has just happened.
    fn tell(&mut self, words: &str) {
        self.passing = Some(Passing {
            words: words.to_owned(),
            until: Instant::now() + PASSING,
        });
        self.show();
    }
}
