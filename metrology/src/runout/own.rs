//! The part's own profile: every one that the readings leave possible, and what each of them does.
//!
//! Readings round a turn are the part at some places, each with scatter. Between the places, and behind the scatter, many
//! parts are possible. A part is taken to be off centre and to have lobes up to some highest number a turn, all of about
//! one size; how many, how large, and how large the scatter is, is weighed by how well the readings agree with it. So lobes
//! that the places cannot show are taken to be like those that they do show, and where nothing tells lobes from scatter,
//! both are counted. Run-out and roundness are computed for many parts drawn by these weights.
//!
//! Source: linear regression with a conjugate prior, as A. Gelman et al., *Bayesian Data Analysis*, 3rd ed., chapter 14,
//! from memory; what counts is that the limits hold: `tests/src/coverage/runout.rs`.

mod turn;

use super::angles::distinct;
use super::repeatability::Repeatability;
use crate::harmonics::USUAL_ORDER;
use crate::harmonics::normal::{Sums, backward, cholesky, forward, normal_matrix, solve};
use crate::random::Random;
use turn::Turn;

/// How many parts are drawn of each group.
const DRAWS: usize = 320;
/// What is left out at either end: a little less than 2.5 %, for the drawn parts are few and always drawn alike.
const TAIL: f64 = 0.022;
/// Highest numbers of lobes a turn that are weighed.
const HIGHEST: [usize; 10] = [2, 3, 4, 5, 6, 7, 8, 10, 12, USUAL_ORDER];
/// A group of which the readings speak less than this against the best one belongs to the limits.
const STILL_POSSIBLE: f64 = 0.05;
/// Variances of a lobe's cosine and sine, and of the centre's, over that of a single reading, go up to these.
const LARGEST_LOBES: f64 = 1e4;
const FARTHEST_OFF: f64 = 1e8;

/// An amount, mm: the likeliest, and the limits that hold it with 95 %.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Limits {
    pub middle: f64,
    pub low: f64,
    pub high: f64,
}

/// What the part itself does.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Own {
    pub run_out: Limits,
    /// By the minimum zone.
    pub roundness: Limits,
    /// How far its centre may be from that of the least squares circle: mean square along 0° and 90°.
    pub centre_squares: f64,
}

/// One kind of part that is weighed.
#[derive(Clone, Copy)]
struct Kind {
    /// Lobes up to so many a turn; 1 is off centre only, 0 quite true.
    highest: usize,
    lobes: f64,
    off_centre: f64,
}

/// What the readings say of one kind of part.
struct Fitted {
    factor: Vec<f64>,
    solution: Vec<f64>,
    /// Squares that it leaves, with those of what is known beside.
    squares: f64,
    log_weight: f64,
}

/// The readings' sums with what is known of their scatter.
struct Told {
    sums: Sums,
    normal: Vec<f64>,
    /// Of the least squares circle.
    centre: [f64; 2],
    known_squares: f64,
    dof: f64,
}

impl Told {
    fn fitted(&self, kind: Kind) -> Option<Fitted> {
        let n = 2 * kind.highest + 1;
        let mut matrix = self.normal[..n * (n + 1) / 2].to_vec();
        let mut log_prior = 0.0;
        for i in 1..n {
            let variance = if i < 3 { kind.off_centre } else { kind.lobes };
            matrix[i * (i + 1) / 2 + i] += 1.0 / variance;
            log_prior -= variance.ln();
        }
        let factor = cholesky(matrix, n)?;
        let right = &self.sums.right[..n];
        let solution = solve(&factor, right, n);
        let explained: f64 = forward(&factor, right, n).iter().map(|v| v * v).sum();
        // What is left of the squares is at least what their rounding is.
        let left = (self.sums.squares - explained).max(self.sums.squares * 1e-12);
        let squares = left + self.known_squares;
        let log_determinant: f64 = (0..n).map(|i| factor[i * (i + 1) / 2 + i].ln()).sum();
        Some(Fitted {
            log_weight: 0.5 * log_prior - log_determinant - 0.5 * self.dof * squares.ln(),
            factor,
            solution,
            squares,
        })
    }
}

impl Own {
    /// `None` when nothing tells the scatter: no more readings than a circle has unknowns, and nothing known beside.
    pub(super) fn of(
        angles: &[f64],
        y: &[f64],
        centre: [f64; 2],
        known: Option<Repeatability>,
    ) -> Option<Self> {
        let sums = Sums::of(angles, y, USUAL_ORDER, 2 * USUAL_ORDER);
        let known_dof = known.map_or(0.0, |known| known.dof);
        if sums.points <= 3 && known.is_none() {
            return None;
        }
        let told = Told {
            centre,
            normal: normal_matrix(&sums.powers, USUAL_ORDER),
            known_squares: known.map_or(0.0, |known| known.sd * known.sd * known.dof),
            dof: sums.points as f64 - 1.0 + known_dof,
            sums,
        };
        if told.sums.squares + told.known_squares <= 0.0 {
            return Some(Self::default());
        }
        let round = Turn::new();
        let shown = (distinct(angles) - 1) / 2;
        let least = 1.0 / told.sums.points as f64;
        let lobes = sizes(least, LARGEST_LOBES, 10.0);
        let off_centre = sizes(least, FARTHEST_OFF, 30.0);
        let of = |highest: &[usize], lobes: &[f64]| kinds(highest, lobes, &off_centre);
        // What the places do not show, they do not tell apart either: each such number of lobes is a group of its own.
        let (seen, unseen) = HIGHEST.split_at(HIGHEST.partition_point(|k| *k <= shown));
        let nothing = kinds(&[0], &lobes[..1], &off_centre[..1]);
        let mut groups = vec![nothing, of(&[1], &lobes[..1]), of(seen, &lobes)];
        groups.extend(unseen.chunks(1).map(|highest| of(highest, &lobes)));
        let groups: Vec<Group> = groups.iter().filter_map(|g| Group::of(&told, g)).collect();
        let best = (groups.iter()).max_by(|a, b| a.log_evidence.total_cmp(&b.log_evidence))?;
        let mut own = best.drawn(&told, &round);
        for group in &groups {
            let against = group.log_evidence - best.log_evidence;
            if against < 0.0 && against > STILL_POSSIBLE.ln() {
                own.hold(&group.drawn(&told, &round));
            }
        }
        Some(own)
    }

