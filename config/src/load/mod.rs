//! The loader: from the text of `conewright.toml` to a [`Config`], or to every mistake in it with its place.
//!
//! The text is read into a tree that knows where each key and value stands, and the tree is walked by hand
//! rather than by derived code: derived code stops at the first mistake and words it for programmers.

mod bench;
mod cable;
mod frame;
mod habits;
mod kit;
mod mistake;
mod options;
mod pedal;
mod section;
mod value;

pub use mistake::{ConfigError, Mistake};
pub use options::job_text;

use crate::model::Config;
use mistake::{Problem, locate};
use protocol::api::SetupOptions;
use section::{Findings, Section};
use std::collections::BTreeMap;
use std::io::{ErrorKind, Read};
use std::path::Path;
use toml::Spanned;
use toml::de::DeTable;

/// A configuration larger than this is no configuration.
pub const MAX_BYTES: usize = 1024 * 1024;

const TABLES: [&str; 13] = [
    "cable",
    "kit",
    "bar",
    "fixture",
    "taper",
    "settle",
    "tolerance",
    "indicator",
    "pedal",
    "screen",
    "document",
    "sign",
    "log",
];

impl Config {
    /// Reads a file.
    ///
    /// # Errors
    /// [`ConfigError::Unreadable`] with the reason, or [`ConfigError::Broken`] with every mistake found.
    pub fn load(path: &Path) -> Result<Self, ConfigError> {
        Self::parse(&read_text(path)?, &path.display().to_string())
    }

    /// Reads the text of a configuration; `file` is the name that messages give it.
    ///
    /// ```
    /// use conewright_config::Config;
    /// let wrong = Config::parse("[cable.bench]\nsetings = \"9600 8N1\"\n", "conewright.toml").unwrap_err();
    /// let told = wrong.to_string();
    /// assert!(told.contains("conewright.toml:2:1: cable.bench.setings: this key is not known here"));
    /// assert!(told.contains("did you mean `settings`?"));
    /// ```
    ///
    /// # Errors
    /// [`ConfigError::Broken`] with every mistake found. While the text is no TOML, only those are told.
    pub fn parse(text: &str, file: &str) -> Result<Self, ConfigError> {
        let tree = tree(text, file)?;
        let findings = Findings::default();
        let root = Section::root(&findings, tree.get_ref());
        let mut config = walk(&root);
        config.profiles = profiles(&root, &config);
        broken_by(findings, text, file).map_or(Ok(config), Err)
    }
}

/// The text of a file that is small enough and in UTF-8.
fn read_text(path: &Path) -> Result<String, ConfigError> {
    let unreadable = |reason: String| ConfigError::Unreadable {
        path: path.to_owned(),
        reason,
    };
    let mut bytes = Vec::new();
    std::fs::File::open(path)
        .and_then(|file| file.take(MAX_BYTES as u64 + 1).read_to_end(&mut bytes))
        .map_err(|e| {
            unreadable(match e.kind() {
                ErrorKind::NotFound => "there is no such file".to_owned(),
                ErrorKind::IsADirectory => "it is a directory".to_owned(),
                ErrorKind::PermissionDenied => "reading it is not permitted".to_owned(),
                _ => e.to_string(),
            })
        })?;
    if bytes.len() > MAX_BYTES {
        return Err(unreadable(format!(
            "it is larger than {} KiB",
            MAX_BYTES / 1024
        )));
    }
    String::from_utf8(bytes).map_err(|e| {
        let place = e.utf8_error().valid_up_to();
        let text = String::from_utf8_lossy(e.as_bytes());
        let problem = Problem::new("a byte that is not UTF-8")
            .expected("a text in UTF-8; save the file with that encoding");
        let mistakes = vec![locate(&text, place..place + 1, None, problem)];
        let file = path.display().to_string();
        ConfigError::Broken { file, mistakes }
    })
}

/// The text as TOML. While it is none, only that is told.
fn tree<'a>(text: &'a str, file: &str) -> Result<Spanned<DeTable<'a>>, ConfigError> {
    let (tree, errors) = DeTable::parse_recoverable(text);
    if errors.is_empty() {
        return Ok(tree);
    }
    let place = |e: &toml::de::Error| e.span().unwrap_or(0..0);
    let mistakes = errors
        .iter()
        .map(|e| locate(text, place(e), None, no_toml(text, e)));
    Err(ConfigError::Broken {
        file: file.to_owned(),
        mistakes: mistakes.collect(),
    })
}

