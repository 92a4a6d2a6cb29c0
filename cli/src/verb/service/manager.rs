//! The service manager of this user: `systemctl --user`.

use crate::Failure;
use std::io::ErrorKind;
use std::process::{Command, Output};

/// Why systemd does nothing here.
#[derive(Debug, thiserror::Error)]
pub(super) enum Trouble {
    /// There is no systemd.
    #[error("this computer has no systemd: there is no `systemctl` on the PATH")]
    NoSystemd,
    /// The manager of this user does not answer.
    #[error("systemd does not run for this user: {0}")]
    NotForUser(String),
    /// It did not do what it was asked for.
    #[error("`systemctl --user {asked}` failed: {said}")]
    Failed {
        /// The arguments.
        asked: String,
        /// What it said.
        said: String,
    },
}

impl From<Trouble> for Failure {
    fn from(trouble: Trouble) -> Self {
        let (code, hint) = match trouble {
            Trouble::NoSystemd => (
                "no_systemd",
                "the program works without a service: each verb starts the daemon when it needs it",
            ),
            Trouble::NotForUser(_) => (
                "no_systemd",
                "log in as yourself, at the screen or by ssh and not with su or sudo, and repeat the command",
            ),
            Trouble::Failed { .. } => (
                "service_failed",
                "see what the service said: journalctl --user --unit conewright; to undo: conewright service remove",
            ),
        };
        Self::new(code, trouble.to_string()).hint(hint)
    }
}

/// Has the manager do something.
///
/// # Errors
/// It is not there, or failed.
pub(super) fn ask(arguments: &[&str]) -> Result<String, Trouble> {
    let output = call(arguments)?;
    if output.status.success() {
        return Ok(String::from_utf8_lossy(&output.stdout).into_owned());
    }
    Err(Trouble::Failed {
        asked: arguments.join(" "),
        said: said(&output),
    })
}

/// Sees that the manager of this user answers.
///
/// # Errors
/// It does not.
pub(super) fn answers() -> Result<(), Trouble> {
    match ask(&["show", "--property=Version"]) {
        Ok(_) => Ok(()),
        Err(Trouble::Failed { said, .. }) => Err(Trouble::NotForUser(said)),
        Err(other) => Err(other),
    }
}

fn call(arguments: &[&str]) -> Result<Output, Trouble> {
    let called = Command::new("systemctl")
        .arg("--user")
        .args(arguments)
        .output();
    called.map_err(|error| match error.kind() {
        ErrorKind::NotFound => Trouble::NoSystemd,
        _ => Trouble::NotForUser(format!("systemctl: {error}")),
    })
}

fn said(output: &Output) -> String {
    let said = String::from_utf8_lossy(&output.stderr);
    match said.trim() {
        "" => output.status.to_string(),
        said => said.to_owned(),
    }
}
