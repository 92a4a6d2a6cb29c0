//! Options of a set-up in a file: a job, and what a fixture brings along. They have the words of the command line.

use super::mistake::{ConfigError, Problem};
use super::section::{Section, Value};
use super::value::{list, text, written};
use super::{broken_by, read_text, tree};
use crate::lookup::named_session;
use crate::model::Config;
use crate::resolve;
use protocol::api::{Refusal, SetupOption, SetupOptions};
use std::path::Path;
use toml::Value as Written;

const LIST: &str = "a list of texts: [\"C=40\"]";
const TEXT: &str = "a text in quotation marks, or a number in mm";

impl Config {
    /// Reads a job: the options of `session open` in a file. They are checked together with those `given` beside it, which win.
    ///
    /// # Errors
    /// [`ConfigError::Unreadable`] with the reason, or [`ConfigError::Broken`] with every mistake found.
    pub fn load_job(&self, path: &Path, given: &SetupOptions) -> Result<SetupOptions, ConfigError> {
        let text = read_text(path)?;
        self.job(&text, &path.display().to_string(), given)
    }

    /// Reads the text of a job; `file` is the name that messages give it.
    ///
    /// ```
    /// use conewright_config::Config;
    /// let config = Config::default();
    /// let given = Default::default();
    /// let job = config.job("taper = \"1:12\"\nspan = 80\n", "seat.toml", &given)?;
    /// assert_eq!(job.span.as_deref(), Some("80"));
    /// let wrong = config.job("taper = \"1:12\"\nspam = 80\n", "seat.toml", &given).unwrap_err();
    /// assert!(wrong.to_string().starts_with("seat.toml:2:1: spam: this key is not known here"));
    /// # Ok::<(), conewright_config::ConfigError>(())
    /// ```
    ///
    /// # Errors
    /// [`ConfigError::Broken`] with every mistake found.
    pub fn job(
        &self,
        text: &str,
        file: &str,
        given: &SetupOptions,
    ) -> Result<SetupOptions, ConfigError> {
        let tree = tree(text, file)?;
        let findings = super::Findings::default();
        let root = Section::root(&findings, tree.get_ref());
        let all = SetupOptions::all();
        let keys: Vec<&str> = all.iter().map(|option| option.key.as_str()).collect();
        root.only(&keys);
        let options = read(&root, &all);
        check(&root, self, &stood_in(&options), &stood_in(given));
        broken_by(findings, text, file).map_or(Ok(options), Err)
    }
}

/// The options with some cone in the place of one that is a session's: its angle comes from the daemon, and everything else can
/// be checked without it.
fn stood_in(options: &SetupOptions) -> SetupOptions {
    let mut options = options.clone();
    if options.taper.as_deref().and_then(named_session).is_some() {
        options.taper = Some("1:12".to_owned());
    }
    options
}

/// The options that a table states among these.
pub(super) fn read(section: &Section<'_>, among: &[SetupOption]) -> SetupOptions {
    let mut stated: Vec<(&str, String)> = Vec::new();
    for option in among {
        let key = option.key.as_str();
        if option.many {
            let texts = section.optional(
                key,
                list(LIST, |item: &Value<'_>| text(item).map(str::to_owned)),
            );
            stated.extend(texts.into_iter().flatten().map(|text| (key, text)));
        } else {
            let text = section.optional(key, |value: &Value<'_>| {
                written(value, TEXT).map(str::to_owned)
            });
            stated.extend(text.map(|text| (key, text)));
        }
    }
    SetupOptions::of(stated.iter().map(|(key, text)| (*key, text.as_str())))
}

/// Finds what no session could be opened with, each at its key.
pub(super) fn check(
    section: &Section<'_>,
    config: &Config,
    options: &SetupOptions,
    given: &SetupOptions,
) {
    let mut rest = options.clone();
    while let Err(refusal) = resolve(config, &given.over(&rest)) {
        let Some(key) = key_of(&refusal, &rest, config, given) else {
            // It is about what was given beside the file, which is refused where that is used.
            return;
        };
        let problem = problem(&refusal, &key);
        section.optional(&key, |_| Err::<(), _>(problem));
        rest = without(&rest, &key);
    }
}

fn without(options: &SetupOptions, key: &str) -> SetupOptions {
    let stated = options.stated();
    let kept = stated.iter().filter(|stated| stated.option.key != key);
    SetupOptions::of(kept.map(|s| (s.option.key.as_str(), s.value.as_str())))
}

/// The key that a refusal is about: the first whose flag or value it names, else the first without which it is gone.
fn key_of(
    refusal: &Refusal,
    options: &SetupOptions,
    config: &Config,
    given: &SetupOptions,
) -> Option<String> {
    let stated = options.stated();
    let message = &refusal.message;
    let named = |flag: &str| {
        let flag = format!("--{flag}");
        let mut found = message.match_indices(&flag);
        let whole = |(at, _): &(usize, &str)| {
            let after = message[at + flag.len()..].chars().next();
            !after.is_some_and(|c| c.is_alphanumeric() || c == '-')
        };
        found.find(whole).map(|(at, _)| at)
    };
    let place = |stated: &protocol::api::StatedOption| {
        named(&stated.option.flag).or_else(|| message.find(&format!("`{}`", stated.value.trim())))
    };
    let by_name = stated
        .iter()
        .filter_map(|stated| Some((place(stated)?, &stated.option.key)))
        .min_by_key(|(at, _)| *at);
    if let Some((_, key)) = by_name {
        return Some(key.clone());
    }
    let mut keys = stated.into_iter().map(|stated| stated.option.key);
    keys.find(|key| resolve(config, &given.over(&without(options, key))).is_ok())
}

/// The refusal as a mistake at its key: without the flag that it begins with, which the key says already.
fn problem(refusal: &Refusal, key: &str) -> Problem {
    let flag = format!("--{}: ", key.replace('_', "-"));
    let what = &refusal.message;
    let what = what.strip_prefix(&flag).unwrap_or(what);
    let hint = refusal.hint.as_deref().unwrap_or_default();
    let near = hint
        .strip_prefix("did you mean `")
        .and_then(|near| near.strip_suffix("`?"));
    match near {
        Some(near) => Problem::new(what).near(Some(near)),
        None if hint.is_empty() => Problem::new(what),
        None => Problem::new(format!("{what}; {hint}")),
    }
}

/// The text of a job with these options.
///
/// ```
/// use conewright_config::job_text;
/// use protocol::api::SetupOptions;
/// let text = job_text(&SetupOptions::of([("taper", "1:12"), ("stations", "C=40")]));
/// assert!(text.ends_with("taper = \"1:12\"\nstations = [\"C=40\"]\n"));
/// ```
#[must_use]
pub fn job_text(options: &SetupOptions) -> String {
    let mut text = "# A job: the set-up of a session, with the words of `conewright session open`.\n\
                    # Use it so: conewright session open NAME --job FILE. Options beside it win.\n\n"
        .to_owned();
    let stated = options.stated();
    for option in SetupOptions::all() {
        let values = stated.iter().filter(|stated| stated.option == option);
        let mut values: Vec<Written> = values
            .map(|stated| Written::String(stated.value.clone()))
            .collect();
        if option.many && !values.is_empty() {
            values = vec![Written::Array(values)];
        }
        for value in values {
            text.push_str(&format!("{} = {value}\n", option.key));
        }
    }
    text
}
