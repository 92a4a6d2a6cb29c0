//! A toolroom for the end-to-end tests: a directory, a virtual bench on a pty, and the real program beside it.
//!
//! Nothing of the program runs inside the test: daemon and command line are processes of the built executable, and the
//! instrument is a pty whose far end a model of a set-up drives.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use crate::client::Client;
use crate::disk::Disk;
use daemon::bench::{Bench, SetUp, Speech, VirtualCable};
use protocol::frame::Frame;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Output, Stdio};
use std::time::{Duration, Instant};

/// How long anything may take before the test gives up: far more than it needs on a busy machine.
pub const DEADLINE: Duration = Duration::from_secs(60);

/// Readings a second from the virtual bench.
const RATE_HZ: f64 = 200.0;

/// The built executable, beside the test's own.
///
/// # Panics
/// When it was not built; `cargo test --workspace` builds it.
#[must_use]
pub fn executable() -> PathBuf {
    let own = std::env::current_exe().unwrap();
    // target/debug/deps/test-… or target/debug/name
    let folder = own
        .ancestors()
        .skip(1)
        .find(|dir| dir.join("conewright").is_file());
    folder
        .map(|dir| dir.join("conewright"))
        .expect("the executable is not built: run `cargo test --workspace` or `cargo build` first")
}

/// The program with these places, the configuration in its home, and nothing of the user's own.
pub(crate) fn program(args: &[&str], home: &Path, data: &Path, socket: &Path) -> Command {
    let mut command = Command::new(executable());
    command
        .args(args)
        .env_clear()
        .env("PATH", std::env::var_os("PATH").unwrap_or_default())
        .env("HOME", home)
        .env("CONEWRIGHT_CONFIG", home.join("conewright.toml"))
        .env("CONEWRIGHT_DATA", data)
        .env("CONEWRIGHT_SOCKET", socket)
        .stdin(Stdio::null());
    command
}

/// A directory with a configuration, a data directory, a socket, and a virtual bench.
pub struct Toolroom {
    dir: tempfile::TempDir,
    /// The instrument.
    pub cable: VirtualCable,
    /// Other instruments, beside it.
    others: Vec<VirtualCable>,
    /// A daemon that the test started itself.
    daemon: Option<Child>,
    /// The disk under the daemon that the test starts, and the directory on it.
    disk: Option<(Disk, PathBuf)>,
}

/// What came of starting a daemon.
#[derive(Debug)]
pub enum Begun {
    /// It answers.
    Answers,
    /// It has ended.
    Refused {
        /// Its exit code.
        code: Option<i32>,
        /// What it said.
        said: String,
    },
}

/// What a test asks the configuration to say beside its cable.
pub const QUICK: &str = "[settle]\nhold = \"0.1s\"\nlongest = \"0.25s\"\nleast_readings = 5\n";

fn streaming(link: &Path, bench: Bench) -> VirtualCable {
    let frame = Frame::shipped("text").unwrap();
    let speech = Speech {
        link: Some(link.to_owned()),
        ..Speech::streams(frame, RATE_HZ)
    };
    VirtualCable::speaking(bench, speech).unwrap()
}

/// A cable's lines in the configuration.
fn lines(name: &str, link: &Path) -> String {
    format!(
        "[cable.{name}]\nport = \"{}\"\nsettings = \"9600 8N1\"\ncadence = \"streams\"\nframe = \"text\"\n\
         unit = \"mm\"\nresolution = \"0.001mm\"\n",
        link.display()
    )
}

impl Toolroom {
    /// A toolroom with one streaming cable named `bench` at the given set-up.
    #[must_use]
    pub fn new(set_up: SetUp, seed: u64) -> Self {
        Self::with(set_up, seed, QUICK)
    }

    /// The same with other lines in the configuration.
    #[must_use]
    pub fn with(set_up: SetUp, seed: u64, more: &str) -> Self {
        let dir = tempfile::tempdir().unwrap();
        let link = dir.path().join("port");
        let cable = streaming(&link, Bench::new(seed, set_up));
        let config = lines("bench", &link) + more;
        std::fs::write(dir.path().join("conewright.toml"), config).unwrap();
        Self {
            dir,
            cable,
            others: Vec::new(),
            daemon: None,
            disk: None,
        }
    }

