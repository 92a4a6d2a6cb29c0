//! `verify`: every result of a record computed again from its readings; of an archive, every mark against the chain.

use crate::{Answer, Exit, Failure};
use daemon::store::{self, Lost, StoreError};
use protocol::record::{ReadError, Verified, verify};
use serde_json::json;
use std::fs::File;
use std::io::Read;
use std::path::Path;

pub(super) fn run(file: &Path) -> Result<Answer, Failure> {
    if is_store(file) {
        return of_store(file);
    }
    let name = file.display();
    let text = std::fs::read_to_string(file)
        .map_err(|e| Failure::new("cannot_read", format!("{name} cannot be read: {e}")))?;
    let verified = verify(&text).map_err(|error| {
        let failure = |code| Failure::new(code, format!("{name}: {error}"));
        match error {
            ReadError::Newer(_) => failure("newer_record")
                .hint("use the version of the program that wrote it, or a later one"),
            ReadError::OtherFormat(_) => failure("no_record")
                .hint("verify takes what was written by: conewright export --to FILE.json"),
            ReadError::Malformed(_) => failure("no_record"),
        }
    })?;
    match verified {
        Verified::Agrees {
            steps,
            marks,
            readings,
        } => Answer::new(
            format!(
                "{name} agrees: every result computed again (steps {steps}, marks {marks}, readings {readings})"
            ),
            &json!({"agrees": true, "steps": steps, "marks": marks, "readings": readings}),
        ),
        Verified::Differs(difference) => Ok(Answer::new(
            format!("{name} does not agree: {difference}"),
            &json!({
                "agrees": false,
                "place": difference.place,
                "recorded": difference.recorded,
                "computed": difference.computed,
            }),
        )?
        .exit(Exit::OutOfTolerance)),
    }
}

/// Whether it begins as a database of SQLite does ("Database File Format" at sqlite.org).
fn is_store(file: &Path) -> bool {
    let mut head = [0; 16];
    let read = File::open(file).and_then(|mut file| file.read_exact(&mut head));
    read.is_ok() && head == *b"SQLite format 3\0"
}

/// An archive or a copy has no results of its own: they are computed from its marks, and the chain tells whether these are as they
/// were acknowledged.
fn of_store(file: &Path) -> Result<Answer, Failure> {
    let name = file.display();
    let cannot = |error: StoreError| Failure::new("cannot_read", error.to_string());
    let found = store::check_one(file).map_err(cannot)?;
    let lost = found.lost.iter().map(Lost::words);
    let faults: Vec<String> = found.faults.iter().cloned().chain(lost).collect();
    if let Some(first) = faults.first() {
        return Ok(Answer::new(
            format!("{name} does not agree: {first}"),
            &json!({ "agrees": false, "faults": faults }),
        )?
        .exit(Exit::OutOfTolerance));
    }
    let counts = found.counts;
    Answer::new(
        format!(
            "{name} agrees: every mark is as it was acknowledged (sessions {}, steps {}, marks {}, readings {})",
            counts.sessions, counts.steps, counts.marks, counts.readings
        ),
        &json!({
            "agrees": true,
            "sessions": counts.sessions,
            "steps": counts.steps,
            "marks": counts.marks,
            "readings": counts.readings,
        }),
    )
}
