//! What can go wrong between a client and the daemon, told apart so that a verb can act on it.

use crate::Failure;
use protocol::api::{Refusal, VERSION};

/// Why a request was not answered as wished.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ClientError {
    /// No daemon listens at the socket.
    NotRunning {
        /// The socket.
        socket: String,
    },
    /// Another user listens at the socket.
    Foreign {
        /// The socket.
        socket: String,
        /// The user's number.
        user: u32,
    },
    /// The daemon that answers speaks another version of the API.
    WrongVersion {
        /// The version of its API.
        api: u32,
        /// The version of its program.
        program: String,
    },
    /// The daemon refused, with its reason; nothing was stored.
    Refused(Refusal),
    /// The exchange itself failed, or the answer cannot be understood.
    Broken(String),
}

impl From<ClientError> for Failure {
    fn from(error: ClientError) -> Self {
        match error {
            ClientError::NotRunning { socket } => {
                Self::new("not_running", format!("no daemon is running at {socket}"))
                    .hint("start it: conewright daemon run")
            }
            ClientError::Foreign { socket, user } => Self::new(
                "foreign_socket",
                format!("another user (number {user}) listens at {socket}; nothing was sent"),
            )
            .hint("name a socket of your own: --socket PATH, or CONEWRIGHT_SOCKET=PATH"),
            ClientError::WrongVersion { api, program } => Self::new(
                "wrong_version",
                format!(
                    "the daemon that is running is version {program} with API {api}; \
                     this program needs API {VERSION}"
                ),
            )
            .hint("stop it, and repeat the command: conewright daemon stop"),
            ClientError::Refused(refusal) => refusal.into(),
            ClientError::Broken(message) => Self::new("broken", message)
                .hint("see whether the daemon is still there: conewright status"),
        }
    }
}
