//! What every request may need.

use super::phase::Phase;
use crate::engine::Handle;
use futures_util::future::BoxFuture;
use protocol::api::{PageRequest, PageState, Refusal};
use std::path::PathBuf;
use std::sync::Arc;
use tokio::sync::{Semaphore, watch};

/// Live views at a time; each costs the memory of what it is behind.
pub(crate) const MOST_WATCHERS: usize = 32;
/// Sessions that are read out of the store at a time; each may be large.
pub(super) const MOST_READERS: usize = 2;
/// Requests at a time that read sessions, or wait for their turn. More are refused, so that others always find a place.
pub(super) const MOST_TO_READ: usize = 32;

/// What opens and closes the live page. The page is served by what it is asked through, and so stands above it.
pub(crate) trait LivePage: Send + Sync {
    /// Opens it with new links; those from before become invalid.
    ///
    /// # Errors
    /// The port cannot be had, or the computer is in no local network.
    fn open(&self, api: Api, request: PageRequest) -> BoxFuture<'_, Result<PageState, Refusal>>;

    /// Closes it and every connection to it.
    fn close(&self) -> BoxFuture<'_, ()>;

    /// Whether it is open, and for whom.
    fn state(&self) -> BoxFuture<'_, PageState>;
}

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
    /// Readers, and those who wait to be one.
    pub to_read: Arc<Semaphore>,
    pub page: Arc<dyn LivePage>,
}

impl Api {
    pub fn new(
        engine: Handle,
        directory: PathBuf,
        phase: watch::Receiver<Phase>,
        stop: watch::Sender<bool>,
        page: Arc<dyn LivePage>,
    ) -> Self {
        Self {
            engine,
            directory,
            phase,
            stop,
            watchers: Arc::new(Semaphore::new(MOST_WATCHERS)),
            readers: Arc::new(Semaphore::new(MOST_READERS)),
            to_read: Arc::new(Semaphore::new(MOST_TO_READ)),
            page,
        }
    }

    /// Live views that are open.
    pub fn watching(&self) -> usize {
        MOST_WATCHERS - self.watchers.available_permits()
    }
}
