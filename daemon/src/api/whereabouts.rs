//! Whether the socket's file is still where clients look for it.
//!
//! Cleaning up a runtime directory, or a slip of somebody's `rm`, takes the file away from a daemon that goes on listening where
//! nobody can reach it. The kernel tells of it (inotify), so an idle daemon is not woken up.

use crate::fatal::Fatal;
use crate::socket::SocketFile;
use crate::watched::{Wanted, Watched};
use std::os::unix::net::UnixListener as StdListener;
use std::time::Duration;
use tokio::net::UnixListener;

/// How long to wait before the next try when the place cannot be had: another daemon answers there, or the disk is read-only.
const TRY_AGAIN: Duration = Duration::from_secs(5);

/// The socket's file, watched.
pub(super) struct Whereabouts {
    file: SocketFile,
    /// None where the system does not watch: then the file is not found again.
    watch: Option<Watched>,
}

impl Whereabouts {
    /// Watches the way to the file. Within a runtime.
    pub fn of(file: SocketFile) -> Self {
        let watch = Watched::of(Wanted::Name(file.path()));
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
                // The way may be another one.
                *self = Self::of(self.file.clone());
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

    /// Something happened on the way to the file.
    async fn changed(&mut self) {
        let Some(watch) = &mut self.watch else {
            return std::future::pending().await;
        };
        // What it was does not matter: the file is looked at.
        if let Err(error) = watch.changed().await {
            tracing::warn!(%error, "the socket's directory is no longer watched");
            std::future::pending::<()>().await;
        }
    }
}
