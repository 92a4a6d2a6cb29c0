//! Quantiles that one computation asks for again and again, kept: finding one takes some microseconds, and the rounds of a
//! step have few different degrees of freedom. A step of a thousand marks asks for a thousand at each further mark.

use std::cell::RefCell;
use std::collections::HashMap;

/// So many are kept in each thread; then it begins anew.
const KEPT: usize = 4096;

/// Of which distribution, at which probability, with which degrees of freedom.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Asked {
    of: &'static str,
    numbers: [u64; 3],
}

impl Asked {
    /// A question with the numbers that decide its answer.
    pub(super) const fn new(of: &'static str, [a, b, c]: [f64; 3]) -> Self {
        Self {
            of,
            numbers: [a.to_bits(), b.to_bits(), c.to_bits()],
        }
    }
}

thread_local! {
    static ANSWERS: RefCell<HashMap<Asked, f64>> = RefCell::new(HashMap::new());
}

/// The answer that was found before, or that `find` finds.
pub(super) fn kept(asked: Asked, find: impl FnOnce() -> f64) -> f64 {
    ANSWERS.with_borrow_mut(|answers| {
        if answers.len() >= KEPT && !answers.contains_key(&asked) {
            answers.clear();
        }
        *answers.entry(asked).or_insert_with(find)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_an_answer_once_and_keeps_a_bounded_number() {
        let asked = |n: usize| Asked::new("counted", [n as f64, 0.0, 0.0]);
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
        assert_eq!(of("one", [0.5, 2.0, 0.0], 1.0), 1.0);
        assert_eq!(of("another", [0.5, 2.0, 0.0], 2.0), 2.0);
        assert_eq!(of("one", [0.5, 0.0, 2.0], 3.0), 3.0);
    }
}
