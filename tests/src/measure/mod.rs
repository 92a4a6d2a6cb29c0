//! What is promised of speed and size, measured beside what a user would pick instead, in the same run: so a ratio counts and not
//! the machine. The program `measure` prints the table; `tests/measure` builds what it needs and runs it.

#![allow(clippy::unwrap_used, reason = "a panic is a measurement's message")]

mod arrays;
mod bytes;
mod export;
mod idle;
mod latency;
mod live;
mod machine;
mod marks;
mod program;
mod python;
mod shop;
mod stacks;
mod starts;
mod stats;
mod table;
mod throughput;
mod tools;

pub use machine::Machine;
pub use table::{Held, Line, markdown, put_between, text};
pub use tools::run_watched;

/// The line of docs/performance.md after which the table stands.
pub const BEGIN: &str = "<!-- measured: begin -->";
/// The line after it.
pub const END: &str = "<!-- measured: end -->";

/// A row of the table: what is measured by one name.
#[derive(Debug, Clone, Copy)]
pub struct Row {
    /// Its name on the command line.
    pub name: &'static str,
    /// What it measures, in a few words.
    pub what: &'static str,
    /// Measures it.
    pub run: fn() -> Vec<Line>,
}

/// All rows, the long ones last.
pub const ROWS: [Row; 17] = [
    Row {
        name: "latency",
        what: "a reading from the port to a client, at 20, 100 and 1000 readings/s",
        run: latency::undisturbed,
    },
    Row {
        name: "busy",
        what: "the same under four busy loops",
        run: latency::under_load,
    },
    Row {
        name: "throughput",
        what: "readings/s from eight ports to the file",
        run: throughput::row,
    },
    Row {
        name: "decode",
        what: "bytes to readings",
        run: bytes::row,
    },
    Row {
        name: "fits",
        what: "least squares line and limaçon, 1e6 points",
        run: arrays::fits,
    },
    Row {
        name: "zones",
        what: "minimum zone circle of 1e5 points and line of 1e6",
        run: arrays::zones,
    },
    Row {
        name: "stacks",
        what: "exact stacks from the 112-piece kit",
        run: stacks::row,
    },
    Row {
        name: "live",
        what: "one live reading more, after 1e6 beside 1e3",
        run: live::row,
    },
    Row {
        name: "marks",
        what: "a mark with its outcome, in a session of 1000 marks beside one of 10",
        run: marks::row,
    },
    Row {
        name: "crowd",
        what: "a mark among 150 half requests beside one without them",
        run: marks::among_half_requests,
    },
    Row {
        name: "start",
        what: "a verb as a whole process",
        run: starts::row,
    },
    Row {
        name: "export",
        what: "the record of 1e6 readings as csv, json, html and pdf",
        run: export::row,
    },
    Row {
        name: "shop",
        what: "one archive for 100 daemons, in PostgreSQL",
        run: shop::row,
    },
    Row {
        name: "alone",
        what: "a daemon whose cable is not connected",
        run: idle::alone,
    },
    Row {
        name: "idle",
        what: "a daemon that nobody looks at, one cable at 20 readings/s for ten minutes",
        run: idle::streaming,
    },
    Row {
        name: "build",
        what: "the executable, and a clean build of it",
        run: program::build,
    },
    Row {
        name: "tests",
        what: "the test suite",
        run: program::tests,
    },
];

/// The program's figure for a length of time that a person may shorten for a trial: `CONEWRIGHT_MEASURE_SHARE` is the share of the
/// usual rounds and times, 1 unless set. A run with less than 1 is a trial of the instrument and says nothing of the program.
fn share() -> f64 {
    let set = std::env::var("CONEWRIGHT_MEASURE_SHARE").ok();
    set.and_then(|text| text.parse().ok())
        .unwrap_or(1.0_f64)
        .clamp(0.01, 1.0)
}

/// So many rounds, fewer in a trial.
fn rounds(usual: usize) -> usize {
    ((usual as f64 * share()).round() as usize).max(1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_row_has_a_name_of_its_own() {
        let names: BTreeSet<&str> = ROWS.iter().map(|row| row.name).collect();
        assert_eq!(names.len(), ROWS.len());
    }

    #[test]
    fn the_page_has_a_place_for_the_table() {
        let page = crate::pages::read("docs/performance.md");
        let new = put_between(&page, BEGIN, END, "the table\n").unwrap();
        assert!(new.contains(&format!("{BEGIN}\nthe table\n{END}\n")));
    }
}
