//! The API: HTTP/1.1 with JSON on the socket, as `protocol::api` describes it.
//!
//! No path that a client names is ever opened: sessions are named by number.

pub(crate) mod connection;
mod events;
mod patient;
mod phase;
pub(crate) mod places;
pub(crate) mod reply;
pub(crate) mod router;
mod serve;
mod state;
pub(crate) mod stored;
mod whereabouts;
mod whole_request;

pub(crate) use phase::Phase;
pub(crate) use serve::Server;
pub(crate) use state::{Api, LivePage};
