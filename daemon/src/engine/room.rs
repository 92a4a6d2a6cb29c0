//! Whether the disk has room for the next hour at the present rate, so that the user hears of it before marks are rejected.

use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;
use tokio::time::Instant;

/// Asks the system how many bytes a user may still write below a directory.
pub type FreeRoom = Arc<dyn Fn(&Path) -> io::Result<u64> + Send + Sync>;

/// How often the disk is asked. At the usual rates it fills over hours.
const LOOK_EVERY: Duration = Duration::from_secs(10);
/// Room that a reading takes in the store with everything that belongs to it, bytes. docs/reliability.md has 34 measured; the
/// rest is for pages that are not full.
const PER_READING: f64 = 40.0;
/// What the store needs beside its readings: its log before that goes into the file, marks, a migration, bytes.
const RESERVE: u64 = 16 << 20;
/// How long it has to suffice, s.
const AHEAD_S: f64 = 3_600.0;

/// The room under the store.
pub(super) struct Room {
    directory: PathBuf,
    free: FreeRoom,
    looked: Option<Instant>,
    readings: u64,
    short: Option<String>,
}

impl Room {
    pub fn new(directory: PathBuf, free: FreeRoom) -> Self {
        Self {
            directory,
            free,
            looked: None,
            readings: 0,
            short: None,
        }
    }

    /// A reading goes to the store.
    pub fn reading(&mut self) {
        self.readings += 1;
    }

    /// Looks at the disk when it is time. True when there is something else to say than before.
    pub fn look(&mut self, now: Instant) -> bool {
        let since = self.looked.map(|looked| now - looked);
        if since.is_some_and(|since| since < LOOK_EVERY) {
            return false;
        }
        let rate = since.map_or(0.0, |since| self.readings as f64 / since.as_secs_f64());
        self.looked = Some(now);
        self.readings = 0;
        // A disk that does not answer fails at the next mark, with its own reason.
        let short = (self.free)(&self.directory)
            .ok()
            .and_then(|free| short(&self.directory, free, rate));
        let changed = short.is_some() != self.short.is_some();
        if changed {
            match &short {
                Some(words) => tracing::warn!(words, "the disk is nearly full"),
                None => tracing::info!("the disk has room again"),
            }
        }
        self.short = short;
        changed
    }

    /// What the user should know of it.
    pub fn short(&self) -> Option<&str> {
        self.short.as_deref()
    }
}

/// What is said of this much room, bytes, at this rate of stored readings, 1/s; nothing when it suffices.
fn short(directory: &Path, free: u64, rate: f64) -> Option<String> {
    let per_s = rate * PER_READING;
    let left = free.saturating_sub(RESERVE) as f64;
    if free > RESERVE && left >= per_s * AHEAD_S {
        return None;
    }
    let free = free as f64 * 1e-6;
    let place = directory.display();
    Some(if left > 0.0 && per_s > 0.0 {
        format!(
            "the disk of {place} has room for about {:.0} min of readings at this rate ({free:.0} MB free); make room, or marks will be rejected",
            (left / per_s / 60.0).floor()
        )
    } else {
        format!(
            "the disk of {place} is nearly full ({free:.1} MB free); make room, or marks will be rejected"
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(free: u64, rate: f64) -> Option<String> {
        short(Path::new("/data"), free, rate)
    }

    /// Four cables of 50 readings a second need 28.8 MB an hour.
    #[test]
    fn too_little_room_for_an_hour_is_told_and_enough_is_not() {
        let hour = RESERVE + 28_800_000;
        assert_eq!(told(hour, 200.0), None);
        let words = told(hour - 1, 200.0).unwrap();
        assert!(words.contains("about 59 min"), "{words}");
        assert!(words.contains("46 MB free"), "{words}");
    }

    #[test]
    fn a_disk_that_is_nearly_full_is_told_without_any_reading() {
        assert_eq!(told(RESERVE + 1, 0.0), None);
        let words = told(RESERVE, 0.0).unwrap();
        assert!(words.contains("nearly full (16.8 MB free)"), "{words}");
    }

    #[test]
    fn the_rate_is_that_since_the_last_look_and_the_end_of_it_is_told() {
        let free = Arc::new(std::sync::atomic::AtomicU64::new(RESERVE + 1_000_000));
        let asked = Arc::clone(&free);
        let ask = move |_: &Path| Ok(asked.load(std::sync::atomic::Ordering::Relaxed));
        let mut room = Room::new(PathBuf::from("/data"), Arc::new(ask));
        let begun = Instant::now();
        assert!(!room.look(begun), "nothing is stored yet");
        (0..2_000).for_each(|_| room.reading());
        assert!(!room.look(begun + LOOK_EVERY / 2), "not yet");
        // 200/s take 8 kB/s.
        assert!(room.look(begun + LOOK_EVERY));
        assert!(room.short().unwrap().contains("about 2 min"));
        free.store(1 << 40, std::sync::atomic::Ordering::Relaxed);
        assert!(room.look(begun + 2 * LOOK_EVERY));
        assert_eq!(room.short(), None);
    }
}
