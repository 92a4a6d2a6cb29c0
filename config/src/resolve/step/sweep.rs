//! A sweep: where its positions come from, and what its line judges.

use super::Resolve;
use crate::model::Config;
use crate::resolve::indicator::position_cable;
use crate::resolve::text::{above_zero, bad, choice, one_of};
use metrology::setup::Setup;
use metrology::sweep::{self, PositionsFrom, Subject};
use protocol::api::Refusal;
use protocol::step::{SweepOptions, SweepPlan};

impl Resolve for SweepPlan {
    fn resolve(config: &Config, setup: &Setup, options: &SweepOptions) -> Result<Self, Refusal> {
        let positions = match options.positions.as_deref() {
            Some(text) => one_of(
                "--positions",
                text,
                &[
                    ("stations", PositionsFrom::Stations),
                    ("cable", PositionsFrom::Cable),
                    ("feed", PositionsFrom::Feed),
                ],
            )?,
            // A cable that is named says it.
            None if options.position_cable.is_some() => PositionsFrom::Cable,
            None => PositionsFrom::Stations,
        };
        if positions != PositionsFrom::Cable && options.position_cable.is_some() {
            return Err(bad(
                "`--position-cable` applies only to positions by cable",
                "write `--positions cable`, or leave `--position-cable` out",
            ));
        }
        if positions == PositionsFrom::Feed && setup.stations.len() < 2 {
            return Err(bad(
                "--positions feed: a steady feed goes from one station to another, and the set-up states none",
                "state the distance from A to B with the set-up: `--span 80`",
            ));
        }
        let position_cable = match positions {
            PositionsFrom::Cable => Some(position_cable(
                config,
                setup,
                options.position_cable.as_deref(),
            )?),
            PositionsFrom::Stations | PositionsFrom::Feed => None,
        };
        let subject = choice(
            "--subject",
            options.analysis.subject.as_deref(),
            &[("setup", Subject::Setup), ("part", Subject::Part)],
        )?;
        Ok(Self {
            sweep: sweep::SweepOptions {
                filter: above_zero("--filter", options.analysis.filter.as_deref(), "2.5")?,
                reject_outliers: options.analysis.reject_outliers,
                subject,
                positions,
            },
            position_cable,
        })
    }
}
