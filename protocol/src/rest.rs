//! Rest without a stated band: the indicator's own noise says what counts as movement.
//!
//! The noise comes from the second differences of successive readings, which a steady move or a single tap hardly raises. Within the
//! readings looked at, the place where their mean changes most is sought. A change that the noise does not explain ends the
//! stretch, which then begins after it. A creep has no such place: cut anywhere, what follows goes on at the same rate. So
//! after a cut the readings must also show that they do not go on.

use crate::evidence::Reading;
use metrology::Length;

/// Readings that are looked at for a change. Of a cable that sends faster, every second, third … reading back from the last is.
const MOST_READINGS: usize = 400;
/// Differences that the noise is taken from: the last 5 s at 50 readings a second, 25 s at 10.
const MOST_DIFFERENCES: usize = 256;
/// Share of the differences that gives a first idea of the noise, the smallest first: while the user moves the indicator the
/// others are large.
const CALM: f64 = 0.6;
/// Root mean square of the smallest 60 % of normal deviates, in standard deviations: with `q` the 80 % point and `φ` the
/// normal density, `√((0.6 − 2 q φ(q)) / 0.6)`.
const CALM_RMS: f64 = 0.463_2;
/// Differences beyond this many standard deviations are moves. Noise has 0.3 % of its own there; their loss makes the result
/// 1.3 % too small, which does not matter.
const CLIP: f64 = 3.0;
/// How often they are taken out: what is left tells better what belongs out.
const CLIPS: usize = 3;
/// The variance of a second difference, in variances of a reading: 1² + 2² + 1².
const BEND_VARIANCES: f64 = 6.0;
/// The same of the difference between the first and the last of three readings.
const WAY_VARIANCES: f64 = 2.0;
/// A display shows no noise smaller than this share of its step, and may still flicker between two values.
const LEAST_NOISE_STEPS: f64 = 0.4;
/// Noise beyond this is taken for movement (shake, a turning part), unless the display is coarser.
const MOST_NOISE_UM: f64 = 2.0;
/// The same in steps of the display.
const MOST_NOISE_STEPS: f64 = 2.0;
/// A change of the mean below this is no movement, whatever the noise.
const LEAST_CHANGE_UM: f64 = 0.15;
/// Standard errors beyond which a change of the mean is movement. It is sought at every place, and the more places there are,
/// the further noise alone gets at one of them: this and [`CHANGE_GROWTH`] for each e-fold of them.
const CHANGE_FACTOR: f64 = 3.65;
const CHANGE_GROWTH: f64 = 0.12;
/// The same for the newest reading alone, which is all that shows of a tap made just before: its one place needs less.
const NEWEST_FACTOR: f64 = 3.15;
/// Standard errors beyond which a rate is a creep.
const CREEP_FACTOR: f64 = 3.8;
/// Every limit is wider by this over the number of differences that tell the noise.
const FEW: f64 = 3.0;
/// A share of a limit that no rounding makes up: a place below it is ruled out without its exact figures.
const NEARLY: f64 = 0.999;
/// Standard errors by which the rate after a change must differ from the rate that led to it.
const STILL_FACTOR: f64 = 3.5;

/// What the noise says of some readings.
pub(crate) struct Rest {
    /// The first reading of those that agree.
    pub start: usize,
    /// The change before it that is no noise, if there was one.
    pub moved: Option<Moved>,
    /// Whether it still goes on, as far as can be told.
    pub goes_on: bool,
}

/// A change of the mean that the noise does not explain.
pub(crate) struct Moved {
    /// First reading of those that the change was found in.
    pub since: usize,
    /// Mean before it.
    pub from: Length,
    /// Mean after it.
    pub to: Length,
    /// What the noise would explain.
    pub allowed: Length,
}

/// Values in micrometres from the last one, and times in seconds before it: both exact enough for floats.
struct Window {
    um: Vec<f64>,
    s: Vec<f64>,
}

