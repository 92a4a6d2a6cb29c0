//! A store whose log was damaged: kept aside before SQLite changes it, and told until the user has settled it.

use super::error::{StoreError, file, sqlite};
use super::log::{self, Damage, beside};
use super::opened::reading;
use super::private::{private_file, sync_directory};
use crate::files::{FILE_NAME, KEPT};
use metrology::Counted;
use protocol::record::EventKind;
use rusqlite::{Connection, OptionalExtension, params};
use std::collections::BTreeMap;
use std::fs::{self, File, Metadata};
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use std::time::UNIX_EPOCH;

/// What the name of the file has that holds everything that could be read.
const READ: &str = "-read";
/// What the name of a file has that is not whole yet.
const PART: &str = ".part";

/// A damage of the log that the user has not settled yet.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Lost {
    /// The damaged store as it was found, with its log beside it. Until a daemon has started, that is the store itself.
    pub kept: PathBuf,
    /// Acknowledged changes that can be seen behind the damage.
    pub changes: u64,
    /// Acknowledged marks that are missing; absent when they cannot be counted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub marks: Option<u64>,
}

impl Lost {
    /// What is missing, in words.
    #[must_use]
    pub fn words(&self) -> String {
        let missing = match self.marks {
            Some(marks) if marks > 0 => Counted(marks, "acknowledged mark").to_string(),
            _ => format!("acknowledged changes (at least {})", self.changes.max(1)),
        };
        let verb = if self.marks == Some(1) { "is" } else { "are" };
        format!(
            "the store's log was damaged, and {missing} {verb} missing; `conewright store restore` lists what can be brought back"
        )
    }
}

/// Copies a store with a damaged log aside, before SQLite changes it. The copy has its last name when it is whole.
///
/// # Errors
/// The log cannot be read, or there is no room for the copy. SQLite must not open the store then.
pub(super) fn keep_aside(path: &Path) -> Result<Option<PathBuf>, StoreError> {
    // A disk that failed once is asked a second time, as everywhere in the beginning.
    let found = log::look(path).or_else(|_| log::look(path));
    let Some(damage) = found.map_err(file(&beside(path, "-wal"), "read"))? else {
        return Ok(None);
    };
    let kept = free_name(path)?;
    let part = beside(&kept, PART);
    let done = (|| {
        copy(&beside(path, "-wal"), &beside(&kept, "-wal"))?;
        copy(&beside(path, "-shm"), &beside(&kept, "-shm"))?;
        copy(path, &part)?;
        // A daemon that is ended here reads the damaged log again, and keeps another copy.
        read_into(path, &damage, &beside(&kept, READ))?;
        // Once the copy has its name, nothing of it may be missing, also after a power cut.
        sync_directory(&kept)?;
        fs::rename(&part, &kept).map_err(file(&kept, "write"))?;
        sync_directory(&kept)
    })();
    if let Err(error) = done {
        let ends = ["-wal", "-shm", READ, PART];
        for left in ends.map(|ending| beside(&kept, ending)) {
            // The reason is the one reported.
            let _ = fs::remove_file(left);
        }
        return Err(error);
    }
    tracing::error!(
        kept = %kept.display(),
        changes = damage.commits,
        "the store's log is damaged, and acknowledged changes behind the damage are left out; the files are kept as they were"
    );
    Ok(Some(kept))
}

/// Copies a file, if it is there, and brings the copy to the disk.
pub(super) fn copy(from: &Path, to: &Path) -> Result<(), StoreError> {
    if let Err(error) = fs::metadata(from) {
        return match error.kind() {
            ErrorKind::NotFound => Ok(()),
            _ => Err(file(from, "look at")(error)),
        };
    }
    private_file(to)?;
    fs::copy(from, to)
        .and_then(|_| File::open(to)?.sync_all())
        .map_err(file(to, "copy the store to"))
}

/// A name by the moment at which the log was last written, so that no clock is asked.
fn free_name(path: &Path) -> Result<PathBuf, StoreError> {
    let written = fs::metadata(beside(path, "-wal")).or_else(|_| fs::metadata(path));
    let written = written.map_err(file(path, "look at"))?;
    let seconds = utc_ns(&written) / 1_000_000_000;
    let time = jiff::Timestamp::from_second(seconds).unwrap_or_default();
    let name = beside(path, &format!("{KEPT}{}", time.strftime("%Y%m%dT%H%M%SZ")));
    let mut free = name.clone();
    for further in 2.. {
        if !free.exists() {
            break;
        }
        free = beside(&name, &format!("-{further}"));
    }
    Ok(free)
}

