//! The exact search behind a stack: which subset of the blocks comes nearest to a height.
//!
//! The subsets of a hundred blocks cannot be looked through, and taking off one decimal after another, as is
//! done by hand, misses the best. Two facts make the exact search short:
//!
//! - Nominal lengths lie on a coarse grid, so that whether *c* blocks from rank *j* on can add up to a given
//!   nominal sum is a question with few different answers. [`Search::reaches`] remembers them. Deviations from a
//!   calibration are small and only widen the nominal sum that is asked for.
//! - Going down largest block first, never into a branch that cannot reach, visits the candidates in the very
//!   order of preference. The first one found with the smallest error is the one wanted, and a candidate on the
//!   nearest point of the grid of all sums ends the search.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

/// A subset that was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Found {
    /// Sum minus target, pm.
    pub error: i64,
    /// Positions in the list that the search was made from.
    pub blocks: Vec<usize>,
}

/// One block: nominal and true length in picometres, and its position in the caller's list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Piece {
    nominal: i64,
    length: i64,
    position: usize,
}

/// The question whether `count` blocks of rank `from` or later have a nominal sum within `low..=high`.
#[derive(PartialEq, Eq, Hash)]
struct Question {
    from_and_count: u32,
    low: i64,
    high: i64,
}

/// More remembered answers than this are forgotten, about 64 MB of them.
const MOST_ANSWERS: usize = 2_000_000;

/// A set of blocks prepared for searching.
pub(super) struct Search {
    /// Largest first: by nominal, then by deviation.
    pieces: Vec<Piece>,
    /// `sums[i]` is the nominal sum of the first i.
    sums: Vec<i64>,
    /// `deviations[j][c]` is the smallest and the largest sum of c deviations of rank j or later.
    deviations: Vec<Vec<[i64; 2]>>,
    /// Greatest common divisor of all lengths: every sum is a multiple of it.
    grid: i64,
    /// The same of the nominal lengths.
    nominal_grid: i64,
    answers: HashMap<Question, bool, BuildHasherDefault<Fold>>,
}

impl Search {
    /// Takes pairs of nominal and true length, pm, all above zero; at most 65 535 of them.
    pub(super) fn new(blocks: impl IntoIterator<Item = (i64, i64)>) -> Self {
        let mut pieces: Vec<Piece> = blocks
            .into_iter()
            .enumerate()
            .map(|(position, (nominal, length))| Piece {
                nominal,
                length,
                position,
            })
            .collect();
        // The sort is stable, so that of equal blocks the one listed first comes first.
        pieces.sort_by_key(|p| std::cmp::Reverse((p.nominal, p.length)));
        let mut sums = vec![0];
        for piece in &pieces {
            sums.push(sums[sums.len() - 1] + piece.nominal);
        }
        Self {
            grid: pieces.iter().fold(0, |g, p| gcd(g, p.length)),
            nominal_grid: pieces.iter().fold(0, |g, p| gcd(g, p.nominal)),
            deviations: deviation_sums(&pieces),
            sums,
            pieces,
            answers: HashMap::default(),
        }
    }

    /// The fewest blocks, at most `most`, whose sum lies within `within` of the target; of these the smallest
    /// absolute error; of these the largest blocks first.
    pub(super) fn fewest(&mut self, target: i64, within: i64, most: usize) -> Option<Found> {
        (1..=most.min(self.pieces.len())).find_map(|count| self.best(count, target, within))
    }

    /// The smallest absolute error with at most `most` blocks; of these the fewest blocks; of these the largest
    /// first. None only when there is no block at all. `beyond` is an error known not to be reached.
    pub(super) fn nearest(&mut self, target: i64, beyond: i64, most: usize) -> Option<Found> {
        let most = most.min(self.pieces.len());
        if most == 0 {
            return None;
        }
        let mut limit = self.floor(target).max(beyond).max(1);
        loop {
            let mut nearest = None;
            for count in 1..=most {
                // A further block must make the error smaller to be worth having.
                if let Some(found) = self.best(count, target, limit) {
                    limit = found.error.abs() - 1;
                    nearest = Some(found);
                }
            }
            if nearest.is_some() {
                return nearest;
            }
            limit = limit.saturating_mul(4);
        }
    }

