//! Why the daemon does not start, or has to end.

use crate::store::StoreError;
use config::own::NotOwn;
use std::io;
use std::path::{Path, PathBuf};

/// Why the daemon does not start, or has to end.
#[derive(Debug, thiserror::Error)]
pub enum Fatal {
    /// A file or directory cannot be used.
    #[error("could not {doing} {}: {source}", path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// What was being done, to follow "could not".
        doing: &'static str,
        /// Why.
        source: io::Error,
    },
    /// A directory is not this user's own.
    #[error("{0}")]
    NotOwn(#[from] NotOwn),
    /// Another daemon holds the data directory.
    #[error("the data directory {} is held by {}", directory.display(), holder(*pid))]
    Held {
        /// The directory.
        directory: PathBuf,
        /// The other's process id, as far as it has written it.
        pid: Option<u32>,
    },
    /// Another daemon, of another data directory, answers at the socket.
    #[error("a daemon of another data directory answers at {}", path.display())]
    SocketInUse {
        /// The socket.
        path: PathBuf,
    },
    /// Something else lies where the socket should.
    #[error("{} exists and is not a socket", path.display())]
    NotASocket {
        /// What lies there.
        path: PathBuf,
    },
    /// A service manager listens elsewhere than where clients look.
    #[error("the service manager handed over {}, and clients look for {}", socket_at(at.as_deref()), path.display())]
    HandedOver {
        /// Where clients look.
        path: PathBuf,
        /// Where it listens, when that has a name.
        at: Option<PathBuf>,
    },
    /// The store cannot be used.
    #[error("{0}")]
    Store(#[from] StoreError),
    /// A task of the daemon ended by a fault of the program.
    #[error("a fault of the program: {0}")]
    Fault(String),
}

impl Fatal {
    /// What to do next.
    #[must_use]
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::File { path, .. } => Some(format!(
                "see that {} may be used by this user, or name another place with --data or --socket",
                path.display()
            )),
            Self::NotOwn(_) => Some(NOT_OWN_HINT.to_owned()),
            Self::Held { .. } => Some(
                "use the one that runs, stop it with `conewright daemon stop`, or name another directory with --data"
                    .to_owned(),
            ),
            Self::SocketInUse { .. } => {
                Some("name another socket with --socket, or stop that daemon".to_owned())
            }
            Self::NotASocket { .. } => {
                Some("move it away, or name another socket with --socket".to_owned())
            }
            Self::HandedOver { path, .. } => Some(format!(
                "name the same socket in both: ListenStream={} in conewright.socket, and --socket in conewright.service",
                path.display()
            )),
            Self::Store(error) => error.hint(),
            Self::Fault(_) => Some(
                "start the daemon again; every acknowledged mark is in the store".to_owned(),
            ),
        }
    }
}

const NOT_OWN_HINT: &str =
    "name a directory of your own with --data or --socket, or run this as the user whose it is";

fn socket_at(at: Option<&Path>) -> String {
    match at {
        Some(at) => format!("the socket {}", at.display()),
        None => "a socket without a file".to_owned(),
    }
}

/// Whose process it is, as far as that is known.
fn holder(pid: Option<u32>) -> String {
    match pid {
        Some(pid) => format!("the daemon with process id {pid}"),
        None => "another daemon".to_owned(),
    }
}
