//! The task of a cable: opens its port, serves it while it lasts, and waits when there is none.
//!
//! It never ends because its device left. The order is: open, announce, serve; at a hang-up drop the port at once,
//! so that its name is free for the device that comes back, report `gone`, and look for it again.

use super::event::CableEvent;
use super::event_reporter::{EventReporter, NoListener};
use super::fault::Fault;
use super::port::{Opener, SystemOpener};
use super::serve::{End, PortServer};
use crate::clock::Clock;
use config::model::Cable;
use protocol::api::CableState;
use protocol::frame::Frame;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::{mpsc, watch};
use tokio::time::{Instant, sleep};

/// A device that is gone is looked for this often where the system does not tell that it has come.
const LOOK_AGAIN: Duration = Duration::from_millis(250);
/// A port that is held or not permitted is tried again this often.
const TRY_AGAIN: Duration = Duration::from_secs(1);
/// For this long after a plug a refusal is the system still setting the device up: its node is root's for about
/// a tenth of a second under udev (measured).
const PLUG_GRACE: Duration = Duration::from_secs(1);
/// While that lasts it is tried this often.
pub(crate) const GRACE_AGAIN: Duration = Duration::from_millis(50);

/// Serves a cable until `stop` becomes true or nobody takes its events. `index` is its place in the configuration.
///
/// Readings are reported in the order of their arrival, each after the state that makes it current.
pub async fn run(
    cable: Cable,
    index: usize,
    clock: Arc<dyn Clock>,
    events: mpsc::Sender<CableEvent>,
    stop: watch::Receiver<bool>,
) {
    let opener = SystemOpener::new(cable.clone());
    run_with(opener, cable, index, clock, events, stop).await;
}

/// The same with a port from elsewhere.
pub async fn run_with<O: Opener>(
    mut opener: O,
    cable: Cable,
    index: usize,
    clock: Arc<dyn Clock>,
    events: mpsc::Sender<CableEvent>,
    mut stop: watch::Receiver<bool>,
) {
    let mut reporter = EventReporter::new(index, cable.name.clone(), events);
    let Some(frame) = cable.decoder() else {
        let words = format!(
            "the frame `{}` is not known: name one of {} in the configuration",
            cable.frame,
            Frame::names().join(", ")
        );
        // Without a frame nothing can be read, whether anybody listens or not.
        let _ = reporter.state(CableState::Denied, Some(&words)).await;
        return;
    };
    let served = PortServer::new(&cable, frame, clock);
    tokio::select! {
        biased;
        _ = stop.wait_for(|stop| *stop) => {}
        // Nobody listens: the engine is gone.
        NoListener = open_and_serve(&mut opener, served, &mut reporter) => {}
    }
}

async fn open_and_serve<O: Opener>(
    opener: &mut O,
    mut served: PortServer,
    reporter: &mut EventReporter,
) -> NoListener {
    let mut patience = Patience::default();
    loop {
        match opener.open().await {
            Ok(mut opened) => {
                let instrument = opened.instrument.take();
                if let Err(no_listener) = reporter.instrument(instrument).await {
                    return no_listener;
                }
                let end = served.serve(opened, reporter).await;
                patience.left();
                match end {
                    End::NoListener => return NoListener,
                    End::HangUp(words) => {
                        if let Err(no_listener) =
                            reporter.state(CableState::Gone, Some(&words)).await
                        {
                            return no_listener;
                        }
                    }
                }
                sleep(GRACE_AGAIN).await;
            }
            Err(fault) => {
                let wait = match patience.with(&fault, Instant::now()) {
                    Retry::Silently(wait) => wait,
                    Retry::AndReport(wait) => {
                        let reported = reporter.state(fault.state(), Some(fault.detail())).await;
                        if let Err(no_listener) = reported {
                            return no_listener;
                        }
                        wait
                    }
                };
                match fault {
                    Fault::Gone(_) => opener.arrival(wait).await,
                    _ => sleep(wait).await,
                }
            }
        }
    }
}

/// When to try again after a fault, and whether to report it.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Retry {
    /// Try again after this, and report nothing yet.
    Silently(Duration),
    /// Report the fault, and try again after this.
    AndReport(Duration),
}

/// Waits for a device that was just plugged in before it reports a refusal.
#[derive(Debug, Default)]
pub(crate) struct Patience {
    was_gone: bool,
    refused_since: Option<Instant>,
}

impl Patience {
    /// The device left.
    pub(crate) const fn left(&mut self) {
        self.was_gone = true;
        self.refused_since = None;
    }

    pub(crate) fn with(&mut self, fault: &Fault, now: Instant) -> Retry {
        if matches!(fault, Fault::Gone(_)) {
            self.left();
            return Retry::AndReport(LOOK_AGAIN);
        }
        let since = *self.refused_since.get_or_insert(now);
        if self.was_gone && now.duration_since(since) < PLUG_GRACE {
            Retry::Silently(GRACE_AGAIN)
        } else {
            self.was_gone = false;
            Retry::AndReport(TRY_AGAIN)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_refusal_right_after_a_plug_is_not_reported() {
        let denied = Fault::Denied("mode 0600".to_owned());
        let gone = Fault::Gone("no such file".to_owned());
        let start = Instant::now();
        let after = |ms| start + Duration::from_millis(ms);
        let mut patience = Patience::default();
        // At the start nothing was seen to be plugged.
        assert_eq!(
            patience.with(&denied, after(0)),
            Retry::AndReport(TRY_AGAIN)
        );
        assert_eq!(
            patience.with(&gone, after(100)),
            Retry::AndReport(LOOK_AGAIN)
        );
        assert_eq!(
            patience.with(&denied, after(200)),
            Retry::Silently(GRACE_AGAIN)
        );
        assert_eq!(
            patience.with(&denied, after(1_199)),
            Retry::Silently(GRACE_AGAIN)
        );
        assert_eq!(
            patience.with(&denied, after(1_200)),
            Retry::AndReport(TRY_AGAIN)
        );
        assert_eq!(
            patience.with(&denied, after(1_300)),
            Retry::AndReport(TRY_AGAIN)
        );
        // The next plug has its own second.
        patience.left();
        assert_eq!(
            patience.with(&denied, after(5_000)),
            Retry::Silently(GRACE_AGAIN)
        );
        assert_eq!(
            patience.with(&denied, after(6_000)),
            Retry::AndReport(TRY_AGAIN)
        );
    }
}
