//! Whether so many blocks can add up to so much: the question that keeps the exact search out of dead branches.
//!
//! Each block less leaves fewer sums. So what can be reached from a rank on can be reached from every rank before,
//! and one answer for a count and a window is two ranks: up to the one it is known to be yes, from the other on no.
//! Where blocks are forbidden, the answer for the whole kit is asked first: its no holds, and its yes holds where
//! the blocks that showed it are all allowed. Only what is left is looked through again.

use super::fold::Fold;
use std::collections::HashMap;
use std::hash::BuildHasherDefault;

/// The question from which rank on `count` blocks have a sum within `low..=high`.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
struct Question {
    count: u32,
    low: i64,
    high: i64,
}

/// What is known of a question.
#[derive(Clone, Copy)]
struct Known {
    /// Yes from every rank below this one; the block before this rank is the largest of some that show it.
    yes_below: u32,
    /// No from this rank on.
    no_from: u32,
}

type Answers = HashMap<Question, Known, BuildHasherDefault<Fold>>;

/// More remembered answers than this are forgotten; they take some 40 MB.
const MOST_ANSWERS: usize = 500_000;

/// The sums that can be made of blocks, in steps of their coarse grid.
pub(super) struct Reach {
    /// Largest first.
    sizes: Vec<i64>,
    /// `sums[i]` is the sum of the first i.
    sums: Vec<i64>,
    /// By rank.
    forbidden: Vec<bool>,
    /// From this rank on none is forbidden.
    free_from: usize,
    /// For all blocks.
    whole: Answers,
    /// Without the forbidden ones.
    without: Answers,
}

impl Reach {
    /// Takes the sizes, largest first.
    pub(super) fn new(sizes: Vec<i64>) -> Self {
        let mut sums = vec![0];
        for size in &sizes {
            sums.push(sums[sums.len() - 1] + size);
        }
        Self {
            forbidden: vec![false; sizes.len()],
            free_from: 0,
            sizes,
            sums,
            whole: Answers::default(),
            without: Answers::default(),
        }
    }

    /// Allows all blocks but those of these ranks.
    pub(super) fn forbid(&mut self, ranks: impl Iterator<Item = usize>) {
        self.forbidden.fill(false);
        self.free_from = 0;
        for rank in ranks {
            self.forbidden[rank] = true;
            self.free_from = self.free_from.max(rank + 1);
        }
        self.without.clear();
    }

    pub(super) fn allowed(&self, rank: usize) -> bool {
        !self.forbidden[rank]
    }

    /// Whether `count` allowed blocks of rank `from` or later have a sum from `low` to `high`.
    pub(super) fn reaches(&mut self, from: usize, count: usize, low: i64, high: i64) -> bool {
        self.of_whole(from, count, low, high)
            && (self.free_from <= from || self.of_allowed(from, count, low, high))
    }

    /// The same of all blocks.
    fn of_whole(&mut self, from: usize, count: usize, low: i64, high: i64) -> bool {
        let n = self.sizes.len();
        if low > high || from + count > n {
            return false;
        }
        // The c smallest are the same from every rank on; the c largest are the next ones.
        let smallest = self.sums[n] - self.sums[n - count];
        if smallest > high || self.sums[from + count] - self.sums[from] < low {
            return false;
        }
        if count < 2 {
            return count == 0 || self.single(from, low, high).is_some();
        }
        let question = Question::new(count, low, high);
        let mut known = match self.whole.get(&question) {
            Some(known) if from < known.yes_below as usize => return true,
            Some(known) if from >= known.no_from as usize => return false,
            Some(known) => *known,
            None => Known::nothing(n, count),
        };
        if count == 2 {
            known = Known::last(self.last_pair(low, high, |_| true));
        } else {
            known.look_from(from, |i| {
                if self.sums[i + count] - self.sums[i] < low {
                    return None;
                }
                let own = self.sizes[i];
                Some(self.of_whole(i + 1, count - 1, low - own, high - own))
            });
        }
        remember(&mut self.whole, question, known);
        from < known.yes_below as usize
    }

    /// The same of the allowed blocks, where all blocks are known to reach.
    fn of_allowed(&mut self, from: usize, count: usize, low: i64, high: i64) -> bool {
        if count < 2 {
            return self.shown_by_allowed(from, count, low, high).is_some();
        }
        let question = Question::new(count, low, high);
        let mut known = match self.without.get(&question) {
            Some(known) if from < known.yes_below as usize => return true,
            Some(known) if from >= known.no_from as usize => return false,
            Some(known) => *known,
            None => Known::nothing(self.sizes.len(), count),
        };
        if let Some(yes_below) = self.shown_by_allowed(from, count, low, high) {
            known.yes_below = yes_below;
        } else if count == 2 {
            known = Known::last(self.last_pair(low, high, |i| !self.forbidden[i]));
        } else {
            known.look_from(from, |i| {
                if self.sums[i + count] - self.sums[i] < low {
                    return None;
                }
                let own = self.sizes[i];
                Some(self.allowed(i) && self.reaches(i + 1, count - 1, low - own, high - own))
            });
        }
        remember(&mut self.without, question, known);
        from < known.yes_below as usize
    }

