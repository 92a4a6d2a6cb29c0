//! What a verb answers: the same content for people and as JSON, printed in one place.

use crate::shown::shown;
use crate::{Exit, Failure};
use metrology::uncertainty::Verdict;
use serde::Serialize;
use serde_json::Value;
use std::io::{IsTerminal, Write};

/// A verb's answer. Data goes to stdout, talk to stderr; with `--json` exactly one document goes to stdout.
#[derive(Debug)]
pub struct Answer {
    /// For people: whole lines, the data.
    pub text: String,
    /// For programs.
    pub json: Value,
    /// For people, beside the data: what was done, cautions. Not printed with `--json`.
    pub talk: String,
    /// Printed after the answer, on stderr only: the answer is complete, yet not what was wished for.
    pub complaint: Option<Failure>,
    /// How the process ends.
    pub exit: Exit,
}

impl Answer {
    /// An answer that is done.
    ///
    /// # Errors
    /// When the content cannot be written as JSON, which is a fault of the program.
    pub fn new(text: impl Into<String>, content: &impl Serialize) -> Result<Self, Failure> {
        let json = serde_json::to_value(content)
            .map_err(|e| Failure::new("internal", format!("the answer is not JSON: {e}")))?;
        Ok(Self {
            text: text.into(),
            json,
            talk: String::new(),
            complaint: None,
            exit: Exit::Done,
        })
    }

    /// The same with talk.
    #[must_use]
    pub fn talk(mut self, talk: impl Into<String>) -> Self {
        self.talk = talk.into();
        self
    }

    /// The same ending otherwise.
    #[must_use]
    pub const fn exit(mut self, exit: Exit) -> Self {
        self.exit = exit;
        self
    }

    /// The same ending as a decision asks for: *out* is an answer of its own.
    #[must_use]
    pub fn judged(self, verdict: Option<Verdict>) -> Self {
        match verdict {
            Some(Verdict::Out) => self.exit(Exit::OutOfTolerance),
            _ => self,
        }
    }

    /// Prints it.
    ///
    /// # Errors
    /// When stdout cannot be written.
    pub fn print(self, json: bool) -> Result<Exit, Failure> {
        let mut text = if json {
            json_lines(&self.json)
        } else {
            shown(&self.text).into_owned()
        };
        if !text.is_empty() && !text.ends_with('\n') {
            text.push('\n');
        }
        if !json && !self.talk.is_empty() {
            eprintln!("{}", shown(self.talk.trim_end()));
        }
        stdout(&text)?;
        if let Some(complaint) = &self.complaint {
            tell(complaint);
        }
        Ok(self.exit)
    }
}

/// The one document of `--json`, indented: people read it too.
fn json_lines(value: &Value) -> String {
    format!("{value:#}\n")
}

fn stdout(text: &str) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    out.write_all(text.as_bytes())
        .and_then(|()| out.flush())
        .map_err(|e| Failure::output(&e))
}

/// Tells a failure: as `error:` and `hint:` on stderr, and with `--json` as the document on stdout too.
pub fn tell_failure(failure: &Failure, json: bool) {
    if failure.is_silent() {
        return;
    }
    tell(failure);
    if json {
        // When stdout is gone as well, stderr has been told already.
        let _ = stdout(&json_lines(&failure.json()));
    }
}

fn tell(failure: &Failure) {
    // Not printed, since that panics where the terminal is gone; then there is nobody to tell.
    let mut err = std::io::stderr().lock();
    let _ = writeln!(
        err,
        "{} {}",
        label("error:", "1;31"),
        shown(&failure.message)
    );
    if let Some(hint) = &failure.hint {
        let _ = writeln!(err, "{} {}", label("hint:", "1;36"), shown(hint));
    }
}

/// A label, coloured when that helps; the word alone carries the meaning.
fn label(word: &str, sgr: &str) -> String {
    let refused = std::env::var_os("NO_COLOR").is_some_and(|v| !v.is_empty())
        || std::env::var_os("TERM").is_some_and(|term| term == "dumb");
    if refused || !std::io::stderr().is_terminal() {
        word.to_owned()
    } else {
        format!("\u{1b}[{sgr}m{word}\u{1b}[0m")
    }
}
