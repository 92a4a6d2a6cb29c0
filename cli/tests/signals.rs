//! What the daemon does with signals.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod home;

use home::Home;
use rustix::process::{Pid, Signal, kill_process};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

fn daemon(home: &Home) -> Child {
    let mut command: Command = home.command(&["daemon", "run"]);
    let child = command.stderr(Stdio::null()).spawn().unwrap();
    // A verb that finds no daemon would start another one.
    until(|| home.data().join("socket").exists());
    child
}

fn until(done: impl FnMut() -> bool) {
    let mut done = done;
    let deadline = Instant::now() + Duration::from_secs(20);
    while !done() {
        assert!(Instant::now() < deadline, "it did not come to that");
        std::thread::sleep(Duration::from_millis(20));
    }
}

#[test]
fn a_signal_without_a_meaning_ends_nothing() {
    let home = Home::new();
    let mut daemon = daemon(&home);
    home.done(&["session", "open", "seat"]);
    for signal in [Signal::USR1, Signal::USR2, Signal::ALARM] {
        kill_process(Pid::from_child(&daemon), signal).unwrap();
        // The daemon would be gone before it answers twice.
        home.done(&["status"]);
        home.done(&["note", "still there"]);
    }
    assert!(daemon.try_wait().unwrap().is_none());
    home.done(&["daemon", "stop"]);
    assert!(daemon.wait().unwrap().success());
}

#[test]
fn told_to_quit_it_stops_in_order() {
    let home = Home::new();
    let mut daemon = daemon(&home);
    home.done(&["session", "open", "seat"]);
    kill_process(Pid::from_child(&daemon), Signal::QUIT).unwrap();
    assert!(daemon.wait().unwrap().success());
    // Everything is in the store's file; nothing is left beside it.
    assert!(home.data().join("conewright.db").exists());
    assert!(!home.data().join("conewright.db-wal").exists());
}
