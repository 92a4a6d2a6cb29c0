//! `verify`: every result of a record computed again from its readings; of an archive, every mark against the chain.

use crate::keys::{Keys, Standing};
use crate::{Answer, Exit, Failure};
use daemon::store::{self, Lost, StoreError};
use protocol::record::{ReadError, Signed, Verified, verify};
use serde_json::{Value, json};
use std::fs::File;
use std::io::Read;
use std::path::Path;

/// `must` says that a record must be signed by a known key. Which keys are known is asked only of a signed record.
pub(super) fn run(
    file: &Path,
    must: bool,
    keys: impl FnOnce() -> Result<Keys, Failure>,
) -> Result<Answer, Failure> {
    if is_store(file) {
        if must {
            return Err(Failure::usage(format!(
                "--signed is for a record, and {} is a store",
                file.display()
            )));
        }
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
            signed,
        } => {
            let agrees = format!(
                "{name} agrees: every result computed again (steps {steps}, marks {marks}, readings {readings})"
            );
            let mut json =
                json!({"agrees": true, "steps": steps, "marks": marks, "readings": readings});
            let Some(signed) = signed else {
                let answer = if must { "; it is not signed" } else { "" };
                let answer = Answer::new(agrees + answer, &json)?;
                return Ok(if must {
                    answer.exit(Exit::OutOfTolerance)
                } else {
                    answer
                });
            };
            let standing = keys()?.standing(&signed)?;
            json["signed"] = signed_json(&signed, &standing);
            of_signed(&name.to_string(), &agrees, json, (&signed, &standing), must)
        }
        Verified::NotSigned { by, why } => not_agreed(
            &name.to_string(),
            &by,
            &format!("it is not signed by {by}: {why}"),
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

/// What is known of a signature that holds.
fn of_signed(
    name: &str,
    agrees: &str,
    json: Value,
    (signed, standing): (&Signed, &Standing),
    must: bool,
) -> Result<Answer, Failure> {
    let (by, fingerprint) = (&signed.by, signed.key.fingerprint());
    match standing {
        Standing::Known(known) if known == by => Answer::new(
            format!("{agrees}; signed by {by} ({fingerprint}), key known"),
            &json,
        ),
        Standing::Known(known) => Answer::new(
            format!("{agrees}; signed by {by} ({fingerprint}), key known as {known}"),
            &json,
        ),
        Standing::Unknown => {
            let answer = Answer::new(
                format!("{agrees}; signed by {by} ({fingerprint}), key unknown"),
                &json,
            )?
            .talk(format!(
                "Anybody can sign as {by}. Ask {by} for the fingerprint and the public file, then: conewright key trust FILE"
            ));
            Ok(if must {
                answer.exit(Exit::OutOfTolerance)
            } else {
                answer
            })
        }
        Standing::OtherKey(file) => not_agreed(
            name,
            by,
            &format!(
                "it is signed as {by} by another key ({fingerprint}) than the known one of that name ({})",
                file.display()
            ),
        ),
    }
}

fn signed_json(signed: &Signed, standing: &Standing) -> Value {
    let mut json = json!({
        "by": signed.by,
        "fingerprint": signed.key.fingerprint(),
        "key": signed.key.to_string(),
        "known": matches!(standing, Standing::Known(_)),
    });
    if let Standing::Known(name) = standing {
        json["known_as"] = json!(name);
    }
    json
}

fn not_agreed(name: &str, by: &str, why: &str) -> Result<Answer, Failure> {
    Ok(Answer::new(
        format!("{name} does not agree: {why}"),
        &json!({ "agrees": false, "place": "signature", "recorded": by, "computed": why }),
    )?
    .exit(Exit::OutOfTolerance))
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
