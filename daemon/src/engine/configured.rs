//! The configuration, with what earlier sessions found about its fixtures: enough to say what a session would be.

use super::fixture;
use crate::store::Learned;
use config::Config;
use metrology::zero;
use protocol::api::{Refusal, SetupOptions, SetupPlan};
use protocol::said;
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

    /// What a session with these options would be, in the words of the live page.
    ///
    /// # Errors
    /// As [`config::resolve`].
    pub fn plan(&self, options: &SetupOptions) -> Result<SetupPlan, Refusal> {
        let mut setup = config::resolve(&self.config, options)?;
        fixture::remember(&mut setup, &self.learned);
        let capability = zero::of_setup(&setup);
        let style = self.config.live_style(Some(&setup));
        let missing = [
            (said!(style, "plan-a-tolerance"), setup.tolerance.is_none()),
            (said!(style, "plan-the-span"), setup.stations.len() < 2),
            (
                said!(style, "plan-a-step"),
                setup.indicator.resolution.is_none(),
            ),
        ];
        let missing: Vec<_> = missing
            .into_iter()
            .filter_map(|(what, is_missing)| is_missing.then_some(what))
            .collect();
        let can_prove = match &capability {
            Some(capability) => words::told(&capability.words(), style),
            None if missing.is_empty() => said!(style, "plan-not-of-the-angle"),
            None => said!(style, "plan-state-to-see", missing = missing.join(", ")),
        };
        Ok(SetupPlan {
            words: words::plan(&setup, style),
            setup,
            capability,
            can_prove,
        })
    }
}
