//! The exchange algorithm: the limaçon that has the smallest largest distance from readings round a turn.
//!
//! Four readings, two high and two low, level a limaçon: it misses each by the same amount h. Whatever the limaçon, it misses
//! one of the four by h or more, so h is a lower limit for all readings. The reading that the levelled limaçon
//! misses most is exchanged for one of the four such that h rises, until none is missed by more than h: then limit and
//! fact meet. Source: E. Stiefel, *Über diskrete und lineare Tschebyscheff-Approximationen*, Numerische Mathematik 1
//! (1959), 1–28.

use crate::fit::FitError;

/// Readings with the cosine and the sine of their angles.
#[derive(Clone, Copy)]
pub(super) struct Round<'a> {
    pub cos: &'a [f64],
    pub sin: &'a [f64],
    pub y: &'a [f64],
}

/// Four readings, and for each whether it lies above (+1) or below (−1) the limaçon that they level.
#[derive(Clone, Copy, Debug)]
pub(super) struct Four {
    pub at: [usize; 4],
    pub sign: [f64; 4],
}

/// The limaçon that four readings level.
#[derive(Clone, Copy, Debug)]
pub(super) struct Level {
    pub four: Four,
    /// How far it misses each of the four.
    pub h: f64,
    pub mean: f64,
    pub a: f64,
    pub b: f64,
    /// Weights of the four, none below zero, largest 1: those of two readings in one direction leave the others none.
    weights: [f64; 4],
    /// The reading with the largest weight; the triangle of the other three is the widest.
    widest: usize,
}

impl Level {
    /// The four's weights, those of either sign summing to 1.
    pub(super) fn shares(&self) -> [f64; 4] {
        let above: f64 = (0..4)
            .filter(|i| self.four.sign[*i] > 0.0)
            .map(|i| self.weights[i])
            .sum();
        self.weights.map(|weight| weight / above)
    }
}

/// A reading out of the zone: its index, how far it lies from the limaçon, and on which side.
#[derive(Clone, Copy)]
struct Outside {
    index: usize,
    sign: f64,
}

/// Weights below this share of the largest are rounding.
const NOTHING: f64 = 1e-15;

/// Exchanges that raise h by nothing before the next one is chosen by its index, which cannot go in circles.
/// Source: R. G. Bland, *New finite pivoting rules for the simplex method*, 1977.
const PATIENCE: usize = 12;

/// Exchanges after which the best so far is taken; rounding alone can lead here.
const EXCHANGES: usize = 2_000;

/// Readings looked at together when the farthest is sought.
const BLOCK: usize = 512;

/// Running extremes kept side by side, so that one comparison need not wait for the last.
const LANES: usize = 4;

impl<'a> Round<'a> {
    pub(super) const fn len(&self) -> usize {
        self.y.len()
    }

    /// Twice the signed area of the triangle of three directions.
    fn area(&self, i: usize, j: usize, k: usize) -> f64 {
        (self.cos[j] - self.cos[i]) * (self.sin[k] - self.sin[i])
            - (self.cos[k] - self.cos[i]) * (self.sin[j] - self.sin[i])
    }

    /// The factors λ with `Σ λ (1, cos, sin) = 0` over four readings.
    fn dependence(&self, [p, q, r, s]: [usize; 4]) -> [f64; 4] {
        [
            self.area(q, r, s),
            -self.area(p, r, s),
            self.area(p, q, s),
            -self.area(p, q, r),
        ]
    }

    /// A start: three directions that make a wide triangle, and a fourth that is not one of them if there is any.
    ///
    /// # Errors
    /// Fewer than three directions.
    pub(super) fn start(&self) -> Result<Four, FitError> {
        let first = 0;
        let from = |i: usize| {
            let (ci, si) = (self.cos[i], self.sin[i]);
            move |c: f64, s: f64| (c - ci).powi(2) + (s - si).powi(2)
        };
        let second = self.largest(from(first));
        let (c, s) = (self.cos[first], self.sin[first]);
        let (along_c, along_s) = (self.cos[second] - c, self.sin[second] - s);
        let third = self
            .largest(|other_c, other_s| (along_c * (other_s - s) - (other_c - c) * along_s).abs());
        if self.area(first, second, third).abs() < 1e-12 {
            return Err(FitError::Degenerate);
        }
        let corners = [first, second, third];
        let [p, q, r] = corners.map(from);
        let mut fourth = self.largest(|c, s| p(c, s).min(q(c, s)).min(r(c, s)));
        if corners.contains(&fourth) {
            // With three directions only, any further reading will do: it shares one of them.
            fourth = (0..self.len())
                .rfind(|i| !corners.contains(i))
                .ok_or(FitError::TooFew {
                    points: self.len(),
                    needed: 4,
                })?;
        }
        Ok(self.signed([first, second, third, fourth]))
    }

