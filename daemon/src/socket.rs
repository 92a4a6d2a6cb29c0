//! The socket at which the daemon is asked.

use crate::fatal::Fatal;
use crate::home::Home;
use config::own::{self, Use};
use std::fs::{self, Permissions};
use std::io::{self, ErrorKind};
use std::os::unix::fs::{FileTypeExt, MetadataExt, PermissionsExt};
use std::os::unix::net::{SocketAddr, UnixListener, UnixStream};
use std::path::{Path, PathBuf};

/// A socket that listens, in a file of its own.
#[derive(Debug)]
pub struct Socket {
    listener: UnixListener,
    file: SocketFile,
    /// That its directory was open to others, and was closed to them.
    closed: Option<String>,
}

/// The file of a socket.
#[derive(Debug, Clone)]
pub(crate) struct SocketFile {
    path: PathBuf,
    /// Device and inode of the file.
    found: Option<(u64, u64)>,
    /// A service manager made the file, and listens there when no daemon does.
    of_service: bool,
}

impl Socket {
    /// Listens at `path`. A socket that a killed daemon left there is removed: only when connecting to it is
    /// refused, and only by one who holds its data directory.
    ///
    /// # Errors
    /// [`Fatal::SocketInUse`] when somebody answers there, [`Fatal::NotASocket`] when something else lies there,
    /// [`Fatal::NotOwn`] when its directory is another user's, [`Fatal::File`] when the place cannot be used.
    pub fn listen(path: &Path, _held: &Home) -> Result<Self, Fatal> {
        Self::bind(path)
    }

    /// A socket that a service manager listens at and has handed over. Its file stays when the daemon ends: the next client has
    /// the manager start another daemon.
    ///
    /// # Errors
    /// [`Fatal::HandedOver`] when it does not listen at `path`, where clients look for it.
    pub fn handed_over(listener: UnixListener, path: &Path, _held: &Home) -> Result<Self, Fatal> {
        let address = listener.local_addr().ok();
        let at = address.as_ref().and_then(SocketAddr::as_pathname);
        let found = found_at(path);
        if found.is_none() || at.is_none_or(|at| found_at(at) != found) {
            return Err(Fatal::HandedOver {
                path: path.to_owned(),
                at: at.map(Path::to_owned),
            });
        }
        let file = SocketFile {
            path: path.to_owned(),
            found,
            of_service: true,
        };
        Ok(Self {
            listener,
            file,
            closed: None,
        })
    }

    fn bind(path: &Path) -> Result<Self, Fatal> {
        let fail = |doing| {
            move |source| Fatal::File {
                path: path.to_owned(),
                doing,
                source,
            }
        };
        let own = rustix::process::geteuid().as_raw();
        let closed = match path.parent() {
            Some(directory) => own::directory(directory, own, Use::Socket)?,
            None => None,
        };
        remove_left_over(path)?;
        let listener = UnixListener::bind(path).map_err(fail("listen at"))?;
        // Between these two lines others might connect; the check of the peer's user turns them away.
        fs::set_permissions(path, Permissions::from_mode(0o600))
            .map_err(fail("limit the rights of"))?;
        Ok(Self {
            listener,
            file: SocketFile {
                path: path.to_owned(),
                found: found_at(path),
                of_service: false,
            },
            closed,
        })
    }

    /// The listener for a runtime, the file, and what was done to its directory in words.
    pub(crate) fn into_parts(self) -> io::Result<(UnixListener, SocketFile, Option<String>)> {
        self.listener.set_nonblocking(true)?;
        Ok((self.listener, self.file, self.closed))
    }
}

impl SocketFile {
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Whether the file that is there is still this one.
    pub fn is_there(&self) -> bool {
        self.found.is_some() && found_at(&self.path) == self.found
    }

    /// Listens again at the same path, after the file was removed or replaced.
    ///
    /// # Errors
    /// As [`Socket::listen`].
    pub fn listen_again(&mut self) -> Result<UnixListener, Fatal> {
        let Socket { listener, file, .. } = Socket::bind(&self.path)?;
        listener
            .set_nonblocking(true)
            .map_err(|source| Fatal::File {
                path: self.path.clone(),
                doing: "use the socket",
                source,
            })?;
        *self = file;
        Ok(listener)
    }

