//! Listening to a cable without a daemon.

use super::event::CableEventKind;
use super::task::run;
use crate::clock::SystemClock;
use config::model::Cable;
use std::io;
use std::ops::ControlFlow;
use std::sync::Arc;
use tokio::sync::{mpsc, watch};

/// Opens a cable's port directly and hands over what happens on it, until `heard` breaks: the same sniffer, states and
/// words as in the daemon. Blocks the calling thread.
///
/// A port that cannot be had is a state ([`CableEventKind::State`] with gone, busy or denied), and it is waited for;
/// who does not want to wait breaks there.
///
/// # Errors
/// The system gives no event loop.
pub fn listen(
    cable: Cable,
    mut heard: impl FnMut(CableEventKind) -> ControlFlow<()>,
) -> io::Result<()> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?;
    runtime.block_on(async {
        let (events, mut arriving) = mpsc::channel(64);
        let (stop, stopped) = watch::channel(false);
        let task = tokio::spawn(run(cable, 0, Arc::new(SystemClock), events, stopped));
        while let Some(event) = arriving.recv().await {
            if heard(event.kind).is_break() {
                break;
            }
        }
        // The task may have ended by itself.
        let _ = stop.send(true);
        drop(arriving);
        let _ = task.await;
    });
    Ok(())
}
