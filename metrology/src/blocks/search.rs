//! The exact search behind a stack: which subset of the blocks comes nearest to a height.
//!
//! The subsets of a hundred blocks cannot be looked through, and taking off one decimal after another, as is
//! done by hand, misses the best. Two facts make the exact search short:
//!
//! - Nominal lengths lie on a coarse grid, so that whether *c* blocks from rank *j* on can add up to a given
//!   coarse sum is a question with few different answers. [`Search::reaches`] remembers them. Deviations from a
//!   calibration are small and only widen the coarse sum that is asked for.
//! - Going down largest block first, never into a branch that cannot reach, visits the candidates in the very
//!   order of preference. The first one found with the smallest error is the one wanted. A place that was looked
//!   through is not entered again, and a candidate on the nearest point of the grid of all sums ends the search.

use super::fold::Fold;
use std::collections::{HashMap, HashSet};
use std::hash::BuildHasherDefault;

/// A subset that was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Found {
    /// Sum minus target, pm.
    pub error: i64,
    /// Positions in the list that the search was made from.
    pub blocks: Vec<usize>,
}

/// One block, lengths in picometres.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Piece {
    /// What is marked on it: the order of preference.
    nominal: i64,
    /// The nominal length on the grid that is searched.
    coarse: i64,
    /// The true length.
    length: i64,
    /// Position in the caller's list.
    position: usize,
}

/// Nominal lengths on a finer common grid than this (measured lengths given as nominal ones, or a metric and an
/// inch set in one box) make too many different questions, and are searched on [`ROUND_GRID`] instead.
const FINEST_GRID: i64 = 100_000;
/// Half a micrometre, the step of metric sets. What rounding to it leaves counts among the deviations.
const ROUND_GRID: i64 = 500_000;

/// The question whether `count` blocks of rank `from` or later have a coarse sum within `low..=high`.
#[derive(PartialEq, Eq, Hash)]
struct Question {
    from_and_count: u32,
    low: i64,
    high: i64,
}

/// More remembered answers than this are forgotten; they take some 40 MB.
const MOST_ANSWERS: usize = 500_000;

/// More places that were looked through than this are forgotten; they take some 30 MB.
const MOST_SEEN: usize = 1_000_000;

/// An error up to this counts as none: 0.1 nm is less than the distance of two atoms of iron. Without it
/// a kit whose deviations are given to the picometre would be searched for differences that nobody has.
pub(super) const NEGLIGIBLE: i64 = 100;

/// A set of blocks prepared for searching.
pub(super) struct Search {
    /// Largest first: by nominal, then by deviation.
    pieces: Vec<Piece>,
    /// `sums[i]` is the coarse sum of the first i.
    sums: Vec<i64>,
    /// `deviations[j][c]` is the smallest and the largest sum of c deviations of rank j or later.
    deviations: Vec<Vec<[i64; 2]>>,
    /// Greatest common divisor of all differences of lengths: sums of equally many blocks are so far apart.
    grid: i64,
    /// The grid of the coarse lengths.
    coarse_grid: i64,
    answers: HashMap<Question, bool, BuildHasherDefault<Fold>>,
}

impl Search {
    /// Takes pairs of nominal and true length, pm, all above zero; at most 65 535 of them.
    pub(super) fn new(blocks: impl IntoIterator<Item = (i64, i64)>) -> Self {
        let blocks: Vec<(i64, i64)> = blocks.into_iter().collect();
        let own_grid = blocks.iter().fold(0, |g, (nominal, _)| gcd(g, *nominal));
        let coarse_grid = if own_grid < FINEST_GRID {
            ROUND_GRID
        } else {
            own_grid
        };
        let mut pieces: Vec<Piece> = blocks
            .into_iter()
            .enumerate()
            .map(|(position, (nominal, length))| Piece {
                nominal,
                coarse: (nominal + coarse_grid / 2) / coarse_grid * coarse_grid,
                length,
                position,
            })
            .collect();
        // The sort is stable, so that of equal blocks the one listed first comes first.
        pieces.sort_by_key(|p| std::cmp::Reverse((p.nominal, p.length)));
        let mut sums = vec![0];
        for piece in &pieces {
            sums.push(sums[sums.len() - 1] + piece.coarse);
        }
        Self {
            grid: pieces
                .iter()
                .fold(0, |g, p| gcd(g, p.length - pieces[0].length)),
            coarse_grid,
            deviations: deviation_sums(&pieces),
            sums,
            pieces,
            answers: HashMap::default(),
        }
    }

