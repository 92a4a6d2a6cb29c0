//! A pulse: numbered readings sent down a pty to a real daemon, each timed until a live view has it. What else is asked of the daemon
//! meanwhile must not change it.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use crate::process::{Place, Running};
use crate::toolroom::DEADLINE;
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use std::fs::File;
use std::io::{BufRead, BufReader, Write};
use std::os::unix::net::UnixStream;
use std::path::PathBuf;
use std::time::{Duration, Instant};

/// What no client may delay a reading by.
pub const PROMISED: Duration = Duration::from_millis(5);

/// A port whose far end the test holds.
#[derive(Debug)]
pub struct Port {
    far: File,
    path: String,
}

impl Port {
    /// A new pseudo-terminal.
    ///
    /// # Panics
    /// When the system gives none.
    #[must_use]
    pub fn open() -> Self {
        let far = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC).unwrap();
        grantpt(&far).unwrap();
        unlockpt(&far).unwrap();
        let path = ptsname(&far, Vec::new()).unwrap().into_string().unwrap();
        Self {
            far: File::from(far),
            path,
        }
    }

    /// A configuration with one streaming cable `bench` on it.
    #[must_use]
    pub fn config(&self) -> String {
        self.cable("bench")
    }

    /// Sends many readings as fast as they are taken, their values going round from a number on.
    ///
    /// # Panics
    /// When the line takes nothing.
    pub fn send_many(&mut self, count: u64, from: u64) {
        let mut lines = String::new();
        for number in from..from + count {
            lines.push_str(&format!("{:+.3}\r\n", (number % 1_000) as f64 / 1e3));
            if lines.len() > 32_000 {
                self.far.write_all(lines.as_bytes()).unwrap();
                lines.clear();
            }
        }
        self.far.write_all(lines.as_bytes()).unwrap();
    }

    /// Sends bytes as they are.
    ///
    /// # Panics
    /// When the line takes nothing.
    pub fn put(&mut self, bytes: &[u8]) {
        self.far.write_all(bytes).unwrap();
    }

    /// A cable's lines in a configuration, with this port.
    #[must_use]
    pub fn cable(&self, name: &str) -> String {
        format!(
            "[cable.{name}]\nport = \"{}\"\nsettings = \"9600 8N1\"\ncadence = \"streams\"\nframe = \"text\"\n\
             unit = \"mm\"\nresolution = \"0.001mm\"\n",
            self.path
        )
    }

    /// Its near end.
    #[must_use]
    pub fn path(&self) -> &str {
        &self.path
    }

    /// Sends a reading, which is its number in micrometres.
    ///
    /// # Panics
    /// When the line takes nothing.
    pub fn send(&mut self, number: u32) {
        let line = format!("{:+.3}\r\n", f64::from(number) / 1e3);
        self.far.write_all(line.as_bytes()).unwrap();
    }
}

/// A live view that reads all the time.
#[derive(Debug)]
pub struct Live {
    lines: BufReader<UnixStream>,
    line: String,
}

impl Live {
    /// Opens it, and returns when it has its snapshot.
    ///
    /// # Panics
    /// When the daemon does not answer.
    #[must_use]
    pub fn open(place: &Place) -> Self {
        let stream = watch(place);
        stream.set_read_timeout(Some(DEADLINE)).unwrap();
        let mut live = Self {
            lines: BufReader::new(stream),
            line: String::new(),
        };
        live.until("\"event\":\"snapshot\"");
        live
    }

    /// Reads on until an event holds these words, and gives it.
    ///
    /// # Panics
    /// When it does not come.
    pub fn until(&mut self, words: &str) -> &str {
        loop {
            self.line.clear();
            assert!(self.lines.read_line(&mut self.line).unwrap() > 0);
            if self.line.contains(words) {
                return &self.line;
            }
        }
    }
}

/// A live view that is asked for and not read.
///
/// # Panics
/// When the daemon does not listen.
#[must_use]
pub fn watch(place: &Place) -> UnixStream {
    let mut stream = UnixStream::connect(place.socket()).unwrap();
    stream
        .write_all(b"GET /v1/events HTTP/1.1\r\nhost: conewright\r\n\r\n")
        .unwrap();
    stream
}

/// The pulse.
#[derive(Debug)]
pub struct Pulse {
    port: Port,
    live: Live,
    number: u32,
    /// Where the kernel accounts for the thread that carries the readings, which is the process's first.
    account: PathBuf,
}

/// How long a reading took.
#[derive(Debug, Clone, Copy)]
pub struct Beat {
    /// From the port to the live view.
    pub took: Duration,
    /// How long the daemon's thread for readings worked meanwhile, on whatever: no more than this of the delay is its own.
    pub worked: Duration,
    /// How long that thread was ready to and had no processor: that is the machine's.
    pub waited: Duration,
}

impl Pulse {
    /// Begins it: the daemon serves the port, and its first reading has arrived.
    ///
    /// # Panics
    /// When the daemon does not answer.
    #[must_use]
    pub fn begin(place: &Place, running: &Running<'_>, port: Port) -> Self {
        let pid = running.pid();
        let mut pulse = Self {
            port,
            live: Live::open(place),
            number: 0,
            account: format!("/proc/{pid}/task/{pid}/schedstat").into(),
        };
        // What is sent before the daemon has opened the port is lost: its state says when it has.
        let until = Instant::now() + DEADLINE;
        loop {
            pulse.number += 1;
            pulse.port.send(pulse.number);
            let status = place.ask("GET", "/v1/status", "").unwrap();
            if status.contains("\"state\":\"live\"") {
                return pulse;
            }
            assert!(Instant::now() < until, "{status}\n{}", place.log());
        }
    }

    /// Sends a reading, and tells how long the live view has waited for it.
    ///
    /// # Panics
    /// When it does not arrive, or the kernel keeps no account of threads.
    pub fn beat(&mut self) -> Beat {
        self.number += 1;
        let value = format!("\"value_mm\":{:?},", f64::from(self.number) / 1e3);
        let [worked, waited] = self.account();
        let begun = Instant::now();
        self.port.send(self.number);
        self.live.until(&value);
        let took = begun.elapsed();
        let [worked_since, waited_since] = self.account();
        Beat {
            took,
            worked: worked_since.saturating_sub(worked),
            waited: waited_since.saturating_sub(waited),
        }
    }

    /// How long the thread has worked, and has waited for a processor. Source: the Linux kernel's documentation, scheduler
    /// statistics, `/proc/<pid>/schedstat`.
    fn account(&self) -> [Duration; 2] {
        let text = std::fs::read_to_string(&self.account).unwrap();
        let mut ns = text.split(' ').map(|ns| ns.parse().unwrap());
        [(); 2].map(|()| Duration::from_nanos(ns.next().unwrap()))
    }
}
