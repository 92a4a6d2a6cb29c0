//! Files of the store's own, closed to others.

use super::error::{StoreError, file};
use std::fs::{self, File, OpenOptions};
use std::os::unix::fs::{OpenOptionsExt, PermissionsExt};
use std::path::Path;

/// Makes a file that its owner alone may read, or takes the rights of others away. SQLite gives its log the
/// rights of the file itself.
pub(super) fn private_file(path: &Path) -> Result<(), StoreError> {
    let opened = OpenOptions::new()
        .write(true)
        .create(true)
        .truncate(false)
        .mode(0o600)
        .open(path);
    let made = opened.map_err(file(path, "open"))?;
    let limited = made.set_permissions(fs::Permissions::from_mode(0o600));
    limited.map_err(file(path, "limit the rights of"))?;
    sync_directory(path)
}

/// The name of a file is on the disk only when its directory is.
pub(super) fn sync_directory(path: &Path) -> Result<(), StoreError> {
    let Some(directory) = path.parent() else {
        return Ok(());
    };
    let synced = File::open(directory).and_then(|directory| directory.sync_all());
    synced.map_err(file(directory, "write"))
}