fn utc_ns(found: &Metadata) -> i64 {
    let modified = found.modified().ok();
    let since = modified.and_then(|time| time.duration_since(UNIX_EPOCH).ok());
    since.map_or(0, |since| {
        i64::try_from(since.as_nanos()).unwrap_or(i64::MAX)
    })
}

/// Makes a file of everything that can be read of a store with a damaged log.
fn read_into(path: &Path, damage: &Damage, to: &Path) -> Result<(), StoreError> {
    private_file(to)?;
    let made = (|| {
        fs::copy(path, to)?;
        let log = match File::open(beside(path, "-wal")) {
            Err(error) if error.kind() == ErrorKind::NotFound => None,
            log => Some(log?),
        };
        let to = File::options().read(true).write(true).open(to)?;
        damage.put_into(&to, log.as_ref())
    })();
    made.map_err(file(to, "write"))
}

/// The file of everything that could be read, beside a kept one.
pub(super) fn readable(kept: &Path) -> PathBuf {
    beside(kept, READ)
}

/// Finds what a store has lost by a damaged log that no daemon has seen yet. Nothing is changed.
pub(super) fn unseen(path: &Path) -> Result<Option<Unseen>, StoreError> {
    let found = log::look(path).map_err(file(&beside(path, "-wal"), "read"))?;
    let Some(damage) = found else {
        return Ok(None);
    };
    let folder = tempdir(path)?;
    let whole = folder.path.join(FILE_NAME);
    copy(path, &whole)?;
    copy(&beside(path, "-wal"), &beside(&whole, "-wal"))?;
    let read = beside(&whole, READ);
    read_into(path, &damage, &read)?;
    let here = reading(&whole)?;
    let lost = Lost {
        kept: path.to_owned(),
        changes: damage.commits.into(),
        marks: count(&here, &read).map(|missing| missing.values().sum()),
    };
    drop(here);
    Ok(Some(Unseen {
        lost,
        copy: whole,
        _folder: folder,
    }))
}

/// A damage that no daemon has seen, and a copy of the store that SQLite may open: opening the store itself would remove the
/// traces of the damage.
pub(super) struct Unseen {
    pub lost: Lost,
    pub copy: PathBuf,
    _folder: Temporary,
}

/// A folder that goes with its owner.
pub(super) struct Temporary {
    pub path: PathBuf,
}

impl Drop for Temporary {
    fn drop(&mut self) {
        // What cannot be removed lies where the system removes it.
        let _ = fs::remove_dir_all(&self.path);
    }
}

pub(super) fn tempdir(path: &Path) -> Result<Temporary, StoreError> {
    use std::os::unix::fs::DirBuilderExt;
    for number in 0.. {
        let name = format!("conewright-check-{}-{number}", std::process::id());
        let folder = std::env::temp_dir().join(name);
        match fs::DirBuilder::new().mode(0o700).create(&folder) {
            Ok(()) => return Ok(Temporary { path: folder }),
            Err(error) if error.kind() == ErrorKind::AlreadyExists => {}
            Err(error) => return Err(file(&folder, "make")(error)),
        }
    }
    Err(file(path, "copy")(io::Error::other("no name is free")))
}

/// How many marks of each session the readable file has more than this store; none when it cannot be read.
fn count(here: &Connection, read: &Path) -> Option<BTreeMap<i64, u64>> {
    let of = |c: &Connection| {
        let mut statement = c.prepare(
            "SELECT session.id, count(mark.number) FROM session
             LEFT JOIN step ON step.session = session.id LEFT JOIN mark ON mark.step = step.id
             GROUP BY session.id",
        )?;
        let rows = statement.query_map([], |row| {
            Ok((row.get(0)?, row.get::<_, i64>(1)?.cast_unsigned()))
        })?;
        rows.collect::<rusqlite::Result<BTreeMap<i64, u64>>>()
    };
    let there = of(&reading(read).ok()?).ok()?;
    // Where even the beginning of the store was in the damaged part, it has nothing.
    let here = of(here).unwrap_or_default();
    let more = there.into_iter().map(|(session, marks)| {
        let here = here.get(&session).copied().unwrap_or(0);
        (session, marks.saturating_sub(here))
    });
    Some(more.filter(|(_, marks)| *marks > 0).collect())
}

