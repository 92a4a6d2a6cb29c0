//! The indicator itself: checked on gauge blocks before it is trusted.
//!
//! Readings over known steps, upward and downward, tell its error of indication, its hysteresis and how it repeats (terms of
//! ISO 463 and ISO 13102). A constant error is none: an indicator is set to zero wherever it is used, so errors count from
//! their mean.

mod check;
mod error;
mod outcome;

pub use check::{Correction, IndicatorCheck, IndicatorError};
pub use error::DialError;
pub use outcome::{DialOutcome, Step};

use crate::Length;
use crate::blocks::{Kit, StackRules, choose};
use crate::domain::{LARGEST_MM, Unusable};
use crate::setup::Setup;
use crate::uncertainty::{
    Budget, COVERAGE, Undecided, Verdict, rectangular, rounding_left, t_factor,
};
use serde::{Deserialize, Serialize};
use statrs::distribution::{ContinuousCDF, Normal};

/// Which way the plunger came to a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Direction {
    /// Pushed in further: readings rise.
    Up,
    /// Let out: readings fall.
    Down,
}

/// A reading on a known step.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct DialPoint {
    /// The step: a block, a stack, or zero.
    pub nominal_mm: f64,
    /// What the indicator shows.
    pub reading_mm: f64,
    /// How it was come to.
    pub direction: Direction,
}

/// What is asked for beyond the plain figures.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct DialOptions {
    /// Make a correction table that later steps apply.
    pub correct: bool,
}

/// Nominals nearer to each other than this, mm, are one: a picometre.
const ONE_NOMINAL: f64 = 1e-9;

/// Readings at one nominal, as errors.
struct Nominal {
    nominal_mm: f64,
    up: Vec<f64>,
    down: Vec<f64>,
    /// Standard uncertainty of the blocks, µm.
    u_um: f64,
}

fn mean(errors: &[f64]) -> Option<f64> {
    (!errors.is_empty()).then(|| errors.iter().sum::<f64>() / errors.len() as f64)
}

impl Nominal {
    /// The middle of the mean errors upward and downward, µm.
    fn middle(&self) -> f64 {
        let (up, down) = (mean(&self.up), mean(&self.down));
        up.zip(down)
            .map_or(up.or(down).unwrap_or(0.0), |(up, down)| up.midpoint(down))
    }

    /// Upward minus downward, µm.
    fn hysteresis(&self) -> Option<f64> {
        mean(&self.up)
            .zip(mean(&self.down))
            .map(|(up, down)| up - down)
    }
}

