//! The store's thread, worked by a test: it says when a transaction is done, and when the engine hears of it.

use super::{Order, PLACES, Writer, Written};
use crate::store::{Store, StoreError};
use std::sync::mpsc as std_mpsc;
use tokio::sync::mpsc;

/// The thread's side of a [`Writer`].
pub(crate) struct ByHand {
    store: Option<Store>,
    orders: mpsc::Receiver<Order>,
    written: mpsc::Sender<Written>,
    /// What is on the disk, or was rejected, and the engine has not heard of.
    done: Option<Written>,
    /// Ends the thread, which does nothing else.
    end: std_mpsc::Sender<Result<(), StoreError>>,
}

impl Writer {
    /// A writer whose work a test does.
    pub(crate) fn by_hand(store: Store) -> (Self, ByHand) {
        let (orders, from_engine) = mpsc::channel(PLACES);
        let (to_engine, written) = mpsc::channel(PLACES);
        let (end, ended) = std_mpsc::channel();
        let thread = std::thread::spawn(move || ended.recv().unwrap_or(Err(StoreError::Ended)));
        let writer = Self {
            orders,
            written,
            thread,
        };
        let by_hand = ByHand {
            store: Some(store),
            orders: from_engine,
            written: to_engine,
            done: None,
            end,
        };
        (writer, by_hand)
    }
}

impl ByHand {
    /// Does the transaction that was handed over, or closes the store; whether there was anything to do. As the thread, it takes
    /// the next one when the engine has heard of the last.
    pub fn perform(&mut self) -> bool {
        if self.done.is_some() {
            return false;
        }
        let (Ok(order), Some(store)) = (self.orders.try_recv(), &mut self.store) else {
            return false;
        };
        match order {
            Order::Write(write) => {
                let result = store.write(&write);
                self.done = Some(Written { write, result });
            }
            Order::Close { at } => {
                let ended = store.end_run(at);
                let closed = self.store.take().map_or(Ok(()), Store::close);
                // The thread waits for it.
                let _ = self.end.send(closed.and(ended));
            }
        }
        true
    }

    /// Whether something is on the disk that the engine has not heard of.
    pub fn is_done(&self) -> bool {
        self.done.is_some()
    }

    /// Lets the engine hear of it; whether there was anything.
    pub fn deliver(&mut self) -> bool {
        match self.done.take() {
            // An engine that has ended hears nothing.
            Some(written) => self.written.try_send(written).is_ok(),
            None => false,
        }
    }
}
