//! The thread that writes: the store's calls wait for the disk, and nothing else must.

#[cfg(test)]
mod by_hand;

#[cfg(test)]
pub(crate) use by_hand::ByHand;

use super::error::StoreError;
use super::file::Store;
use super::rows::Write;
use protocol::evidence::Time;
use std::io;
use std::thread::JoinHandle;
use tokio::sync::mpsc;

/// One transaction is under way at a time; a second place lets the closing order in behind it.
const PLACES: usize = 2;

enum Order {
    Write(Write),
    Close { at: Time },
}

/// What became of a transaction.
#[derive(Debug)]
pub struct Written {
    /// What was to be written.
    pub write: Write,
    /// On the disk, or nothing of it.
    pub result: Result<(), StoreError>,
}

/// The thread, and the ways to it and back.
#[derive(Debug)]
pub struct Writer {
    orders: mpsc::Sender<Order>,
    written: mpsc::Receiver<Written>,
    thread: JoinHandle<Result<(), StoreError>>,
}

impl std::fmt::Debug for Order {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Write(_) => f.write_str("Write"),
            Self::Close { .. } => f.write_str("Close"),
        }
    }
}

impl Writer {
    /// Gives the store a thread of its own.
    ///
    /// # Errors
    /// The system refuses a thread.
    pub fn start(store: Store) -> io::Result<Self> {
        let (orders, from_engine) = mpsc::channel(PLACES);
        let (to_engine, written) = mpsc::channel(PLACES);
        let thread = std::thread::Builder::new()
            .name("store".to_owned())
            .spawn(move || serve(store, from_engine, &to_engine))?;
        Ok(Self {
            orders,
            written,
            thread,
        })
    }

    /// Hands a transaction over; [`Writer::written`] returns what became of it. One at a time.
    ///
    /// # Errors
    /// The thread has ended, or has not answered the last one: the transaction is given back.
    pub fn write(&self, write: Write) -> Result<(), Write> {
        self.orders
            .try_send(Order::Write(write))
            .map_err(|error| match error.into_inner() {
                Order::Write(write) => write,
                Order::Close { .. } => Write::default(),
            })
    }

    /// Waits for what became of the transaction under way; `None` when the thread has ended.
    pub async fn written(&mut self) -> Option<Written> {
        self.written.recv().await
    }

    /// Writes the end of the run, check-points and closes the store, and ends the thread.
    ///
    /// # Errors
    /// The disk rejects a write.
    pub async fn close(self, at: Time) -> Result<(), StoreError> {
        let sent = self.orders.send(Order::Close { at }).await;
        drop(self.orders);
        if sent.is_err() {
            return Err(StoreError::Ended);
        }
        let thread = self.thread;
        tokio::task::spawn_blocking(move || thread.join())
            .await
            .ok()
            .and_then(Result::ok)
            .unwrap_or(Err(StoreError::Ended))
    }
}

fn serve(
    mut store: Store,
    mut orders: mpsc::Receiver<Order>,
    written: &mpsc::Sender<Written>,
) -> Result<(), StoreError> {
    while let Some(order) = orders.blocking_recv() {
        match order {
            Order::Write(write) => {
                let result = store.write(&write);
                if written.blocking_send(Written { write, result }).is_err() {
                    break;
                }
            }
            Order::Close { at } => {
                // A disk that takes no more is no reason to leave the file open.
                let ended = store.end_run(at);
                return store.close().and(ended);
            }
        }
    }
    // The engine is gone without a word, as when it is killed: what was committed is in the log.
    Ok(())
}
