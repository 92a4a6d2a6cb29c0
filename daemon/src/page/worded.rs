//! Puts the page's words into its files.
//!
//! The frame has a key of the table in double braces where a word stands. The scripts ask one module for the words that they name,
//! so that this one alone depends on the language.

use protocol::style::Style;
use std::collections::BTreeMap;

/// What stands in a script before the key of a word.
const ASKED: &str = "word(\"";

/// Whether a text has places for words.
pub(super) fn has_places(text: &str) -> bool {
    text.contains("{{")
}

/// A text with what belongs in its places; `scripts` say which words they ask for.
pub(super) fn filled(text: &str, scripts: &[&'static str], style: Style) -> String {
    let mut filled = String::with_capacity(2 * text.len());
    let mut pieces = text.split("{{");
    filled.push_str(pieces.next().unwrap_or_default());
    for piece in pieces {
        let (key, rest) = piece.split_once("}}").unwrap_or((piece, ""));
        filled.push_str(&match key {
            "lang" => style.language.tag().to_owned(),
            "words" => json(&asked(scripts, style)),
            "point" => json(&style.written(".".to_owned())),
            key => escaped(&style.say(key, &[])),
        });
        filled.push_str(rest);
    }
    filled
}

/// The words that the scripts ask for, each with its places in braces.
fn asked(scripts: &[&'static str], style: Style) -> BTreeMap<&'static str, String> {
    let keys = scripts.iter().flat_map(|text| text.split(ASKED).skip(1));
    let keys = keys.filter_map(|rest| rest.split_once('"'));
    keys.map(|(key, _)| (key, style.template(key))).collect()
}

fn json(value: &impl serde::Serialize) -> String {
    // Only a map with keys that are no strings could fail, and there is none.
    serde_json::to_string(value).unwrap_or_default()
}

/// A text as it stands in HTML, also within an attribute.
fn escaped(text: &str) -> String {
    let text = text.replace('&', "&amp;").replace('<', "&lt;");
    text.replace('"', "&quot;")
}