/// Takes note of every damaged store that was kept aside and is not noted yet: in the store, and in its sessions.
pub(super) fn note_all(c: &mut Connection, path: &Path) -> Result<(), StoreError> {
    let mut begun_anew = false;
    for kept in kept_beside(path)? {
        let name = kept
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        let known: Option<i64> = c
            .query_row("SELECT 1 FROM damage WHERE kept = ?1", [&name], |row| {
                row.get(0)
            })
            .optional()
            .map_err(sqlite(path, "read the store"))?;
        if known.is_some() {
            continue;
        }
        let missing = count(c, &readable(&kept));
        let changes = log::look(&kept).map_err(file(&kept, "read"))?;
        let changes = changes.map_or(0, |damage| damage.commits);
        let found = fs::metadata(beside(&kept, "-wal")).or_else(|_| fs::metadata(&kept));
        let utc = found.as_ref().map_or(0, utc_ns);
        note(c, &name, utc, changes, missing.as_ref())
            .map_err(sqlite(path, "write to the store"))?;
        begun_anew = true;
    }
    if begun_anew {
        // Else what lies behind the damage would be found again at every start.
        c.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))
            .map_err(sqlite(path, "check-point the store"))?;
    }
    Ok(())
}

/// The damaged stores that were kept beside this one, oldest first.
fn kept_beside(path: &Path) -> Result<Vec<PathBuf>, StoreError> {
    let directory = path.parent().unwrap_or(path);
    let begins = format!(
        "{}{KEPT}",
        path.file_name().unwrap_or_default().to_string_lossy()
    );
    let mut kept = Vec::new();
    for entry in fs::read_dir(directory).map_err(file(directory, "look at"))? {
        let entry = entry.map_err(file(directory, "look at"))?;
        let name = entry.file_name().to_string_lossy().into_owned();
        let other = [READ, PART, "-wal", "-shm", "-journal"];
        if name.starts_with(&begins) && !other.iter().any(|ending| name.ends_with(ending)) {
            kept.push(entry.path());
        }
    }
    kept.sort();
    Ok(kept)
}

fn note(
    c: &mut Connection,
    kept: &str,
    utc_ns: i64,
    changes: u32,
    missing: Option<&BTreeMap<i64, u64>>,
) -> rusqlite::Result<()> {
    let transaction = c.transaction()?;
    let marks: Option<u64> = missing.map(|missing| missing.values().sum());
    transaction.execute(
        "INSERT INTO damage (kept, utc_ns, changes, marks) VALUES (?1, ?2, ?3, ?4)",
        params![kept, utc_ns, changes, marks.map(u64::cast_signed)],
    )?;
    for (session, marks) in missing.into_iter().flatten() {
        let text = format!(
            "the store's log was damaged: {} of this session {} missing here; `conewright store restore` brings back what can be read",
            Counted(*marks, "acknowledged mark"),
            if *marks == 1 { "is" } else { "are" },
        );
        let what = serde_json::to_string(&EventKind::Daemon)
            .map_err(|error| rusqlite::Error::ToSqlConversionFailure(Box::new(error)))?;
        // A session that is there only in the readable file has no place for a note.
        transaction.execute(
            "INSERT INTO event (session, t_ns, utc_ns, what, text)
             SELECT id, max(opened_t_ns, coalesce((SELECT max(t_ns) FROM event WHERE session = ?1), opened_t_ns)),
                    ?2, ?3, ?4 FROM session WHERE id = ?1",
            params![session, utc_ns, what, text],
        )?;
    }
    transaction.commit()
}

/// The damages that the user has not settled, oldest first.
pub(super) fn unsettled(c: &Connection, path: &Path) -> rusqlite::Result<Vec<Lost>> {
    let mut statement =
        c.prepare("SELECT kept, changes, marks FROM damage WHERE settled = 0 ORDER BY id")?;
    let rows = statement.query_map([], |row| {
        Ok(Lost {
            kept: path.with_file_name(row.get::<_, String>(0)?),
            changes: row.get::<_, i64>(1)?.cast_unsigned(),
            marks: row.get::<_, Option<i64>>(2)?.map(i64::cast_unsigned),
        })
    })?;
    rows.collect()
}
