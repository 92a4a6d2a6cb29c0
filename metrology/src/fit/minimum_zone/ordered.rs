//! The chains of a long profile that comes in order, as a sweep does.
//!
//! Consecutive points lie close to each other, so what holds for a block of them is found once: no point of it can be a corner when
//! its outermost lies within a coarse hull all over the block. Of a noisy profile hardly a block is left.

use super::hull::{Cells, Chains, Corner, ON_CHORD, sorted};

/// Fewer points than this are cheaper to walk than to sift.
const SIFTED_FROM: usize = 2_048;

/// The chains of finite points in any order, at least one.
pub(super) fn chains(x: &[f64], y: &[f64]) -> Chains {
    let whole = || {
        let corner = |index: usize| Corner {
            x: x[index],
            y: y[index],
            index,
        };
        Chains::whole((0..x.len()).map(corner).collect())
    };
    if x.len() < SIFTED_FROM {
        return whole();
    }
    let blocks = Blocks::over(x, y);
    let [low, high] = blocks.range;
    match Cells::between(low, high, x.len()) {
        None => whole(),
        Some(cells) if blocks.are_ordered() => blocks.sifted(&cells),
        Some(cells) => cells.sifted(x, y),
    }
}

/// Points taken together: few enough to lie close, many enough that blocks are few.
const BLOCK: usize = 256;

/// Running extremes kept side by side, so that one comparison need not wait for the last.
const LANES: usize = 4;

/// A profile is in order when its blocks together span no more than this many times its range of x.
const ORDERED: f64 = 4.0;

/// What a block of points spans, and where.
#[derive(Clone, Copy)]
struct Block {
    x: [f64; 2],
    y: [f64; 2],
    /// The lowest and the highest point, by index.
    at: [usize; 2],
}

/// The lowest and the highest of some values, which are all numbers.
fn span(values: &[f64]) -> [f64; 2] {
    let (mut low, mut high) = ([f64::INFINITY; LANES], [f64::NEG_INFINITY; LANES]);
    let chunks = values.chunks_exact(LANES);
    let rest = chunks.remainder();
    for chunk in chunks {
        for lane in 0..LANES {
            let v = chunk[lane];
            low[lane] = if v < low[lane] { v } else { low[lane] };
            high[lane] = if v > high[lane] { v } else { high[lane] };
        }
    }
    let every = |lanes: [f64; LANES]| lanes.into_iter().chain(rest.iter().copied());
    [
        every(low).fold(f64::INFINITY, f64::min),
        every(high).fold(f64::NEG_INFINITY, f64::max),
    ]
}

/// A profile in blocks.
struct Blocks<'a> {
    x: &'a [f64],
    y: &'a [f64],
    blocks: Vec<Block>,
    /// The lowest and the highest x.
    range: [f64; 2],
}

