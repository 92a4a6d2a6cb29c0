//! Why the daemon does not start, or has to end.

use crate::store::StoreError;
use std::fmt;
use std::io;
use std::path::PathBuf;

/// Why the daemon does not start, or has to end.
#[derive(Debug)]
pub enum Fatal {
    /// A file or directory cannot be used.
    File {
        /// Which.
        path: PathBuf,
        /// What was being done, to follow "could not".
        doing: &'static str,
        /// Why.
        source: io::Error,
    },
    /// Another daemon holds the data directory.
    Held {
        /// The directory.
        directory: PathBuf,
        /// The other's process id, as far as it has written it.
        pid: Option<u32>,
    },
    /// Another daemon, of another data directory, answers at the socket.
    SocketInUse {
        /// The socket.
        path: PathBuf,
    },
    /// Something else lies where the socket should.
    NotASocket {
        /// What lies there.
        path: PathBuf,
    },
    /// The store cannot be used.
    Store(StoreError),
    /// A task of the daemon ended by a fault of the program.
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
            Self::Store(error) => error.hint(),
            Self::Fault(_) => Some(
                "start the daemon again; every acknowledged mark is in the store".to_owned(),
            ),
        }
    }
}

impl fmt::Display for Fatal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::File {
                path,
                doing,
                source,
            } => write!(f, "could not {doing} {}: {source}", path.display()),
            Self::Held { directory, pid } => {
                write!(f, "the data directory {} is held by ", directory.display())?;
                match pid {
                    Some(pid) => write!(f, "the daemon with process id {pid}"),
                    None => write!(f, "another daemon"),
                }
            }
            Self::SocketInUse { path } => write!(
                f,
                "a daemon of another data directory answers at {}",
                path.display()
            ),
            Self::NotASocket { path } => {
                write!(f, "{} is there and is no socket", path.display())
            }
            Self::Store(error) => write!(f, "{error}"),
            Self::Fault(what) => write!(f, "a fault of the program: {what}"),
        }
    }
}

impl std::error::Error for Fatal {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::File { source, .. } => Some(source),
            Self::Store(error) => Some(error),
            _ => None,
        }
    }
}

impl From<StoreError> for Fatal {
    fn from(error: StoreError) -> Self {
        Self::Store(error)
    }
}
