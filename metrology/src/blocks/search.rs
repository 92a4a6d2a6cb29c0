//! The exact search behind a stack: which subset of the blocks comes nearest to a height.
//!
//! The subsets of a hundred blocks cannot be looked through, and taking off one decimal after another, as is
//! done by hand, misses the best. Two facts make the exact search short:
//!
//! - Nominal lengths lie on a coarse grid, so that whether *c* blocks from rank *j* on can add up to a given
//!   coarse sum is a question with few different answers. [`Reach`] remembers them. Deviations from a
//!   calibration are small and only widen the coarse sum that is asked for.
//! - Going down largest block first, never into a branch that cannot reach, visits the candidates in the very
//!   order of preference. The first one found with the smallest error is the one wanted. A place that was looked
//!   through is not entered again, and a candidate on the nearest point of the grid of all sums ends the search.

use super::descent::Descent;
use super::reach::Reach;

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
pub(super) struct Piece {
    /// What is marked on it: the order of preference.
    pub nominal: i64,
    /// The nominal length on the grid that is searched.
    pub coarse: i64,
    /// The true length.
    pub length: i64,
    /// Position in the caller's list.
    pub position: usize,
}

/// Nominal lengths on a finer common grid than this (measured lengths given as nominal ones, or a metric and an
/// inch set in one box) make too many different questions, and are searched on [`ROUND_GRID`] instead.
const FINEST_GRID: i64 = 100_000;
/// Half a micrometre, the step of metric sets. What rounding to it leaves counts among the deviations.
const ROUND_GRID: i64 = 500_000;

/// As many blocks as most stacks have.
const FEW: usize = 6;

/// An error up to this counts as none: 0.1 nm is less than the distance of two atoms of iron. Without it
/// a kit whose deviations are given to the picometre would be searched for differences that nobody has.
pub(super) const NEGLIGIBLE: i64 = 100;

/// A set of blocks prepared for searching, with what was found out about it.
pub(super) struct Search {
    /// Largest first: by nominal, then by deviation.
    pub pieces: Vec<Piece>,
    /// Rank of the block at a position in the caller's list.
    ranks: Vec<usize>,
    /// `deviations[j][c]` is the smallest and the largest sum of c deviations of rank j or later, for as many as
    /// were asked for.
    pub deviations: Vec<Vec<[i64; 2]>>,
    allowed: Allowed,
    /// The grid of the coarse lengths.
    coarse_grid: i64,
    pub reach: Reach,
}

/// What all blocks have in common that are not left out.
#[derive(Default)]
struct Allowed {
    count: usize,
    /// The length of one.
    length: i64,
    /// Greatest common divisor of all differences of lengths: sums of equally many blocks are so far apart.
    grid: i64,
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
        let mut ranks = vec![0; pieces.len()];
        for (rank, piece) in pieces.iter().enumerate() {
            ranks[piece.position] = rank;
        }
        let mut search = Self {
            reach: Reach::new(pieces.iter().map(|p| p.coarse / coarse_grid).collect()),
            allowed: Allowed::default(),
            coarse_grid,
            deviations: deviation_sums(&pieces, FEW),
            ranks,
            pieces,
        };
        search.count_allowed();
        search
    }

    /// Leaves the blocks at these positions of the caller's list out of the searches from now on, and no others.
    pub(super) fn forbid(&mut self, positions: &[usize]) {
        if positions.is_empty() && self.allowed.count == self.pieces.len() {
            return;
        }
        self.reach.forbid(positions.iter().map(|p| self.ranks[*p]));
        self.count_allowed();
    }

    fn count_allowed(&mut self) {
        self.allowed = Allowed::default();
        for (rank, piece) in self.pieces.iter().enumerate() {
            if !self.reach.allowed(rank) {
                continue;
            }
            let Allowed {
                count,
                length,
                grid,
            } = &mut self.allowed;
            if *count == 0 {
                *length = piece.length;
            }
            *count += 1;
            *grid = gcd(*grid, piece.length - *length);
        }
    }

    /// The fewest blocks, at most `most`, whose sum lies within `within` of the target; of these the smallest
    /// absolute error; of these the largest blocks first.
    pub(super) fn fewest(&mut self, target: i64, within: i64, most: usize) -> Option<Found> {
        let within = within.max(NEGLIGIBLE);
        (1..=most.min(self.allowed.count)).find_map(|count| self.best(count, target, within))
    }

    /// The smallest absolute error with at most `most` blocks; of these the fewest blocks; of these the largest
    /// first. None only when there is no block at all. `beyond` is an error known not to be reached.
    pub(super) fn nearest(&mut self, target: i64, beyond: i64, most: usize) -> Option<Found> {
        let most = most.min(self.allowed.count);
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
        let Allowed { length, grid, .. } = self.allowed;
        if grid == 0 {
            return NEGLIGIBLE;
        }
        let count = count as i64 % grid;
        let above = (target - length % grid * count).rem_euclid(grid);
        above.min(grid - above).max(NEGLIGIBLE)
    }

    /// The best of exactly `count` blocks with an absolute error of at most `limit`.
    fn best(&mut self, count: usize, target: i64, limit: i64) -> Option<Found> {
        if self.deviations[0].len() <= count {
            self.deviations = deviation_sums(&self.pieces, 2 * count);
        }
        let floor = self.floor(count, target);
        let (low, high) = self.coarse_window(0, count, target, limit);
        if limit < floor || !self.reach.reaches(0, count, low, high) {
            return None;
        }
        let mut descent = Descent::new(limit, floor, count);
        self.descend(&mut descent, 0, count, target);
        descent.best.map(|(error, ranks)| Found {
            error,
            blocks: ranks.iter().map(|r| self.pieces[*r].position).collect(),
        })
    }

    /// The coarse sums that `count` blocks of rank `from` or later may have if their true sum is to lie within
    /// `limit` of `rest`; in steps of the grid, so that questions which differ by less are one question.
    pub(super) fn coarse_window(
        &self,
        from: usize,
        count: usize,
        rest: i64,
        limit: i64,
    ) -> (i64, i64) {
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
}

