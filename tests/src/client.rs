//! Requests to the daemon without a process for each: one connection, one request, one answer.

use serde_json::Value;
use std::io::{self, Read, Write};
use std::os::unix::net::UnixStream;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// A request that is not answered by then hangs.
const DEADLINE: Duration = Duration::from_secs(30);

/// Where the daemon listens.
#[derive(Debug, Clone)]
pub struct Client(PathBuf);

/// An answer: the status and the body.
pub type Answered = (u16, Value);

impl Client {
    /// The daemon at this socket.
    #[must_use]
    pub fn new(socket: &Path) -> Self {
        Self(socket.to_owned())
    }

    /// Reads.
    ///
    /// # Errors
    /// The daemon is not there, or went before it had answered.
    pub fn get(&self, path: &str) -> io::Result<Answered> {
        let text = self.text("GET", path, "")?;
        Ok((text.0, json(&text.1)?))
    }

    /// Reads a body as it is.
    ///
    /// # Errors
    /// As [`Client::get`].
    pub fn get_text(&self, path: &str) -> io::Result<(u16, String)> {
        self.text("GET", path, "")
    }

    /// Does something.
    ///
    /// # Errors
    /// As [`Client::get`]; whether it was done is then not known.
    pub fn post(&self, path: &str, body: &Value) -> io::Result<Answered> {
        let text = self.text("POST", path, &body.to_string())?;
        Ok((text.0, json(&text.1)?))
    }

    /// HTTP/1.0: the answer ends with the connection, so that an end that comes early shows by its length.
    fn text(&self, method: &str, path: &str, body: &str) -> io::Result<(u16, String)> {
        let mut stream = UnixStream::connect(&self.0)?;
        stream.set_read_timeout(Some(DEADLINE))?;
        // In one piece: an answer that needs no body may come, and the connection end, before the body is sent.
        let request = format!(
            "{method} {path} HTTP/1.0\r\nhost: conewright\r\ncontent-length: {}\r\n\r\n{body}",
            body.len()
        );
        stream.write_all(request.as_bytes())?;
        let mut answer = String::new();
        stream.read_to_string(&mut answer)?;
        let cut = || io::Error::new(io::ErrorKind::UnexpectedEof, "the answer ended early");
        let (head, body) = answer.split_once("\r\n\r\n").ok_or_else(cut)?;
        let status = head.split(' ').nth(1).and_then(|code| code.parse().ok());
        let length = head.lines().find_map(|line| {
            let (name, value) = line.split_once(':')?;
            name.eq_ignore_ascii_case("content-length")
                .then(|| value.trim().parse::<usize>().ok())?
        });
        if length.is_some_and(|length| length != body.len()) {
            return Err(cut());
        }
        Ok((status.ok_or_else(cut)?, body.to_owned()))
    }
}

fn json(text: &str) -> io::Result<Value> {
    serde_json::from_str(text).map_err(|error| io::Error::new(io::ErrorKind::UnexpectedEof, error))
}