impl<'a> Blocks<'a> {
    /// Over finite points, at least one.
    fn over(x: &'a [f64], y: &'a [f64]) -> Self {
        let mut start = 0;
        let block = |(xs, ys): (&[f64], &[f64])| {
            let (x, y) = (span(xs), span(ys));
            let find = |wanted: f64| start + ys.iter().position(|y| *y == wanted).unwrap_or(0);
            let at = y.map(find);
            start += xs.len();
            Block { x, y, at }
        };
        let blocks: Vec<Block> = x.chunks(BLOCK).zip(y.chunks(BLOCK)).map(block).collect();
        let range = (blocks.iter()).fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], block| {
            [a.min(block.x[0]), b.max(block.x[1])]
        });
        Self {
            x,
            y,
            blocks,
            range,
        }
    }

    /// Whether points that follow each other lie close to each other.
    fn are_ordered(&self) -> bool {
        let [low, high] = self.range;
        let spanned: f64 = self
            .blocks
            .iter()
            .map(|block| block.x[1] - block.x[0])
            .sum();
        spanned <= ORDERED * (high - low)
    }

    fn corner(&self, index: usize) -> Corner {
        Corner {
            x: self.x[index],
            y: self.y[index],
            index,
        }
    }

    /// The points of a block, by index.
    fn points(&self, block: usize) -> std::ops::Range<usize> {
        let start = block * BLOCK;
        start..(start + BLOCK).min(self.x.len())
    }

    /// The outermost of the points at either end of x: a coarse hull must reach over the whole range.
    fn ends(&self, side: f64) -> [Option<Corner>; 2] {
        [0, 1].map(|end| {
            let x = self.range[end];
            let holding = (0..self.blocks.len()).filter(|n| self.blocks[*n].x[end] == x);
            holding
                .flat_map(|block| self.points(block))
                .filter(|index| self.x[*index] == x)
                .map(|index| self.corner(index))
                .reduce(|a, b| if (b.y - a.y) * side > 0.0 { b } else { a })
        })
    }

    /// Both chains, with chords between the edges of these cells.
    fn sifted(&self, cells: &Cells) -> Chains {
        Chains {
            upper: self.chain(cells, 1.0),
            lower: self.chain(cells, -1.0),
        }
    }

    /// One chain. `side` is 1 for the upper, −1 for the lower.
    fn chain(&self, cells: &Cells, side: f64) -> Vec<Corner> {
        let which = usize::from(side > 0.0);
        let outermost = self.blocks.iter().map(|block| self.corner(block.at[which]));
        let coarse = outermost.chain(self.ends(side).into_iter().flatten());
        let edges = cells.chords(sorted(coarse.collect(), side));
        // Straight between the edges of a cell it lies within the coarse hull, and like that it bulges outward.
        let chord = |x: f64| {
            let (place, cell) = cells.place(x);
            (edges[cell] + (edges[cell + 1] - edges[cell]) * (place - cell as f64)) * side
        };
        let [low, high] = [0, 1].map(|n| self.blocks.iter().map(move |block| block.y[n]));
        let height = high.fold(f64::NEG_INFINITY, f64::max) - low.fold(f64::INFINITY, f64::min);
        let rounding = height * ON_CHORD;
        let mut left = Vec::new();
        for (n, block) in self.blocks.iter().enumerate() {
            // What bulges outward is innermost at one of the two ends.
            let innermost = chord(block.x[0]).min(chord(block.x[1])) - rounding;
            if block.y[which] * side < innermost {
                continue;
            }
            let kept = |index: &usize| {
                let y = self.y[*index] * side;
                y >= innermost && y >= chord(self.x[*index]) - rounding
            };
            left.extend(self.points(n).filter(kept).map(|index| self.corner(index)));
        }
        sorted(left, side)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sifting changes nothing: the chains of many points are those of all of them walked.
    #[test]
    fn sifted_chains_are_the_whole_chains() {
        let noise = |i: usize| (i as f64 * 0.754_877_666_246_692_8).fract() - 0.5;
        let n = 20_000;
        let profile = |shape: usize, i: usize| {
            let x = match shape {
                // Out of order, and most points crowded at one end.
                0 => noise(7 * i),
                1 => (0.5 + noise(3 * i)).powi(9) * 60.0,
                // A few places only, each with many points.
                2 => (i % 5) as f64,
                _ => i as f64,
            };
            let y = match shape {
                3 => x * 0.25,
                4 => -(x - 9e3).powi(2) * 1e-9,
                5 => (x * 1e-3).sin() * 1e-3 + 0.5 * x,
                _ => noise(i) * 1e-3 + 0.1 * x,
            };
            (x, y)
        };
        for shape in 0..6 {
            let (x, y): (Vec<f64>, Vec<f64>) = (0..n).map(|i| profile(shape, i)).unzip();
            let all = (0..n)
                .map(|i| Corner {
                    x: x[i],
                    y: y[i],
                    index: i,
                })
                .collect();
            let (whole, sifted) = (Chains::whole(all), chains(&x, &y));
            for (whole, sifted) in [(whole.upper, sifted.upper), (whole.lower, sifted.lower)] {
                let places =
                    |chain: &[Corner]| -> Vec<_> { chain.iter().map(|c| (c.x, c.y)).collect() };
                assert_eq!(places(&whole), places(&sifted), "shape {shape}");
            }
        }
    }
}
