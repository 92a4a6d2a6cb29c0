//! The readings of a dial step by nominal, as errors of indication.

use super::{DialError, DialPoint, Direction};
use crate::Length;
use crate::blocks::{Kit, StackRules, choose};
use crate::domain::{LARGEST_MM, Unusable};
use crate::setup::Setup;
use crate::spread::mean;

/// Nominals nearer to each other than this, mm, are one: a picometre.
const ONE_NOMINAL: f64 = 1e-9;

/// Readings at one nominal, as errors.
pub(super) struct Nominal {
    pub nominal_mm: f64,
    /// Errors of the readings with the plunger moving inward, µm.
    pub up: Vec<f64>,
    /// Errors of those with the plunger moving outward.
    pub down: Vec<f64>,
    /// Standard uncertainty of the blocks, µm.
    pub u_um: f64,
}

/// The mean, where there is one.
pub(super) fn mean_of(errors: &[f64]) -> Option<f64> {
    (!errors.is_empty()).then(|| mean(errors))
}

impl Nominal {
    /// The middle of the mean errors upward and downward, µm.
    pub(super) fn middle(&self) -> f64 {
        let (up, down) = (mean_of(&self.up), mean_of(&self.down));
        up.zip(down)
            .map_or(up.or(down).unwrap_or(0.0), |(up, down)| up.midpoint(down))
    }

    /// Upward minus downward, µm.
    pub(super) fn hysteresis(&self) -> Option<f64> {
        mean_of(&self.up)
            .zip(mean_of(&self.down))
            .map(|(up, down)| up - down)
    }

    /// The readings of each direction.
    pub(super) fn ways(&self) -> [&Vec<f64>; 2] {
        [&self.up, &self.down]
    }
}

/// The readings by nominal, rising, as errors in µm.
pub(super) fn by_nominal(
    setup: &Setup,
    lever: f64,
    points: &[DialPoint],
) -> Result<Vec<Nominal>, DialError> {
    let mut nominals: Vec<Nominal> = Vec::new();
    for (index, point) in points.iter().enumerate() {
        let row = index + 1;
        for (value, column) in [
            (point.nominal_mm, "nominal_mm"),
            (point.reading_mm, "reading_mm"),
        ] {
            Unusable::check(row, column, value, LARGEST_MM)?;
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

/// What a straight line from nominal to nominal misses between them, root mean square, µm: of an error that bends by a second
/// difference d it misses d/8 in the middle, and over the stretch `√(8/15)` of that. Scatter of the means bends it too, by
/// six of their variances, which is taken off.
pub(super) fn between(nominals: &[Nominal], of_mean: f64) -> f64 {
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
pub(super) fn real_share(nominals: &[Nominal], sd_um: Option<f64>) -> f64 {
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
