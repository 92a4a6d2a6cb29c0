//! A port without a sniffer: its bytes as they came, with their times. What capture and identify are made of.

use super::fault::Fault;
use super::port::{Damaged, Opener, SystemOpener, fit_out};
use crate::clock::{Clock, SystemClock};
use config::model::{Cable, SerialSettings};
use protocol::capture::Chunk;
use protocol::marks::{Marks, Piece};
use std::collections::VecDeque;
use std::io;
use std::path::PathBuf;
use std::time::Duration;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::time::{Instant, timeout, timeout_at};
use tokio_serial::SerialStream;

/// A port that somebody listens to byte by byte.
#[derive(Debug)]
pub struct Raw {
    stream: SerialStream,
    path: PathBuf,
    notes: Vec<String>,
    begun_ns: i64,
    /// Where the port marks damaged characters.
    marks: Option<Marks>,
    /// What a read gave and was not handed over yet.
    read: VecDeque<Chunk>,
}

/// What came next.
#[derive(Debug, PartialEq, Eq)]
pub enum Received {
    /// Bytes, with the time since listening began.
    Bytes(Chunk),
    /// Nothing until the time given.
    Nothing,
    /// The port left, in words.
    HangUp(String),
}

impl Raw {
    /// Opens the port of a cable, once.
    ///
    /// # Errors
    /// Why it cannot be had.
    pub async fn open(cable: &Cable) -> Result<Self, Fault> {
        let opened = SystemOpener::new(cable.clone()).open().await?;
        Ok(Self {
            stream: opened.port,
            path: opened.path,
            notes: opened.notes,
            begun_ns: SystemClock.steady_ns(),
            marks: opened.marked.then(Marks::default),
            read: VecDeque::new(),
        })
    }

    /// The port's name now.
    #[must_use]
    pub fn path(&self) -> &std::path::Path {
        &self.path
    }

    /// The settings that the port did not accept, in words.
    #[must_use]
    pub fn notes(&self) -> &[String] {
        &self.notes
    }

    /// Changes the settings of the port, drops what it has received, and starts to listen again.
    ///
    /// # Errors
    /// The port does not take these settings, or left.
    pub fn set(&mut self, settings: &SerialSettings) -> Result<(), Fault> {
        let path = self.path.clone();
        self.notes = fit_out(&mut self.stream, &path, settings, Damaged::Nul)?;
        self.begun_ns = SystemClock.steady_ns();
        self.marks = None;
        self.read.clear();
        Ok(())
    }

    /// What comes next, until `when`.
    pub async fn next(&mut self, when: Instant) -> Received {
        let mut buffer = [0; 4096];
        loop {
            if let Some(chunk) = self.read.pop_front() {
                return Received::Bytes(chunk);
            }
            match timeout_at(when, self.stream.read(&mut buffer)).await {
                Err(_) => return Received::Nothing,
                Ok(Ok(0)) => return Received::HangUp(format!("{} left", self.path.display())),
                Ok(Ok(n)) => self.take(&buffer[..n]),
                Ok(Err(error)) if error.kind() == io::ErrorKind::Interrupted => {}
                Ok(Err(error)) => {
                    return Received::HangUp(format!("{} left: {error}", self.path.display()));
                }
            }
        }
    }

    fn take(&mut self, bytes: &[u8]) {
        let chunk = Chunk {
            at_ns: self.elapsed_ns(),
            ..Chunk::default()
        };
        let read = &mut self.read;
        let mut open = |piece: Piece<'_>| {
            if read.back().is_none_or(|last| last.damaged) {
                read.push_back(chunk.clone());
            }
            if let Some(last) = read.back_mut() {
                match piece {
                    Piece::Bytes(bytes) => last.bytes.extend(bytes),
                    Piece::Damaged => last.damaged = true,
                }
            }
        };
        match &mut self.marks {
            Some(marks) => marks.take(bytes, &mut open),
            None => open(Piece::Bytes(bytes)),
        }
    }

    /// Sends bytes; a port that does not take them within a second gets none.
    pub async fn send(&mut self, bytes: &[u8]) {
        // A write that fails is a port that leaves: the read that follows says so.
        let _ = timeout(Duration::from_secs(1), self.stream.write_all(bytes)).await;
    }

    /// Nanoseconds since listening began.
    #[must_use]
    pub fn elapsed_ns(&self) -> i64 {
        SystemClock.steady_ns() - self.begun_ns
    }
}