    /// Removes the file once nobody listens at it any more. A daemon of another data directory may have taken
    /// the place meanwhile; then it answers there, and keeps it. A service manager's stays as well.
    pub fn remove(self) {
        if self.of_service {
            return;
        }
        if let Err(error) = remove_left_over(&self.path) {
            // The next daemon finds that nobody answers there, and removes it.
            tracing::warn!(%error, "the socket was not removed");
        }
    }
}

/// Device and inode of what lies at a path.
fn found_at(path: &Path) -> Option<(u64, u64)> {
    let found = fs::symlink_metadata(path).ok()?;
    Some((found.dev(), found.ino()))
}

fn remove_left_over(path: &Path) -> Result<(), Fatal> {
    let fail = |doing, source| Fatal::File {
        path: path.to_owned(),
        doing,
        source,
    };
    match fs::symlink_metadata(path) {
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(fail("look at", error)),
        Ok(found) if !found.file_type().is_socket() => {
            return Err(Fatal::NotASocket {
                path: path.to_owned(),
            });
        }
        Ok(_) => {}
    }
    match UnixStream::connect(path) {
        Ok(_) => Err(Fatal::SocketInUse {
            path: path.to_owned(),
        }),
        Err(error) if error.kind() == ErrorKind::ConnectionRefused => {
            fs::remove_file(path).map_err(|error| fail("remove the left-over socket", error))
        }
        // It was removed just now.
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(()),
        Err(error) => Err(fail("connect to", error)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_left_over_socket_is_replaced_one_that_answers_is_not() {
        let directory = tempfile::tempdir().unwrap();
        let home = Home::acquire(&directory.path().join("data")).unwrap();
        let path = directory.path().join("run/socket");
        let first = Socket::listen(&path, &home).unwrap();
        let mode = fs::metadata(&path).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode, 0o600);
        let parent = path.parent().unwrap();
        let mode = fs::metadata(parent).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode, 0o700);
        let error = Socket::listen(&path, &home).unwrap_err();
        assert!(matches!(error, Fatal::SocketInUse { .. }), "{error:?}");
        // Killed: the listener is gone, the file is not.
        let Socket { listener, file, .. } = first;
        drop(listener);
        assert!(path.exists());
        let second = Socket::listen(&path, &home).unwrap();
        file.remove();
        assert!(path.exists(), "the first does not remove the second's");
        let Socket { listener, file, .. } = second;
        drop(listener);
        file.remove();
        assert!(!path.exists());
    }

    #[test]
    fn a_socket_of_a_service_manager_stays_and_must_be_where_clients_look() {
        let directory = tempfile::tempdir().unwrap();
        let home = Home::acquire(&directory.path().join("data")).unwrap();
        let (path, other) = (
            directory.path().join("socket"),
            directory.path().join("other"),
        );
        let listens = UnixListener::bind(&path).unwrap();
        let _elsewhere = UnixListener::bind(&other).unwrap();
        let given = || listens.try_clone().unwrap();
        for wrong in [&other, &directory.path().join("nothing")] {
            let error = Socket::handed_over(given(), wrong, &home).unwrap_err();
            assert!(matches!(error, Fatal::HandedOver { .. }), "{error:?}");
        }
        let Socket { listener, file, .. } = Socket::handed_over(given(), &path, &home).unwrap();
        assert!(file.is_there());
        drop(listener);
        file.remove();
        assert!(path.exists());
        assert!(
            UnixStream::connect(&path).is_ok(),
            "the manager listens still"
        );
    }

    #[test]
    fn a_file_of_the_users_is_never_removed() {
        let directory = tempfile::tempdir().unwrap();
        let home = Home::acquire(&directory.path().join("data")).unwrap();
        let path = directory.path().join("record.json");
        fs::write(&path, "{}").unwrap();
        let error = Socket::listen(&path, &home).unwrap_err();
        assert!(matches!(error, Fatal::NotASocket { .. }), "{error:?}");
        assert_eq!(fs::read_to_string(&path).unwrap(), "{}");
    }
}
