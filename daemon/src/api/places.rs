//! The places that connections take, and who gives its own up when all are taken.

use std::collections::VecDeque;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use tokio::task::{AbortHandle, JoinSet};

/// The open connections of a listener.
pub(crate) struct Places {
    most: usize,
    pub connections: JoinSet<()>,
    /// The oldest first.
    places: VecDeque<Place>,
}

/// One connection's place.
struct Place {
    task: AbortHandle,
    is_earned: Earned,
}

/// Whether a client has shown that it belongs here.
#[derive(Debug, Clone, Default)]
pub(crate) struct Earned(Arc<AtomicBool>);

impl Earned {
    pub fn set(&self, is_earned: bool) {
        self.0.store(is_earned, Ordering::Relaxed);
    }

    fn get(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

impl Places {
    pub fn new(most: usize) -> Self {
        Self {
            most,
            connections: JoinSet::new(),
            places: VecDeque::new(),
        }
    }

    /// Whether there is a place for one more. When all are taken, the oldest connection that has not earned its own
    /// gives it up: whoever only holds connections keeps nobody out.
    pub fn make(&mut self) -> bool {
        if self.places.len() < self.most {
            return true;
        }
        self.places.retain(|place| !place.task.is_finished());
        if self.places.len() < self.most {
            return true;
        }
        let idle = |place: &Place| !place.is_earned.get();
        let oldest = self.places.iter().position(idle);
        match oldest.and_then(|oldest| self.places.remove(oldest)) {
            Some(place) => {
                place.task.abort();
                true
            }
            None => false,
        }
    }

    /// Serves a connection. The work is given the sign by which it says that its client has earned the place.
    pub fn serve<F>(&mut self, work: impl FnOnce(Earned) -> F)
    where
        F: Future<Output = ()> + Send + 'static,
    {
        let is_earned = Earned::default();
        let task = self.connections.spawn(work(is_earned.clone()));
        self.places.push_back(Place { task, is_earned });
    }
}
