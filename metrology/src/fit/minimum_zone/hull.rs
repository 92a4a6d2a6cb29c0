//! The convex hull of a profile, as its upper and its lower chain.

/// A corner of the hull.
#[derive(Clone, Copy)]
pub(super) struct Corner {
    pub x: f64,
    pub y: f64,
    pub index: usize,
}

impl Corner {
    /// Where this point lies at a slope: its line's y at x = 0.
    pub(super) fn at(&self, slope: f64) -> f64 {
        self.y - slope * self.x
    }
}

/// Both chains of a hull, left to right, without upright edges.
pub(super) struct Chains {
    pub upper: Vec<Corner>,
    pub lower: Vec<Corner>,
}

/// The share of the profile's height within which a point counts as lying on a chord: rounding.
pub(super) const ON_CHORD: f64 = 1e-12;

/// The chain of points that come with x never falling. `side` is 1 for the upper chain, −1 for the lower.
///
/// Source: A. M. Andrew, *Another efficient algorithm for convex hulls in two dimensions*, Information Processing Letters
/// 9 (1979), 216–219.
pub(super) fn walk(points: impl Iterator<Item = Corner>, side: f64) -> Vec<Corner> {
    let mut chain: Vec<Corner> = Vec::with_capacity(64);
    for point in points {
        // Of several points at one x only the outermost is a corner; that also keeps edges from being upright.
        if let Some(top) = chain.last()
            && top.x == point.x
        {
            if (point.y - top.y) * side <= 0.0 {
                continue;
            }
            chain.pop();
        }
        while let [.., before, top] = chain.as_slice() {
            let turn = (top.x - before.x) * (point.y - before.y)
                - (top.y - before.y) * (point.x - before.x);
            if turn * side < 0.0 {
                break;
            }
            chain.pop();
        }
        chain.push(point);
    }
    chain
}

pub(super) fn sorted(mut points: Vec<Corner>, side: f64) -> Vec<Corner> {
    points.sort_by(|p, q| p.x.total_cmp(&q.x));
    walk(points.into_iter(), side)
}

impl Chains {
    /// The chains of points in any order, at least one, walked one by one.
    pub(super) fn whole(points: Vec<Corner>) -> Self {
        let upper = sorted(points.clone(), 1.0);
        Self {
            upper,
            lower: sorted(points, -1.0),
        }
    }
}

/// Equal cells over the range of x.
pub(super) struct Cells {
    low: f64,
    high: f64,
    count: usize,
    /// Cells per x.
    scale: f64,
}

/// The outermost points of one cell, above and below; both are the same for one point.
#[derive(Clone, Copy)]
struct Extremes {
    high: Corner,
    low: Corner,
}

impl Cells {
    /// For so many points between two x; `None` when they are the same, or too near to be told apart.
    pub(super) fn between(low: f64, high: f64, points: usize) -> Option<Self> {
        let count = (points / 128).clamp(16, 1_024);
        let scale = count as f64 / (high - low);
        (scale.is_finite()).then_some(Self {
            low,
            high,
            count,
            scale,
        })
    }

    /// Where x lies, in cells from the low end, and the cell's number.
    pub(super) fn place(&self, x: f64) -> (f64, usize) {
        let place = (x - self.low) * self.scale;
        (place, (place as usize).min(self.count - 1))
    }

    /// The chains of the points. First the hull of the outermost points of every cell: within a cell no point below that
    /// hull's chord can be a corner, and of a noisy profile few points are above. Only those are sorted and walked.
    ///
    /// For points in any order; those of a sweep are taken in blocks (`ordered`).
    /// A function of its own: inlined, its first loop takes three times as long.
    #[inline(never)]
    pub(super) fn sifted(&self, x: &[f64], y: &[f64]) -> Chains {
        let mut cells: Vec<Option<Extremes>> = vec![None; self.count];
        // The ends are kept apart: the coarse hull must reach over the whole range.
        let mut ends: [Option<Extremes>; 2] = [None; 2];
        let widen = |kept: &mut Option<Extremes>, point: Corner| match kept {
            None => {
                *kept = Some(Extremes {
                    high: point,
                    low: point,
                })
            }
            Some(kept) if point.y > kept.high.y => kept.high = point,
            Some(kept) if point.y < kept.low.y => kept.low = point,
            Some(_) => {}
        };
        for (index, (x, y)) in x.iter().zip(y).enumerate() {
            let point = Corner {
                x: *x,
                y: *y,
                index,
            };
            widen(&mut cells[self.place(*x).1], point);
            if *x == self.low {
                widen(&mut ends[0], point);
            } else if *x == self.high {
                widen(&mut ends[1], point);
            }
        }
        let [first, last] = ends;
        let outermost = || first.iter().chain(cells.iter().flatten()).chain(&last);
        // A cell's outermost points are not in order of x within the cell only; across cells they are.
        let upper = self.chords(walk(outermost().map(|e| e.high), 1.0));
        let lower = self.chords(walk(outermost().map(|e| e.low), -1.0));
        let height = outermost()
            .map(|e| e.high.y)
            .fold(f64::NEG_INFINITY, f64::max)
            - outermost().map(|e| e.low.y).fold(f64::INFINITY, f64::min);
        let rounding = height * ON_CHORD;
        let (mut above, mut below) = (Vec::new(), Vec::new());
        for (index, (x, y)) in x.iter().zip(y).enumerate() {
            let (place, cell) = self.place(*x);
            let into = place - cell as f64;
            let chord = |edges: &[f64]| edges[cell] + (edges[cell + 1] - edges[cell]) * into;
            if *y >= chord(&upper) - rounding {
                above.push(Corner {
                    x: *x,
                    y: *y,
                    index,
                });
            }
            if *y <= chord(&lower) + rounding {
                below.push(Corner {
                    x: *x,
                    y: *y,
                    index,
                });
            }
        }
        Chains {
            upper: sorted(above, 1.0),
            lower: sorted(below, -1.0),
        }
    }

    /// The y of a chain at the cells' edges.
    pub(super) fn chords(&self, chain: Vec<Corner>) -> Vec<f64> {
        let mut left = 0;
        (0..=self.count)
            .map(|edge| {
                let x = self.low + edge as f64 / self.scale;
                while left + 2 < chain.len() && chain[left + 1].x < x {
                    left += 1;
                }
                let (from, to) = (chain[left], chain[left + 1]);
                from.y + (to.y - from.y) / (to.x - from.x) * (x - from.x)
            })
            .collect()
    }
}
