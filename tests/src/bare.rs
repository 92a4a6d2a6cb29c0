//! The control beside a pulse: the same line from a pty to a socket, carried by a thread that does nothing else. What delays it
//! is the machine, so that what the daemon adds can be told from it.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use crate::pulse::Port;
use crate::toolroom::DEADLINE;
use rustix::termios::{OptionalActions, tcgetattr, tcsetattr};
use std::fs::OpenOptions;
use std::io::{BufRead, BufReader, Read, Write};
use std::os::unix::net::UnixStream;
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// The thread, and both ends of it.
#[derive(Debug)]
pub struct Bare {
    port: Port,
    lines: BufReader<UnixStream>,
    line: String,
    number: u32,
    carrier: JoinHandle<()>,
}

impl Bare {
    /// Begins it.
    ///
    /// # Panics
    /// When the system gives no pty or no socket.
    #[must_use]
    pub fn begin() -> Self {
        let port = Port::open();
        let mut near = OpenOptions::new().read(true).open(port.path()).unwrap();
        let mut raw = tcgetattr(&near).unwrap();
        raw.make_raw();
        tcsetattr(&near, OptionalActions::Now, &raw).unwrap();
        let (mut to, from) = UnixStream::pair().unwrap();
        from.set_read_timeout(Some(DEADLINE)).unwrap();
        let carrier = std::thread::spawn(move || {
            let mut bytes = [0; 4096];
            // A pty whose far end was closed gives an error.
            while let Ok(n @ 1..) = near.read(&mut bytes) {
                if to.write_all(&bytes[..n]).is_err() {
                    return;
                }
            }
        });
        Self {
            port,
            lines: BufReader::new(from),
            line: String::new(),
            number: 0,
            carrier,
        }
    }

    /// Sends a line, and tells how long it took to the reader.
    ///
    /// # Panics
    /// When it does not arrive.
    pub fn beat(&mut self) -> Duration {
        self.number += 1;
        self.line.clear();
        let begun = Instant::now();
        self.port.send(self.number);
        assert!(self.lines.read_line(&mut self.line).unwrap() > 0);
        begun.elapsed()
    }

    /// Ends it.
    ///
    /// # Panics
    /// When its thread has.
    pub fn end(self) {
        let Self { port, carrier, .. } = self;
        drop(port);
        carrier.join().unwrap();
    }
}
