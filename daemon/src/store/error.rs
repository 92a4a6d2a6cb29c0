//! What can be wrong with the store, and what the user can do about it.

use protocol::api::{Code, Refusal};
use rusqlite::ErrorCode;
use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};

/// Why the store could not be opened, read or written.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// SQLite refused.
    #[error("{}", refused_by_sqlite(self))]
    Sqlite {
        /// The file.
        path: PathBuf,
        /// What was being done, to follow "could not".
        doing: &'static str,
        /// Why.
        source: rusqlite::Error,
        /// What the system says when a file is written beside it, where SQLite says less.
        trial: Option<io::Error>,
    },
    /// A file operation beside SQLite failed.
    #[error("could not {doing} {}: {source}", path.display())]
    File {
        /// The file or directory.
        path: PathBuf,
        /// What was being done, to follow "could not".
        doing: &'static str,
        /// Why.
        source: io::Error,
    },
    /// The file was written by a newer program.
    #[error("{} was written by a newer program (version {found}; this one knows up to {known})", path.display())]
    Newer {
        /// The file.
        path: PathBuf,
        /// Its version.
        found: i64,
        /// The newest that this program knows.
        known: i64,
    },
    /// The file is a database of something else.
    #[error("{} is a database of another program", path.display())]
    Foreign {
        /// The file.
        path: PathBuf,
    },
    /// The file has no content. No store of this program is ever empty.
    #[error("{} is empty, and a store never is: what it held is gone", path.display())]
    Empty {
        /// The file.
        path: PathBuf,
    },
    /// The file is not there, and what it left is.
    #[error("{} is missing, and {} of an older store is there", path.display(), trace.display())]
    Missing {
        /// The file.
        path: PathBuf,
        /// What is there.
        trace: PathBuf,
    },
    /// The file was deleted or replaced under the running daemon.
    #[error("{} was removed or replaced while the daemon was running", path.display())]
    Removed {
        /// The file.
        path: PathBuf,
    },
    /// A copy would lie in the place of the store itself.
    #[error("{} belongs to the store itself, and is not a place for a copy", path.display())]
    Itself {
        /// The place.
        path: PathBuf,
    },
    /// A copy would replace what is there.
    #[error("{} is there already", path.display())]
    Exists {
        /// The place.
        path: PathBuf,
    },
    /// The file's content is broken.
    #[error("{} is not sound: {fault}", path.display())]
    Unsound {
        /// The file.
        path: PathBuf,
        /// The first thing that is wrong.
        fault: String,
    },
    /// It was refused, and could not be taken back for certain: a restart may find it.
    #[error("{0}, and undoing it failed too: it may be there after a restart")]
    Unsure(#[source] Box<StoreError>),
    /// There is no such session.
    #[error("there is no session `{asked}`")]
    NoSession {
        /// What was asked for.
        asked: String,
    },
    /// The session is open, and goes on changing.
    #[error("session {session} is open")]
    OpenSession {
        /// Its number.
        session: i64,
    },
    /// The file was written by an older program.
    #[error("{} was written by an older program (version {found}; this one writes {known})", path.display())]
    Older {
        /// The file.
        path: PathBuf,
        /// Its version.
        found: i64,
        /// The version of this program.
        known: i64,
    },
    /// Nothing was kept aside that could be brought back.
    #[error("no damaged store is kept in {}", directory.display())]
    NothingKept {
        /// The data directory.
        directory: PathBuf,
    },
    /// The store's thread has ended.
    #[error("the store's thread has ended")]
    Ended,
}

impl StoreError {
    /// Whether there is no room left.
    #[must_use]
    pub fn is_full(&self) -> bool {
        match self {
            Self::Sqlite { source, trial, .. } => {
                source.sqlite_error_code() == Some(ErrorCode::DiskFull)
                    || trial.as_ref().is_some_and(is_full)
            }
            Self::File { source, .. } => is_full(source),
            Self::Unsure(refused) => refused.is_full(),
            _ => false,
        }
    }

    /// Whether the same may go well when it is tried again: the disk may have failed just once.
    pub(super) fn may_pass(&self) -> bool {
        let Self::Sqlite { source, .. } = self else {
            return false;
        };
        matches!(
            source.sqlite_error_code(),
            Some(
                ErrorCode::SystemIoFailure
                    | ErrorCode::CannotOpen
                    | ErrorCode::ReadOnly
                    | ErrorCode::DatabaseCorrupt
                    | ErrorCode::NotADatabase
            )
        )
    }