    /// Puts another streaming cable beside the first, which tells where the table stands, for a daemon that is started later.
    ///
    /// # Panics
    /// When the configuration cannot be written.
    pub fn add_table(&mut self, name: &str, set_up: SetUp, seed: u64) {
        let link = self.file(name);
        self.others.push(streaming(&link, Bench::new(seed, set_up)));
        let path = self.file("conewright.toml");
        let config = std::fs::read_to_string(&path).unwrap()
            + &lines(name, &link)
            + "measures = \"position\"\n";
        std::fs::write(path, config).unwrap();
    }

    /// A file in the toolroom's directory.
    #[must_use]
    pub fn file(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    /// The data directory.
    #[must_use]
    pub fn data(&self) -> PathBuf {
        match &self.disk {
            Some((_, under)) => under.join("data"),
            None => self.file("data"),
        }
    }

    /// The toolroom's directory.
    #[must_use]
    pub fn folder(&self) -> &Path {
        self.dir.path()
    }

    /// Has the daemon that is started next keep its data below this directory, on a disk that the test steers. The port
    /// is on it as well.
    pub fn put_data_on(&mut self, under: &Path, disk: Disk) {
        self.disk = Some((disk, under.canonicalize().unwrap()));
    }

    /// That disk.
    ///
    /// # Panics
    /// When there is none.
    #[must_use]
    pub fn disk(&self) -> &Disk {
        &self.disk.as_ref().expect("a disk under the data").0
    }

    /// The program with this toolroom's places, and nothing of the user's own.
    #[must_use]
    pub fn command(&self, args: &[&str]) -> Command {
        program(args, self.dir.path(), &self.data(), &self.file("socket"))
    }

    /// Runs a verb to its end.
    #[must_use]
    pub fn run(&self, args: &[&str]) -> Output {
        self.command(args).output().unwrap()
    }

    /// Runs a verb that must succeed, with `--json`, and reads its one document.
    ///
    /// # Panics
    /// When it fails or prints anything but one document.
    #[must_use]
    pub fn json(&self, args: &[&str]) -> Value {
        let output = self.command(args).arg("--json").output().unwrap();
        let text = String::from_utf8_lossy(&output.stdout);
        let talk = String::from_utf8_lossy(&output.stderr);
        // 3: done, and the answer is "out of tolerance".
        assert!(
            matches!(output.status.code(), Some(0 | 3)),
            "{args:?}: {:?}\n{text}\n{talk}",
            output.status
        );
        serde_json::from_str(&text).unwrap_or_else(|e| panic!("{args:?}: {e}: {text}"))
    }

    /// Runs a verb that must do its work; what it prints does not matter.
    pub fn must(&self, args: &[&str]) {
        let _ = self.json(args);
    }

    /// Marks, and goes on trying while the readings settle or the cable comes alive.
    ///
    /// # Panics
    /// When it is refused for another reason or until the deadline.
    #[must_use]
    pub fn mark(&self, args: &[&str]) -> Value {
        let until = Instant::now() + DEADLINE;
        loop {
            let output = self
                .command(&["mark"])
                .args(args)
                .arg("--json")
                .output()
                .unwrap();
            let said: Value = serde_json::from_slice(&output.stdout).unwrap();
            if output.status.success() {
                return said;
            }
            let code = said["error"]["code"].as_str().unwrap_or_default();
            let passing = matches!(code, "not_settled" | "cable_not_live");
            assert!(passing && Instant::now() < until, "mark {args:?}: {said}");
        }
    }

    /// Starts the daemon as a process of the test's, and waits until it answers.
    ///
    /// # Panics
    /// When it refuses to start.
    pub fn start_daemon(&mut self) {
        if let Begun::Refused { said, .. } = self.try_daemon() {
            panic!("the daemon does not start: {said}");
        }
    }

    /// Starts the daemon as a process of the test's, and waits until it answers or has ended.
    pub fn try_daemon(&mut self) -> Begun {
        let mut child = self.spawn_daemon();
        let until = Instant::now() + DEADLINE;
        let mut ended = None;
        // Not by a verb: one that finds no daemon starts another. And not by connecting alone: the socket is there
        // before the store is open.
        let client = Client::new(&self.file("socket"));
        while client.get("/v1/status").is_err() {
            ended = child.try_wait().unwrap();
            if ended.is_some() {
                break;
            }
            assert!(
                Instant::now() < until,
                "no answer and no end\n{}",
                self.log()
            );
            std::thread::yield_now();
        }
        match ended {
            None => {
                self.daemon = Some(child);
                Begun::Answers
            }
            Some(status) => Begun::Refused {
                code: status.code(),
                said: std::fs::read_to_string(self.file("daemon.err")).unwrap(),
            },
        }
    }

    /// Starts the daemon as a process of the test's, and waits for nothing.
    #[must_use]
    pub fn spawn_daemon(&self) -> Child {
        let mut command = self.command(&["daemon", "run"]);
        if let Some((disk, under)) = &self.disk {
            disk.load(&mut command, under, Some(&self.file("port")));
            disk.keep_journal(&mut command);
        }
        command
            .stdout(Stdio::null())
            .stderr(std::fs::File::create(self.file("daemon.err")).unwrap())
            .spawn()
            .unwrap()
    }

    /// Has the daemon end in its own order, and waits for it.
    ///
    /// # Panics
    /// When this test started none, or it does not end.
    pub fn stop_daemon(&mut self) -> ExitStatus {
        let mut child = self.daemon.take().expect("a daemon to stop");
        // It may be on its way out already.
        let _ = Client::new(&self.file("socket")).post("/v1/stop", &serde_json::json!({}));
        let until = Instant::now() + DEADLINE;
        loop {
            if let Some(status) = child.try_wait().unwrap() {
                return status;
            }
            assert!(
                Instant::now() < until,
                "the daemon does not end\n{}",
                self.log()
            );
            std::thread::yield_now();
        }
    }

    /// Ends the daemon at once, as the kernel would; one that has ended before is gone already.
    pub fn kill_daemon(&mut self) {
        if let Some(mut child) = self.daemon.take() {
            child.kill().unwrap();
            child.wait().unwrap();
        }
    }

    /// Stops the daemon in its tracks, or lets it go on.
    ///
    /// # Panics
    /// When this test started none.
    pub fn freeze_daemon(&self, is_frozen: bool) {
        use rustix::process::{Pid, Signal, kill_process};
        let child = self.daemon.as_ref().expect("a daemon to freeze");
        let signal = if is_frozen {
            Signal::STOP
        } else {
            Signal::CONT
        };
        kill_process(Pid::from_child(child), signal).unwrap();
    }

    /// Waits until something holds.
    ///
    /// # Panics
    /// When it does not hold until the deadline.
    pub fn until(&self, what: &str, holds: impl Fn() -> bool) {
        let until = Instant::now() + DEADLINE;
        while !holds() {
            assert!(
                Instant::now() < until,
                "{what}: not within {DEADLINE:?}\n{}",
                self.log()
            );
            std::thread::yield_now();
        }
    }

    /// What the daemon logged.
    #[must_use]
    pub fn log(&self) -> String {
        let read = |path: &Path| std::fs::read_to_string(path).unwrap_or_default();
        read(&self.file("daemon.err")) + &read(&self.data().join("daemon.log"))
    }

    /// Waits until the daemon has heard readings of what the bench was last told to do.
    fn heard(&self) {
        let count = || {
            self.json(&["status"])["cables"][0]["readings"]
                .as_u64()
                .unwrap_or(0)
        };
        let before = count();
        // A reading may have been under way and the hand takes a few to arrive; then as long as a mark must hold.
        self.until("new readings", || count() > before + 30);
    }

    /// Has the bench do something, and waits until its readings show it.
    pub fn at_bench(&self, act: impl FnOnce(&mut Bench) + Send + 'static) {
        self.cable.bench(act).unwrap();
        self.heard();
    }

    /// Follows the tap that the outcome advises, with the hand that the model has.
    ///
    /// # Panics
    /// When there is no advice.
    pub fn follow(&self, outcome: &Value) {
        let tap = &outcome["tap"];
        let (x, target) = (
            tap["station_mm"].as_f64().unwrap(),
            tap["target_mm"].as_f64().unwrap(),
        );
        self.at_bench(move |bench| {
            bench.move_to(x);
            bench.follow(x, target, 4);
        });
    }

    /// Moves the table and marks there.
    #[must_use]
    pub fn mark_at(&self, x_mm: f64) -> Value {
        self.at_bench(move |bench| bench.move_to(x_mm));
        self.mark(&[])
    }

    /// One round of A B A over 80 mm, and the outcome after it.
    #[must_use]
    pub fn round(&self) -> Value {
        for x in [0.0, 80.0, 0.0] {
            let _ = self.mark_at(x);
        }
        self.json(&["status"])["outcome"].clone()
    }
}

impl Drop for Toolroom {
    fn drop(&mut self) {
        // Whoever started it, the daemon of this directory ends with the test.
        let _ = self.run(&["daemon", "stop"]);
        if let Some(mut child) = self.daemon.take() {
            let _ = child.kill();
            let _ = child.wait();
        }
    }
}