    /// The reading for whose direction a number, none below zero, is largest; the last of them.
    fn largest(&self, number: impl Fn(f64, f64) -> f64) -> usize {
        let mut largest = (0, 0.0);
        let blocks = self.cos.chunks(BLOCK).zip(self.sin.chunks(BLOCK));
        for (block, (cos, sin)) in blocks.enumerate() {
            let mut lanes = [0.0_f64; LANES];
            let (c, s) = (cos.chunks_exact(LANES), sin.chunks_exact(LANES));
            let rest = c.remainder().iter().zip(s.remainder());
            let mut top = rest.map(|(c, s)| number(*c, *s)).fold(0.0, f64::max);
            for (c, s) in c.zip(s) {
                for lane in 0..LANES {
                    let v = number(c[lane], s[lane]);
                    lanes[lane] = if v > lanes[lane] { v } else { lanes[lane] };
                }
            }
            top = lanes.into_iter().fold(top, f64::max);
            // Only a block that reaches the largest so far is searched for where that is.
            if top >= largest.1 {
                let is_top = |i: &usize| number(cos[*i], sin[*i]) == top;
                let at = (0..cos.len()).rfind(is_top).unwrap_or(0);
                largest = (block * BLOCK + at, top);
            }
        }
        largest.0
    }

    /// The signs under which four readings level a limaçon with h not below zero.
    pub(super) fn signed(&self, at: [usize; 4]) -> Four {
        let lambda = self.dependence(at);
        let sum: f64 = (0..4).map(|i| lambda[i] * self.y[at[i]]).sum();
        let up = if sum < 0.0 { -1.0 } else { 1.0 };
        Four {
            at,
            sign: lambda.map(|l| if l * up < 0.0 { -1.0 } else { 1.0 }),
        }
    }

    /// The limaçon that four readings level; `None` when they have fewer than three directions.
    pub(super) fn level(&self, four: Four) -> Option<Level> {
        let lambda = self.dependence(four.at);
        let widest = (0..4).max_by(|i, j| lambda[*i].abs().total_cmp(&lambda[*j].abs()))?;
        let scale = lambda[widest] * four.sign[widest];
        if scale.abs() < 1e-30 {
            return None;
        }
        let mut weights = [0.0; 4];
        for (i, weight) in weights.iter_mut().enumerate() {
            *weight = lambda[i] * four.sign[i] / scale;
            if *weight < NOTHING {
                *weight = 0.0;
            }
        }
        let h = (0..4)
            .map(|i| weights[i] * four.sign[i] * self.y[four.at[i]])
            .sum::<f64>()
            / weights.iter().sum::<f64>();
        // The three corners of the widest triangle give the limaçon.
        let [p, q, r] = Self::others(widest);
        let value = |i: usize| self.y[four.at[i]] - four.sign[i] * h;
        let (ip, iq, ir) = (four.at[p], four.at[q], four.at[r]);
        let (c1, s1) = (self.cos[iq] - self.cos[ip], self.sin[iq] - self.sin[ip]);
        let (c2, s2) = (self.cos[ir] - self.cos[ip], self.sin[ir] - self.sin[ip]);
        let (v1, v2) = (value(q) - value(p), value(r) - value(p));
        let area = c1 * s2 - c2 * s1;
        let (a, b) = ((v1 * s2 - v2 * s1) / area, (c1 * v2 - c2 * v1) / area);
        let mean = value(p) - a * self.cos[ip] - b * self.sin[ip];
        Some(Level {
            four,
            h,
            mean,
            a,
            b,
            weights,
            widest,
        })
    }

    const fn others(index: usize) -> [usize; 3] {
        match index {
            0 => [1, 2, 3],
            1 => [0, 2, 3],
            2 => [0, 1, 3],
            _ => [0, 1, 2],
        }
    }

    /// The four after `entering` has taken the place of one of them, such that h does not fall.
    fn exchange(&self, level: &Level, entering: Outside) -> Four {
        let Four { at, sign } = level.four;
        // The entering direction as a combination of the widest triangle's corners.
        let [p, q, r] = Self::others(level.widest);
        let whole = self.area(at[p], at[q], at[r]);
        let mut share = [0.0; 4];
        share[p] = self.area(entering.index, at[q], at[r]) / whole;
        share[q] = self.area(at[p], entering.index, at[r]) / whole;
        share[r] = self.area(at[p], at[q], entering.index) / whole;
        // Leaving is the one whose weight first becomes nothing as the entering one's grows.
        let ratio = |i: usize| {
            let needed = entering.sign * sign[i] * share[i];
            match level.weights[i] {
                0.0 if needed > NOTHING => f64::INFINITY,
                0.0 => f64::NEG_INFINITY,
                weight => needed / weight,
            }
        };
        let mut leaving = 0;
        for i in 1..4 {
            let (old, new) = (ratio(leaving), ratio(i));
            // Ties by index: part of what keeps the exchanges from going in circles.
            if new > old || (new == old && at[i] < at[leaving]) {
                leaving = i;
            }
        }
        let mut next = level.four;
        next.at[leaving] = entering.index;
        next.sign[leaving] = entering.sign;
        next
    }

