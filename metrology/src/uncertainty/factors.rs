//! Quantiles that one computation asks for again and again, kept: finding one takes some microseconds, and the rounds of a
//! step have few different degrees of freedom. A step of a thousand marks asks for a thousand at each further mark.

use std::cell::RefCell;
use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

/// So many are kept in each thread; then it begins anew.
const KEPT: usize = 4096;

/// A distribution of which quantiles are asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Of {
    Normal,
    Student,
    Fisher,
}

/// Of which distribution, at which probability, with which degrees of freedom.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Asked {
    of: Of,
    numbers: [u64; 3],
}

impl Asked {
    /// A question with the numbers that decide its answer.
    pub(super) const fn new(of: Of, [a, b, c]: [f64; 3]) -> Self {
        Self {
            of,
            numbers: [a.to_bits(), b.to_bits(), c.to_bits()],
        }
    }
}

/// Mixes the few numbers of a question. The library's own hash also withstands numbers that somebody chose to make it slow, and
/// costs more than all else that is done with an answer that is kept.
#[derive(Default)]
struct Mixed(u64);

/// 2⁶⁴ over the golden ratio: an odd number whose bits follow no pattern.
const MIXER: u64 = 0x9e37_79b9_7f4a_7c15;

impl Hasher for Mixed {
    fn write(&mut self, bytes: &[u8]) {
        let (words, rest) = bytes.as_chunks::<8>();
        for word in words {
            self.write_u64(u64::from_ne_bytes(*word));
        }
        for byte in rest {
            self.write_u64(u64::from(*byte));
        }
    }

    fn write_u64(&mut self, number: u64) {
        self.0 = (self.0.rotate_left(5) ^ number).wrapping_mul(MIXER);
    }

    fn finish(&self) -> u64 {
        // A number of few figures has its bits at the top, and a product carries upward only.
        self.0 ^ (self.0 >> 32)
    }
}

thread_local! {
    static ANSWERS: RefCell<HashMap<Asked, f64, BuildHasherDefault<Mixed>>> = RefCell::default();
}

/// The answer that was found before, or that `find` finds.
pub(super) fn kept(asked: Asked, find: impl FnOnce() -> f64) -> f64 {
    ANSWERS.with_borrow_mut(|answers| {
        if let Some(answer) = answers.get(&asked) {
            return *answer;
        }
        if answers.len() >= KEPT {
            answers.clear();
        }
        let answer = find();
        answers.insert(asked, answer);
        answer
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_an_answer_once_and_keeps_a_bounded_number() {
        let asked = |n: usize| Asked::new(Of::Normal, [n as f64, 0.0, 0.0]);
        let found = RefCell::new(0);
        let find = |n: usize| {
            kept(asked(n), || {
                *found.borrow_mut() += 1;
                n as f64
            })
        };
        assert_eq!([find(3), find(3)], [3.0, 3.0]);
        assert_eq!(*found.borrow(), 1);
        for n in 0..4 * KEPT {
            assert_eq!(find(n), n as f64);
        }
        assert!(ANSWERS.with_borrow(HashMap::len) <= KEPT);
    }

    #[test]
    fn tells_distributions_and_numbers_apart() {
        let of = |of, numbers, answer| kept(Asked::new(of, numbers), || answer);
        assert_eq!(of(Of::Student, [0.5, 2.0, 0.0], 1.0), 1.0);
        assert_eq!(of(Of::Fisher, [0.5, 2.0, 0.0], 2.0), 2.0);
        assert_eq!(of(Of::Student, [0.5, 0.0, 2.0], 3.0), 3.0);
    }
}
