//! The pedal, as the engine sees it: its task, its state, and what its keys do.
//!
//! A press is of the moment when it was read, however long it has to wait for the store. It is answered by what the screens
//! show, and a refusal is told there, since nobody waits for an answer.

use super::change::{Answer, Change};
use super::roster::is_away;
use super::{Engine, incidents};
use crate::clock::Clock;
use crate::pedal::PedalEvent;
use config::keys::name_of;
use config::{Pedal, PedalAction};
use protocol::api::{CableState, ClampRequest, Code, MarkRequest, Marked, PedalStatus, Refusal};
use protocol::record::EventKind;
use std::collections::VecDeque;
use std::pin::Pin;
use std::sync::Arc;
use tokio::sync::{mpsc, oneshot, watch};
use tokio::task::JoinHandle;

/// Serves the pedal until its watch says stop: [`crate::pedal::run`], or a test's own.
pub type ServePedal = Arc<
    dyn Fn(
            Pedal,
            usize,
            Arc<dyn Clock>,
            mpsc::Sender<(usize, PedalEvent)>,
            watch::Receiver<bool>,
        ) -> Pin<Box<dyn Future<Output = ()> + Send>>
        + Send
        + Sync,
>;

/// Presses of one key closer than this are one that was felt twice, or a mistake: the second is asked about.
const DOUBLE_PRESS_NS: i64 = 300_000_000;
/// Presses that may wait for the store.
const WAITING: usize = 16;

/// The pedal, when there is one, and the way to it.
pub(crate) struct PedalPost {
    serve: ServePedal,
    clock: Arc<dyn Clock>,
    events_to: mpsc::Sender<(usize, PedalEvent)>,
    pub events: mpsc::Receiver<(usize, PedalEvent)>,
    started: usize,
    served: Option<Served>,
    waiting: VecDeque<(PedalAction, i64)>,
    /// What becomes of the last mark asked for, which may wait for rest.
    mark: Option<oneshot::Receiver<Result<Marked, Refusal>>>,
}

struct Served {
    config: Pedal,
    state: CableState,
    detail: Option<String>,
    /// Tells its events from those of a task that was replaced.
    number: usize,
    last: Option<(u16, i64)>,
    stop: watch::Sender<bool>,
    task: JoinHandle<()>,
}

impl PedalPost {
    pub fn new(serve: ServePedal, clock: Arc<dyn Clock>) -> Self {
        let (events_to, events) = mpsc::channel(WAITING);
        Self {
            serve,
            clock,
            events_to,
            events,
            started: 0,
            served: None,
            waiting: VecDeque::new(),
            mark: None,
        }
    }

    /// Serves this pedal from now on; one that has not changed goes on undisturbed.
    pub fn configure(&mut self, pedal: Option<&Pedal>) {
        if self.served.as_ref().map(|served| &served.config) == pedal {
            return;
        }
        let before = self.stop();
        self.waiting.clear();
        self.served = pedal.map(|pedal| self.begin(pedal.clone(), before));
    }

    fn begin(&mut self, pedal: Pedal, after: Option<JoinHandle<()>>) -> Served {
        let (stop, stopped) = watch::channel(false);
        let number = self.started;
        self.started += 1;
        let clock = Arc::clone(&self.clock);
        let work = (self.serve)(
            pedal.clone(),
            number,
            clock,
            self.events_to.clone(),
            stopped,
        );
        let task = tokio::spawn(async move {
            if let Some(after) = after {
                // How it ended does not matter: the device is free.
                let _ = after.await;
            }
            work.await;
        });
        Served {
            config: pedal,
            state: CableState::Quiet,
            detail: None,
            number,
            last: None,
            stop,
            task,
        }
    }

    /// Begins the task anew when it has ended by a fault of its own.
    pub fn revive(&mut self) -> bool {
        let ended = self
            .served
            .as_ref()
            .is_some_and(|served| served.task.is_finished());
        if ended && let Some(old) = self.served.take() {
            self.served = Some(self.begin(old.config, None));
        }
        ended
    }

    /// Tells the task to stop; its handle is for waiting.
    pub fn stop(&mut self) -> Option<JoinHandle<()>> {
        let served = self.served.take()?;
        served.stop.send_replace(true);
        Some(served.task)
    }

    pub fn status(&self) -> Option<PedalStatus> {
        self.served.as_ref().map(|served| PedalStatus {
            device: served.config.device.to_string(),
            state: served.state,
            detail: served.detail.clone(),
        })
    }

