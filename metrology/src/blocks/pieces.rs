//! The blocks of a kit as the search sees them: largest first, with what their deviations can add up to.

use super::reach::Reach;

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

/// Blocks, with what was found out about them.
pub(super) struct Pieces {
    /// Largest first: by nominal, then by deviation.
    pub all: Vec<Piece>,
    /// `deviations[j][c]` is the smallest and the largest sum of c deviations of rank j or later, for as many as
    /// were asked for.
    pub deviations: Vec<Vec<[i64; 2]>>,
    /// The grid of the coarse lengths.
    coarse_grid: i64,
    pub reach: Reach,
}

impl Pieces {
    /// Takes pairs of nominal and true length, pm, all above zero; at most 65 535 of them.
    pub(super) fn new(blocks: impl IntoIterator<Item = (i64, i64)>) -> Self {
        let blocks: Vec<(i64, i64)> = blocks.into_iter().collect();
        let own_grid = blocks.iter().fold(0, |g, (nominal, _)| gcd(g, *nominal));
        let coarse_grid = if own_grid < FINEST_GRID {
            ROUND_GRID
        } else {
            own_grid
        };
        let mut all: Vec<Piece> = blocks
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
        all.sort_by_key(|p| std::cmp::Reverse((p.nominal, p.length)));
        Self {
            reach: Reach::new(all.iter().map(|p| p.coarse / coarse_grid).collect()),
            coarse_grid,
            deviations: deviation_sums(&all, FEW),
            all,
        }
    }

    /// Makes ready for sums of so many blocks.
    pub(super) fn expect(&mut self, count: usize) {
        if self.deviations[0].len() <= count {
            self.deviations = deviation_sums(&self.all, 2 * count);
        }
    }

    /// Whether `count` allowed blocks of rank `from` or later may come within `limit` of `rest`. It never says no where they do.
    pub(super) fn reaches(&mut self, from: usize, count: usize, rest: i64, limit: i64) -> bool {
        let (low, high) = self.coarse_window(from, count, rest, limit);
        self.reach.reaches(from, count, low, high)
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

    /// Whether two blocks are as good as each other.
    pub(super) fn same(&self, a: usize, b: usize) -> bool {
        let (a, b) = (self.all[a], self.all[b]);
        (a.nominal, a.length) == (b.nominal, b.length)
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

/// The greatest common divisor; zero divides by everything.
pub(super) fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a.abs() } else { gcd(b, a % b) }
}