/// Computes the outcome of a dial step.
///
/// # Errors
/// [`DialError`]: which row, what, and what is needed.
///
/// ```
/// use conewright_metrology::dial::{self, DialOptions, DialPoint, Direction};
/// use conewright_metrology::setup::Setup;
/// let point = |nominal_mm, reading_mm, direction| DialPoint { nominal_mm, reading_mm, direction };
/// let points = [
///     point(0.0, 0.0, Direction::Up),
///     point(1.0, 1.003, Direction::Up),
///     point(2.0, 2.001, Direction::Up),
///     point(1.0, 1.005, Direction::Down),
/// ];
/// let outcome = dial::outcome(&Setup::default(), DialOptions::default(), &points)?;
/// assert!((outcome.error_span_um - 5.0).abs() < 1e-9);
/// assert!((outcome.hysteresis_um.unwrap() - 2.0).abs() < 1e-9);
/// assert!(outcome.repeatability_um.is_none() && outcome.expanded_um.is_none(), "nothing was repeated");
/// assert!(dial::outcome(&Setup::default(), DialOptions::default(), &points[..1]).is_err());
/// # Ok::<(), dial::DialError>(())
/// ```
pub fn outcome(
    setup: &Setup,
    options: DialOptions,
    points: &[DialPoint],
) -> Result<DialOutcome, DialError> {
    let lever = setup.indicator.lever_factor();
    let nominals = nominals(setup, lever, points)?;
    if nominals.len() < 2 {
        return Err(DialError::OneNominal { rows: points.len() });
    }
    let errors = || nominals.iter().flat_map(|n| n.up.iter().chain(&n.down));
    let (low, high) = errors().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), e| {
        (l.min(*e), h.max(*e))
    });
    let groups = || {
        nominals
            .iter()
            .flat_map(|n| [&n.up, &n.down])
            .filter(|g| g.len() > 1)
    };
    let repeatability_um = groups()
        .map(|group| {
            let low = group.iter().copied().fold(f64::INFINITY, f64::min);
            group.iter().copied().fold(f64::NEG_INFINITY, f64::max) - low
        })
        .reduce(f64::max);
    let squares: f64 = groups()
        .map(|group| {
            let mean = group.iter().sum::<f64>() / group.len() as f64;
            group.iter().map(|e| (e - mean).powi(2)).sum::<f64>()
        })
        .sum();
    let dof = groups().map(|group| group.len() as f64 - 1.0).sum::<f64>();
    let sd_um = (dof > 0.0).then(|| (squares / dof).sqrt());
    // What repeats here counts first, and the statement where nothing does.
    let stated = setup.indicator.repeatability.map(|sd| sd.um() * lever);
    let repeats = sd_um
        .map(|sd| (sd, Some(dof)))
        .or(stated.map(|sd| (sd, None)));
    let offset = nominals.iter().map(Nominal::middle).sum::<f64>() / nominals.len() as f64;
    let swing = Swing::over(
        &nominals,
        offset,
        options.correct,
        real_share(&nominals, repeats.map(|(sd, _)| sd)),
    );
    // What the means at the nominals themselves are good to.
    let reads = points.len() as f64 / nominals.len() as f64;
    let (sd, sd_dof) = repeats.unwrap_or((0.0, None));
    let of_mean = sd / reads.sqrt();
    let blocks =
        (nominals.iter().map(|n| n.u_um * n.u_um).sum::<f64>() / nominals.len() as f64).sqrt();
    let step_um = setup.indicator.resolution.map_or(0.0, Length::um) * lever;
    // Readings that repeat show their rounding as scatter, as far as it is any; a stated scatter has none of it.
    let rounding = match sd_um {
        Some(sd) => rounding_left(step_um, sd),
        None => rectangular(step_um / 2.0),
    };

    let mut budget = Budget::new("um");
    let name = if options.correct {
        "hysteresis, either way"
    } else {
        "error of indication over the range"
    };
    budget.add(name, swing.rms(), None);
    // All that a later reading scatters by about these errors, but for its rounding.
    let mut scattered = Budget::new("um");
    scattered.add("gauge blocks", blocks, None);
    if options.correct {
        scattered.add("between the nominals", between(&nominals, of_mean), None);
        scattered.add("the correction's own scatter", of_mean, sd_dof);
    }
    let u_um = budget.combined().hypot(scattered.combined());
    scattered.add("repeatability of a single reading", sd, sd_dof);
    budget.extend(&scattered);
    budget.add("resolution", rounding * 2_f64.sqrt(), None);
    let expanded_um = repeats.map(|_| {
        let student = t_factor(COVERAGE, scattered.effective_degrees_of_freedom())
            / t_factor(COVERAGE, f64::INFINITY);
        swing.expanded(scattered.combined() * student, rounding * 3_f64.sqrt())
    });
    let verdict = setup.indicator.error_limit.map(|limit| {
        if repeats.is_none() {
            return Verdict::Undecided;
        }
        let ways = || nominals.iter().flat_map(|n| [&n.up, &n.down]);
        let worst = ways()
            .filter_map(|way| mean(way))
            .map(|error| (error - offset).abs())
            .fold(0.0, f64::max);
        let fewest = ways().map(Vec::len).filter(|reads| *reads > 0).min();
        let mut means = Budget::new("um");
        means.add("scatter", sd / (fewest.unwrap_or(1) as f64).sqrt(), sd_dof);
        means.add("gauge blocks", blocks, None);
        means.add("resolution", rounding, None);
        let known_to = means.expanded(COVERAGE);
        Verdict::on(worst, known_to, [-limit.um(), limit.um()])
    });
    let undecided_because = if repeats.is_none() {
        verdict.map(|_| Undecided::RepeatabilityUnknown)
    } else {
        Undecided::usual(verdict)
    };
    let correction = if options.correct {
        let row = |n: &Nominal| {
            let error_um = n.middle() - offset;
            Correction {
                reading_mm: n.nominal_mm / lever + n.middle() * 1e-3,
                add_um: -error_um,
            }
        };
        nominals.iter().map(row).collect()
    } else {
        Vec::new()
    };
    let mut remarks = Vec::new();
    remarks.extend(unrepeated(sd_um, stated, step_um));
    if setup.kit.is_none() {
        remarks.push("no kit is stated: the blocks' own errors are not counted".into());
    }
    Ok(DialOutcome {
        points: points.len(),
        error_span_um: high - low,
        hysteresis_um: nominals
            .iter()
            .filter_map(Nominal::hysteresis)
            .map(f64::abs)
            .reduce(f64::max),
        repeatability_um,
        repeatability_sd_um: sd_um,
        steps: nominals
            .iter()
            .map(|n| Step {
                nominal_mm: n.nominal_mm,
                up_um: mean(&n.up),
                down_um: mean(&n.down),
            })
            .collect(),
        check: IndicatorCheck {
            u_um,
            correction,
            repeatability_sd_um: sd_um,
            repeatability_degrees_of_freedom: sd_um.map(|_| dof),
            checked_utc_ns: None,
        },
        expanded_um,
        verdict,
        undecided_because,
        budget: budget.components(),
        remarks,
    })
}

