//! The tables of words: each language says everything, with the same values, and nothing in them is unused.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_protocol::step::StepKind;
use regex::Regex;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// Keys that are put together from a beginning and a stored term, or that sentences are held against one by one.
const TERMS: [&str; 12] = [
    "bears-",
    "print-",
    "filter-",
    "component-",
    "kind-",
    "qualifier-",
    "cadence-",
    "task-",
    "caution-",
    "purpose-",
    "judged-",
    "remark-",
];

/// What each key of a table says.
fn table(language: &str) -> BTreeMap<String, String> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("words/{language}.ftl"));
    let text = std::fs::read_to_string(path).unwrap();
    let mut said = BTreeMap::<String, String>::new();
    let mut last = None;
    let begins = Regex::new(r"^([a-z][a-z0-9-]*) = (.*)$").unwrap();
    for line in text.lines() {
        if let Some(found) = begins.captures(line) {
            let key = found[1].to_owned();
            let before = said.insert(key.clone(), found[2].to_owned());
            assert_eq!(before, None, "{language}: {key} stands there twice");
            last = Some(key);
        } else if let Some(key) = last
            .as_ref()
            .filter(|_| !line.is_empty() && !line.starts_with('#'))
        {
            said.get_mut(key).unwrap().push_str(line);
        }
    }
    said
}

fn values(said: &str) -> BTreeSet<String> {
    let value = Regex::new(r"\$([a-z_]+)").unwrap();
    value
        .captures_iter(said)
        .map(|found| found[1].to_owned())
        .collect()
}

/// The sources of a room, as one text without the breaks of long sentences.
fn sources(room: &str) -> String {
    fn walk(folder: &Path, text: &mut String) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, text);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                text.push_str(&std::fs::read_to_string(path).unwrap());
            }
        }
    }
    let mut text = String::new();
    walk(
        &Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("..")
            .join(room)
            .join("src"),
        &mut text,
    );
    Regex::new(r"\\\n\s*")
        .unwrap()
        .replace_all(&text, "")
        .into_owned()
}

/// The keys that the live page names: in double braces in its frame, and in its scripts as what they ask for.
fn of_the_page() -> BTreeSet<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../daemon/src/page/files");
    let named = Regex::new(r#"\{\{([a-z0-9]+-[a-z0-9-]+)\}\}|\bword\("([a-z0-9-]+)""#).unwrap();
    let mut keys = BTreeSet::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let text = std::fs::read_to_string(entry.unwrap().path()).unwrap();
        for found in named.captures_iter(&text) {
            let key = found.get(1).or(found.get(2)).unwrap();
            keys.insert(key.as_str().to_owned());
        }
    }
    assert!(keys.len() > 100, "{keys:?}");
    keys
}

/// A script fills the places itself, and a plural would reach it as it stands in the table.
#[test]
fn what_the_page_says_has_only_places() {
    let place = Regex::new(r"\{ \$[a-z_]+ \}").unwrap();
    for language in ["en", "de"] {
        let table = table(language);
        for key in of_the_page() {
            let said = place.replace_all(&table[&key], "");
            assert!(!said.contains(['{', '}']), "{language} {key}: {said}");
        }
    }
}

#[test]
fn both_languages_have_the_same_keys_and_values() {
    let (english, german) = (table("en"), table("de"));
    let keys = |of: &BTreeMap<String, String>| of.keys().cloned().collect::<BTreeSet<_>>();
    assert_eq!(keys(&english), keys(&german));
    for (key, said) in &english {
        // A half hour is named by the hour before it or after it.
        if key != "direction-half" {
            assert_eq!(values(said), values(&german[key]), "{key}");
        }
    }
}

#[test]
fn every_key_is_used_and_every_key_that_is_used_is_there() {
    let sources = sources("protocol") + &sources("cli") + &sources("daemon");
    let english = table("en");
    let used = Regex::new(r#"said!\(\s*[a-z_.]+,\s*"([a-z0-9-]+)""#).unwrap();
    let mut used: BTreeSet<String> = used
        .captures_iter(&sources)
        .map(|found| found[1].to_owned())
        .collect();
    used.extend(of_the_page());
    for key in &used {
        assert!(english.contains_key(key), "{key} is in no table");
    }
    for key in english.keys() {
        let is_term = TERMS
            .iter()
            .chain(&["phrase-"])
            .any(|term| key.starts_with(term));
        assert!(is_term || used.contains(key), "{key} is not used");
    }
}

/// A stored term is looked up by its own letters.
#[test]
fn terms_have_the_key_of_what_is_stored() {
    let not_stored = ["task-wring", "task-clamp", "task-indicator", "task-of-kind"];
    let not_stored = not_stored.iter().chain(&[
        "print-agrees",
        "print-contradicts",
        "print-by-zones",
        "filter-cut-off",
        "filter-left-out",
    ]);
    let not_stored: BTreeSet<&str> = not_stored.copied().collect();
    let between = Regex::new("[^A-Za-z0-9]+").unwrap();
    for (key, said) in table("en") {
        let Some(of) = TERMS[..11].iter().find(|of| key.starts_with(**of)) else {
            continue;
        };
        if !not_stored.contains(&*key) {
            let slug = between.replace_all(&said, "-").to_lowercase();
            assert_eq!(key, format!("{of}{}", slug.trim_matches('-')));
        }
    }
    for kind in StepKind::ALL {
        let said: BTreeSet<String> = table("en").into_values().collect();
        assert!(
            said.contains(kind.word()) && said.contains(kind.task()),
            "{kind:?}"
        );
    }
}

/// What a table says for a sentence must be that sentence: a piece of each, the longest between two places, stands in the source
/// that writes it.
#[test]
fn remarks_are_those_that_the_arithmetic_writes() {
    let sources = sources("metrology") + &sources("protocol");
    let place = Regex::new(r"\{ \$[a-z] \}").unwrap();
    let source_place = Regex::new(r"\{[a-z_]*(:[^}]*)?\}").unwrap();
    for (key, said) in table("en")
        .iter()
        .filter(|(key, _)| key.starts_with("remark-"))
    {
        let pieces = place.split(said).flat_map(|piece| piece.split([';', ':']));
        let longest = pieces
            .map(str::trim)
            .max_by_key(|piece| piece.len())
            .unwrap();
        // An outcome that two words choose between is written in pieces.
        let written = sources.contains(longest)
            || longest
                .split(' ')
                .filter(|word| word.len() > 4)
                .all(|word| sources.contains(word));
        assert!(written, "{key}: {longest}");
        assert!(
            !source_place.is_match(&place.replace_all(said, "")),
            "{key}"
        );
    }
}
