//! A disk and a port whose n-th call fails, for n = 1, 2, 3 … until a session goes through. Here every third call, with
//! the faults taking turns; the program `by_count` tries every fault at every call.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::by_count::{
    OF_DISKS, Run, of_marks, of_recordings, on_a_disk, recovering, sweep,
};
use conewright_tests::port_by_count::{OF_PORTS, on_a_port, on_a_port_that_comes_back};

fn as_promised(runs: Vec<Result<Run, String>>) -> Vec<Run> {
    let told = |run: Result<Run, String>| run.unwrap_or_else(|wrong| panic!("{wrong}"));
    runs.into_iter().map(told).collect()
}

#[test]
fn a_disk_may_fail_at_any_call() {
    let runs = as_promised(sweep(&OF_DISKS, 3, |fault, nth| {
        on_a_disk(of_marks, fault, nth)
    }));
    assert!(runs.len() > 25, "{} runs", runs.len());
    assert!(runs.iter().any(|run| run.not_started));
    assert!(runs.iter().any(|run| run.refused > 0));
}

#[test]
fn a_disk_may_fail_at_any_call_of_steps_that_record() {
    let runs = as_promised(sweep(&OF_DISKS, 7, |fault, nth| {
        on_a_disk(of_recordings, fault, nth)
    }));
    assert!(runs.len() > 25, "{} runs", runs.len());
    assert!(runs.iter().any(|run| run.refused > 0));
}

#[test]
fn a_disk_may_fail_again_at_any_call_of_the_recovery() {
    let runs = as_promised(sweep(&OF_DISKS, 3, |fault, nth| {
        recovering((of_marks, 8), fault, nth)
    }));
    assert!(runs.len() > 15, "{} runs", runs.len());
    assert!(runs.iter().any(|run| run.not_started));
}

#[test]
fn a_port_may_fail_at_any_call() {
    // It is read without end while it streams: the calls of opening, setting and the first readings.
    for n in 1..=12_u64 {
        let fault = OF_PORTS[n as usize % OF_PORTS.len()];
        let run = on_a_port(fault, n).unwrap_or_else(|wrong| panic!("{fault:?} at {n}: {wrong}"));
        assert!(run.met, "{fault:?} at {n}");
    }
}

#[test]
fn a_port_may_fail_again_at_any_call_while_it_is_opened_anew() {
    for n in 1..=12_u64 {
        let fault = OF_PORTS[n as usize % OF_PORTS.len()];
        let run = on_a_port_that_comes_back(fault, n);
        let run = run.unwrap_or_else(|wrong| panic!("{fault:?} at {n}: {wrong}"));
        assert!(run.met, "{fault:?} at {n}");
    }
}
