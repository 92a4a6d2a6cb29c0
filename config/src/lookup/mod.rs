//! Names and numbers that a user gives for a taper, a kit, a bar or a fixture, looked up.
//!
//! The user's own names go first. A configuration cannot take a shipped name for something else (the loader
//! refuses it), so a name means the same in every record.

mod bar;
mod taper;

pub(crate) use bar::BAR_KINDS;
pub(crate) use taper::is_taken_by_a_taper;
pub use taper::named_session;

use crate::model::Config;
use crate::near::hint;
use crate::shipped::shipped_kits;
use metrology::blocks::Kit;
use metrology::setup::Fixture;
use protocol::api::{Code, Refusal, SetupOptions};
use std::collections::BTreeMap;

const KIT_FORMS: &str = "shipped are metric-112, -103, -88, -87, -56, -47a, -47b, -46, -45, -32, inch-81 and \
     inch-36; your own go into the configuration as [kit.NAME]";

/// A name without what people leave out or put in between its parts.
fn squeezed(name: &str) -> String {
    name.chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '-' | '_'))
        .flat_map(char::to_lowercase)
        .collect()
}

fn shipped_kit(name: &str) -> Option<&'static Kit> {
    // Two sets of 47 are sold; the one with every millimetre to 24 is meant when none is said.
    let name = match squeezed(name) {
        name if name == "metric47" => "metric47a".to_owned(),
        name => name,
    };
    shipped_kits().iter().find(|k| squeezed(&k.name) == name)
}

/// Whether a name means a shipped kit already.
pub(crate) fn is_taken_by_a_kit(name: &str) -> bool {
    shipped_kit(name).is_some()
}

/// The entry of a user's table, by its name as written, or with letters of the other case.
fn own<'a, T>(table: &'a BTreeMap<String, T>, name: &str) -> Option<&'a T> {
    table.get(name).or_else(|| {
        let same = |other: &&String| other.to_lowercase() == name.to_lowercase();
        table.keys().find(same).and_then(|key| table.get(key))
    })
}

impl Config {
    /// The user's kits, then the shipped ones.
    pub fn all_kits(&self) -> impl Iterator<Item = &Kit> {
        self.kits.values().chain(shipped_kits())
    }

    /// The kit of this name: the user's own, or a shipped one.
    ///
    /// ```
    /// let config = conewright_config::Config::default();
    /// assert_eq!(config.kit("metric 88")?.blocks.len(), 88);
    /// assert!(config.kit("metric-89").is_err());
    /// # Ok::<(), protocol::api::Refusal>(())
    /// ```
    ///
    /// # Errors
    /// [`Code::UnknownName`] with the nearest name.
    pub fn kit(&self, name: &str) -> Result<Kit, Refusal> {
        let name = name.trim();
        own(&self.kits, name)
            .or_else(|| shipped_kit(name))
            .cloned()
            .ok_or_else(|| {
                let known = self.all_kits().map(|k| k.name.as_str()).collect::<Vec<_>>();
                Refusal::new(Code::UnknownName, format!("there is no kit `{name}`"))
                    .hint(hint(name, known, KIT_FORMS))
            })
    }

    /// The fixture of this name, when the configuration has one.
    #[must_use]
    pub fn fixture(&self, name: &str) -> Option<&Fixture> {
        own(&self.fixtures, name.trim())
    }

    /// What the fixture of these options brings along, when the configuration says it.
    #[must_use]
    pub fn profile(&self, options: &SetupOptions) -> Option<&SetupOptions> {
        own(&self.profiles, options.fixture.as_deref()?.trim())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kits_by_name() {
        let config = Config::default();
        for (spec, expected) in [
            ("metric-88", "metric-88"),
            ("Metric 88", "metric-88"),
            ("metric-47", "metric-47a"),
            ("metric-47b", "metric-47b"),
            ("metric-47-b", "metric-47b"),
            ("inch_81", "inch-81"),
        ] {
            assert_eq!(config.kit(spec).unwrap().name, expected);
        }
        let wrong = config.kit("metrik-88").unwrap_err();
        assert_eq!(
            (wrong.code, wrong.hint.as_deref()),
            (Code::UnknownName, Some("did you mean `metric-88`?"))
        );
        assert!(
            config
                .kit("drawer")
                .unwrap_err()
                .hint
                .unwrap()
                .contains("[kit.NAME]")
        );
    }
}
