//! How a request came.

use std::net::SocketAddr;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Over which address a request came, and the sign that its client has a valid link.
#[derive(Clone)]
pub(super) struct Arrived {
    pub at: SocketAddr,
    pub is_earned: Arc<AtomicBool>,
}

impl Arrived {
    /// Its client has a valid link: no other takes its place.
    pub fn earns_its_place(&self) {
        self.is_earned.store(true, Ordering::Relaxed);
    }
}
