//! Whether a directory is its user's own: where the store and the socket lie, nobody else may put anything.

use std::fmt;
use std::fs::{self, DirBuilder, Permissions};
use std::io::{self, ErrorKind};
use std::os::unix::fs::{DirBuilderExt, MetadataExt, PermissionsExt};
use std::path::{Path, PathBuf};

/// Rights of the group and of others, and among these the right to write.
const OTHERS: u32 = 0o077;
const OTHERS_WRITE: u32 = 0o022;
/// Only its owner may remove or rename a file in such a directory, as in `/tmp`.
const STICKY: u32 = 0o1000;

/// What a directory is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Use {
    /// For the data: nobody else may even look into it.
    Data,
    /// For the socket, which has rights of its own. It may be one that is kept for all, as `/run` and `/tmp` are.
    Socket,
}

/// Why a directory is not used.
#[derive(Debug)]
pub enum NotOwn {
    /// It belongs to another user, or a file in it does.
    Foreign {
        /// Which.
        path: PathBuf,
        /// The user's number.
        owner: u32,
    },
    /// The way to it goes over a link that another user made, and may turn elsewhere.
    ForeignLink {
        /// The link.
        path: PathBuf,
        /// The user's number.
        owner: u32,
    },
    /// The system does not let us.
    System {
        /// Which directory.
        path: PathBuf,
        /// What was being done, to follow "could not".
        doing: &'static str,
        /// Why.
        source: io::Error,
    },
}

impl fmt::Display for NotOwn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Foreign { path, owner } => {
                write!(
                    f,
                    "{} belongs to another user (number {owner})",
                    path.display()
                )
            }
            Self::ForeignLink { path, owner } => write!(
                f,
                "{} is a link that another user made (number {owner}), who may turn it elsewhere",
                path.display()
            ),
            Self::System {
                path,
                doing,
                source,
            } => write!(f, "could not {doing} {}: {source}", path.display()),
        }
    }
}

impl std::error::Error for NotOwn {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::System { source, .. } => Some(source),
            Self::Foreign { .. } | Self::ForeignLink { .. } => None,
        }
    }
}

/// Makes a directory that `user` alone may enter. One that is there already must be his own; where others may write into it, or
/// for the data only enter it, it is closed to them, and what was done is returned in words.
///
/// # Errors
/// It is another user's, or reached by another user's link, or cannot be made or closed.
pub fn directory(path: &Path, user: u32, purpose: Use) -> Result<Option<String>, NotOwn> {
    for above in path.ancestors() {
        // What is not there, or cannot be looked at, is told by the making.
        if let Ok(found) = fs::symlink_metadata(above)
            && found.is_symlink()
            && ![user, 0].contains(&found.uid())
        {
            return Err(NotOwn::ForeignLink {
                path: above.to_owned(),
                owner: found.uid(),
            });
        }
    }
    let system = |doing| {
        move |source| NotOwn::System {
            path: path.to_owned(),
            doing,
            source,
        }
    };
    let made = DirBuilder::new().recursive(true).mode(0o700).create(path);
    made.map_err(system("make the directory"))?;
    let found = fs::metadata(path).map_err(system("look at the directory"))?;
    let (mode, owner) = (found.mode() & 0o7777, found.uid());
    let for_all = mode & OTHERS_WRITE == 0 || mode & STICKY != 0;
    if owner != user {
        return if purpose == Use::Socket && owner == 0 && for_all {
            Ok(None)
        } else {
            Err(NotOwn::Foreign {
                path: path.to_owned(),
                owner,
            })
        };
    }
    let closed = match purpose {
        Use::Data => mode & !OTHERS,
        Use::Socket if for_all => mode,
        Use::Socket => mode & !OTHERS_WRITE,
    };
    if closed == mode {
        return Ok(None);
    }
    match fs::set_permissions(path, Permissions::from_mode(closed)) {
        // Others write nothing there either.
        Err(error) if error.kind() == ErrorKind::ReadOnlyFilesystem => Ok(None),
        Err(error) => Err(system("close to other users the directory")(error)),
        Ok(()) => Ok(Some(format!(
            "other users had access to the directory {}: its mode was {mode:04o} and is {closed:04o} from here on",
            path.display()
        ))),
    }
}