    /// The smallest absolute error that any sum on the grid can have.
    fn floor(&self, target: i64) -> i64 {
        if self.grid == 0 {
            return 0;
        }
        let above = target.rem_euclid(self.grid);
        above.min(self.grid - above)
    }

    /// The best of exactly `count` blocks with an absolute error of at most `limit`.
    fn best(&mut self, count: usize, target: i64, limit: i64) -> Option<Found> {
        let floor = self.floor(target);
        let (low, high) = self.nominal_window(0, count, target, limit);
        if limit < floor || !self.reaches(0, count, low, high) {
            return None;
        }
        let mut descent = Descent {
            limit,
            floor,
            chosen: Vec::with_capacity(count),
            best: None,
        };
        self.descend(&mut descent, 0, count, target);
        descent.best.map(|(error, ranks)| Found {
            error,
            blocks: ranks.iter().map(|r| self.pieces[*r].position).collect(),
        })
    }

    /// The nominal sums that `count` blocks of rank `from` or later may have if their true sum is to lie within
    /// `limit` of `rest`; on the nominal grid, so that questions which differ by less are one question.
    fn nominal_window(&self, from: usize, count: usize, rest: i64, limit: i64) -> (i64, i64) {
        let [least, most] = self.deviations[from]
            .get(count)
            .copied()
            .unwrap_or_default();
        let low = rest.saturating_sub(limit).saturating_sub(most);
        let high = rest.saturating_add(limit).saturating_sub(least);
        let grid = self.nominal_grid.max(1);
        (
            low.div_euclid(grid) + i64::from(low.rem_euclid(grid) > 0),
            high.div_euclid(grid),
        )
    }

    fn descend(&mut self, descent: &mut Descent, from: usize, count: usize, rest: i64) {
        match count {
            0 => descent.offer(-rest, &[]),
            1 => self.last_one(descent, from, rest),
            2 => self.last_two(descent, from, rest),
            _ => {
                for i in from..=self.pieces.len() - count {
                    if descent.done() {
                        return;
                    }
                    let piece = self.pieces[i];
                    // Of equal blocks the first is taken first; taking the second instead gives the same again.
                    if i > from && self.same(i - 1, i) {
                        continue;
                    }
                    let after = rest - piece.length;
                    let (low, high) = self.nominal_window(i + 1, count - 1, after, descent.limit);
                    if self.reaches(i + 1, count - 1, low, high) {
                        descent.chosen.push(i);
                        self.descend(descent, i + 1, count - 1, after);
                        descent.chosen.pop();
                    }
                }
            }
        }
    }

    fn same(&self, a: usize, b: usize) -> bool {
        let (a, b) = (self.pieces[a], self.pieces[b]);
        (a.nominal, a.length) == (b.nominal, b.length)
    }

    fn last_one(&self, descent: &mut Descent, from: usize, rest: i64) {
        for i in from..self.pieces.len() {
            descent.offer(self.pieces[i].length - rest, &[i]);
        }
    }

    /// The last two: while the first one gets smaller the second one gets larger, so that one walk from both
    /// ends sees every pair that matters.
    fn last_two(&self, descent: &mut Descent, from: usize, rest: i64) {
        let n = self.pieces.len();
        let [least, most] = self.deviations[from].get(1).copied().unwrap_or_default();
        let mut end = n;
        for i in from..n {
            if end <= i + 1 {
                return;
            }
            let after = rest - self.pieces[i].length;
            // Blocks at the small end that stay too small even for the next, larger rest.
            while end > i + 1
                && self.pieces[end - 1].nominal < after.saturating_sub(descent.limit) - most
            {
                end -= 1;
            }
            let high = after.saturating_add(descent.limit) - least;
            let mut second = None;
            for k in (i + 1..end).rev() {
                let piece = self.pieces[k];
                if piece.nominal > high {
                    break;
                }
                let error = piece.length - after;
                // Going up in size, an equal error is the larger block's.
                if second.is_none_or(|(e, _): (i64, usize)| error.abs() <= e.abs()) {
                    second = Some((error, k));
                }
            }
            if let Some((error, k)) = second {
                descent.offer(error, &[i, k]);
                if descent.done() {
                    return;
                }
            }
        }
    }