    /// Why presses do not arrive now.
    pub fn trouble(&self) -> Option<String> {
        let served = self
            .served
            .as_ref()
            .filter(|served| is_away(served.state))?;
        let why = served.detail.as_deref().unwrap_or("no reason is known");
        Some(format!("the pedal does nothing now: {why}"))
    }
}

impl Engine {
    pub(super) fn on_pedal(&mut self, (number, event): (usize, PedalEvent)) {
        let Some(served) = self.pedal.served.as_mut().filter(|s| s.number == number) else {
            return;
        };
        match event {
            PedalEvent::State { state, detail } => {
                let (was_away, away) = (is_away(served.state), is_away(state));
                tracing::info!(?state, detail, "pedal");
                served.state = state;
                served.detail.clone_from(&detail);
                served.last = None;
                if away && !was_away {
                    let why = incidents::because(detail);
                    self.note(EventKind::Cable, format!("the pedal left{why}"));
                } else if was_away && !away {
                    self.note(EventKind::Cable, "the pedal is back".to_owned());
                }
                self.show();
            }
            PedalEvent::Pressed { key, steady_ns } => {
                let twice = served
                    .last
                    .replace((key, steady_ns))
                    .is_some_and(|(last, at_ns)| {
                        last == key && steady_ns - at_ns < DOUBLE_PRESS_NS
                    });
                let Some(action) = served.config.action(key) else {
                    let name = name_of(key);
                    self.tell(&format!(
                        "the pedal's key `{name}` does nothing: {name} = \"mark\" in the pedal's `keys` gives it work"
                    ));
                    return;
                };
                if twice {
                    // What was pressed stands still, so that asking costs nothing: pressed again it is the same.
                    self.tell(
                        "the pedal was pressed twice within 0.3 s, and the second press did nothing: was it meant? Press again",
                    );
                } else if self.pedal.waiting.len() >= WAITING {
                    self.tell("the pedal's press was not taken: the store does not keep up");
                } else {
                    self.pedal.waiting.push_back((action, steady_ns));
                }
            }
        }
    }

    /// Does what the presses that wait are for, one after the commit of the other.
    pub(super) fn work_pedal(&mut self) {
        while self.ledger.is_idle()
            && let Some((action, steady_ns)) = self.pedal.waiting.pop_front()
        {
            match action {
                PedalAction::Mark => self.mark_by_pedal(false, steady_ns),
                PedalAction::NewRound => self.mark_by_pedal(true, steady_ns),
                PedalAction::Undo if self.waiting.is_some() => self.by_pedal(Change::LeavePress),
                PedalAction::Undo => self.by_pedal(Change::Undo),
                PedalAction::Clamp => {
                    let tight = !self.session.as_ref().is_some_and(|session| session.clamped);
                    self.by_pedal(|answer| Change::Clamp(ClampRequest { tight }, answer));
                }
            }
        }
        self.told_of_mark();
    }

    fn mark_by_pedal(&mut self, new_round: bool, steady_ns: i64) {
        let request = MarkRequest {
            new_round,
            ..MarkRequest::default()
        };
        let (answer, answered) = oneshot::channel();
        self.pedal.mark = Some(answered);
        self.on_change(Change::Mark(request, steady_ns, answer));
    }

    /// A mark that waited may be refused long after its press.
    fn told_of_mark(&mut self) {
        let Some(answered) = &mut self.pedal.mark else {
            return;
        };
        match answered.try_recv() {
            Err(oneshot::error::TryRecvError::Empty) => return,
            // The user knows what was done instead.
            Ok(Err(refusal)) if refusal.code != Code::Cancelled => self.pedal_refused(&refusal),
            _ => {}
        }
        self.pedal.mark = None;
    }

    fn by_pedal<T: Send + 'static>(&mut self, change: impl FnOnce(Answer<T>) -> Change) {
        let (answer, mut answered) = oneshot::channel();
        self.on_change(change(answer));
        // What is refused is refused at once, or told when the store has refused it.
        if let Ok(Err(refusal)) = answered.try_recv() {
            self.pedal_refused(&refusal);
        }
    }

    fn pedal_refused(&mut self, refusal: &Refusal) {
        let hint = refusal
            .hint
            .as_deref()
            .map_or(String::new(), |hint| format!("; {hint}"));
        self.tell(&format!(
            "the pedal's press did nothing: {}{hint}",
            refusal.message
        ));
    }
}
