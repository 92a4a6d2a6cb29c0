//! Which changes of a key are presses.

/// A key that went down, came up, or is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KeyChange {
    /// The kernel's code of the key.
    pub key: u16,
    /// As the kernel tells it: 0 up, 1 down, 2 held and repeated.
    pub value: i32,
}

/// A switch whose contact bounces closes again within this after it opened, ns. Bounce of small switches lasts some
/// milliseconds, and no foot comes back as fast (*common practice*).
const BOUNCE_NS: i64 = 30_000_000;

/// Tells presses from what else a key does.
#[derive(Debug, Default)]
pub(super) struct Presses {
    /// The keys that came up, and when. A pedal has few.
    up: Vec<(u16, i64)>,
}

impl Presses {
    /// Whether this is a press: no release, no repetition of a held key, no bounce.
    pub fn is_press(&mut self, change: KeyChange, steady_ns: i64) -> bool {
        let known = self.up.iter().position(|(key, _)| *key == change.key);
        match (change.value, known) {
            (0, Some(place)) => self.up[place].1 = steady_ns,
            (0, None) => self.up.push((change.key, steady_ns)),
            (1, Some(place)) => return steady_ns - self.up[place].1 >= BOUNCE_NS,
            (1, None) => return true,
            _ => {}
        }
        false
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MS: i64 = 1_000_000;

    #[test]
    fn a_press_is_told_once() {
        let mut presses = Presses::default();
        let mut at = |ms: i64, value| presses.is_press(KeyChange { key: 30, value }, ms * MS);
        assert!(at(1_000, 1));
        // Held for a second: the kernel repeats it after a quarter.
        assert!(![1_250, 1_283, 1_316].map(|ms| at(ms, 2)).contains(&true));
        assert!(!at(2_000, 0));
        // The contact bounces as it opens, up to the limit and not beyond.
        assert!(!at(2_029, 1));
        assert!(!at(2_030, 0));
        assert!(at(2_060, 1));
    }

    #[test]
    fn keys_do_not_bounce_into_each_other() {
        let mut presses = Presses::default();
        assert!(presses.is_press(KeyChange { key: 30, value: 1 }, MS));
        assert!(!presses.is_press(KeyChange { key: 30, value: 0 }, 2 * MS));
        assert!(presses.is_press(KeyChange { key: 31, value: 1 }, 3 * MS));
    }
}
