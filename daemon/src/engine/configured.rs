//! The configuration, with what earlier sessions found about its fixtures: enough to say what a session would be.

use super::fixture;
use crate::store::Learned;
use config::Config;
use metrology::zero;
use protocol::api::{Refusal, SetupOptions, SetupPlan};
use protocol::screen::words;
use std::collections::BTreeMap;

/// A copy of it, so that nothing waits for whoever computes with it.
pub(crate) struct Configured {
    pub config: Config,
    learned: BTreeMap<String, BTreeMap<i64, Learned>>,
}

impl Configured {
    pub fn new(config: &Config, learned: &BTreeMap<String, BTreeMap<i64, Learned>>) -> Self {
        Self {
            config: config.clone(),
            learned: learned.clone(),
        }
    }

    /// The fixtures that are known by name.
    pub fn fixtures(&self) -> Vec<String> {
        let own = self.config.fixtures.keys();
        let mut names: Vec<_> = own.chain(self.learned.keys()).cloned().collect();
        names.retain(|name| !name.is_empty());
        names.sort();
        names.dedup();
        names
    }

    /// What a session with these options would be.
    ///
    /// # Errors
    /// As [`config::resolve`].
    pub fn plan(&self, options: &SetupOptions) -> Result<SetupPlan, Refusal> {
        let mut setup = config::resolve(&self.config, options)?;
        fixture::remember(&mut setup, &self.learned);
        let capability = zero::of_setup(&setup);
        let missing = [
            ("a tolerance", setup.tolerance.is_none()),
            ("the span from A to B", setup.stations.len() < 2),
            (
                "one step of the indicator's display",
                setup.indicator.resolution.is_none(),
            ),
        ];
        let missing: Vec<_> = missing
            .into_iter()
            .filter_map(|(what, is_missing)| is_missing.then_some(what))
            .collect();
        let can_prove = match &capability {
            Some(capability) => capability.words(),
            None if missing.is_empty() => "this tolerance is not one of the angle".to_owned(),
            None => format!(
                "state {} to see whether this set-up can prove its tolerance",
                missing.join(", ")
            ),
        };
        Ok(SetupPlan {
            words: words::plan(&setup, self.config.style(Some(&setup))),
            setup,
            capability,
            can_prove,
        })
    }
}