    /// The reading farthest above and the one farthest below a limaçon, as (index, reading minus `a cos + b sin`).
    pub(super) fn farthest(&self, a: f64, b: f64) -> [(usize, f64); 2] {
        let (mut high, mut low) = ((0, f64::NEG_INFINITY), (0, f64::INFINITY));
        let rest = |i: usize| self.y[i] - a * self.cos[i] - b * self.sin[i];
        for start in (0..self.len()).step_by(BLOCK) {
            let end = (start + BLOCK).min(self.len());
            let (c, s, y) = (
                &self.cos[start..end],
                &self.sin[start..end],
                &self.y[start..end],
            );
            let mut highs = [f64::NEG_INFINITY; LANES];
            let mut lows = [f64::INFINITY; LANES];
            let whole = y.len() - y.len() % LANES;
            for i in (0..whole).step_by(LANES) {
                for lane in 0..LANES {
                    let v = y[i + lane] - a * c[i + lane] - b * s[i + lane];
                    highs[lane] = if v > highs[lane] { v } else { highs[lane] };
                    lows[lane] = if v < lows[lane] { v } else { lows[lane] };
                }
            }
            let mut top = highs.into_iter().fold(f64::NEG_INFINITY, f64::max);
            let mut bottom = lows.into_iter().fold(f64::INFINITY, f64::min);
            for i in start + whole..end {
                top = top.max(rest(i));
                bottom = bottom.min(rest(i));
            }
            // Only the block that holds a new extreme is searched for its index.
            if top > high.1 {
                high = ((start..end).find(|i| rest(*i) == top).unwrap_or(start), top);
            }
            if bottom < low.1 {
                low = (
                    (start..end).find(|i| rest(*i) == bottom).unwrap_or(start),
                    bottom,
                );
            }
        }
        [high, low]
    }

    /// The reading with the lowest index that a limaçon misses by more than `limit`.
    fn first_outside(&self, level: &Level, limit: f64) -> Option<Outside> {
        (0..self.len()).find_map(|index| {
            let off = self.off(level, index);
            (off.abs() > limit).then_some(Outside {
                index,
                sign: off.signum(),
            })
        })
    }

    /// Reading minus limaçon.
    fn off(&self, level: &Level, i: usize) -> f64 {
        self.y[i] - level.mean - level.a * self.cos[i] - level.b * self.sin[i]
    }

    /// Exchanges until no reading is missed by more than h.
    ///
    /// # Errors
    /// Fewer than three directions.
    pub(super) fn levelled(&self, start: Four) -> Result<Level, FitError> {
        let mut level = self.level(start).ok_or(FitError::Degenerate)?;
        let [mut high, mut low] = self.farthest(level.a, level.b);
        // What rounding makes of the readings' own size.
        let tolerance =
            8.0 * f64::EPSILON * (high.1.abs() + low.1.abs() + level.a.abs() + level.b.abs());
        let mut still = 0;
        for _ in 0..EXCHANGES {
            let limit = level.h + tolerance;
            let mut outside = [
                (
                    high.1 - level.mean,
                    Outside {
                        index: high.0,
                        sign: 1.0,
                    },
                ),
                (
                    level.mean - low.1,
                    Outside {
                        index: low.0,
                        sign: -1.0,
                    },
                ),
            ];
            if outside[0].0 <= limit && outside[1].0 <= limit {
                break;
            }
            outside.sort_by(|p, q| q.0.total_cmp(&p.0));
            let by_index = (still > PATIENCE)
                .then(|| self.first_outside(&level, limit))
                .flatten();
            let before = level.h;
            let chosen = by_index.map_or([outside[0].1, outside[1].1], |first| [first, first]);
            for entering in chosen {
                // The second is looked at again: the first exchange may have taken it in.
                let missed = self.off(&level, entering.index) * entering.sign;
                if missed > level.h + tolerance {
                    let next = self.exchange(&level, entering);
                    level = self.level(next).ok_or(FitError::Degenerate)?;
                }
            }
            still = if level.h > before + tolerance {
                0
            } else {
                still + 1
            };
            [high, low] = self.farthest(level.a, level.b);
        }
        Ok(level)
    }
}
