//! How a request came.

use crate::api::places::Earned;
use std::net::SocketAddr;

/// Over which address a request came, and the sign that its client has a valid link.
#[derive(Clone)]
pub(super) struct Arrived {
    pub at: SocketAddr,
    pub is_earned: Earned,
}

impl Arrived {
    /// Its client has a valid link: no other takes its place.
    pub fn earns_its_place(&self) {
        self.is_earned.set(true);
    }
}
