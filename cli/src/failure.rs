//! How a verb ends: the exit codes, and what the user is told when something could not be done.

use protocol::api::{Code, Refusal};
use serde_json::{Value, json};
use std::fmt;
use std::process::ExitCode;

/// How a verb that did its work ends, and with which code the process exits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// 0: done.
    Done,
    /// 1: it could not be done.
    Failed,
    /// 2: the command line is wrong.
    Usage,
    /// 3: done, and the answer is "out of tolerance" (or, in `verify`, "does not agree").
    OutOfTolerance,
}

impl Exit {
    /// The process's exit code.
    #[must_use]
    pub const fn code(self) -> u8 {
        match self {
            Self::Done => 0,
            Self::Failed => 1,
            Self::Usage => 2,
            Self::OutOfTolerance => 3,
        }
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit.code())
    }
}

/// Why a verb could not be done: a stable code for programs, a message and a hint for people.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failure {
    /// Stable, in `snake_case`.
    pub code: String,
    /// What, where and why.
    pub message: String,
    /// What to do next.
    pub hint: Option<String>,
    /// The code to exit with.
    pub exit: Exit,
}

/// The code of a [`Failure`] that says nothing: whoever read the output has gone away.
const PIPE_CLOSED: &str = "pipe_closed";

impl Failure {
    /// A failure that exits with 1.
    pub fn new(code: &str, message: impl Into<String>) -> Self {
        Self {
            code: code.to_owned(),
            message: message.into(),
            hint: None,
            exit: Exit::Failed,
        }
    }

    /// A command line that makes no sense: exits with 2.
    pub fn usage(message: impl Into<String>) -> Self {
        Self {
            exit: Exit::Usage,
            ..Self::new("usage", message)
        }
    }

    /// A text on the command line that cannot be read, or a value out of range: exits with 2.
    pub fn bad_value(message: impl Into<String>) -> Self {
        Self {
            exit: Exit::Usage,
            ..Self::new("bad_value", message)
        }
    }

    /// The same with what to do next.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }

    /// Output that could not be written. A reader that went away is no failure worth a word.
    #[must_use]
    pub fn output(error: &std::io::Error) -> Self {
        if error.kind() == std::io::ErrorKind::BrokenPipe {
            return Self {
                exit: Exit::Done,
                ..Self::new(PIPE_CLOSED, "")
            };
        }
        Self::new(
            "cannot_write",
            format!("the output cannot be written: {error}"),
        )
    }

    /// Whether there is nobody left to tell.
    #[must_use]
    pub fn is_silent(&self) -> bool {
        self.code == PIPE_CLOSED
    }

    /// The document that `--json` prints.
    #[must_use]
    pub fn json(&self) -> Value {
        let mut error = json!({"code": self.code, "message": self.message});
        if let Some(hint) = &self.hint {
            error["hint"] = json!(hint);
        }
        json!({ "error": error })
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Failure {}

impl From<Refusal> for Failure {
    fn from(refusal: Refusal) -> Self {
        let code = match serde_json::to_value(refusal.code) {
            Ok(Value::String(code)) => code,
            _ => "internal".to_owned(),
        };
        // What was written wrong is a matter of the command line; everything else is one of the moment.
        let exit = match refusal.code {
            Code::BadValue | Code::UnknownName => Exit::Usage,
            _ => Exit::Failed,
        };
        Self {
            hint: refusal.hint,
            exit,
            ..Self::new(&code, refusal.message)
        }
    }
}