    /// Where the blocks that are known to show that all blocks reach are allowed: the rank below which it is yes.
    fn shown_by_allowed(
        &self,
        mut from: usize,
        mut count: usize,
        mut low: i64,
        mut high: i64,
    ) -> Option<u32> {
        let mut yes_below = None;
        // The largest one, and then the same question of the others.
        while count > 1 {
            let known = self.whole.get(&Question::new(count, low, high))?;
            let first = (known.yes_below as usize).checked_sub(1)?;
            if self.forbidden[first] {
                return None;
            }
            yes_below = yes_below.or(Some(known.yes_below));
            (from, count) = (first + 1, count - 1);
            (low, high) = (low - self.sizes[first], high - self.sizes[first]);
        }
        if count == 1 {
            let first = self.single(from, low, high)?;
            (first..self.sizes.len())
                .take_while(|i| self.sizes[*i] >= low)
                .find(|i| self.allowed(*i))?;
        }
        yes_below.or(Some(0))
    }

    /// The first block of rank `from` or later of a size from `low` to `high`.
    fn single(&self, from: usize, low: i64, high: i64) -> Option<usize> {
        let i = from + self.sizes[from..].partition_point(|size| *size > high);
        self.sizes
            .get(i)
            .is_some_and(|size| *size >= low)
            .then_some(i)
    }

    /// The last rank at which a pair with a sum from `low` to `high` begins: from the middle, where both are nearly
    /// equal, one goes up in size while the other goes down.
    fn last_pair(&self, low: i64, high: i64, allowed: impl Fn(usize) -> bool) -> Option<usize> {
        let n = self.sizes.len();
        // The larger one is at least half of the sum.
        let larger = self.sizes.partition_point(|size| 2 * *size >= low);
        let mut far = 0;
        for i in (0..larger.min(n - 1)).rev() {
            let own = self.sizes[i];
            let mut k = far.max(i + 1);
            while k < n && self.sizes[k] + own > high {
                k += 1;
            }
            if k == n {
                return None;
            }
            if k > i + 1 {
                far = k;
            }
            let mut seconds = (k..n).take_while(|k| self.sizes[*k] + own >= low);
            if allowed(i) && seconds.any(&allowed) {
                return Some(i);
            }
        }
        None
    }
}

impl Question {
    fn new(count: usize, low: i64, high: i64) -> Self {
        Self {
            count: count as u32,
            low,
            high,
        }
    }
}

impl Known {
    fn nothing(blocks: usize, count: usize) -> Self {
        Self {
            yes_below: 0,
            no_from: (blocks - count + 1) as u32,
        }
    }

    /// All of it: the last rank from which it is yes.
    fn last(rank: Option<usize>) -> Self {
        let yes_below = rank.map_or(0, |rank| rank + 1) as u32;
        Self {
            yes_below,
            no_from: yes_below,
        }
    }

    /// Looks from a rank on for a block that may be the largest; `takes` answers for one, or none if that block and
    /// all after it are too small.
    fn look_from(&mut self, from: usize, mut takes: impl FnMut(usize) -> Option<bool>) {
        for i in from..self.no_from as usize {
            match takes(i) {
                Some(true) => {
                    self.yes_below = i as u32 + 1;
                    return;
                }
                Some(false) => {}
                None => break,
            }
        }
        self.no_from = from as u32;
    }
}

fn remember(answers: &mut Answers, question: Question, known: Known) {
    if answers.len() > MOST_ANSWERS {
        answers.clear();
    }
    answers.insert(question, known);
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Whether any way to take `count` of the sizes gives a sum from `low` to `high`.
    fn by_looking(sizes: &[i64], count: usize, low: i64, high: i64) -> bool {
        match (count, sizes) {
            (0, _) => low <= 0 && 0 <= high,
            (_, []) => false,
            (_, [first, rest @ ..]) => {
                by_looking(rest, count - 1, low - first, high - first)
                    || by_looking(rest, count, low, high)
            }
        }
    }

    proptest! {
        /// One after another, so that what is remembered from one set of forbidden blocks meets the next.
        #[test]
        fn it_reaches_what_can_be_made(
            mut sizes in prop::collection::vec(1_i64..40, 1..10),
            asked in prop::collection::vec(
                (0_u32..1024, prop::collection::vec((0_usize..10, 0_usize..7, 1_i64..120, 0_i64..3), 12)),
                4,
            ),
        ) {
            sizes.sort_unstable_by(|a, b| b.cmp(a));
            let mut reach = Reach::new(sizes.clone());
            for (mask, questions) in asked {
                let forbidden = |rank: &usize| mask & mask >> 3 & 1 << rank > 0;
                reach.forbid((0..sizes.len()).filter(forbidden));
                for (from, count, low, wide) in questions {
                    let from = from.min(sizes.len());
                    let left: Vec<i64> = (from..sizes.len())
                        .filter(|rank| !forbidden(rank))
                        .map(|rank| sizes[rank])
                        .collect();
                    prop_assert_eq!(
                        reach.reaches(from, count, low, low + wide),
                        by_looking(&left, count, low, low + wide),
                        "{} of {:?} from {} to {}", count, left, low, low + wide
                    );
                }
            }
        }
    }
}
