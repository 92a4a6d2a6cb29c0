//! A sweep: where its positions come from, and what its line judges.

use super::{Resolve, bad, one_of, positive};
use crate::model::{Config, Measures};
use crate::near::hint;
use metrology::setup::Setup;
use metrology::sweep::{PositionsFrom, Subject, SweepOptions};
use protocol::api::{Code, Refusal, StepOptions};
use protocol::plan::SweepPlan;

impl Resolve for SweepPlan {
    fn resolve(config: &Config, setup: &Setup, options: &StepOptions) -> Result<Self, Refusal> {
        let positions = match options.positions.as_deref() {
            Some(text) => one_of(
                "positions",
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
                "position cable: it is named, and the positions come from elsewhere",
                "write `--positions cable`, or leave the cable out",
            ));
        }
        if positions == PositionsFrom::Feed && setup.stations.len() < 2 {
            return Err(bad(
                "positions: a steady feed goes from one station to another, and the set-up states none",
                "state the distance from A to B with the set-up: `--span 80`",
            ));
        }
        let position_cable = match positions {
            PositionsFrom::Cable => Some(position_cable(config, setup, options)?),
            PositionsFrom::Stations | PositionsFrom::Feed => None,
        };
        let subject = match options.subject.as_deref() {
            Some(text) => one_of(
                "subject",
                text,
                &[("setup", Subject::Setup), ("part", Subject::Part)],
            )?,
            None => Subject::Setup,
        };
        Ok(Self {
            sweep: SweepOptions {
                filter: options
                    .filter
                    .as_deref()
                    .map(|text| positive("filter", text, "2.5", None))
                    .transpose()?,
                reject_outliers: options.reject_outliers,
                subject,
                positions,
            },
            position_cable,
        })
    }
}

/// The cable that reports the table's position: the one that is named, else the set-up's.
fn position_cable(
    config: &Config,
    setup: &Setup,
    options: &StepOptions,
) -> Result<String, Refusal> {
    let configured = || config.position_cable().map(|cable| cable.name.clone());
    let Some(name) = options.position_cable.as_deref().map(str::trim) else {
        return setup
            .position_cable
            .clone()
            .or_else(configured)
            .ok_or_else(|| {
                bad(
                    "positions: no cable of the configuration reports the table's position",
                    "write `measures = \"position\"` in the table of that cable, or name it: `--position-cable NAME`",
                )
            });
    };
    let known = || config.cables.iter().map(|cable| cable.name.as_str());
    let find = config
        .cables
        .iter()
        .find(|cable| cable.name == name)
        .or_else(|| {
            config
                .cables
                .iter()
                .find(|cable| cable.name.to_lowercase() == name.to_lowercase())
        });
    let Some(cable) = find else {
        let all: Vec<&str> = known().collect();
        let otherwise = if all.is_empty() {
            "the configuration has no cables".to_owned()
        } else {
            format!("the configuration has {}", all.join(", "))
        };
        return Err(Refusal::new(
            Code::UnknownName,
            format!("position cable: there is no cable `{name}`"),
        )
        .hint(hint(name, known(), &otherwise)));
    };
    if cable.measures == Measures::Part {
        return Err(bad(
            format!(
                "position cable: the cable `{}` measures the part, not the table's position",
                cable.name
            ),
            "write `measures = \"position\"` in its table, or name the cable that does",
        ));
    }
    Ok(cable.name.clone())
}
