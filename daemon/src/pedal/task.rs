//! The task of the pedal: opens its device, reports presses while it lasts, and waits when there is none.

use super::event::PedalEvent;
use super::keys::{Keys, PedalOpener};
use super::open::SystemPedal;
use super::press::Presses;
use crate::cable::{Fault, GRACE_AGAIN, Patience, Retry};
use crate::clock::Clock;
use config::Pedal;
use protocol::api::CableState;
use std::io;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::{mpsc, watch};
use tokio::time::{Instant, sleep};

/// Serves a pedal until `stop` becomes true or nobody takes its events. `number` stands with each event, and distinguishes them
/// from those of a task that was replaced.
pub async fn run(
    pedal: Pedal,
    number: usize,
    clock: Arc<dyn Clock>,
    events: mpsc::Sender<(usize, PedalEvent)>,
    stop: watch::Receiver<bool>,
) {
    run_with(SystemPedal::new(pedal), number, clock, events, stop).await;
}

/// The same with a device from elsewhere.
pub async fn run_with<O: PedalOpener>(
    opener: O,
    number: usize,
    clock: Arc<dyn Clock>,
    events: mpsc::Sender<(usize, PedalEvent)>,
    mut stop: watch::Receiver<bool>,
) {
    let reporter = EventReporter {
        number,
        events,
        now: None,
    };
    tokio::select! {
        biased;
        _ = stop.wait_for(|stop| *stop) => {}
        NoListener = serve(opener, clock, reporter) => {}
    }
}

/// Nobody receives the events any more, so the task ends.
struct NoListener;

struct EventReporter {
    number: usize,
    events: mpsc::Sender<(usize, PedalEvent)>,
    now: Option<(CableState, Option<String>)>,
}

impl EventReporter {
    async fn send(&self, event: PedalEvent) -> Result<(), NoListener> {
        let event = (self.number, event);
        self.events.send(event).await.map_err(|_| NoListener)
    }

    /// The state, when it or its reason is new.
    async fn state(&mut self, state: CableState, detail: Option<&str>) -> Result<(), NoListener> {
        let new = (state, detail.map(str::to_owned));
        if self.now.as_ref() == Some(&new) {
            return Ok(());
        }
        let detail = new.1.clone();
        self.now = Some(new);
        self.send(PedalEvent::State { state, detail }).await
    }
}

async fn serve<O: PedalOpener>(
    mut opener: O,
    clock: Arc<dyn Clock>,
    mut reporter: EventReporter,
) -> NoListener {
    let mut patience = Patience::default();
    loop {
        let (reported, again) = match opener.open().await {
            Ok(mut keys) => {
                let left = match hear(&mut keys, &*clock, &mut reporter).await {
                    Ok(why) => format!("the pedal left ({why}): put it back; waiting for it"),
                    Err(no_listener) => return no_listener,
                };
                // Dropped at once, so that the device gets its name again when it comes back.
                drop(keys);
                patience.left();
                (Some((CableState::Gone, left)), Again::After(GRACE_AGAIN))
            }
            Err(fault) => {
                let (silently, wait) = match patience.with(&fault, Instant::now()) {
                    Retry::Silently(wait) => (true, wait),
                    Retry::AndReport(wait) => (false, wait),
                };
                let again = match fault {
                    Fault::Gone(_) => Again::WhenItComes(wait),
                    _ => Again::After(wait),
                };
                let words = (!silently).then(|| (fault.state(), fault.detail().to_owned()));
                (words, again)
            }
        };
        if let Some((state, words)) = reported
            && let Err(no_listener) = reporter.state(state, Some(&words)).await
        {
            return no_listener;
        }
        match again {
            Again::After(wait) => sleep(wait).await,
            Again::WhenItComes(usually) => opener.arrival(usually).await,
        }
    }
}

/// When the device is tried again.
enum Again {
    /// After this.
    After(Duration),
    /// When it may have come; after this where nothing tells it.
    WhenItComes(Duration),
}

/// Reports the presses until the device leaves; why it did.
async fn hear(
    keys: &mut impl Keys,
    clock: &dyn Clock,
    reporter: &mut EventReporter,
) -> Result<io::Error, NoListener> {
    reporter.state(CableState::Live, None).await?;
    let mut presses = Presses::default();
    loop {
        let change = match keys.next().await {
            Ok(change) => change,
            Err(why) => return Ok(why),
        };
        let steady_ns = clock.steady_ns();
        if presses.is_press(change, steady_ns) {
            let key = change.key;
            reporter
                .send(PedalEvent::Pressed { key, steady_ns })
                .await?;
        }
    }
}
