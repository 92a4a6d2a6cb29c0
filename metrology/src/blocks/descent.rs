//! The way down through the blocks, largest first, that visits the candidates in the order of preference.

use super::fold::Fold;
use super::search::Search;
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
}

impl Search {
    /// Offers the descent what `count` allowed blocks of rank `from` or later make of `rest`.
    pub(super) fn descend(&mut self, descent: &mut Descent, from: usize, count: usize, rest: i64) {
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
                let mut tried = None;
                for i in from..=self.pieces.len() - count {
                    if descent.done() {
                        return;
                    }
                    let piece = self.pieces[i];
                    // Of equal blocks the first is taken first; taking the second instead gives the same again.
                    if !self.reach.allowed(i) || tried.is_some_and(|tried| self.same(tried, i)) {
                        continue;
                    }
                    tried = Some(i);
                    let after = rest - piece.length;
                    let (low, high) = self.coarse_window(i + 1, count - 1, after, descent.limit);
                    if self.reach.reaches(i + 1, count - 1, low, high) {
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
        for i in (from..self.pieces.len()).filter(|i| self.reach.allowed(*i)) {
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
            if !self.reach.allowed(i) {
                continue;
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
            for k in (i + 1..end).rev().filter(|k| self.reach.allowed(*k)) {
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
}
