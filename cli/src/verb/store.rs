//! `store`: the file of all sessions, checked and copied. The daemon is not asked, and may run or not.

mod keep;

use crate::args::StoreVerb;
use crate::{Answer, Exit, Failure, Paths};
use daemon::store::{self, FILE_NAME, Soundness, StoreError};
use serde_json::json;
use std::path::Path;

pub(super) fn run(paths: &Paths, verb: StoreVerb) -> Result<Answer, Failure> {
    match verb {
        StoreVerb::Check { file } => check(paths, file.as_deref()),
        StoreVerb::Backup { file, force } => backup(paths, &file, force),
        StoreVerb::Archive {
            sessions,
            to,
            force,
        } => keep::archive(paths, &sessions, &to, force),
        StoreVerb::Delete { sessions, yes } => keep::delete(paths, &sessions, yes),
        StoreVerb::Compact => keep::compact(paths),
        StoreVerb::Restore { leave: true, .. } => keep::leave(paths),
        StoreVerb::Restore {
            sessions,
            from,
            yes,
            ..
        } => keep::restore(paths, &sessions, from.as_deref(), yes),
    }
}

fn check(paths: &Paths, file: Option<&Path>) -> Result<Answer, Failure> {
    let found = match file {
        Some(file) => store::check_one(file),
        None => store::check(&paths.data),
    };
    let found = found.map_err(|error| failure(paths, &error))?;
    let mut text = told(&found);
    if found.is_sound() {
        text.push_str("sound\n");
    }
    for fault in &found.faults {
        text.push_str(&format!("fault: {fault}\n"));
    }
    for lost in &found.lost {
        text.push_str(&format!("fault: {}\n", lost.words()));
        if lost.kept != found.file {
            text.push_str(&format!("kept: {}\n", lost.kept.display()));
        }
    }
    let mut document = json!({ "sound": found.is_sound() });
    merge(&mut document, &found)?;
    let answer = Answer::new(text, &document)?;
    if found.is_sound() {
        return Ok(answer);
    }
    Ok(Answer {
        complaint: Some(
            Failure::new(
                "store_unsound",
                format!("{} is not sound", found.file.display()),
            )
            .hint(if found.faults.is_empty() {
                "conewright store restore"
            } else {
                "keep a copy of the data directory as it is, and go back to the last good copy of the store"
            }),
        ),
        ..answer.exit(Exit::Failed)
    })
}

fn backup(paths: &Paths, to: &Path, force: bool) -> Result<Answer, Failure> {
    let copy = store::backup(&paths.data, to, force).map_err(|error| failure(paths, &error))?;
    let counts = &copy.counts;
    let text = format!(
        "the store was copied to {} and checked: sessions {}, marks {}, readings {}, {}",
        to.display(),
        counts.sessions,
        counts.marks,
        counts.readings,
        size(copy.size_bytes),
    );
    let mut document = json!({ "sound": copy.is_sound() });
    merge(&mut document, &copy)?;
    Answer::new(text, &document)
}

fn merge(document: &mut serde_json::Value, found: &Soundness) -> Result<(), Failure> {
    let found = serde_json::to_value(found)
        .map_err(|e| Failure::new("internal", format!("the answer is not JSON: {e}")))?;
    if let (Some(into), serde_json::Value::Object(found)) = (document.as_object_mut(), found) {
        into.extend(found);
    }
    Ok(())
}

fn told(found: &Soundness) -> String {
    let version = if found.version == found.known_version {
        found.version.to_string()
    } else {
        format!(
            "{} (this program's is {}; the daemon's next start brings it there)",
            found.version, found.known_version
        )
    };
    let counts = &found.counts;
    format!(
        "file      {}\nversion   {version}\nsize      {}, and {} in its log\nsessions  {}\nsteps     {}\n\
         marks     {}, {} of them taken back\nreadings  {}\nevents    {}\n",
        found.file.display(),
        size(found.size_bytes),
        size(found.log_bytes),
        counts.sessions,
        counts.steps,
        counts.marks,
        counts.taken_back,
        counts.readings,
        counts.events,
    )
}

fn size(bytes: u64) -> String {
    match bytes {
        0..1_000 => format!("{bytes} B"),
        1_000..1_000_000 => format!("{:.1} kB", bytes as f64 * 1e-3),
        _ => format!("{:.1} MB", bytes as f64 * 1e-6),
    }
}

fn failure(paths: &Paths, error: &StoreError) -> Failure {
    let none = matches!(error, StoreError::File { source, .. } if source.kind() == std::io::ErrorKind::NotFound);
    if none && !paths.data.join(FILE_NAME).exists() {
        return Failure::new(
            "no_store",
            format!("there is no store in {}", paths.data.display()),
        )
        .hint("the first session makes it; --data names another directory");
    }
    let code = match error {
        StoreError::Exists { .. } => "file_exists",
        StoreError::Itself { .. } => "bad_place",
        StoreError::Unsound { .. } => "store_unsound",
        StoreError::OpenSession { .. } => "session_open",
        StoreError::NoSession { .. } => "not_found",
        StoreError::File { .. } => "cannot_write",
        _ => "store_failed",
    };
    let failed = Failure::new(code, error.to_string());
    match error.hint() {
        Some(hint) => failed.hint(hint),
        None => failed,
    }
}
