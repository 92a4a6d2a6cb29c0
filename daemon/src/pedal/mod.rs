//! The pedal: a key, keypad or foot switch of its own that marks whatever window has the focus.
//!
//! [`run`] is its task: it opens the device that the configuration names, takes it for itself so that its keys type nowhere
//! else, tells presses and states, and waits when the device is gone. [`devices`] lists what there is, without
//! opening any.

mod list;
mod open;
mod press;
mod select;

pub use list::{InputDevice, devices};
pub use open::SystemPedal;
pub use press::KeyChange;

use crate::cable::{Answer, Fault, GRACE_AGAIN, Patience};
use crate::clock::Clock;
use config::Pedal;
use press::Presses;
use protocol::api::CableState;
use std::io;
use std::sync::Arc;
use tokio::sync::{mpsc, watch};
use tokio::time::{Instant, sleep};

/// What can happen with a pedal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PedalEvent {
    /// Its state changed, or the reason for it did: live, gone, busy or denied.
    State {
        /// What it is now.
        state: CableState,
        /// Why it is not live, and what to do, in words.
        detail: Option<String>,
    },
    /// A key was pressed.
    Pressed {
        /// The kernel's code of the key.
        key: u16,
        /// The steady clock when that was read.
        steady_ns: i64,
    },
}

/// Where a pedal's keys come from; the tests give keys of their own.
pub trait Keys: Send {
    /// The next change of a key.
    ///
    /// # Errors
    /// The device left.
    fn next(&mut self) -> impl Future<Output = io::Result<KeyChange>> + Send;
}

/// Where the pedal's task gets its device from.
pub trait PedalOpener: Send {
    /// The open device.
    type Keys: Keys;
    /// Tries once to open it, for ourselves alone.
    fn open(&mut self) -> impl Future<Output = Result<Self::Keys, Fault>> + Send;
}

/// Serves a pedal until `stop` becomes true or nobody takes its events. `number` stands with each event, and tells them
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
    let teller = Teller {
        number,
        events,
        now: None,
    };
    tokio::select! {
        biased;
        _ = stop.wait_for(|stop| *stop) => {}
        // Nobody listens: the engine is gone.
        Unheard = serve(opener, clock, teller) => {}
    }
}

struct Unheard;

struct Teller {
    number: usize,
    events: mpsc::Sender<(usize, PedalEvent)>,
    now: Option<(CableState, Option<String>)>,
}

impl Teller {
    async fn send(&self, event: PedalEvent) -> Result<(), Unheard> {
        let event = (self.number, event);
        self.events.send(event).await.map_err(|_| Unheard)
    }

    /// The state, when it or its reason is new.
    async fn state(&mut self, state: CableState, detail: Option<&str>) -> Result<(), Unheard> {
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
    mut teller: Teller,
) -> Unheard {
    let mut patience = Patience::default();
    loop {
        let (told, wait) = match opener.open().await {
            Ok(mut keys) => {
                let left = match hear(&mut keys, &*clock, &mut teller).await {
                    Ok(why) => format!("the pedal left ({why}): put it back; waiting for it"),
                    Err(unheard) => return unheard,
                };
                // Dropped at once, so that the device's name is free for when it comes back.
                drop(keys);
                patience.left();
                (Some((CableState::Gone, left)), GRACE_AGAIN)
            }
            Err(fault) => match patience.with(&fault, Instant::now()) {
                Answer::Wait(wait) => (None, wait),
                Answer::Tell(wait) => (Some((fault.state(), fault.detail().to_owned())), wait),
            },
        };
        if let Some((state, words)) = told
            && let Err(unheard) = teller.state(state, Some(&words)).await
        {
            return unheard;
        }
        sleep(wait).await;
    }
}

/// Tells the presses until the device leaves; why it did.
async fn hear(
    keys: &mut impl Keys,
    clock: &dyn Clock,
    teller: &mut Teller,
) -> Result<io::Error, Unheard> {
    teller.state(CableState::Live, None).await?;
    let mut presses = Presses::default();
    loop {
        let change = match keys.next().await {
            Ok(change) => change,
            Err(why) => return Ok(why),
        };
        let steady_ns = clock.steady_ns();
        if presses.is_press(change, steady_ns) {
            let key = change.key;
            teller.send(PedalEvent::Pressed { key, steady_ns }).await?;
        }
    }
}
