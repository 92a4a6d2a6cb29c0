//! A daemon whose cable is not connected, and at which nobody looks, is not woken up; and what it waits for it hears of all the same.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::process::Place;
use conewright_tests::pulse::Port;
use conewright_tests::toolroom::DEADLINE;
use std::collections::BTreeMap;
use std::fs;
use std::os::unix::fs::symlink;
use std::time::{Duration, Instant};

/// How long it has to sleep without being woken.
const AT_REST: Duration = Duration::from_secs(3);

/// How often each thread of a process has gone to sleep so far: so often it was woken.
fn woken(pid: u32) -> BTreeMap<String, u64> {
    let tasks = fs::read_dir(format!("/proc/{pid}/task")).unwrap();
    tasks
        .filter_map(|task| {
            let task = task.ok()?;
            let status = fs::read_to_string(task.path().join("status")).ok()?;
            let line = status
                .lines()
                .find(|line| line.starts_with("voluntary_ctxt_switches:"))?;
            let times = line.split_whitespace().nth(1)?.parse().ok()?;
            Some((task.file_name().into_string().ok()?, times))
        })
        .collect()
}

/// Waits until no thread of it was woken, and none has ended, for [`AT_REST`].
fn comes_to_rest(pid: u32) {
    let until = Instant::now() + DEADLINE;
    loop {
        let before = woken(pid);
        let begun = Instant::now();
        while begun.elapsed() < AT_REST && woken(pid) == before {
            std::thread::sleep(Duration::from_millis(100));
        }
        let after = woken(pid);
        if after == before {
            return;
        }
        assert!(Instant::now() < until, "{before:?}, then {after:?}");
    }
}

/// Asks until the daemon's status has these words.
fn says(place: &Place, words: &str, mut each: impl FnMut()) {
    let until = Instant::now() + DEADLINE;
    loop {
        each();
        let status = place.ask("GET", "/v1/status", "").unwrap();
        if status.contains(words) {
            return;
        }
        assert!(Instant::now() < until, "{status}\n{}", place.log());
        std::thread::sleep(Duration::from_millis(20));
    }
}

#[test]
fn without_its_cable_it_is_not_woken_and_hears_of_cable_and_configuration() {
    let directory = tempfile::tempdir().unwrap();
    let mut port = Port::open();
    let link = directory.path().join("by-name/bench");
    let config = port.config().replace(port.path(), link.to_str().unwrap());
    let place = Place::new(directory.path(), &config);
    let daemon = place.start();
    says(&place, "\"state\":\"gone\"", || ());
    comes_to_rest(daemon.pid());

    fs::create_dir(directory.path().join("by-name")).unwrap();
    symlink(port.path(), &link).unwrap();
    says(&place, "\"state\":\"live\"", || port.send(1));

    drop(port);
    says(&place, "\"state\":\"gone\"", || ());
    comes_to_rest(daemon.pid());

    // Nobody asks for it: a status would itself take the configuration.
    let with_another = config
        + &Port::open()
            .cable("another")
            .replace("/dev/pts/", "/dev/pts/none-");
    fs::write(place.file("conewright.toml"), with_another).unwrap();
    let until = Instant::now() + DEADLINE;
    while !place.log().contains("the configuration was loaded") {
        assert!(Instant::now() < until, "{}", place.log());
        std::thread::sleep(Duration::from_millis(20));
    }
    comes_to_rest(daemon.pid());
    daemon.stop();
}
