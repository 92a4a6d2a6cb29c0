//! Every fault of a disk and a port at every call of a session and of a recovery, and what came of it, as a table.
//!
//! `cargo run --release -p conewright-tests --bin by_count` after `cargo build --release`.

use conewright_tests::by_count::{
    Fault, OF_DISKS, Run, Script, of_marks, of_recordings, on_a_disk, recovering, sweep,
};
use conewright_tests::port_by_count::{OF_PORTS, on_a_port, on_a_port_that_comes_back};
use std::process::ExitCode;

/// Calls of a port after which it does nothing new: it is read as long as it streams.
const CALLS_OF_A_PORT: u64 = 40;

/// The sessions, each with the act before which the disk breaks that has to be recovered from.
const SESSIONS: [(&str, Script, usize); 2] =
    [("marks", of_marks, 8), ("recordings", of_recordings, 13)];

fn main() -> ExitCode {
    let mut wrong = 0;
    for (name, script, broken) in SESSIONS {
        for fault in OF_DISKS {
            let runs = sweep(&[fault], 1, |fault, nth| on_a_disk(script, fault, nth));
            wrong += print(&format!("disk, {name}"), fault, &runs);
        }
        for fault in OF_DISKS {
            let runs = sweep(&[fault], 1, |fault, nth| {
                recovering((script, broken), fault, nth)
            });
            wrong += print(&format!("recovery, {name}"), fault, &runs);
        }
    }
    for fault in OF_PORTS {
        let runs: Vec<_> = (1..=CALLS_OF_A_PORT).map(|n| on_a_port(fault, n)).collect();
        wrong += print("port", fault, &runs);
    }
    for fault in OF_PORTS {
        let runs = (1..=CALLS_OF_A_PORT).map(|n| on_a_port_that_comes_back(fault, n));
        wrong += print("port that comes back", fault, &runs.collect::<Vec<_>>());
    }
    if wrong == 0 {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}

fn print(of: &str, fault: Fault, runs: &[Result<Run, String>]) -> usize {
    let good = || runs.iter().flatten();
    let wrong: Vec<_> = runs.iter().filter_map(|run| run.as_ref().err()).collect();
    println!(
        "{of:20} {:8} {:8} runs {:4}, met {:4}, not started {:3}, refused {:3}, not as promised {}",
        format!("{:?}", fault.trouble),
        if fault.for_good { "for good" } else { "once" },
        runs.len(),
        good().filter(|run| run.met).count(),
        good().filter(|run| run.not_started).count(),
        good().filter(|run| run.refused > 0).count(),
        wrong.len()
    );
    for wrong in wrong.iter().take(5) {
        println!("  {wrong}");
    }
    wrong.len()
}
