//! The API: HTTP/1.1 with JSON on the socket, as `protocol::api` describes it.
//!
//! No path that a client names is ever opened: sessions are named by number.

mod connection;
mod events;
mod patient;
mod phase;
mod reply;
mod router;
mod serve;
mod state;
mod stored;

pub(crate) use phase::Phase;
pub(crate) use serve::Server;
pub(crate) use state::Api;
