//! Whether the socket's file is still where clients look for it.
//!
//! Cleaning up a runtime directory, or a slip of somebody's `rm`, takes the file away from a daemon that goes on listening where
//! nobody can reach it. The kernel tells of it (inotify), so an idle daemon is not woken up.

use crate::fatal::Fatal;
use crate::socket::SocketFile;
use rustix::fs::inotify::{self, CreateFlags, WatchFlags};
use std::io;
use std::os::unix::net::UnixListener as StdListener;
use std::time::Duration;
use tokio::io::AsyncReadExt;
use tokio::net::UnixListener;
use tokio::net::unix::pipe::Receiver;

/// How long to wait before the next try when the place cannot be had: another daemon answers there, or the disk is read-only.
const TRY_AGAIN: Duration = Duration::from_secs(5);

/// The socket's file, watched.
pub(super) struct Whereabouts {
    file: SocketFile,
    /// None where the system does not watch: then the file is not found again.
    watch: Option<Receiver>,
}

impl Whereabouts {
    /// Watches the directory of the file. Within a runtime.
    pub fn of(file: SocketFile) -> Self {
        let watch = watch(&file);
        if let Err(error) = &watch {
            tracing::warn!(%error, "the socket's directory is not watched: a socket that is removed stays away");
        }
        Self {
            file,
            watch: watch.ok(),
        }
    }

    /// Ready when the file was removed or replaced, and listened at anew: with the listener.
    pub async fn listener(&mut self) -> UnixListener {
        loop {
            if self.file.is_there() {
                self.changed().await;
                continue;
            }
            match self.listen_again() {
                Ok(listener) => {
                    tracing::warn!(
                        socket = %self.file.path().display(),
                        "the socket's file was removed, and is there again"
                    );
                    // Its directory may be a new one.
                    *self = Self::of(self.file.clone());
                    return listener;
                }
                Err(error) => {
                    tracing::warn!(%error, "the socket's file was removed, and cannot be had again");
                    tokio::time::sleep(TRY_AGAIN).await;
                }
            }
        }
    }

    fn listen_again(&mut self) -> Result<UnixListener, Fatal> {
        let listener: StdListener = self.file.listen_again()?;
        UnixListener::from_std(listener).map_err(|source| Fatal::File {
            path: self.file.path().to_owned(),
            doing: "use the socket",
            source,
        })
    }

    /// Something happened in the directory.
    async fn changed(&mut self) {
        let Some(watch) = &mut self.watch else {
            return std::future::pending().await;
        };
        // What it was does not matter: the file is looked at.
        if let Err(error) = watch.read(&mut [0; 4096]).await {
            tracing::warn!(%error, "the socket's directory is no longer watched");
            std::future::pending::<()>().await;
        }
    }
}

fn watch(file: &SocketFile) -> io::Result<Receiver> {
    let directory = file.path().parent().ok_or(io::ErrorKind::NotFound)?;
    let watch = inotify::init(CreateFlags::NONBLOCK | CreateFlags::CLOEXEC)?;
    let events = WatchFlags::DELETE
        | WatchFlags::MOVED_FROM
        | WatchFlags::MOVED_TO
        | WatchFlags::DELETE_SELF
        | WatchFlags::MOVE_SELF;
    inotify::add_watch(&watch, directory, events)?;
    // It is read as a pipe is; only the check that it is one is left out.
    Receiver::from_owned_fd_unchecked(watch)
}
