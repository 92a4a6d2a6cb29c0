//! Two at once, with real processes: two daemons on one data directory, command lines that mark at the same instant, undo against mark, the
//! end of a step against mark. Each meets whole changes and is told what became of its own.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::process::Place;
use serde_json::Value;
use std::collections::BTreeSet;
use std::process::Output;
use std::sync::Barrier;

/// How often each race is run.
const RACES: usize = 12;

/// Runs verbs as processes that begin at the same instant.
fn at_once(place: &Place, verbs: &[&[&str]]) -> Vec<(Output, Value)> {
    let barrier = Barrier::new(verbs.len());
    std::thread::scope(|scope| {
        let started: Vec<_> = verbs
            .iter()
            .map(|args| {
                let barrier = &barrier;
                scope.spawn(move || {
                    let mut command = place.command(args);
                    command.arg("--json");
                    barrier.wait();
                    let output = command.output().unwrap();
                    let said = serde_json::from_slice(&output.stdout).unwrap();
                    (output, said)
                })
            })
            .collect();
        started.into_iter().map(|one| one.join().unwrap()).collect()
    })
}

fn open_step(place: &Place) {
    place.json(&["session", "open", "spindle seat", "--span", "80"]);
    place.json(&["step", "zero"]);
}

/// The marks of the latest session's steps: step, number, whether it was taken back.
fn marks(place: &Place) -> Vec<(u64, u64, bool)> {
    let file = place.file("record.json");
    let to = file.to_str().unwrap();
    place.json(&["export", "latest", "--to", to]);
    let verified = place.json(&["verify", to]);
    assert_eq!(verified["agrees"], true, "{verified}");
    let record: Value = serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap();
    let steps = record["steps"].as_array().unwrap();
    steps
        .iter()
        .flat_map(|step| {
            let number = step["number"].as_u64().unwrap();
            let marks = step["marks"].as_array().unwrap();
            marks.iter().map(move |mark| {
                let taken_back = mark["taken_back"] == true;
                (number, mark["number"].as_u64().unwrap(), taken_back)
            })
        })
        .collect()
}

#[test]
fn of_two_daemons_on_one_directory_one_runs_and_the_other_says_which() {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    let running = place.start();
    open_step(&place);
    place.json(&["mark", "--value", "0.1"]);
    let mut second = place.command(&["daemon", "run", "--json"]);
    // Also one that would listen elsewhere.
    let elsewhere = place.file("elsewhere/socket");
    for socket in [place.socket(), elsewhere.clone()] {
        let output = second.env("CONEWRIGHT_SOCKET", &socket).output().unwrap();
        assert_eq!(output.status.code(), Some(1));
        let said: Value = serde_json::from_slice(&output.stdout).unwrap();
        assert_eq!(said["error"]["code"], "data_held", "{said}");
        let message = said["error"]["message"].as_str().unwrap();
        assert!(message.contains(&running.pid().to_string()), "{message}");
    }
    assert!(!elsewhere.exists());
    // The first goes on undisturbed.
    place.json(&["mark", "--value", "0.2"]);
    assert_eq!(marks(&place).len(), 2);
    running.stop();
}

/// Neither was there before: one gets the directory, whatever the order.
#[test]
fn of_two_daemons_that_start_at_the_same_instant_one_runs() {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    for _ in 0..RACES {
        let barrier = Barrier::new(2);
        let mut children: Vec<_> = std::thread::scope(|scope| {
            let spawn = || {
                barrier.wait();
                place
                    .command(&["daemon", "run"])
                    .stderr(std::process::Stdio::null())
                    .spawn()
                    .unwrap()
            };
            let threads = [scope.spawn(spawn), scope.spawn(spawn)];
            threads.map(|thread| thread.join().unwrap()).into()
        });
        // The one that is left answers; the other ends by itself.
        while place.ask("GET", "/v1/status", "").is_err() {
            std::thread::yield_now();
        }
        let lost = loop {
            let ended = children
                .iter_mut()
                .position(|child| child.try_wait().unwrap().is_some());
            if let Some(lost) = ended {
                break lost;
            }
            std::thread::yield_now();
        };
        let mut child = children.remove(lost);
        assert_eq!(child.wait().unwrap().code(), Some(1));
        place.json(&["daemon", "stop"]);
        assert!(children[0].wait().unwrap().success());
    }
}

/// Verbs that find no daemon start one; two at once start one.
#[test]
fn two_verbs_without_a_daemon_end_up_at_the_same_one() {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    for _ in 0..3 {
        for (output, said) in at_once(&place, &[&["session", "list"], &["session", "list"]]) {
            assert!(output.status.success(), "{said}");
        }
        place.json(&["daemon", "stop"]);
    }
}

#[test]
fn command_lines_that_mark_at_the_same_instant_make_a_mark_each() {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    let running = place.start();
    open_step(&place);
    let mut numbers = BTreeSet::new();
    for _ in 0..RACES {
        let verbs: [&[&str]; 3] = [&["mark", "--value", "0.1"]; 3];
        for (output, said) in at_once(&place, &verbs) {
            assert!(output.status.success(), "{said}");
            assert!(numbers.insert(said["number"].as_u64().unwrap()), "{said}");
        }
    }
    let stored: BTreeSet<u64> = marks(&place).iter().map(|(_, number, _)| *number).collect();
    assert_eq!(stored, numbers);
    assert_eq!(numbers, (1..=3 * RACES as u64).collect());
    running.stop();
}

/// An undo takes back the mark before or the one that is made at that instant, says which, and never half of one.
#[test]
fn undo_against_mark_takes_a_whole_mark_back() {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    let running = place.start();
    open_step(&place);
    place.json(&["mark", "--value", "0.1"]);
    let mut taken_back = BTreeSet::new();
    for _ in 0..RACES {
        let both = at_once(&place, &[&["mark", "--value", "0.1"], &["undo"]]);
        let [(marked, mark), (undone, undo)] = &both[..] else {
            panic!("two answers");
        };
        assert!(
            marked.status.success() && undone.status.success(),
            "{mark} {undo}"
        );
        let number = undo["number"].as_u64().unwrap();
        assert!(taken_back.insert(number), "{number} was taken back twice");
        assert!(number <= mark["number"].as_u64().unwrap());
    }
    let marks = marks(&place);
    assert_eq!(marks.len(), 1 + RACES, "each is kept, taken back or not");
    let stored: BTreeSet<u64> = marks
        .iter()
        .filter(|(_, _, back)| *back)
        .map(|(_, number, _)| *number)
        .collect();
    assert_eq!(stored, taken_back);
    running.stop();
}

/// A mark is in the step or is refused since no step is open; it is never in a later one.
#[test]
fn the_end_of_a_step_against_mark_takes_it_in_or_refuses_it() {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    let running = place.start();
    place.json(&["session", "open", "spindle seat", "--span", "80"]);
    let mut expected = Vec::new();
    for step in 1..=RACES as u64 {
        place.json(&["step", "zero"]);
        let both = at_once(&place, &[&["mark", "--value", "0.1"], &["step", "close"]]);
        let [(marked, mark), (closed, close)] = &both[..] else {
            panic!("two answers");
        };
        assert!(closed.status.success(), "{close}");
        if marked.status.success() {
            expected.push((step, 1, false));
        } else {
            assert_eq!(mark["error"]["code"], "no_step", "{mark}");
        }
    }
    assert_eq!(marks(&place), expected);
    running.stop();
}
