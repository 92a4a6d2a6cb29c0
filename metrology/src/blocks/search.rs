//! The exact search behind a stack: which subset of the blocks comes nearest to a height.
//!
//! The subsets of a hundred blocks cannot be looked through, and taking off one decimal after another, as is
//! done by hand, misses the best. Two facts make the exact search short:
//!
//! - Nominal lengths lie on a coarse grid, so that whether *c* blocks from rank *j* on can add up to a given
//!   coarse sum is a question with few different answers. [`super::reach::Reach`] remembers them. Deviations from a
//!   calibration are small and only widen the coarse sum that is asked for.
//! - Going down largest block first, never into a branch that cannot reach, visits the candidates in the very
//!   order of preference. The first one found with the smallest error is the one wanted. A place that was looked
//!   through is not entered again, and a candidate on the nearest point of the grid of all sums ends the search.

use super::descent::Descent;
use super::pieces::{Pieces, gcd};

/// A subset that was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Found {
    /// Sum minus target, pm.
    pub error: i64,
    /// Positions in the list that the search was made from.
    pub blocks: Vec<usize>,
}

/// An error up to this counts as none: 0.1 nm is less than the distance of two atoms of iron. Without it
/// a kit whose deviations are given to the picometre would be searched for differences that nobody has.
pub(super) const NEGLIGIBLE: i64 = 100;

/// A set of blocks prepared for searching, with what was found out about it.
pub(super) struct Search {
    pieces: Pieces,
    /// Rank of the block at a position in the caller's list.
    ranks: Vec<usize>,
    allowed: Allowed,
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
        let pieces = Pieces::new(blocks);
        let mut ranks = vec![0; pieces.all.len()];
        for (rank, piece) in pieces.all.iter().enumerate() {
            ranks[piece.position] = rank;
        }
        let mut search = Self {
            allowed: Allowed::default(),
            ranks,
            pieces,
        };
        search.count_allowed();
        search
    }

    /// Leaves the blocks at these positions of the caller's list out of the searches from now on, and no others.
    pub(super) fn forbid(&mut self, positions: &[usize]) {
        if positions.is_empty() && self.allowed.count == self.ranks.len() {
            return;
        }
        let ranks = positions.iter().map(|p| self.ranks[*p]);
        self.pieces.reach.forbid(ranks);
        self.count_allowed();
    }

    fn count_allowed(&mut self) {
        self.allowed = Allowed::default();
        for (rank, piece) in self.pieces.all.iter().enumerate() {
            if !self.pieces.reach.allowed(rank) {
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
        self.pieces.expect(count);
        let floor = self.floor(count, target);
        if limit < floor || !self.pieces.reaches(0, count, target, limit) {
            return None;
        }
        let mut descent = Descent::new(limit, floor, count);
        descent.through(&mut self.pieces, 0, count, target);
        descent.best.map(|(error, ranks)| Found {
            error,
            blocks: ranks.iter().map(|r| self.pieces.all[*r].position).collect(),
        })
    }
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
