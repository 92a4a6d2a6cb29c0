//! How readings at one nominal repeat when the plunger comes from one side.

use super::nominal::Nominal;
use crate::Length;
use crate::setup::Setup;
use crate::spread::{range, squares};
use crate::uncertainty::{rectangular, rounding_left};

/// How a single reading repeats, µm.
pub(super) struct Repeats {
    /// Largest range of the readings at one nominal from one side; none without repeats.
    pub range_um: Option<f64>,
    /// Standard deviation of a reading and its degrees of freedom, as seen here; none without repeats.
    pub seen: Option<(f64, f64)>,
    /// The standard deviation that the user states.
    stated_um: Option<f64>,
    /// One step of the display; 0 where it is not known.
    step_um: f64,
}

impl Repeats {
    pub(super) fn of(setup: &Setup, nominals: &[Nominal]) -> Self {
        let lever = setup.indicator.lever_factor();
        let groups = || {
            let ways = nominals.iter().flat_map(Nominal::ways);
            ways.filter(|readings| readings.len() > 1)
        };
        let dof: f64 = groups().map(|group| group.len() as f64 - 1.0).sum();
        let sum: f64 = groups().map(|group| squares(group)).sum();
        Self {
            range_um: groups()
                .map(|group| range(group.iter().copied()))
                .reduce(f64::max),
            seen: (dof > 0.0).then(|| ((sum / dof).sqrt(), dof)),
            stated_um: setup.indicator.repeatability.map(|sd| sd.um() * lever),
            step_um: setup.indicator.resolution.map_or(0.0, Length::um) * lever,
        }
    }

    /// The standard deviation that counts, with its degrees of freedom: what was seen here, and where nothing was, the
    /// statement, whose degrees of freedom are infinite.
    pub(super) fn counted(&self) -> Option<(f64, Option<f64>)> {
        let seen = self.seen.map(|(sd, dof)| (sd, Some(dof)));
        seen.or(self.stated_um.map(|sd| (sd, None)))
    }

    /// What the display's rounding adds, as a standard uncertainty. Readings that repeat show part of their rounding as
    /// scatter; a stated scatter has none of it.
    pub(super) fn rounding_um(&self) -> f64 {
        match self.seen {
            Some((sd, _)) => rounding_left(self.step_um, sd),
            None => rectangular(self.step_um / 2.0),
        }
    }

    /// What the user should know where no nominal was read twice.
    pub(super) fn remark(&self) -> Option<String> {
        if self.seen.is_some() {
            return None;
        }
        Some(match self.stated_um {
            Some(sd) => format!(
                "no nominal was read twice the same way: the stated repeatability of {sd:.2} µm counts"
            ),
            None => {
                let display = if self.step_um > 0.0 {
                    format!("; the display alone allows ± {:.2} µm", self.step_um / 2.0)
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
}