    /// What to do next.
    #[must_use]
    pub fn hint(&self) -> Option<String> {
        let hint = match self {
            Self::Unsure(_) => {
                "put the disk right, restart the daemon, and look whether it is there before doing it again"
                    .to_owned()
            }
            error if error.is_full() => {
                "make room on that disk; nothing needs to be restarted".to_owned()
            }
            Self::Newer { .. } => {
                "use the newer program, or give another data directory with --data".to_owned()
            }
            Self::Foreign { .. } => "give another data directory with --data".to_owned(),
            Self::Empty { path } => format!(
                "put the last good copy in its place (`conewright store backup` makes them); to begin a new store, move {} away",
                path.display()
            ),
            Self::Missing { path, trace } => format!(
                "put {} back; to begin a new store, move {} away",
                path.display(),
                trace.display()
            ),
            Self::Removed { path } => format!(
                "move {0} back, and the daemon goes on; before you put a copy there, or move {0}-wal away as well to begin a new \
                 store, stop it: conewright daemon stop",
                path.display()
            ),
            Self::Itself { .. } => "name another file for the copy".to_owned(),
            Self::Exists { .. } => "name another file, or replace it with --force".to_owned(),
            Self::Unsound { .. } => "keep the file as it is, and an older copy; \
                `conewright store check` lists all that is wrong"
                .to_owned(),
            // What is in the file cannot be read: rights and room are not the matter.
            Self::Sqlite {
                source: rusqlite::Error::FromSqlConversionFailure(..),
                ..
            } => "keep a copy of the file and report this; --data gives another data directory"
                .to_owned(),
            Self::Sqlite { source, .. } if is_broken(source) => "check the disk, and keep a copy of the data directory \
                as it is; `conewright store check` lists what is wrong"
                .to_owned(),
            Self::Sqlite { source, .. } if is_held(source) => {
                "another program holds the store: end that, and do it again; nothing needs to be restarted".to_owned()
            }
            Self::Sqlite { path, .. } | Self::File { path, .. } => format!(
                "check the disk, and that {} may be written by this user",
                path.parent().unwrap_or(path).display()
            ),
            Self::NoSession { .. } => "`conewright session list` lists the sessions".to_owned(),
            Self::OpenSession { .. } => "close it first: `conewright session close`".to_owned(),
            Self::Older { .. } => {
                "start the daemon once, which brings it up to date: `conewright status`".to_owned()
            }
            Self::NothingKept { .. } => "name an archive or a copy to bring sessions back from: \
                `conewright store restore --from FILE`"
                .to_owned(),
            Self::Ended => {
                "restart the daemon; what was answered before is in the store".to_owned()
            }
        };
        Some(hint)
    }

    /// The answer to a client: `not_done` says what was refused, as `the mark was not stored`.
    #[must_use]
    pub fn refusal(&self, not_done: &str) -> Refusal {
        let code = match self {
            Self::NoSession { .. } => Code::NotFound,
            error if error.is_full() => Code::StoreFull,
            _ => Code::StoreFailed,
        };
        let message = match self {
            Self::Unsure(_) => format!("it is not certain that {not_done}: {self}"),
            _ => format!("{not_done}: {self}"),
        };
        let refusal = Refusal::new(code, message);
        match self.hint() {
            Some(hint) => refusal.hint(hint),
            None => refusal,
        }
    }
}

/// What SQLite refused, in words.
fn refused_by_sqlite(error: &StoreError) -> String {
    let StoreError::Sqlite {
        path,
        doing,
        source,
        trial,
    } = error
    else {
        return String::new();
    };
    let path = path.display();
    if error.is_full() {
        return format!("could not {doing}: no room is left for {path}");
    }
    let mut words = format!("could not {doing} ({path}): {source}");
    if is_broken(source) {
        // SQLite uses the same word when the device cannot be read.
        words.push_str("; its content is broken, or the disk does not read it");
    }
    if let Some(trial) = trial {
        words.push_str(&format!("; a file beside it cannot be written: {trial}"));
    }
    words
}

fn is_held(error: &rusqlite::Error) -> bool {
    matches!(
        error.sqlite_error_code(),
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked)
    )
}

fn is_broken(error: &rusqlite::Error) -> bool {
    matches!(
        error.sqlite_error_code(),
        Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase)
    )
}

fn is_full(error: &io::Error) -> bool {
    matches!(
        error.kind(),
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded
    )
}

/// Puts an error of SQLite into words. That of its two that hide the system's own reason is asked for by a trial: a file
/// is written beside the store.
pub(super) fn sqlite(
    path: &Path,
    doing: &'static str,
) -> impl FnOnce(rusqlite::Error) -> StoreError {
    let path = path.to_owned();
    move |source| {
        let hides_why = matches!(
            source.sqlite_error_code(),
            Some(ErrorCode::SystemIoFailure | ErrorCode::CannotOpen | ErrorCode::ReadOnly)
        );
        StoreError::Sqlite {
            trial: hides_why.then(|| trial(&path).err()).flatten(),
            path,
            doing,
            source,
        }
    }
}

/// Puts an error of a file operation into words.
pub(crate) fn file(path: &Path, doing: &'static str) -> impl FnOnce(io::Error) -> StoreError {
    let path = path.to_owned();
    move |source| StoreError::File {
        path,
        doing,
        source,
    }
}

fn trial(path: &Path) -> io::Result<()> {
    let beside = path.with_file_name(format!(".trial.{}", std::process::id()));
    let written = OpenOptions::new()
        .write(true)
        .create(true)
        .truncate(true)
        .mode(0o600)
        .open(&beside)
        .and_then(|mut file| {
            file.write_all(&[0; 4096])?;
            file.sync_all()
        });
    // What cannot be removed was not made, or the reason is reported already.
    let _ = fs::remove_file(&beside);
    written
}