    /// Widens the limits to hold those of another group.
    fn hold(&mut self, other: &Self) {
        for (own, other) in [
            (&mut self.run_out, other.run_out),
            (&mut self.roundness, other.roundness),
        ] {
            own.low = own.low.min(other.low);
            own.high = own.high.max(other.high);
        }
        self.centre_squares = self.centre_squares.max(other.centre_squares);
    }
}

impl Limits {
    fn of(mut drawn: Vec<f64>) -> Self {
        drawn.sort_by(f64::total_cmp);
        // The k-th of n drawn values has on the average k/(n+1) of all below it.
        let [low, middle, high] = [TAIL, 0.5, 1.0 - TAIL].map(|p| {
            let at = (p * (drawn.len() + 1) as f64 - 1.0).max(0.0);
            let below = drawn[at as usize];
            let above = drawn[(at as usize + 1).min(drawn.len() - 1)];
            below + at.fract() * (above - below)
        });
        Self { middle, low, high }
    }
}

fn sizes(from: f64, to: f64, factor: f64) -> Vec<f64> {
    std::iter::successors(Some(from), |size| Some(size * factor))
        .take_while(|size| *size < to * factor)
        .collect()
}

fn kinds(highest: &[usize], lobes: &[f64], off_centre: &[f64]) -> Vec<Kind> {
    let mut kinds = Vec::new();
    for highest in highest {
        for off_centre in off_centre {
            kinds.extend(lobes.iter().map(|lobes| Kind {
                highest: *highest,
                lobes: *lobes,
                off_centre: *off_centre,
            }));
        }
    }
    kinds
}

/// Kinds of parts that are weighed against each other: quite true, off centre only, with lobes that the places show, with lobes that
/// they do not. The groups are not weighed, for the readings may say little of which it is: each that is possible counts.
struct Group {
    /// Each with its weight over the largest.
    kinds: Vec<(Kind, f64)>,
    log_evidence: f64,
}

impl Group {
    fn of(told: &Told, kinds: &[Kind]) -> Option<Self> {
        let weights: Option<Vec<f64>> = (kinds.iter())
            .map(|kind| Some(told.fitted(*kind)?.log_weight))
            .collect();
        let weights = weights.filter(|weights| !weights.is_empty())?;
        let best = weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let kinds: Vec<(Kind, f64)> = (kinds.iter().zip(&weights))
            .map(|(kind, weight)| (*kind, (weight - best).exp()))
            .collect();
        let mean = kinds.iter().map(|k| k.1).sum::<f64>() / kinds.len() as f64;
        Some(Self {
            kinds,
            log_evidence: best + mean.ln(),
        })
    }

    fn drawn(&self, told: &Told, round: &Turn) -> Own {
        let total: f64 = self.kinds.iter().map(|k| k.1).sum();
        // The same for all readings.
        let mut random = Random::new(1);
        let (mut run_out, mut roundness) = (Vec::with_capacity(DRAWS), Vec::with_capacity(DRAWS));
        let mut squares = 0.0;
        let mut weighed = 0.0;
        for (kind, weight) in &self.kinds {
            weighed += weight;
            // Evenly over the sum of the weights, so that each kind is drawn as often as it weighs.
            let until = ((weighed / total * DRAWS as f64 + 0.5) as usize).min(DRAWS);
            if run_out.len() >= until {
                continue;
            }
            let Some(fitted) = told.fitted(*kind) else {
                continue;
            };
            while run_out.len() < until {
                let part = fitted.draw(&mut random, told.dof);
                let y = round.profile(&part);
                run_out.push(round.range(&y));
                roundness.push(if kind.highest < 2 {
                    0.0
                } else {
                    round.zone(&y)
                });
                for axis in [0, 1] {
                    let off = part.get(axis + 1).copied().unwrap_or_default();
                    squares += (off - told.centre[axis]).powi(2);
                }
            }
        }
        let n = run_out.len() as f64;
        Own {
            run_out: Limits::of(run_out),
            roundness: Limits::of(roundness),
            centre_squares: squares / n / 2.0,
        }
    }
}

impl Fitted {
    /// One part: mean, and the cosine and sine of each order.
    fn draw(&self, random: &mut Random, dof: f64) -> Vec<f64> {
        let n = self.solution.len();
        let sd = (self.squares / random.chi_square(dof)).sqrt();
        let scattered = (0..n).map(|_| sd * random.normal()).collect();
        let off = backward(&self.factor, scattered, n);
        (self.solution.iter().zip(&off))
            .map(|(found, off)| found + off)
            .collect()
    }
}