/// What is to be said where nothing was read twice.
fn unrepeated(sd_um: Option<f64>, stated: Option<f64>, step_um: f64) -> Option<String> {
    if sd_um.is_some() {
        return None;
    }
    Some(match stated {
        Some(sd) => format!(
            "no nominal was read twice the same way: the stated repeatability of {sd:.2} µm counts"
        ),
        None => {
            let display = if step_um > 0.0 {
                format!("; the display alone allows ± {:.2} µm", step_um / 2.0)
            } else {
                String::new()
            };
            format!(
                "no nominal was read twice the same way, so nothing tells how well it repeats, and no 95 % is claimed{display}; \
                 go through the steps once more, or state `--repeatability`"
            )
        }
    })
}

/// What a straight line from nominal to nominal misses between them, root mean square, µm: of an error that bends by a second
/// difference d it misses d/8 in the middle, and over the stretch `√(8/15)` of that. Scatter of the means bends it too, by
/// six of their variances, which is taken off.
fn between(nominals: &[Nominal], of_mean: f64) -> f64 {
    let bends = || {
        nominals.windows(3).map(|three| {
            let [a, b, c] = [0, 1, 2].map(|i| three[i].middle());
            // Nominals need not be even: the middle one against the line of its neighbours, as for an even step.
            let share = (three[1].nominal_mm - three[0].nominal_mm)
                / (three[2].nominal_mm - three[0].nominal_mm);
            2.0 * (b - a - share * (c - a))
        })
    };
    let count = bends().count() as f64;
    let squares = bends().map(|bend| bend * bend).sum::<f64>() - count * 6.0 * of_mean * of_mean;
    if squares > 0.0 {
        (squares / count * 8.0 / 15.0).sqrt() / 8.0
    } else {
        0.0
    }
}

/// The share of the hysteresis found that is hysteresis: scatter alone makes upward and downward differ too.
fn real_share(nominals: &[Nominal], sd_um: Option<f64>) -> f64 {
    let both = || nominals.iter().filter_map(|n| Some((n, n.hysteresis()?)));
    let found: f64 = both().map(|(_, h)| h * h).sum();
    let by_scatter: f64 = both()
        .map(|(n, _)| 1.0 / n.up.len() as f64 + 1.0 / n.down.len() as f64)
        .sum::<f64>()
        * sd_um.unwrap_or(0.0).powi(2);
    if found > 0.0 {
        ((found - by_scatter) / found).max(0.0).sqrt()
    } else {
        0.0
    }
}

/// The readings by nominal, rising, as errors in µm.
fn nominals(setup: &Setup, lever: f64, points: &[DialPoint]) -> Result<Vec<Nominal>, DialError> {
    let mut nominals: Vec<Nominal> = Vec::new();
    for (index, point) in points.iter().enumerate() {
        let row = index + 1;
        for (value, column) in [
            (point.nominal_mm, "nominal_mm"),
            (point.reading_mm, "reading_mm"),
        ] {
            Unusable::check(value, LARGEST_MM).map_err(|why| DialError::Unusable {
                row,
                column,
                why,
            })?;
        }
        let at = match nominals
            .iter()
            .position(|n| (n.nominal_mm - point.nominal_mm).abs() < ONE_NOMINAL)
        {
            Some(at) => at,
            None => {
                let u_um = match &setup.kit {
                    Some(kit) => stack_u_um(kit, row, point.nominal_mm)?,
                    None => 0.0,
                };
                let nominal_mm = point.nominal_mm;
                nominals.push(Nominal {
                    nominal_mm,
                    up: Vec::new(),
                    down: Vec::new(),
                    u_um,
                });
                nominals.len() - 1
            }
        };
        let error_um = (point.reading_mm - point.nominal_mm / lever) * 1e3;
        match point.direction {
            Direction::Up => nominals[at].up.push(error_um),
            Direction::Down => nominals[at].down.push(error_um),
        }
    }
    nominals.sort_by(|a, b| a.nominal_mm.total_cmp(&b.nominal_mm));
    Ok(nominals)
}

