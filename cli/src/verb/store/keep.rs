//! Sessions archived, deleted and brought back, and the room that they took.

use super::{failure, merge, size};
use crate::layout::Table;
use crate::{Answer, Exit, Failure, Paths};
use daemon::store::{self, FILE_NAME, How, Offer, Offers, SessionCounts};
use daemon::{Fatal, Home};
use metrology::Counted;
use serde_json::json;
use std::path::Path;

pub(super) fn archive(
    paths: &Paths,
    sessions: &[i64],
    to: &Path,
    force: bool,
) -> Result<Answer, Failure> {
    let found =
        store::archive(&paths.data, sessions, to, force).map_err(|error| failure(paths, &error))?;
    let counts = &found.counts;
    let text = format!(
        "{} archived in {} and checked: marks {}, readings {}, {}\n",
        Counted(counts.sessions, "session"),
        to.display(),
        counts.marks,
        counts.readings,
        size(found.size_bytes),
    );
    let mut document = json!({ "sound": found.is_sound() });
    merge(&mut document, &found)?;
    let next: Vec<String> = sessions.iter().map(ToString::to_string).collect();
    Ok(Answer::new(text, &document)?.talk(format!(
        "still in the store; conewright store delete {} deletes there",
        next.join(" ")
    )))
}

pub(super) fn delete(paths: &Paths, sessions: &[i64], yes: bool) -> Result<Answer, Failure> {
    if !yes {
        let found = store::to_delete(&paths.data, sessions).map_err(|e| failure(paths, &e))?;
        let answer = Answer::new(
            lines(&found),
            &json!({ "deleted": false, "sessions": found }),
        )?;
        return Ok(Answer {
            complaint: Some(
                Failure::new("not_confirmed", "nothing was deleted")
                    .hint("to delete these sessions for good, add --yes"),
            ),
            ..answer.exit(Exit::Failed)
        });
    }
    let home = hold(paths)?;
    let found =
        store::delete(home.directory(), sessions).map_err(|error| failure(paths, &error))?;
    home.release();
    let text = format!("{}deleted\n", lines(&found));
    Ok(
        Answer::new(text, &json!({ "deleted": true, "sessions": found }))?
            .talk("conewright store compact gives the room back to the disk"),
    )
}

fn lines(sessions: &[SessionCounts]) -> String {
    let mut table = Table::new(&["session", "part", "marks", "readings"]);
    for found in sessions {
        table.row([
            found.session.to_string(),
            found.name.clone(),
            found.marks.to_string(),
            found.readings.to_string(),
        ]);
    }
    table.text()
}

pub(super) fn compact(paths: &Paths) -> Result<Answer, Failure> {
    let home = hold(paths)?;
    let (before, after) =
        store::compact(home.directory()).map_err(|error| failure(paths, &error))?;
    home.release();
    let text = format!("the store has {}, and had {}\n", size(after), size(before));
    Answer::new(
        text,
        &json!({ "before_bytes": before, "after_bytes": after }),
    )
}

pub(super) fn restore(
    paths: &Paths,
    sessions: &[i64],
    from: Option<&Path>,
    yes: bool,
) -> Result<Answer, Failure> {
    let home = hold(paths)?;
    let found = if yes {
        store::bring_back(home.directory(), from, sessions)
    } else {
        store::offers(home.directory(), from)
    };
    let found = found.map_err(|error| failure(paths, &error))?;
    home.release();
    let mut document = serde_json::to_value(&found)
        .map_err(|e| Failure::new("internal", format!("the answer is not JSON: {e}")))?;
    document["restored"] = json!(yes);
    let text = offered(&found, yes);
    let answer = Answer::new(text, &document)?;
    Ok(if yes {
        answer
    } else {
        answer.talk("nothing was changed; add --yes to bring them back")
    })
}

fn offered(found: &Offers, done: bool) -> String {
    let mut text = format!("from {}\n", found.from.display());
    for fault in &found.faults {
        text.push_str(&format!("fault: {fault}\n"));
    }
    let mut table = Table::new(&["session", "part", "marks", "in the store", ""]);
    for offer in &found.sessions {
        let Offer {
            there, marks_here, ..
        } = offer;
        table.row([
            there.session.to_string(),
            there.name.clone(),
            there.marks.to_string(),
            marks_here.map_or_else(|| "none".to_owned(), |marks| marks.to_string()),
            what(offer.how, done),
        ]);
    }
    text.push_str(&table.text());
    text
}

fn what(how: How, done: bool) -> String {
    let (added, completed) = if done {
        ("brought back", "completed")
    } else {
        ("can be brought back", "can be completed")
    };
    match how {
        How::Unchanged => "nothing is missing".to_owned(),
        How::Added => added.to_owned(),
        How::Completed => completed.to_owned(),
        How::Beside { as_session } => format!("{added} as session {as_session}"),
    }
}

pub(super) fn leave(paths: &Paths) -> Result<Answer, Failure> {
    let home = hold(paths)?;
    let left = store::leave(home.directory()).map_err(|error| failure(paths, &error))?;
    home.release();
    let text = match left {
        0 => "there was no damage to settle\n".to_owned(),
        _ => "the damage is settled; the kept files stay until you remove them\n".to_owned(),
    };
    Answer::new(text, &json!({ "settled": left }))
}

/// Takes hold of the data directory, so that no daemon starts meanwhile.
fn hold(paths: &Paths) -> Result<Home, Failure> {
    if !paths.data.join(FILE_NAME).exists() {
        return Err(Failure::new(
            "no_store",
            format!("there is no store in {}", paths.data.display()),
        )
        .hint("the first session makes it; --data names another directory"));
    }
    Home::acquire(&paths.data).map_err(|error| match error {
        Fatal::Held { .. } => Failure::new(
            "daemon_running",
            "the daemon is running, and the store may be changed only without it",
        )
        .hint("conewright daemon stop, and then the same again"),
        other => other.into(),
    })
}
