//! The configuration while the daemon runs: read again when its file has changed.

use crate::watched::{Wanted, Watched};
use config::{Config, ConfigError};
use std::convert::Infallible;
use std::future::pending;
use std::os::unix::fs::MetadataExt;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::{Duration, SystemTime};
use tokio::sync::Notify;
use tokio::time::sleep;

/// Asked when the file may have changed, and when a session is opened: nothing when the configuration has not changed since
/// it was last asked, else the new one, or why it cannot be taken.
pub type ConfigSource = Box<dyn FnMut() -> Option<Result<Config, ConfigError>> + Send>;

/// A configuration that never changes.
#[must_use]
pub fn fixed() -> ConfigSource {
    Box::new(|| None)
}

/// What differs when the content of a file has changed, found without reading it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Seen {
    modified: Option<SystemTime>,
    length: u64,
    /// An editor may write another file and give it the name; a copy may keep the time and the length.
    file: (u64, u64),
    changed: (i64, i64),
}

/// The configuration of a file, which was read just now by [`Config::load`].
#[must_use]
pub fn file(path: PathBuf) -> ConfigSource {
    let look = |path: &PathBuf| {
        let found = std::fs::metadata(path).ok()?;
        Some(Seen {
            modified: found.modified().ok(),
            length: found.len(),
            file: (found.dev(), found.ino()),
            changed: (found.ctime(), found.ctime_nsec()),
        })
    };
    let mut seen = look(&path);
    Box::new(move || {
        let now = look(&path);
        if now == seen {
            return None;
        }
        seen = now;
        Some(Config::load(&path))
    })
}

/// How often the file is looked at where the system does not tell that it has changed.
const LOOK_AGAIN: Duration = Duration::from_secs(1);

/// Nudges whoever takes the configuration whenever its file may have changed.
pub(crate) async fn tell_of_changes(file: Option<PathBuf>, nudge: Arc<Notify>) -> Infallible {
    let Some(path) = file else {
        return pending().await;
    };
    loop {
        // Watched first, so that what changes meanwhile is told too.
        let watched = Watched::of(Wanted::Content(&path));
        nudge.notify_one();
        let told = match watched {
            Ok(mut watched) => watched.changed().await,
            Err(error) => Err(error),
        };
        if let Err(error) = told {
            tracing::debug!(%error, "the system does not tell when the configuration changes");
            sleep(LOOK_AGAIN).await;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_changed_file_is_read_once_and_a_broken_one_reported() {
        let directory = tempfile::tempdir().unwrap();
        let path = directory.path().join("conewright.toml");
        std::fs::write(&path, "").unwrap();
        let mut source = file(path.clone());
        assert!(source().is_none(), "it was read just now");
        std::fs::write(&path, "[settle]\nhold = \"0.75s\"\n").unwrap();
        let taken = source().unwrap();
        assert!(source().is_none(), "reported once");
        // Another file with the same length and time takes its name.
        let time = std::fs::metadata(&path).unwrap().modified().unwrap();
        let copy = directory.path().join("copy");
        std::fs::write(&copy, "[settle]\nhold = \"0.85s\"\n").unwrap();
        std::fs::File::open(&copy)
            .unwrap()
            .set_modified(time)
            .unwrap();
        std::fs::rename(&copy, &path).unwrap();
        assert_eq!(source().unwrap().unwrap().settle.hold_s, 0.85);
        std::fs::write(&path, "[cable.bench]\nprot = \"/dev/ttyUSB0\"\n").unwrap();
        let broken = source().unwrap().unwrap_err().to_string();
        assert!(broken.contains("prot"), "{broken}");
        std::fs::remove_file(&path).unwrap();
        assert!(
            source().unwrap().is_err(),
            "a file that is gone is reported too"
        );
        drop(taken);
    }
}
