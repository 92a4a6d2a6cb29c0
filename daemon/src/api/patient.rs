//! A connection whose client has to take what it asked for: one that reads nothing for too long is disconnected, since
//! it holds a place among the connections, the live views, or the readers of the store.

use std::io;
use std::pin::Pin;
use std::task::{Context, Poll, ready};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::time::{Instant, Sleep, sleep_until};

/// How long a client may take nothing while there is something for it. A live view that was stopped by its
/// terminal is disconnected as well, and connects again when it goes on.
const PATIENCE: Duration = Duration::from_secs(30);

/// The connection.
pub(super) struct Patient<T> {
    inner: T,
    /// Until when the client has to take something; only while it takes nothing.
    deadline: Option<Pin<Box<Sleep>>>,
}

impl<T> Patient<T> {
    pub fn new(inner: T) -> Self {
        Self {
            inner,
            deadline: None,
        }
    }

    /// What became of an attempt to write: none is waited for beyond the deadline.
    fn judged<R>(
        &mut self,
        cx: &mut Context<'_>,
        tried: Poll<io::Result<R>>,
    ) -> Poll<io::Result<R>> {
        if tried.is_ready() {
            self.deadline = None;
            return tried;
        }
        let deadline = self
            .deadline
            .get_or_insert_with(|| Box::pin(sleep_until(Instant::now() + PATIENCE)));
        ready!(deadline.as_mut().poll(cx));
        Poll::Ready(Err(io::Error::new(
            io::ErrorKind::TimedOut,
            "the client does not read",
        )))
    }
}

impl<T: AsyncRead + Unpin> AsyncRead for Patient<T> {
    fn poll_read(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        to: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        Pin::new(&mut self.inner).poll_read(cx, to)
    }
}

impl<T: AsyncWrite + Unpin> AsyncWrite for Patient<T> {
    fn poll_write(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        let tried = Pin::new(&mut self.inner).poll_write(cx, bytes);
        self.judged(cx, tried)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        bytes: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let tried = Pin::new(&mut self.inner).poll_write_vectored(cx, bytes);
        self.judged(cx, tried)
    }

    fn is_write_vectored(&self) -> bool {
        self.inner.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        let tried = Pin::new(&mut self.inner).poll_flush(cx);
        self.judged(cx, tried)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.inner).poll_shutdown(cx)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tokio::io::{AsyncReadExt, AsyncWriteExt, duplex};

    /// Two pieces do not fit at once, so that the second waits for the client.
    const PIECE: [u8; 64] = [7; 64];

    #[tokio::test(start_paused = true)]
    async fn a_client_that_takes_nothing_is_let_go_after_its_time() {
        let (near, _far) = duplex(PIECE.len());
        let mut near = Patient::new(near);
        near.write_all(&PIECE).await.unwrap();
        let begun = Instant::now();
        let error = near.write_all(&PIECE).await.unwrap_err();
        assert_eq!(error.kind(), io::ErrorKind::TimedOut);
        assert_eq!(begun.elapsed().as_secs(), PATIENCE.as_secs());
    }

    #[tokio::test(start_paused = true)]
    async fn one_that_takes_a_little_now_and_then_is_served() {
        let (near, mut far) = duplex(PIECE.len());
        let mut near = Patient::new(near);
        let reader = tokio::spawn(async move {
            let mut taken = 0;
            while taken < 10 * PIECE.len() {
                tokio::time::sleep(PATIENCE - Duration::from_secs(1)).await;
                let mut few = [0; 16];
                taken += far.read(&mut few).await.unwrap();
            }
            // The other end is held until all is taken.
            far
        });
        for _ in 0..10 {
            near.write_all(&PIECE).await.unwrap();
        }
        reader.await.unwrap();
    }

    #[tokio::test(start_paused = true)]
    async fn silence_with_nothing_to_take_is_no_fault() {
        let (near, mut far) = duplex(PIECE.len());
        let mut near = Patient::new(near);
        for _ in 0..3 {
            tokio::time::sleep(10 * PATIENCE).await;
            near.write_all(&PIECE).await.unwrap();
            far.read_exact(&mut [0; PIECE.len()]).await.unwrap();
        }
    }
}