/// Standard uncertainty of a nominal made from a kit, µm; zero needs no block.
fn stack_u_um(kit: &Kit, row: usize, nominal_mm: f64) -> Result<f64, DialError> {
    if nominal_mm == 0.0 {
        return Ok(0.0);
    }
    let nominal = Length::from_mm(nominal_mm).unwrap_or(Length::LIMIT);
    let rules = StackRules {
        within: Length::ZERO,
        ..StackRules::default()
    };
    let not_in_kit = |nearest| DialError::NotInKit {
        row,
        nominal,
        kit: kit.name.clone(),
        nearest,
    };
    match choose(kit, nominal, &rules) {
        Ok(stack) if stack.blocks.iter().copied().sum::<Length>() == nominal => {
            Ok(stack.u_um.unwrap_or(0.0))
        }
        Ok(stack) => Err(not_in_kit(Some(stack.blocks.iter().copied().sum()))),
        Err(_) => Err(not_in_kit(None)),
    }
}

/// The errors that a reading may have before its scatter, µm, each with the share of the checked range that it stands for.
///
/// They are taken as found at the nominals, each for the stretch half way to its neighbours: straight lines between them would
/// cut the tops off an error that swings within a few steps.
struct Swing(Vec<(f64, f64)>);

impl Swing {
    /// With a correction what is left is half the hysteresis to either side; without one the whole error.
    fn over(nominals: &[Nominal], offset: f64, corrected: bool, real: f64) -> Self {
        let place = |i: usize| nominals[i].nominal_mm;
        let last = nominals.len() - 1;
        let range = place(last) - place(0);
        let errors = nominals.iter().enumerate().flat_map(|(i, nominal)| {
            let stretch = (place((i + 1).min(last)) - place(i.saturating_sub(1))) / 2.0;
            let half = nominal.hysteresis().unwrap_or(0.0) * real / 2.0;
            let middle = if corrected {
                0.0
            } else {
                nominal.middle() - offset
            };
            [middle - half, middle + half].map(|error| (error, stretch / range / 2.0))
        });
        Self(errors.collect())
    }

    fn rms(&self) -> f64 {
        self.0
            .iter()
            .map(|(e, share)| e * e * share)
            .sum::<f64>()
            .sqrt()
    }

    /// The half width that holds 95 % of single readings with normal scatter about these errors and two roundings within
    /// ± `half_step`: its own, and that of the errors as found, which is one and the same at nominals a whole number of the
    /// display's steps apart. The errors are bounded, so a factor times the standard uncertainty would be far too wide: the
    /// distribution is taken as it is, which JCGM 101 asks for.
    fn expanded(&self, sd: f64, half_step: f64) -> f64 {
        /// Places within a display's step that stand for all of them.
        const PLACES: u32 = 20;
        let shifts: Vec<f64> = if half_step > 0.0 {
            (0..PLACES)
                .map(|i| (f64::from(i) + 0.5) / f64::from(PLACES))
                .map(|share| {
                    // The quantiles of a sum of two equal rectangles.
                    let from_edge = (2.0 * share.min(1.0 - share)).sqrt();
                    2.0 * half_step * (1.0 - from_edge) * (share - 0.5).signum()
                })
                .collect()
        } else {
            vec![0.0]
        };
        let largest = self.0.iter().map(|(e, _)| e.abs()).fold(0.0, f64::max);
        let within = |half_width: f64| -> f64 {
            let held = |error: f64| match Normal::new(error, sd) {
                Ok(normal) => normal.cdf(half_width) - normal.cdf(-half_width),
                Err(_) => f64::from(u8::from(error.abs() <= half_width)),
            };
            let rounded = |error: f64| {
                shifts.iter().map(|shift| held(error + shift)).sum::<f64>() / shifts.len() as f64
            };
            self.0
                .iter()
                .map(|(error, share)| rounded(*error) * share)
                .sum()
        };
        let (mut low, mut high) = (0.0, largest + 2.0 * half_step + 10.0 * sd);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            // The shares sum to one but for rounding.
            if within(middle) < COVERAGE - 1e-12 {
                low = middle;
            } else {
                high = middle;
            }
        }
        high
    }
}
