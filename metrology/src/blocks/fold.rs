//! A hash for small integer keys. The standard one is made against hostile keys and takes several times as long.

use std::hash::Hasher;

/// Folds words of a key into one.
#[derive(Default)]
pub(super) struct Fold(u64);

impl Fold {
    fn mix(&mut self, word: u64) {
        // The golden ratio's multiplier of Fibonacci hashing (Knuth, The Art of Computer Programming, 6.4).
        self.0 = (self.0.rotate_left(23) ^ word).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    }
}

impl Hasher for Fold {
    fn finish(&self) -> u64 {
        // The upper bits are the well mixed ones, and the table looks at the lower ones too.
        self.0 ^ (self.0 >> 32)
    }
    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.mix(u64::from(*byte));
        }
    }
    fn write_u32(&mut self, word: u32) {
        self.mix(u64::from(word));
    }
    fn write_i64(&mut self, word: i64) {
        self.mix(word.cast_unsigned());
    }
}
