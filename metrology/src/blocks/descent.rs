//! The way down through the blocks, largest first, that visits the candidates in the order of preference.

use super::fold::Fold;
use super::pieces::Pieces;
use std::collections::HashSet;
use std::hash::BuildHasherDefault;

/// More places that were looked through than this are forgotten; they take some 30 MB.
const MOST_SEEN: usize = 1_000_000;

/// One way down through the blocks.
pub(super) struct Descent {
    /// The largest absolute error still worth finding; one below the best's.
    limit: i64,
    /// No absolute error below this is worth looking for.
    floor: i64,
    chosen: Vec<usize>,
    /// Rank, count and rest of what was entered before.
    seen: HashSet<(u32, i64), BuildHasherDefault<Fold>>,
    /// Error and ranks.
    pub best: Option<(i64, Vec<usize>)>,
}

impl Descent {
    pub(super) fn new(limit: i64, floor: i64, count: usize) -> Self {
        Self {
            limit,
            floor,
            chosen: Vec::with_capacity(count),
            seen: HashSet::default(),
            best: None,
        }
    }

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

    /// Takes what `count` allowed blocks of rank `from` or later make of `rest`.
    pub(super) fn through(&mut self, pieces: &mut Pieces, from: usize, count: usize, rest: i64) {
        match count {
            0 => self.offer(-rest, &[]),
            1 => self.last_one(pieces, from, rest),
            2 => self.last_two(pieces, from, rest),
            // What was looked through once held nothing better than what was known then, let alone now.
            _ if !self.seen.insert(((from as u32) << 16 | count as u32, rest)) => {}
            _ => {
                if self.seen.len() > MOST_SEEN {
                    self.seen.clear();
                }
                let mut tried = None;
                for i in from..=pieces.all.len() - count {
                    if self.done() {
                        return;
                    }
                    let piece = pieces.all[i];
                    // Of equal blocks the first is taken first; taking the second instead gives the same again.
                    if !pieces.reach.allowed(i) || tried.is_some_and(|tried| pieces.same(tried, i))
                    {
                        continue;
                    }
                    tried = Some(i);
                    let after = rest - piece.length;
                    if pieces.reaches(i + 1, count - 1, after, self.limit) {
                        self.chosen.push(i);
                        self.through(pieces, i + 1, count - 1, after);
                        self.chosen.pop();
                    }
                }
            }
        }
    }

    fn last_one(&mut self, pieces: &Pieces, from: usize, rest: i64) {
        for i in (from..pieces.all.len()).filter(|i| pieces.reach.allowed(*i)) {
            self.offer(pieces.all[i].length - rest, &[i]);
        }
    }

    /// The last two: while the first one gets smaller the second one gets larger, so that one walk from both
    /// ends sees every pair that matters.
    fn last_two(&mut self, pieces: &Pieces, from: usize, rest: i64) {
        let n = pieces.all.len();
        let [least, most] = pieces.deviations[from].get(1).copied().unwrap_or_default();
        let mut end = n;
        for i in from..n {
            if end <= i + 1 {
                return;
            }
            if !pieces.reach.allowed(i) {
                continue;
            }
            let after = rest - pieces.all[i].length;
            // Blocks at the small end that stay too small even for the next, larger rest.
            while end > i + 1
                && pieces.all[end - 1].coarse
                    < after.saturating_sub(self.limit).saturating_sub(most)
            {
                end -= 1;
            }
            let high = after.saturating_add(self.limit).saturating_sub(least);
            let mut second = None;
            for k in (i + 1..end).rev().filter(|k| pieces.reach.allowed(*k)) {
                let piece = pieces.all[k];
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
                self.offer(error, &[i, k]);
                if self.done() {
                    return;
                }
            }
        }
    }
}
