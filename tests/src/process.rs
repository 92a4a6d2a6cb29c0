//! A daemon as a process of its own on a directory, with no instrument but what the configuration names: for tests that look
//! at it from outside (memory, files, rights, several of them at once).

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use crate::toolroom::{DEADLINE, program};
use serde_json::{Value, json};
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::os::unix::net::UnixStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Output, Stdio};
use std::time::Instant;

/// A directory for a daemon: its configuration, its data, its socket.
#[derive(Debug)]
pub struct Place {
    directory: PathBuf,
}

impl Place {
    /// Uses a directory, and writes its configuration.
    ///
    /// # Panics
    /// When it cannot be written.
    #[must_use]
    pub fn new(directory: &Path, config: &str) -> Self {
        fs::write(directory.join("conewright.toml"), config).unwrap();
        Self {
            directory: directory.to_owned(),
        }
    }

    /// A file in the directory.
    #[must_use]
    pub fn file(&self, name: &str) -> PathBuf {
        self.directory.join(name)
    }

    /// The data directory.
    #[must_use]
    pub fn data(&self) -> PathBuf {
        self.file("data")
    }

    /// The socket, in a directory of its own as in the user's runtime directory.
    #[must_use]
    pub fn socket(&self) -> PathBuf {
        self.file("run/socket")
    }

    /// The program with these places, and nothing of the user's own.
    #[must_use]
    pub fn command(&self, args: &[&str]) -> Command {
        program(args, &self.directory, &self.data(), &self.socket())
    }

    /// Runs a verb to its end.
    ///
    /// # Panics
    /// When it cannot be run.
    #[must_use]
    pub fn run(&self, args: &[&str]) -> Output {
        self.command(args).output().unwrap()
    }

    /// Runs a verb that must succeed, with `--json`.
    ///
    /// # Panics
    /// When it fails or prints anything but one document.
    pub fn json(&self, args: &[&str]) -> Value {
        let output = self.command(args).arg("--json").output().unwrap();
        let text = String::from_utf8_lossy(&output.stdout);
        let talk = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{args:?}: {text}\n{talk}");
        serde_json::from_str(&text).unwrap_or_else(|e| panic!("{args:?}: {e}: {text}"))
    }

    /// Starts the daemon, and returns when it has answered a request.
    #[must_use]
    pub fn start(&self) -> Running<'_> {
        self.start_by(self.command(&["daemon", "run"]))
    }

    /// The same with a command that leads to it.
    ///
    /// # Panics
    /// When it does not answer in time.
    #[must_use]
    pub fn start_by(&self, mut command: Command) -> Running<'_> {
        let child = command
            .stdout(Stdio::null())
            .stderr(File::create(self.file("daemon.err")).unwrap())
            .spawn()
            .unwrap();
        let mut running = Running { place: self, child };
        let until = Instant::now() + DEADLINE;
        // Not by a verb: one that finds no daemon starts another.
        while self.ask("GET", "/v1/status", "").is_err() {
            let ended = running.child.try_wait().unwrap();
            let late = Instant::now() > until;
            assert!(ended.is_none() && !late, "{ended:?}: {}", self.log());
            std::thread::yield_now();
        }
        running
    }

    /// One request; the whole answer with its head.
    ///
    /// # Errors
    /// Nobody listens, or the connection broke.
    pub fn ask(&self, method: &str, path: &str, body: &str) -> io::Result<String> {
        let mut stream = UnixStream::connect(self.socket())?;
        stream.set_read_timeout(Some(DEADLINE))?;
        let length = body.len();
        // In one piece: a daemon that refuses by the head alone closes, and what comes after that resets the connection.
        let request = format!(
            "{method} {path} HTTP/1.1\r\nhost: conewright\r\nconnection: close\r\ncontent-length: {length}\r\n\r\n{body}"
        );
        stream.write_all(request.as_bytes())?;
        let mut answer = String::new();
        stream.read_to_string(&mut answer)?;
        Ok(answer)
    }

    /// A request that must be answered: status and body.
    ///
    /// # Panics
    /// When it is not answered.
    pub fn post(&self, path: &str, body: &Value) -> (u16, Value) {
        let answer = self.ask("POST", path, &body.to_string()).unwrap();
        let (head, body) = answer.split_once("\r\n\r\n").unwrap();
        let status = head.split(' ').nth(1).unwrap().parse().unwrap();
        (status, serde_json::from_str(body).unwrap())
    }

    /// Opens a session and its zero step.
    pub fn open_zero(&self) {
        self.post("/v1/sessions", &json!({ "name": "load", "span": "80" }));
        self.post("/v1/steps", &json!({ "kind": "zero" }));
    }

    /// What the daemon logged.
    #[must_use]
    pub fn log(&self) -> String {
        fs::read_to_string(self.file("daemon.err")).unwrap_or_default()
    }
}

/// A daemon that runs; killed when this is dropped.
#[derive(Debug)]
pub struct Running<'a> {
    place: &'a Place,
    child: Child,
}

impl Running<'_> {
    /// A number of kibibytes from the kernel's account of the process: `VmRSS` is what is resident, `VmHWM` its highest.
    ///
    /// # Panics
    /// When the process is gone.
    #[must_use]
    pub fn kib(&self, what: &str) -> u64 {
        let status = fs::read_to_string(format!("/proc/{}/status", self.child.id())).unwrap();
        let line = status.lines().find(|line| line.starts_with(what)).unwrap();
        line.split_whitespace().nth(1).unwrap().parse().unwrap()
    }

    /// The process.
    #[must_use]
    pub fn pid(&self) -> u32 {
        self.child.id()
    }

    /// Ends it at once, as a power cut or the kernel would.
    ///
    /// # Panics
    /// When it has ended before.
    pub fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }

    /// Waits for it to end, which something else has told it to.
    ///
    /// # Panics
    /// When it cannot be waited for.
    pub fn ended(&mut self) -> ExitStatus {
        self.child.wait().unwrap()
    }

    /// Has it stop, and waits for that.
    ///
    /// # Panics
    /// When it failed.
    pub fn stop(mut self) {
        self.place.json(&["daemon", "stop"]);
        let ended = self.child.wait().unwrap();
        assert!(ended.success(), "{ended}: {}", self.place.log());
    }
}

impl Drop for Running<'_> {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
