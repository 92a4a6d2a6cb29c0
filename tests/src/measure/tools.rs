//! The programs that stand beside ours, as processes.

use std::ffi::OsStr;
use std::net::{Ipv4Addr, TcpListener};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

/// A program on the path or among the system's own; an error says which package has it.
pub(super) fn find(name: &str, package: &str) -> Result<PathBuf, String> {
    let path = std::env::var_os("PATH").unwrap_or_default();
    let system = ["/usr/sbin", "/sbin"].map(PathBuf::from);
    std::env::split_paths(&path)
        .chain(system)
        .map(|dir| dir.join(name))
        .find(|file| file.is_file())
        .ok_or_else(|| format!("{name} is not here (package {package})"))
}

/// A process that ends with this value.
pub(super) struct Process(pub(super) Child);

impl Process {
    pub(super) fn start(command: &mut Command) -> Result<Self, String> {
        let program = command.get_program().to_owned();
        let child = command
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn();
        child
            .map(Self)
            .map_err(|error| format!("{} does not start: {error}", program.display()))
    }

    pub(super) fn pid(&self) -> u32 {
        self.0.id()
    }
}

impl Drop for Process {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Processes that keep processors busy.
pub(super) fn busy_loops(count: usize) -> Vec<Process> {
    let busy = || Process::start(Command::new("sh").args(["-c", "while :; do :; done"])).unwrap();
    (0..count).map(|_| busy()).collect()
}

/// A port of the loopback that nobody has.
pub(super) fn free_port() -> u16 {
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
    listener.local_addr().unwrap().port()
}

/// How long the threads of a process have worked so far. Source: the Linux kernel's documentation, scheduler statistics,
/// `/proc/<pid>/schedstat`.
pub(super) fn worked(pid: u32) -> Duration {
    let of_task = |task: PathBuf| {
        let text = std::fs::read_to_string(task.join("schedstat")).unwrap_or_default();
        let ns = text.split(' ').next().and_then(|ns| ns.parse().ok());
        Duration::from_nanos(ns.unwrap_or(0))
    };
    tasks(pid).map(of_task).sum()
}

/// How often the threads of a process have gone to sleep so far, which is how often they were woken.
pub(super) fn woken(pid: u32) -> u64 {
    let of_task = |task: PathBuf| field(&task.join("status"), "voluntary_ctxt_switches:");
    tasks(pid).map(of_task).sum()
}

fn tasks(pid: u32) -> impl Iterator<Item = PathBuf> {
    let entries = std::fs::read_dir(format!("/proc/{pid}/task"));
    entries
        .into_iter()
        .flatten()
        .flatten()
        .map(|entry| entry.path())
}

/// Memory of a process, KiB: `VmRSS:` what is resident, `VmHWM:` its highest.
pub(super) fn kib(pid: u32, what: &str) -> u64 {
    field(Path::new(&format!("/proc/{pid}/status")), what)
}

fn field(status: &Path, name: &str) -> u64 {
    let text = std::fs::read_to_string(status).unwrap_or_default();
    let line = text.lines().find(|line| line.starts_with(name));
    line.and_then(|line| line.split_whitespace().nth(1)?.parse().ok())
        .unwrap_or(0)
}

/// Runs a command to its end; the highest memory that it had, KiB.
///
/// # Panics
/// When it cannot be run, or fails.
pub fn run_watched(command: &mut Command) -> u64 {
    let mut child = command.stdout(Stdio::null()).spawn().unwrap();
    let mut most = 0;
    loop {
        // Asked before the look, so that the last look is never at a process that has ended.
        let ended = child.try_wait().unwrap();
        most = most.max(kib(child.id(), "VmHWM:"));
        if let Some(ended) = ended {
            assert!(ended.success(), "{command:?}: {ended}");
            return most;
        }
        std::thread::sleep(Duration::from_millis(2));
    }
}

/// Runs a command that must succeed, and throws away what it prints.
pub(super) fn run(command: &mut Command) {
    let ended = command.stdout(Stdio::null()).status().unwrap();
    assert!(ended.success(), "{command:?}: {ended}");
}

/// The folder of what stands beside the measurements.
pub(super) fn yardsticks(file: impl AsRef<OsStr>) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("yardsticks")
        .join(file.as_ref())
}
