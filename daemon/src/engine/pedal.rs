//! The pedal, as the engine sees it: its task and its state.

use super::looks::Nudge;
use super::roster::is_away;
use crate::clock::Clock;
use crate::pedal::PedalEvent;
use config::{Pedal, PedalAction};
use protocol::api::{CableState, Marked, PedalStatus, Refusal};
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

/// Presses that may wait for the store.
pub(super) const WAITING: usize = 16;

/// The pedal, when there is one, and the channel of its events.
pub(crate) struct PedalService {
    serve: ServePedal,
    clock: Arc<dyn Clock>,
    /// Dropped with a task.
    ended: Nudge,
    events_to: mpsc::Sender<(usize, PedalEvent)>,
    pub events: mpsc::Receiver<(usize, PedalEvent)>,
    started: usize,
    pub served: Option<ServedPedal>,
    pub waiting: VecDeque<(PedalAction, i64)>,
    /// Receives the answer to the last mark that the pedal requested. The mark may wait for the reading to settle.
    pub mark: Option<oneshot::Receiver<Result<Marked, Refusal>>>,
}

pub(crate) struct ServedPedal {
    pub config: Pedal,
    pub state: CableState,
    pub detail: Option<String>,
    /// Distinguishes its events from those of a task that was replaced.
    pub number: usize,
    pub last: Option<(u16, i64)>,
    stop: watch::Sender<bool>,
    task: JoinHandle<()>,
}

impl PedalService {
    pub fn new(serve: ServePedal, clock: Arc<dyn Clock>, ended: Nudge) -> Self {
        let (events_to, events) = mpsc::channel(WAITING);
        Self {
            serve,
            clock,
            ended,
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

    fn begin(&mut self, pedal: Pedal, after: Option<JoinHandle<()>>) -> ServedPedal {
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
        let ended = self.ended.clone();
        let task = tokio::spawn(async move {
            let _ended = ended;
            if let Some(after) = after {
                // How it ended does not matter: the device is free.
                let _ = after.await;
            }
            work.await;
        });
        ServedPedal {
            config: pedal,
            state: CableState::Quiet,
            detail: None,
            number,
            last: None,
            stop,
            task,
        }
    }

    /// Restarts the task when it has failed.
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

    /// Asks the task to stop, and returns its handle to wait for.
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

    /// Why presses do not arrive, if they do not.
    pub fn trouble(&self) -> Option<String> {
        let served = self
            .served
            .as_ref()
            .filter(|served| is_away(served.state))?;
        let why = served
            .detail
            .as_deref()
            .unwrap_or("the reason is not known");
        Some(format!("the pedal does not work: {why}"))
    }
}
