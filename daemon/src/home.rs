//! The data directory, held by one daemon at a time.

use crate::fatal::Fatal;
use crate::files::{FILES, LOCK};
use config::own::{self, Use};
use rustix::fs::OFlags;
use std::fs::{self, File, TryLockError};
use std::io::{ErrorKind, Read, Seek, Write};
use std::os::unix::fs::{MetadataExt, OpenOptionsExt};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// What the lock says after the process id when its daemon is on its way out.
const LEAVING: &str = "leaving";
/// How long such a daemon is waited for: it has to bring its log into its file first.
const LEAVING_PATIENCE: Duration = Duration::from_secs(10);
const LOOK_AGAIN: Duration = Duration::from_millis(10);

/// A data directory that this process holds. Dropping it lets go.
#[derive(Debug)]
pub struct Home {
    directory: PathBuf,
    lock: File,
    /// That it was open to others, and was closed to them.
    closed: Option<String>,
}

impl Home {
    /// Makes the directory where there is none, and takes hold of it.
    ///
    /// # Errors
    /// [`Fatal::Held`] when another daemon has it; [`Fatal::File`] when it cannot be used.
    pub fn acquire(directory: &Path) -> Result<Self, Fatal> {
        let own = rustix::process::geteuid().as_raw();
        let closed = own::directory(directory, own, Use::Data)?;
        own::files(directory, own, &FILES)?;
        keep_name(directory)?;
        let path = directory.join(LOCK);
        let fail = |doing| {
            let path = path.clone();
            move |source| Fatal::File {
                path,
                doing,
                source,
            }
        };
        let opened = File::options()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .mode(0o600)
            // A link in its place would have another file written to.
            .custom_flags(OFlags::NOFOLLOW.bits().cast_signed())
            .open(&path);
        let mut lock = opened.map_err(fail("open"))?;
        let deadline = Instant::now() + LEAVING_PATIENCE;
        loop {
            match lock.try_lock() {
                Ok(()) => break,
                Err(TryLockError::Error(source)) => return Err(fail("lock")(source)),
                Err(TryLockError::WouldBlock) => {
                    let (pid, leaving) = holder(&mut lock);
                    if !leaving || Instant::now() >= deadline {
                        return Err(Fatal::Held {
                            directory: directory.to_owned(),
                            pid,
                        });
                    }
                    std::thread::sleep(LOOK_AGAIN);
                }
            }
        }
        let home = Self {
            directory: directory.to_owned(),
            lock,
            closed,
        };
        home.write(&std::process::id().to_string());
        Ok(home)
    }

    fn write(&self, words: &str) {
        let mut lock = &self.lock;
        let written = lock
            .set_len(0)
            .and_then(|()| lock.rewind())
            .and_then(|()| writeln!(lock, "{words}"));
        if let Err(error) = written {
            // A full disk is no reason not to run: the words are only for a second daemon.
            tracing::warn!(%error, "the process id could not be written into the lock");
        }
    }

    /// What was done to the directory, in words.
    pub(crate) fn closed(&self) -> Option<&str> {
        self.closed.as_deref()
    }

    /// Says that this daemon is on its way out: another that is started meanwhile waits for it.
    pub(crate) fn leaving(&self) {
        self.write(&format!("{} {LEAVING}", std::process::id()));
    }

    /// The directory.
    #[must_use]
    pub fn directory(&self) -> &Path {
        &self.directory
    }

    /// Lets another daemon have it.
    pub fn release(self) {
        // Nothing can be done about a failure, and the end of the process lets go in any case.
        let _ = self.lock.unlock();
    }
}

/// Whether some process holds a data directory, whether or not it can be found.
#[must_use]
pub fn is_held(directory: &Path) -> bool {
    let lock = File::open(directory.join(LOCK));
    lock.is_ok_and(|lock| matches!(lock.try_lock_shared(), Err(TryLockError::WouldBlock)))
}

/// The process whose lock holds a data directory, found by the file that it has open: the socket of that daemon may be gone.
#[must_use]
pub fn holder_of(directory: &Path) -> Option<u32> {
    let path = directory.join(LOCK);
    let mut lock = File::open(&path).ok()?;
    // A lock that can be had is nobody's, and is let go again at once.
    if !matches!(lock.try_lock_shared(), Err(TryLockError::WouldBlock)) {
        return None;
    }
    let pid = holder(&mut lock).0?;
    let named = lock.metadata().ok()?;
    let open = fs::read_dir(format!("/proc/{pid}/fd")).ok()?;
    // What the file says may be of another container, where this number is another process.
    let has_it = open
        .flatten()
        .filter_map(|entry| fs::metadata(entry.path()).ok())
        .any(|found| (found.dev(), found.ino()) == (named.dev(), named.ino()));
    has_it.then_some(pid)
}