/// The findings as an error, when there are any.
fn broken_by(findings: Findings, text: &str, file: &str) -> Option<ConfigError> {
    let found = findings.into_sorted();
    let mistakes: Vec<Mistake> = found
        .into_iter()
        .map(|(place, key, problem)| locate(text, place, Some(key), problem))
        .collect();
    (!mistakes.is_empty()).then(|| ConfigError::Broken {
        file: file.to_owned(),
        mistakes,
    })
}

/// What keeps a text from being TOML. The parser's own words are kept but for the three slips that are made
/// most, which it words for programmers.
fn no_toml(text: &str, error: &toml::de::Error) -> Problem {
    let at = error
        .span()
        .and_then(|place| text.get(place))
        .unwrap_or("")
        .trim();
    match error.message() {
        "duplicate key" => {
            Problem::new(format!("`{at}` is said twice")).expected("each key once in a table")
        }
        message if message.starts_with("string values must be quoted") => if at.is_empty() {
            Problem::new("a value is missing")
        } else {
            Problem::new(format!("`{at}` is not a value"))
        }
        .expected("a text in quotation marks, a number, true or false, or a list"),
        message => Problem::new(format!("this is not TOML: {message}")),
    }
}

/// Reads every table. Where there are findings, the result is not used.
fn walk(root: &Section<'_>) -> Config {
    root.only(&TABLES);
    let cable_sections = root.named_sections("cable");
    let cables: Vec<_> = cable_sections
        .iter()
        .filter_map(|(name, section)| Some((cable::read(name.clone(), section)?, section)))
        .collect();
    cable::check_ports(&cables);
    cable::check_position(&cables);
    let usual = Config::default();
    Config {
        cables: cables.into_iter().map(|(cable, _)| cable).collect(),
        tapers: named(root, "taper", bench::taper),
        kits: named(root, "kit", kit::read),
        bars: named(root, "bar", |_, section| bench::bar(section)),
        fixtures: named(root, "fixture", |name, section| {
            Some(bench::fixture(name, section))
        }),
        profiles: BTreeMap::new(),
        settle: root
            .section("settle")
            .map_or(usual.settle, |s| habits::settle(&s)),
        indicator: root
            .section("indicator")
            .map_or(usual.indicator, |s| habits::indicator(&s)),
        tolerance: root
            .section("tolerance")
            .and_then(|s| habits::tolerance(&s)),
        pedal: root.section("pedal").and_then(|s| pedal::read(&s)),
        screen: root
            .section("screen")
            .map_or(usual.screen, |s| habits::screen(&s)),
        document: root
            .section("document")
            .map_or(usual.document, |s| habits::document(&s)),
        sign: root
            .section("sign")
            .map_or(usual.sign, |s| habits::sign(&s)),
        log: root.section("log").map_or(usual.log, |s| habits::log(&s)),
    }
}

/// What each fixture brings along. Its values may name bars, kits and cables of the same file, so that it is checked when those are
/// known, and as long as nothing is wrong with them.
fn profiles(root: &Section<'_>, config: &Config) -> BTreeMap<String, SetupOptions> {
    let every = SetupOptions::all().into_iter();
    let among: Vec<_> = every
        .filter(|option| bench::PROFILE.contains(&option.key.as_str()))
        .collect();
    let Some(fixtures) = root.subtable("fixture") else {
        return BTreeMap::new();
    };
    let known = config.fixtures.keys();
    let profile = |name: &String| {
        let section = fixtures.subtable(name)?;
        let profile = options::read(&section, &among);
        if section.all_is_well() {
            options::check(&section, config, &profile, &SetupOptions::default());
        }
        (profile != SetupOptions::default()).then(|| (name.clone(), profile))
    };
    known.filter_map(profile).collect()
}

fn named<T>(
    root: &Section<'_>,
    key: &str,
    read: impl Fn(String, &Section<'_>) -> Option<T>,
) -> BTreeMap<String, T> {
    root.named_sections(key)
        .into_iter()
        .filter_map(|(name, section)| Some((name.clone(), read(name, &section)?)))
        .collect()
}
