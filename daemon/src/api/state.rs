//! What every request may need.

use super::phase::Phase;
use crate::engine::Handle;
use std::path::PathBuf;
use std::sync::Arc;
use tokio::sync::{Semaphore, watch};

/// Live views at a time; each costs the memory of what it is behind.
pub(super) const MOST_WATCHERS: usize = 32;
/// Sessions that are read out of the store at a time; each may be large.
pub(super) const MOST_READERS: usize = 2;

/// What every request may need.
#[derive(Clone)]
pub(crate) struct Api {
    pub engine: Handle,
    /// The data directory.
    pub directory: PathBuf,
    pub phase: watch::Receiver<Phase>,
    /// Asks the daemon to stop.
    pub stop: watch::Sender<bool>,
    pub watchers: Arc<Semaphore>,
    pub readers: Arc<Semaphore>,
}

impl Api {
    pub fn new(
        engine: Handle,
        directory: PathBuf,
        phase: watch::Receiver<Phase>,
        stop: watch::Sender<bool>,
    ) -> Self {
        Self {
            engine,
            directory,
            phase,
            stop,
            watchers: Arc::new(Semaphore::new(MOST_WATCHERS)),
            readers: Arc::new(Semaphore::new(MOST_READERS)),
        }
    }

    /// Live views that are open.
    pub fn watching(&self) -> usize {
        MOST_WATCHERS - self.watchers.available_permits()
    }
}
