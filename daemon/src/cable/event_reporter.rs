//! What a cable's task reports: events for the engine, and a line in the log when a reason changes.

use super::event::{CableEvent, CableEventKind};
use protocol::api::CableState;
use tokio::sync::mpsc::Sender;

/// Nobody receives the events any more, so the task ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct NoListener;

/// Reports each state once.
#[derive(Debug)]
pub(super) struct EventReporter {
    index: usize,
    name: String,
    events: Sender<CableEvent>,
    now: Option<(CableState, Option<String>)>,
    /// How often the present state was found again.
    again: u64,
    /// What was opened last.
    instrument: Option<String>,
}

impl EventReporter {
    pub const fn new(index: usize, name: String, events: Sender<CableEvent>) -> Self {
        Self {
            index,
            name,
            events,
            now: None,
            again: 0,
            instrument: None,
        }
    }

    pub async fn send(&self, kind: CableEventKind) -> Result<(), NoListener> {
        let event = CableEvent {
            cable: self.index,
            kind,
        };
        self.events.send(event).await.map_err(|_| NoListener)
    }

    /// What was opened, when it is not what was opened before.
    pub async fn instrument(&mut self, known_as: Option<String>) -> Result<(), NoListener> {
        if self.instrument == known_as {
            return Ok(());
        }
        self.instrument.clone_from(&known_as);
        self.send(CableEventKind::Instrument { known_as }).await
    }

    /// The state, when it or its reason is new.
    pub async fn state(
        &mut self,
        state: CableState,
        detail: Option<&str>,
    ) -> Result<(), NoListener> {
        if let Some((now, why)) = &self.now {
            if *now == state && why.as_deref() == detail {
                self.again += 1;
                return Ok(());
            }
            if self.again > 0 {
                tracing::debug!(cable = %self.name, state = ?now, times = self.again, "unchanged");
            }
        }
        self.again = 0;
        let why = detail.unwrap_or("ok");
        match state {
            CableState::Live | CableState::Quiet => {
                tracing::info!(cable = %self.name, ?state, "{why}");
            }
            _ => tracing::warn!(cable = %self.name, ?state, "{why}"),
        }
        let detail = detail.map(str::to_owned);
        self.now = Some((state, detail.clone()));
        self.send(CableEventKind::State { state, detail }).await
    }

    /// Whether that is the state that was reported last.
    pub fn is(&self, state: CableState) -> bool {
        self.now.as_ref().is_some_and(|(now, _)| *now == state)
    }
}
