//! A check of the indicator: its known steps.

use super::Resolve;
use crate::model::Config;
use crate::resolve::text::{bad, distinct, length};
use metrology::Length;
use metrology::blocks::{Kit, StackError, StackRules, choose};
use metrology::dial;
use metrology::setup::Setup;
use protocol::api::Refusal;
use protocol::step::{DialOptions, DialPlan};

impl Resolve for DialPlan {
    fn resolve(_: &Config, setup: &Setup, options: &DialOptions) -> Result<Self, Refusal> {
        let nominals = distinct("--nominals", &options.nominals, |text| {
            length("--nominals", text, "1.5", None)
        })?;
        if let [only] = nominals.as_slice() {
            return Err(bad(
                format!("--nominals: {only} alone is not a range"),
                "an indicator is checked over two steps at least: `--nominals 0,1`",
            ));
        }
        if let Some(pair) = nominals.windows(2).find(|pair| pair[1] <= pair[0]) {
            return Err(bad(
                format!("--nominals: {} does not lie above {}", pair[1], pair[0]),
                "write them rising; the readings then go up and down again: `0,1,2`",
            ));
        }
        if let Some(kit) = &setup.kit {
            for nominal in nominals.iter().filter(|n| **n != Length::ZERO) {
                made_by(kit, *nominal)?;
            }
        }
        Ok(Self {
            dial: dial::DialOptions {
                correct: options.analysis.correct,
            },
            nominals,
        })
    }
}

/// Refuses a known step that no stack of the kit makes exactly.
fn made_by(kit: &Kit, nominal: Length) -> Result<(), Refusal> {
    let rules = StackRules {
        within: Length::ZERO,
        ..StackRules::default()
    };
    let nearest = match choose(kit, nominal, &rules) {
        Ok(stack) => {
            let sum: Length = stack.blocks.iter().copied().sum();
            if sum == nominal {
                return Ok(());
            }
            Some(sum)
        }
        Err(StackError::NotPositive { closest, .. } | StackError::BeyondKit { closest, .. }) => {
            Some(closest)
        }
        Err(_) => None,
    };
    let nearest = nearest.map_or(String::new(), |nearest| {
        format!("; the nearest that it makes is {nearest}")
    });
    Err(bad(
        format!(
            "--nominals: no block or stack of the kit {} makes {nominal}{nearest}",
            kit.name
        ),
        "write a step that it makes, or state the kit that is used: `--kit KIT`",
    ))
}
