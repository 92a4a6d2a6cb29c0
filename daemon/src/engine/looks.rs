//! When the engine looks at what nothing tells it of: the clocks, the room on the disk, tasks that have failed.
//!
//! Once a second while something goes on. While nothing does, and nobody looks on, it is not woken up: it looks when it is told
//! to, and before the next request or reading counts.

use std::sync::Arc;
use std::time::Duration;
use tokio::sync::Notify;
use tokio::time::Instant;

/// How often it looks while something goes on.
const EVERY: Duration = Duration::from_secs(1);
/// How long what was told may still go on: a file is not whole while it is written.
const TOLD: Duration = Duration::from_millis(250);

/// When it has looked, and when it will.
#[derive(Debug)]
pub(super) struct Looks {
    last: Option<Instant>,
    told: Option<Instant>,
}

/// Tells the engine to look when it is dropped: whatever a task ends by, its end is noticed.
#[derive(Debug, Clone)]
pub(crate) struct Nudge(pub Arc<Notify>);

impl Drop for Nudge {
    fn drop(&mut self) {
        self.0.notify_one();
    }
}

impl Looks {
    /// It has not looked yet.
    pub const fn new() -> Self {
        Self {
            last: None,
            told: None,
        }
    }

    /// It looks now.
    pub fn done(&mut self, now: Instant) {
        self.last = Some(now);
        self.told = None;
    }

    /// Something has changed that is worth a look.
    pub fn tell(&mut self, now: Instant) {
        self.told.get_or_insert(now + TOLD);
    }

    /// When to look next, with something going on or not.
    pub fn next(&self, going_on: bool, now: Instant) -> Option<Instant> {
        let regular = going_on.then(|| self.last.map_or(now, |last| last + EVERY));
        [regular, self.told].into_iter().flatten().min()
    }

    /// Whether the last look is longer ago than it is while something goes on.
    pub fn is_overdue(&self, now: Instant) -> bool {
        self.last.is_none_or(|last| now > last + 2 * EVERY)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn looks_every_second_while_something_goes_on_and_else_when_told() {
        let start = Instant::now();
        let after = |ms| start + Duration::from_millis(ms);
        let mut looks = Looks::new();
        assert!(looks.is_overdue(start));
        assert_eq!(looks.next(true, start), Some(start), "the first is at once");
        looks.done(start);
        assert_eq!(looks.next(true, after(10)), Some(after(1_000)));
        assert_eq!(looks.next(false, after(10)), None);
        looks.tell(after(100));
        looks.tell(after(300));
        assert_eq!(
            looks.next(false, after(310)),
            Some(after(350)),
            "the first counts"
        );
        assert_eq!(looks.next(true, after(310)), Some(after(350)));
        looks.done(after(350));
        assert_eq!(looks.next(false, after(360)), None);
        assert!(!looks.is_overdue(after(2_350)));
        assert!(looks.is_overdue(after(2_351)));
    }
}