    /// Whether `count` blocks of rank `from` or later have a nominal sum from `low` to `high`, in steps of the
    /// nominal grid.
    fn reaches(&mut self, from: usize, count: usize, low: i64, high: i64) -> bool {
        let n = self.pieces.len();
        let grid = self.nominal_grid.max(1);
        if low > high || from + count > n {
            return false;
        }
        // The c smallest are the same from every rank on; the c largest are the next ones.
        let largest = |from: usize| self.sums[from + count] - self.sums[from];
        let smallest = self.sums[n] - self.sums[n - count];
        if smallest > high.saturating_mul(grid) || largest(from) < low.saturating_mul(grid) {
            return false;
        }
        match count {
            0 => return true,
            1 => {
                let tail = &self.pieces[from..];
                let i = tail.partition_point(|p| p.nominal / grid > high);
                return tail.get(i).is_some_and(|p| p.nominal / grid >= low);
            }
            2 => return self.pair_reaches(from, low, high),
            _ => {}
        }
        let mut asked = Vec::new();
        let mut reached = false;
        for i in from..=n - count {
            if self.sums[i + count] - self.sums[i] < low.saturating_mul(grid) {
                break;
            }
            let question = Question {
                from_and_count: (i as u32) << 16 | count as u32,
                low,
                high,
            };
            if let Some(known) = self.answers.get(&question) {
                reached = *known;
                break;
            }
            asked.push(question);
            let own = self.pieces[i].nominal / grid;
            if self.reaches(i + 1, count - 1, low - own, high - own) {
                reached = true;
                break;
            }
        }
        if self.answers.len() > MOST_ANSWERS {
            self.answers.clear();
        }
        self.answers
            .extend(asked.into_iter().map(|question| (question, reached)));
        reached
    }

    fn pair_reaches(&self, from: usize, low: i64, high: i64) -> bool {
        let grid = self.nominal_grid.max(1);
        let (low, high) = (low.saturating_mul(grid), high.saturating_mul(grid));
        let (mut i, mut k) = (from, self.pieces.len() - 1);
        while i < k {
            let sum = self.pieces[i].nominal + self.pieces[k].nominal;
            if sum > high {
                i += 1;
            } else if sum < low {
                k -= 1;
            } else {
                return true;
            }
        }
        false
    }
}

/// One way down through the blocks.
struct Descent {
    /// The largest absolute error still worth finding; one below the best's.
    limit: i64,
    /// No sum can have a smaller absolute error than this.
    floor: i64,
    chosen: Vec<usize>,
    best: Option<(i64, Vec<usize>)>,
}

impl Descent {
    fn offer(&mut self, error: i64, last: &[usize]) {
        if error.abs() <= self.limit {
            self.limit = error.abs() - 1;
            let ranks = [&self.chosen[..], last].concat();
            self.best = Some((error, ranks));
        }
    }

    fn done(&self) -> bool {
        self.limit < self.floor
    }
}

/// For every rank j and count c, the smallest and the largest sum of c deviations of rank j or later.
fn deviation_sums(pieces: &[Piece]) -> Vec<Vec<[i64; 2]>> {
    let mut sorted: Vec<i64> = Vec::with_capacity(pieces.len());
    let mut by_rank = vec![vec![[0, 0]]];
    for piece in pieces.iter().rev() {
        let deviation = piece.length - piece.nominal;
        let at = sorted.partition_point(|d| *d < deviation);
        sorted.insert(at, deviation);
        let mut row = vec![[0, 0]];
        for c in 0..sorted.len() {
            let [least, most] = row[c];
            row.push([least + sorted[c], most + sorted[sorted.len() - 1 - c]]);
        }
        by_rank.push(row);
    }
    by_rank.reverse();
    by_rank
}

fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a.abs() } else { gcd(b, a % b) }
}

/// A hash for small integer keys: the standard one is made against hostile keys and takes several times as long.
#[derive(Default)]
struct Fold(u64);

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
