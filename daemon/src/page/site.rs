//! What every request to the open page may need.

use super::link::Links;
use super::once::Once;
use super::paper::Paper;
use super::show::Show;
use crate::api::Api;
use std::sync::Arc;
use tokio::sync::Semaphore;

/// Screens that may show the page at a time.
pub(super) const MOST_VIEWERS: usize = 16;

pub(super) struct Site {
    pub api: Api,
    pub links: Links,
    pub port: u16,
    pub papers: Vec<Paper>,
    pub show: Show,
    pub once: Once,
    pub viewers: Arc<Semaphore>,
}

impl Site {
    pub fn new(api: Api, links: Links, port: u16, papers: Vec<Paper>) -> Self {
        Self {
            api,
            links,
            port,
            papers,
            show: Show::new(),
            once: Once::default(),
            viewers: Arc::new(Semaphore::new(MOST_VIEWERS)),
        }
    }

    /// Screens that show it.
    pub fn viewing(&self) -> usize {
        MOST_VIEWERS - self.viewers.available_permits()
    }

    /// The cookie that holds the secret of a link. Cookies know no ports, so its name has it.
    pub fn cookie(&self) -> String {
        format!("conewright-{}", self.port)
    }
}
