//! `verify`: every result of a record computed again from its readings.

use crate::{Answer, Exit, Failure};
use protocol::record::{ReadError, Verified, verify};
use serde_json::json;
use std::path::Path;

pub(super) fn run(file: &Path) -> Result<Answer, Failure> {
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
