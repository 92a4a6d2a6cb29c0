//! Why a key cannot be used.

use crate::Failure;
use protocol::record::{KeyError, NameError};
use std::io;
use std::path::PathBuf;

/// What is wrong with a key or with where it lies.
#[derive(Debug, thiserror::Error)]
pub enum KeyFault {
    /// Nothing to sign with.
    #[error("there is no private key at {}", path.display())]
    NoPrivate {
        /// Where it was looked for.
        path: PathBuf,
    },
    /// One is not replaced: what it signed could no longer be shown to be the shop's.
    #[error("there is a private key already: {}", path.display())]
    Already {
        /// Where.
        path: PathBuf,
    },
    /// The system does not let us.
    #[error("{} cannot be {doing}: {source}", path.display())]
    System {
        /// Which file or directory.
        path: PathBuf,
        /// `read`, `written`, `made`.
        doing: &'static str,
        /// Why.
        source: io::Error,
    },
    /// Other users may read a private key.
    #[error("other users have access to the private key {}: its mode is {mode:04o}", path.display())]
    Open {
        /// Which.
        path: PathBuf,
        /// Its rights.
        mode: u32,
    },
    /// Other users may say which keys are known.
    #[error("other users may write to {}, which says whose keys are known: its mode is {mode:04o}", path.display())]
    OthersWrite {
        /// Which file or directory.
        path: PathBuf,
        /// Its rights.
        mode: u32,
    },
    /// It belongs to somebody else.
    #[error("{} belongs to another user (number {owner})", path.display())]
    Foreign {
        /// Which.
        path: PathBuf,
        /// The user's number.
        owner: u32,
    },
    /// The file is none of this program.
    #[error("{} is not a {half} key of this program: {why}", path.display())]
    NoKeyFile {
        /// Which.
        path: PathBuf,
        /// `private` or `public`.
        half: &'static str,
        /// What is wrong.
        why: String,
    },
    /// The key within the file.
    #[error("the key in {} cannot be used: {source}", path.display())]
    Key {
        /// Which file.
        path: PathBuf,
        /// Why.
        source: KeyError,
    },
    /// The name cannot sign.
    #[error("`{name}` cannot be the name of a key: {source}")]
    Name {
        /// The name.
        name: String,
        /// Why.
        source: NameError,
    },
    /// The same key is known by another name.
    #[error("this key is known already as {known}: {}", path.display())]
    OtherName {
        /// The name by which it is known.
        known: String,
        /// The file that says so.
        path: PathBuf,
    },
    /// Another key is known by that name.
    #[error("another key is known already as {name}: {}", path.display())]
    OtherKey {
        /// The name.
        name: String,
        /// The file that says so.
        path: PathBuf,
    },
    /// No directory for configurations.
    #[error("there is no place for keys: neither XDG_CONFIG_HOME nor HOME is set")]
    NoPlace,
    /// The system gives no random numbers.
    #[error("the system gives no random numbers: {0}")]
    NoRandomness(io::Error),
}

impl From<KeyFault> for Failure {
    fn from(fault: KeyFault) -> Self {
        let message = fault.to_string();
        let failed = |code: &str| Self::new(code, message.clone());
        match &fault {
            KeyFault::NoPrivate { .. } => failed("no_key").hint("conewright key make --name \"Toolroom\" makes one"),
            KeyFault::Already { path } => failed("key_exists").hint(format!(
                "conewright key list shows it; to begin with another one, first move {} away",
                path.display()
            )),
            KeyFault::Open { path, .. } => failed("key_open").hint(format!(
                "chmod 600 {}; when somebody may have copied it, make a new one",
                path.display()
            )),
            KeyFault::OthersWrite { path, .. } => {
                failed("key_open").hint(format!("chmod go-w {}, then look at: conewright key list", path.display()))
            }
            KeyFault::OtherName { path, .. } | KeyFault::OtherKey { path, .. } => {
                failed("key_known").hint(format!(
                    "ask the shop which one is right; what is known is forgotten when you remove {}",
                    path.display()
                ))
            }
            KeyFault::NoPlace => failed("no_key").hint("name a configuration: --config FILE; keys lie beside it"),
            KeyFault::NoKeyFile { half: "public", .. } => {
                failed("bad_key").hint("the public half of a key is what conewright key make writes into the directory `known`")
            }
            KeyFault::Name { .. } => Self::bad_value(message.clone()),
            KeyFault::System { .. }
            | KeyFault::Foreign { .. }
            | KeyFault::NoKeyFile { .. }
            | KeyFault::Key { .. }
            | KeyFault::NoRandomness(_) => failed("bad_key"),
        }
    }
}
