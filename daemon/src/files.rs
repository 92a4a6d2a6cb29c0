//! The names of the files in the data directory.

/// The file of the store.
pub const FILE_NAME: &str = "conewright.db";

/// The file whose lock says that a daemon holds the directory. The system releases the lock when the process ends, however it
/// ends. The file itself stays, since removing it would let two daemons hold two files of one name.
pub(crate) const LOCK: &str = "lock";

/// What the daemon opens there by its name.
pub(crate) const FILES: [&str; 4] = [LOCK, FILE_NAME, "conewright.db-wal", "conewright.db-shm"];
/// What the names of the files of a damaged store have behind the store's own name, before the time.
pub(crate) const KEPT: &str = "-damaged-";