    /// The fewest blocks, at most `most`, whose sum lies within `within` of the target; of these the smallest
    /// absolute error; of these the largest blocks first.
    pub(super) fn fewest(&mut self, target: i64, within: i64, most: usize) -> Option<Found> {
        let within = within.max(NEGLIGIBLE);
        (1..=most.min(self.pieces.len())).find_map(|count| self.best(count, target, within))
    }

    /// The smallest absolute error with at most `most` blocks; of these the fewest blocks; of these the largest
    /// first. None only when there is no block at all. `beyond` is an error known not to be reached.
    pub(super) fn nearest(&mut self, target: i64, beyond: i64, most: usize) -> Option<Found> {
        let most = most.min(self.pieces.len());
        if most == 0 {
            return None;
        }
        let mut limit = beyond.max(NEGLIGIBLE);
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

    /// The smallest absolute error that a sum of `count` blocks can have by its grid, or the largest that counts
    /// as none.
    fn floor(&self, count: usize, target: i64) -> i64 {
        let Some(first) = self.pieces.first().filter(|_| self.grid > 0) else {
            return NEGLIGIBLE;
        };
        let count = count as i64 % self.grid;
        let above = (target - first.length % self.grid * count).rem_euclid(self.grid);
        above.min(self.grid - above).max(NEGLIGIBLE)
    }

    /// The best of exactly `count` blocks with an absolute error of at most `limit`.
    fn best(&mut self, count: usize, target: i64, limit: i64) -> Option<Found> {
        let floor = self.floor(count, target);
        let (low, high) = self.coarse_window(0, count, target, limit);
        if limit < floor || !self.reaches(0, count, low, high) {
            return None;
        }
        let mut descent = Descent {
            limit,
            floor,
            chosen: Vec::with_capacity(count),
            seen: HashSet::default(),
            best: None,
        };
        self.descend(&mut descent, 0, count, target);
        descent.best.map(|(error, ranks)| Found {
            error,
            blocks: ranks.iter().map(|r| self.pieces[*r].position).collect(),
        })
    }

    /// The coarse sums that `count` blocks of rank `from` or later may have if their true sum is to lie within
    /// `limit` of `rest`; in steps of the grid, so that questions which differ by less are one question.
    fn coarse_window(&self, from: usize, count: usize, rest: i64, limit: i64) -> (i64, i64) {
        let [least, most] = self.deviations[from]
            .get(count)
            .copied()
            .unwrap_or_default();
        let low = rest.saturating_sub(limit).saturating_sub(most);
        let high = rest.saturating_add(limit).saturating_sub(least);
        let grid = self.coarse_grid;
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
            // What was looked through once held nothing better than what was known then, let alone now.
            _ if !descent
                .seen
                .insert(((from as u32) << 16 | count as u32, rest)) => {}
            _ => {
                if descent.seen.len() > MOST_SEEN {
                    descent.seen.clear();
                }
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
                    let (low, high) = self.coarse_window(i + 1, count - 1, after, descent.limit);
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
                && self.pieces[end - 1].coarse
                    < after.saturating_sub(descent.limit).saturating_sub(most)
            {
                end -= 1;
            }
            let high = after.saturating_add(descent.limit).saturating_sub(least);
            let mut second = None;
            for k in (i + 1..end).rev() {
                let piece = self.pieces[k];
                if piece.coarse > high {
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

    /// Whether `count` blocks of rank `from` or later have a coarse sum from `low` to `high`, in steps of its
    /// grid.
    fn reaches(&mut self, from: usize, count: usize, low: i64, high: i64) -> bool {
        let n = self.pieces.len();
        let grid = self.coarse_grid;
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
                let i = tail.partition_point(|p| p.coarse / grid > high);
                return tail.get(i).is_some_and(|p| p.coarse / grid >= low);
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
            let own = self.pieces[i].coarse / grid;
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
        let grid = self.coarse_grid;
        let (low, high) = (low.saturating_mul(grid), high.saturating_mul(grid));
        let (mut i, mut k) = (from, self.pieces.len() - 1);
        while i < k {
            let sum = self.pieces[i].coarse + self.pieces[k].coarse;
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
    /// No absolute error below this is worth looking for.
    floor: i64,
    chosen: Vec<usize>,
    /// Rank, count and rest of what was entered before.
    seen: HashSet<(u32, i64), BuildHasherDefault<Fold>>,
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
        let deviation = piece.length - piece.coarse;
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
