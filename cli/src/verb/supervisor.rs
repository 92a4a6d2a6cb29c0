//! The daemon as a service: the socket that the service manager hands over, and what it is told.

use crate::Failure;
use listenfd::ListenFd;
use sd_notify::NotifyState;
use std::os::unix::net::UnixListener;

/// The socket that the service manager listened at until now, when it handed one over.
pub(super) fn socket() -> Result<Option<UnixListener>, Failure> {
    ListenFd::from_env().take_unix_listener(0).map_err(|error| {
        Failure::new(
            "socket_in_use",
            format!("the service manager handed over something that is no Unix socket: {error}"),
        )
        .hint("in conewright.socket use ListenStream= with a path")
    })
}

/// Tells the service manager that the daemon answers. Where there is none, nothing is told.
pub(super) fn ready() {
    if let Err(error) = sd_notify::notify(&[NotifyState::Ready]) {
        tracing::warn!(%error, "the service manager could not be told that the daemon answers");
    }
}