/// Sees that files in a directory are `user`'s own, as far as they are there. A link counts as whose it is, and not as what it
/// points to.
///
/// # Errors
/// One is another user's.
pub fn files(directory: &Path, user: u32, names: &[&str]) -> Result<(), NotOwn> {
    for path in names.iter().map(|name| directory.join(name)) {
        if let Ok(found) = fs::symlink_metadata(&path)
            && found.uid() != user
        {
            let owner = found.uid();
            return Err(if found.is_symlink() {
                NotOwn::ForeignLink { path, owner }
            } else {
                NotOwn::Foreign { path, owner }
            });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::os::unix::fs::symlink;

    fn mode(path: &Path) -> u32 {
        fs::metadata(path).unwrap().mode() & 0o7777
    }

    /// Who runs the tests, and another user that he is taken for.
    fn users(directory: &Path) -> (u32, u32) {
        let own = fs::metadata(directory).unwrap().uid();
        (own, own + 1)
    }

    #[test]
    fn a_new_directory_is_closed_and_one_that_is_open_is_closed_with_a_word() {
        let root = tempfile::tempdir().unwrap();
        let (own, _) = users(root.path());
        let path = root.path().join("a/b");
        assert_eq!(directory(&path, own, Use::Data).unwrap(), None);
        assert_eq!(mode(&path), 0o700);
        for (purpose, before, after) in [
            (Use::Data, 0o777, 0o700),
            (Use::Data, 0o750, 0o700),
            (Use::Socket, 0o777, 0o755),
            (Use::Socket, 0o775, 0o755),
        ] {
            fs::set_permissions(&path, Permissions::from_mode(before)).unwrap();
            let words = directory(&path, own, purpose).unwrap().unwrap();
            assert_eq!(mode(&path), after, "{words}");
            assert!(words.contains(&format!("{before:04o}")), "{words}");
        }
        for (purpose, left) in [(Use::Socket, 0o755), (Use::Socket, 0o1777)] {
            fs::set_permissions(&path, Permissions::from_mode(left)).unwrap();
            assert_eq!(directory(&path, own, purpose).unwrap(), None);
            assert_eq!(mode(&path), left);
        }
    }

    #[test]
    fn a_foreign_directory_or_file_is_refused() {
        let root = tempfile::tempdir().unwrap();
        let (_, other) = users(root.path());
        let path = root.path().join("a");
        fs::create_dir(&path).unwrap();
        fs::set_permissions(&path, Permissions::from_mode(0o777)).unwrap();
        for purpose in [Use::Data, Use::Socket] {
            let refused = directory(&path, other, purpose).unwrap_err();
            assert!(matches!(refused, NotOwn::Foreign { .. }), "{refused}");
        }
        fs::write(path.join("lock"), "").unwrap();
        assert!(files(&path, other, &["lock"]).is_err());
        assert!(files(&path, other, &["not there"]).is_ok());
    }

    #[test]
    fn a_link_of_another_user_is_not_followed() {
        let root = tempfile::tempdir().unwrap();
        let (own, other) = users(root.path());
        let link = root.path().join("link");
        symlink(root.path(), &link).unwrap();
        let path = link.join("data");
        assert_eq!(directory(&path, own, Use::Data).unwrap(), None, "one's own");
        // Root's links are the system's own, and whoever is root cannot be tested for another.
        if own != 0 {
            let refused = directory(&path, other, Use::Data).unwrap_err();
            assert!(matches!(refused, NotOwn::ForeignLink { .. }), "{refused}");
        }
    }
}