/// For every rank j and count c up to `most`, the smallest and the largest sum of c deviations of rank j or later.
fn deviation_sums(pieces: &[Piece], most: usize) -> Vec<Vec<[i64; 2]>> {
    let mut sorted: Vec<i64> = Vec::with_capacity(pieces.len());
    let mut by_rank = vec![vec![[0, 0]]];
    for piece in pieces.iter().rev() {
        let deviation = piece.length - piece.coarse;
        let at = sorted.partition_point(|d| *d < deviation);
        sorted.insert(at, deviation);
        let counts = sorted.len().min(most);
        let mut row = Vec::with_capacity(counts + 1);
        let mut sums = [0, 0];
        row.push(sums);
        for c in 0..counts {
            sums[0] += sorted[c];
            sums[1] += sorted[sorted.len() - 1 - c];
            row.push(sums);
        }
        by_rank.push(row);
    }
    by_rank.reverse();
    by_rank
}

fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a.abs() } else { gcd(b, a % b) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// A search that leaves blocks out finds the very blocks that one made without them finds, whatever it was
        /// asked before.
        #[test]
        fn a_forbidden_block_is_as_one_that_is_not_there(
            blocks in prop::collection::vec((1_i64..30, -3_i64..4), 1..12),
            fine in any::<bool>(),
            asked in prop::collection::vec((0_u32..4096, 1_i64..150, 0_i64..3, 1_usize..6), 6),
        ) {
            let (step, deviation) = if fine { (70_000, 700) } else { (500_000, 100_000) };
            let blocks: Vec<(i64, i64)> = (blocks.iter())
                .map(|(n, d)| (n * step + 1_000_000, n * step + 1_000_000 + d * deviation))
                .collect();
            let mut all = Search::new(blocks.iter().copied());
            for (mask, height, within, most) in asked {
                let (out, left): (Vec<usize>, Vec<usize>) =
                    (0..blocks.len()).partition(|i| mask & mask >> 2 & 1 << i > 0);
                let (target, within) = (height * step + 1_000_000, within * step / 2);
                all.forbid(&out);
                let mut few = Search::new(left.iter().map(|i| blocks[*i]));
                let here = |found: Option<Found>| found.map(|found| Found {
                    blocks: found.blocks.iter().map(|i| left[*i]).collect(),
                    ..found
                });
                prop_assert_eq!(
                    all.fewest(target, within, most),
                    here(few.fewest(target, within, most))
                );
                prop_assert_eq!(
                    all.nearest(target, within, most),
                    here(few.nearest(target, within, most))
                );
            }
        }
    }
}
