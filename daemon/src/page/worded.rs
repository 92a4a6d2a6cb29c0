//! The page's words, put into its files: once for each language and decimal sign, whoever asks.
//!
//! The frame has a key of the table in double braces where a word stands. The scripts ask one module for the words that they name,
//! so that this one alone depends on the language.

use super::files::{FILES, File};
use axum::body::Bytes;
use protocol::style::{Decimal, Language, Style};
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// What stands in a script before the key of a word.
const ASKED: &str = "word(\"";

/// A file in a language and with a decimal sign.
struct Worded {
    path: &'static str,
    language: Language,
    decimal: Decimal,
    text: Bytes,
}

static WORDED: LazyLock<Vec<Worded>> = LazyLock::new(|| {
    let mut all = Vec::new();
    for (_, language) in Language::NAMED {
        for (_, decimal) in Decimal::NAMED {
            let style = Style {
                language,
                decimal,
                ..Style::default()
            };
            let files = FILES.iter().filter(|file| file.text.contains("{{"));
            all.extend(files.map(|file| Worded {
                path: file.path,
                language,
                decimal,
                text: filled(file.text, style).into(),
            }));
        }
    }
    all
});

/// A file with its words; none where it has no places for any.
pub(super) fn find(file: &File, style: Style) -> Option<Bytes> {
    let mut all = WORDED.iter();
    let found = all.find(|worded| {
        (worded.path, worded.language, worded.decimal) == (file.path, style.language, style.decimal)
    })?;
    Some(found.text.clone())
}

/// A text with what belongs in its places.
fn filled(text: &str, style: Style) -> String {
    let mut filled = String::with_capacity(2 * text.len());
    let mut pieces = text.split("{{");
    filled.push_str(pieces.next().unwrap_or_default());
    for piece in pieces {
        let (key, rest) = piece.split_once("}}").unwrap_or((piece, ""));
        filled.push_str(&match key {
            "lang" => style.language.tag().to_owned(),
            "words" => json(&asked(style)),
            "point" => json(&style.written(".".to_owned())),
            key => escaped(&style.say(key, &[])),
        });
        filled.push_str(rest);
    }
    filled
}

/// The words that the scripts ask for, each with its places in braces.
fn asked(style: Style) -> BTreeMap<&'static str, String> {
    let scripts = FILES.iter().map(|file| file.text);
    let keys = scripts.flat_map(|text| text.split(ASKED).skip(1));
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
