//! What holds: each key of a configuration with its value and where that comes from, and what is built in for the others.

use crate::load::MAX_BYTES;
use crate::model::{Config, Log, Screen, Sign};
use metrology::setup::SettleRule;
use toml::de::{DeTable, DeValue};

/// One key with what holds for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Held {
    /// Its name with its table: `settle.hold`.
    pub key: String,
    /// Its value as the file has it.
    pub value: String,
    /// Its line in the file; none where it is built in.
    pub line: Option<usize>,
}

/// Longer values are shortened, in characters.
const MOST_SHOWN: usize = 60;

/// What holds with the text of a configuration that [`Config::parse`] takes: its keys in the order of the file, then what is
/// built in for keys that it does not have.
///
/// ```
/// use conewright_config::held;
/// let held = held("[settle]\nhold = \"0.75s\"\n");
/// assert_eq!((&*held[0].key, &*held[0].value, held[0].line), ("settle.hold", "\"0.75s\"", Some(2)));
/// assert!(held.iter().any(|held| held.key == "screen.colour" && held.line.is_none()));
/// ```
#[must_use]
pub fn held(text: &str) -> Vec<Held> {
    let text = if text.len() > MAX_BYTES { "" } else { text };
    let (tree, _) = DeTable::parse_recoverable(text);
    let mut all = Vec::new();
    walk(text, tree.get_ref(), "", &mut all);
    all.sort_by_key(|held| held.line);
    let built_in = built_in().into_iter();
    let missing: Vec<_> = built_in
        .filter(|held| all.iter().all(|stated| stated.key != held.key))
        .collect();
    all.extend(missing);
    all
}

fn walk(text: &str, table: &DeTable<'_>, above: &str, all: &mut Vec<Held>) {
    for (name, value) in table {
        let key = match above {
            "" => name.get_ref().to_string(),
            above => format!("{above}.{}", name.get_ref()),
        };
        if let DeValue::Table(table) = value.get_ref() {
            walk(text, table, &key, all);
            continue;
        }
        let written = text.get(value.span()).unwrap_or_default();
        let one_line = written.split_whitespace().collect::<Vec<_>>().join(" ");
        let mut shown: String = one_line.chars().take(MOST_SHOWN).collect();
        if shown.len() < one_line.len() {
            shown.push('…');
        }
        let before = text.get(..name.span().start).unwrap_or_default();
        all.push(Held {
            key,
            value: shown,
            line: Some(before.matches('\n').count() + 1),
        });
    }
}

fn built_in() -> Vec<Held> {
    let settle = SettleRule::default();
    let (screen, log) = (Screen::default(), Log::default());
    [
        ("settle.hold", format!("\"{}s\"", settle.hold_s)),
        ("settle.longest", format!("\"{}s\"", settle.longest_s)),
        ("settle.least_readings", settle.least_readings.to_string()),
        ("screen.colour", "\"auto\"".to_owned()),
        ("screen.sound", screen.sound.to_string()),
        ("document.language", "\"en\"".to_owned()),
        ("document.paper", "\"a4\"".to_owned()),
        ("sign.always", Sign::default().always.to_string()),
        ("log.level", format!("\"{}\"", log.level.name())),
        ("log.keep", log.keep.to_string()),
    ]
    .map(|(key, value)| Held {
        key: key.to_owned(),
        value,
        line: None,
    })
    .into()
}

impl Config {
    /// What of a changed configuration does not hold at once, in words; none when all of it does.
    #[must_use]
    pub fn waits(&self, after: &Self, session_open: bool) -> Option<String> {
        let of_session = (
            &self.tapers,
            &self.kits,
            &self.bars,
            &self.fixtures,
            &self.profiles,
            &self.settle,
            &self.indicator,
            &self.tolerance,
        ) != (
            &after.tapers,
            &after.kits,
            &after.bars,
            &after.fixtures,
            &after.profiles,
            &after.settle,
            &after.indicator,
            &after.tolerance,
        );
        let later = [
            (session_open && of_session)
                .then_some("the open session keeps the set-up that it was opened with"),
            (self.log != after.log).then_some("[log] holds from the next start of the daemon"),
            (self.screen != after.screen)
                .then_some("[screen] holds for views that are opened from now on"),
        ];
        let words: Vec<_> = later.into_iter().flatten().collect();
        (!words.is_empty()).then(|| words.join("; "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_stands_with_its_line_and_the_others_with_what_is_built_in() {
        let text =
            "[log]\nkeep = 3\n\n[cable.bench]\nport = \"/dev/ttyS0\"\nframe = { line = \"a\" }\n";
        let held = held(text);
        let line = |key: &str| held.iter().find(|h| h.key == key).unwrap().line;
        assert_eq!(line("log.keep"), Some(2));
        assert_eq!(line("cable.bench.port"), Some(5));
        assert_eq!(line("cable.bench.frame.line"), Some(6));
        assert_eq!(line("log.level"), None);
        assert_eq!(held.iter().filter(|h| h.key == "log.keep").count(), 1);
    }

    #[test]
    fn what_is_built_in_is_what_an_empty_file_gives() {
        let text: String = held("")
            .iter()
            .map(|held| {
                let (table, key) = held.key.split_once('.').unwrap();
                format!("{table}.{key} = {}\n", held.value)
            })
            .collect();
        assert_eq!(Config::parse(&text, "built in").unwrap(), Config::default());
    }

    #[test]
    fn what_waits_is_told() {
        let before = Config::default();
        let after = Config::parse("[settle]\nhold = \"0.75s\"\n[log]\nkeep = 3\n", "c").unwrap();
        assert_eq!(before.waits(&before, true), None);
        let words = before.waits(&after, true).unwrap();
        assert!(
            words.contains("the open session keeps") && words.contains("[log]"),
            "{words}"
        );
        assert!(!before.waits(&after, false).unwrap().contains("session"));
    }
}
