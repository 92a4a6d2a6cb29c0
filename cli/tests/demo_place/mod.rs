//! Where a demo works: the directory that it made, and its daemon.

#![allow(dead_code, unreachable_pub, reason = "each test uses its part of it")]

use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::fd::OwnedFd;
use rustix::process::{Pid, Signal, pidfd_send_signal};
use std::path::{Path, PathBuf};

/// The one directory that a demo made in `temporary`.
pub fn made(temporary: &Path) -> PathBuf {
    let mut entries: Vec<_> = std::fs::read_dir(temporary)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    assert_eq!(entries.len(), 1, "{entries:?}");
    entries.remove(0)
}

/// The process that has this directory in its command line: the daemon, at work or left behind.
pub fn daemon_process(directory: &Path) -> Option<Pid> {
    let directory = directory.to_str().unwrap();
    std::fs::read_dir("/proc").unwrap().find_map(|entry| {
        let entry = entry.ok()?;
        let line = std::fs::read(entry.path().join("cmdline")).ok()?;
        let line = String::from_utf8_lossy(&line).replace('\0', " ");
        let pid = entry.file_name().to_str()?.parse().ok()?;
        (line.contains("daemon run") && line.contains(directory))
            .then(|| Pid::from_raw(pid))
            .flatten()
    })
}

/// Waits for the end of a process, and kills one that goes on; whether it ended by itself.
pub fn ended(process: &OwnedFd) -> bool {
    let deadline = Timespec {
        tv_sec: 20,
        tv_nsec: 0,
    };
    let mut ended = [PollFd::new(process, PollFlags::IN)];
    let ended = poll(&mut ended, Some(&deadline)).unwrap() > 0;
    if !ended {
        pidfd_send_signal(process, Signal::KILL).unwrap();
    }
    ended
}