/// Who holds the lock, and whether it is on its way out; as far as it could write that.
fn holder(lock: &mut File) -> (Option<u32>, bool) {
    let mut text = String::new();
    let read = lock
        .rewind()
        .and_then(|()| lock.take(32).read_to_string(&mut text));
    let mut words = text.split_whitespace();
    let pid = read.ok().and_then(|_| words.next()?.parse().ok());
    (pid, words.next() == Some(LEAVING))
}

/// Brings the names of a directory and of those above it to the disk: a data directory that was just made is otherwise
/// gone after a power cut, with every mark in it. Those that belong to others were not made for it.
fn keep_name(directory: &Path) -> Result<(), Fatal> {
    let own = rustix::process::getuid().as_raw();
    for above in directory.ancestors().skip(1) {
        // One that may be passed through and not read cannot be synced, and is no reason not to run.
        let Ok(opened) = File::open(above) else {
            continue;
        };
        if opened.metadata().is_ok_and(|found| found.uid() != own) {
            break;
        }
        match opened.sync_all() {
            // Some file systems have nothing to sync in a directory, and one that is read-only has not either.
            Err(error)
                if matches!(
                    error.kind(),
                    ErrorKind::InvalidInput
                        | ErrorKind::Unsupported
                        | ErrorKind::ReadOnlyFilesystem
                ) => {}
            Err(source) => {
                return Err(Fatal::File {
                    path: above.to_owned(),
                    doing: "bring to the disk the names in",
                    source,
                });
            }
            Ok(()) => {}
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::os::unix::fs::PermissionsExt;

    #[test]
    fn the_process_that_holds_it_is_found_by_its_lock() {
        let directory = tempfile::tempdir().unwrap();
        assert_eq!(holder_of(directory.path()), None, "no lock");
        let home = Home::acquire(directory.path()).unwrap();
        assert_eq!(holder_of(directory.path()), Some(std::process::id()));
        assert!(is_held(directory.path()));
        // A number that is not the holder's is not believed: process 1 has not opened this file.
        fs::write(directory.path().join(LOCK), "1\n").unwrap();
        assert_eq!(holder_of(directory.path()), None);
        assert!(is_held(directory.path()), "whoever it is");
        home.release();
        assert_eq!(holder_of(directory.path()), None);
        assert!(!is_held(directory.path()));
    }

    #[test]
    fn a_link_in_place_of_the_lock_is_not_written_through() {
        let directory = tempfile::tempdir().unwrap();
        let precious = directory.path().join("precious");
        fs::write(&precious, "kept").unwrap();
        let home = directory.path().join("data");
        fs::create_dir(&home).unwrap();
        std::os::unix::fs::symlink(&precious, home.join(LOCK)).unwrap();
        assert!(matches!(Home::acquire(&home), Err(Fatal::File { .. })));
        assert_eq!(fs::read_to_string(&precious).unwrap(), "kept");
    }

    #[test]
    fn one_daemon_holds_it_and_the_second_learns_which() {
        let directory = tempfile::tempdir().unwrap();
        let home = directory.path().join("data");
        let first = Home::acquire(&home).unwrap();
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_eq!((mode(&home), mode(&home.join(LOCK))), (0o700, 0o600));
        match Home::acquire(&home) {
            Err(Fatal::Held { directory, pid }) => {
                assert_eq!(directory, home);
                assert_eq!(pid, Some(std::process::id()));
            }
            other => panic!("{other:?}"),
        }
        first.release();
        // What an earlier, longer id left behind is gone.
        fs::write(home.join(LOCK), "4194304\n4194304\n").unwrap();
        let again = Home::acquire(&home).unwrap();
        let text = fs::read_to_string(home.join(LOCK)).unwrap();
        assert_eq!(text, format!("{}\n", std::process::id()));
        drop(again);
        Home::acquire(&home).unwrap();
    }

    #[test]
    fn one_that_is_on_its_way_out_is_waited_for() {
        let directory = tempfile::tempdir().unwrap();
        let first = Home::acquire(directory.path()).unwrap();
        first.leaving();
        std::thread::scope(|scope| {
            let second = scope.spawn(|| Home::acquire(directory.path()));
            // It cannot have it before the first lets go, and is still there to take it.
            first.release();
            second.join().unwrap().unwrap();
        });
    }

    #[test]
    fn a_file_in_its_place_is_told() {
        let directory = tempfile::tempdir().unwrap();
        let home = directory.path().join("data");
        fs::write(&home, "").unwrap();
        let error = Home::acquire(&home).unwrap_err();
        assert!(
            error.to_string().contains("could not make the directory"),
            "{error}"
        );
    }
}