/// Looks at `readings[from..]`; those before it only tell the noise.
pub(crate) fn look(readings: &[Reading], from: usize) -> Rest {
    let Some(last) = readings.last() else {
        return Rest {
            start: 0,
            moved: None,
            goes_on: false,
        };
    };
    let noise = Noise::of(readings, last);
    let every = (readings.len() - from).div_ceil(MOST_READINGS).max(1);
    let mut looked_at: Vec<usize> = (from..readings.len()).rev().step_by(every).collect();
    looked_at.reverse();
    let each = || looked_at.iter().map(|i| &readings[*i]);
    let window = Window {
        um: each()
            .map(|reading| (reading.value - last.value).um())
            .collect(),
        s: each().map(|reading| reading.t.since_s(last.t)).collect(),
    };
    let length = |um: f64| Length::from_pm((um * 1e6).round() as i64);
    let at = |um: f64| last.value + length(um);
    let mut start = 0;
    let mut moved = None;
    let mut goes_on = false;
    while let Some(cut) = window.cut(start, &noise) {
        goes_on = window.goes_on(&cut, &noise);
        moved = Some(Moved {
            since: looked_at[start],
            from: at(cut.before_um),
            to: at(cut.after_um),
            allowed: length(cut.allowed_um),
        });
        start = cut.place;
    }
    // A jolt is short, and its mean may be no change; but no noise reaches so far.
    let calm = window.calm(start, &noise);
    if calm > start {
        moved = Some(Moved {
            since: looked_at[start],
            from: at(window.um[calm - 1]),
            to: last.value,
            allowed: length(noise.range_um(window.um.len() - calm)),
        });
    }
    if let Some((begin, end, allowed_um)) = window.creep(calm, &noise) {
        moved = Some(Moved {
            since: looked_at[calm],
            from: at(begin),
            to: at(end),
            allowed: length(allowed_um),
        });
        goes_on = true;
    }
    Rest {
        // Before the first that was looked at nothing has moved either.
        start: if calm == 0 { from } else { looked_at[calm] },
        moved,
        goes_on,
    }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

/// The indicator's noise.
struct Noise {
    /// Standard deviation of a single reading.
    sd_um: f64,
    /// How much wider every limit is since few differences tell it.
    few: f64,
}

impl Noise {
    fn of(readings: &[Reading], last: &Reading) -> Self {
        let step_um = last.resolution.um();
        let recent = &readings[readings.len().saturating_sub(MOST_DIFFERENCES + 2)..];
        let mut bends: Vec<Bend> = recent.windows(3).map(Bend::of).collect();
        let count = bends.len();
        let calm = (count as f64 * CALM).round() as usize;
        if calm > 0 && calm < count {
            bends.select_nth_unstable_by(calm, |a, b| a.bend.total_cmp(&b.bend));
        }
        let least = (LEAST_NOISE_STEPS * step_um).powi(2);
        let mut variance = (Bend::variance(&bends[..calm]) / CALM_RMS.powi(2)).max(least);
        for _ in 0..CLIPS {
            let most = CLIP.powi(2) * variance;
            bends.retain(|of| of.bend <= most * BEND_VARIANCES && of.way <= most * WAY_VARIANCES);
            variance = Bend::variance(&bends).max(least);
        }
        let most = MOST_NOISE_UM.max(MOST_NOISE_STEPS * step_um);
        Self {
            sd_um: variance.sqrt().min(most),
            few: 1.0 + FEW / bends.len().max(1) as f64,
        }
    }

    /// The largest range of `n` readings that is still noise: the 99.9 % point of the range of `n` normal deviates is within
    /// 2 % of `4.2 + 0.75 ln n` from 5 to 100 of them.
    fn range_um(&self, n: usize) -> f64 {
        self.sd_um * self.few * (4.2 + 0.75 * (n.max(2) as f64).ln())
    }
}

/// Three readings in succession, squares in µm².
struct Bend {
    /// Of the second difference.
    bend: f64,
    /// From the first to the last: readings on the move tell no noise.
    way: f64,
}

impl Bend {
    fn of(three: &[Reading]) -> Self {
        let [one, two, three] = [0, 1, 2].map(|i| three[i].value);
        Self {
            bend: ((three - two) - (two - one)).um().powi(2),
            way: (three - one).um().powi(2),
        }
    }

    /// The variance of a single reading that these tell.
    fn variance(of: &[Self]) -> f64 {
        of.iter().map(|of| of.bend).sum::<f64>() / of.len().max(1) as f64 / BEND_VARIANCES
    }
}

struct Cut {
    /// First reading after the change.
    place: usize,
    before_um: f64,
    after_um: f64,
    allowed_um: f64,
    /// What led to it if it was a creep, µm/s.
    rate: f64,
}

impl Window {
    /// The place in `start..` where the mean changes most, when that is more than noise.
    fn cut(&self, start: usize, noise: &Noise) -> Option<Cut> {
        let (um, s) = (&self.um[start..], &self.s[start..]);
        let n = um.len();
        let (total, total_s) = (um.iter().sum::<f64>(), s.iter().sum::<f64>());
        let (mut sum, mut sum_s) = (0.0, 0.0);
        let mut most: Option<(f64, Cut)> = None;
        let anywhere = CHANGE_FACTOR + CHANGE_GROWTH * (n as f64).ln();
        // With `a` readings before a place and `b` after it, the means differ by `d / (a b)`, and their standard error is
        // `sd √(n / (a b))`. So `d²` beside `n a b` rules most places out without a root or a quotient.
        let least = NEWEST_FACTOR.min(anywhere) * noise.few * noise.sd_um;
        let within = least * least * n as f64 * NEARLY;
        for k in 1..n {
            sum += um[k - 1];
            sum_s += s[k - 1];
            let (before, after) = (k as f64, (n - k) as f64);
            let difference = sum * n as f64 - total * before;
            if difference * difference <= within * before * after {
                continue;
            }
            let (before_um, after_um) = (sum / before, (total - sum) / after);
            let change = (after_um - before_um).abs();
            let error = noise.sd_um * (1.0 / before + 1.0 / after).sqrt();
            let factor = if k + 1 == n { NEWEST_FACTOR } else { anywhere };
            let allowed_um = (factor * noise.few * error).max(LEAST_CHANGE_UM);
            let beyond = change / allowed_um;
            if beyond > 1.0 && most.as_ref().is_none_or(|(most, _)| beyond > *most) {
                let apart_s = (total_s - sum_s) / after - sum_s / before;
                let rate = (after_um - before_um) / apart_s;
                most = Some((
                    beyond,
                    Cut {
                        place: start + k,
                        before_um,
                        after_um,
                        allowed_um,
                        rate,
                    },
                ));
            }
        }
        most.map(|(_, cut)| cut)
    }

    /// Whether the readings after a cut may well go on at the rate that led to it.
    fn goes_on(&self, cut: &Cut, noise: &Noise) -> bool {
        let Some((rate, error)) = self.rate(cut.place, noise) else {
            return true;
        };
        rate * cut.rate.signum() + STILL_FACTOR * error > cut.rate.abs()
    }

    /// The line through `start..` when it rises or falls by more than noise: its ends, and the change that would be noise.
    fn creep(&self, start: usize, noise: &Noise) -> Option<(f64, f64, f64)> {
        let (rate, error) = self.rate(start, noise)?;
        let long_s = -self.s[start];
        let allowed_um = (CREEP_FACTOR * error * long_s).max(LEAST_CHANGE_UM);
        if (rate * long_s).abs() <= allowed_um {
            return None;
        }
        let (mean, mean_s) = (mean(&self.um[start..]), mean(&self.s[start..]));
        let at = |s: f64| mean + rate * (s - mean_s);
        Some((at(-long_s), at(0.0), allowed_um))
    }

    /// The rate of `start..` by least squares, and its standard error, µm/s; none of readings of one moment.
    fn rate(&self, start: usize, noise: &Noise) -> Option<(f64, f64)> {
        let (um, s) = (&self.um[start..], &self.s[start..]);
        let (mean, mean_s) = (mean(um), mean(s));
        let squares: f64 = s.iter().map(|s| (s - mean_s).powi(2)).sum();
        let products: f64 = um
            .iter()
            .zip(s)
            .map(|(um, s)| (um - mean) * (s - mean_s))
            .sum();
        let error = noise.sd_um * noise.few / squares.sqrt();
        (squares > 0.0).then(|| (products / squares, error))
    }

    /// The first reading from which on the range is one of noise.
    fn calm(&self, start: usize, noise: &Noise) -> usize {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for (i, &um) in self.um.iter().enumerate().skip(start).rev() {
            // The limit grows with the number of readings, so it is exceeded only where the range does.
            if um >= low && um <= high {
                continue;
            }
            (low, high) = (low.min(um), high.max(um));
            if high - low > noise.range_um(self.um.len() - i) {
                return i + 1;
            }
        }
        start
    }
}
