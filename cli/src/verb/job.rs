//! A job: a set-up kept in a file, with the words of `session open`.

use super::file::{ending, save};
use super::which::record;
use crate::client::Client;
use crate::{Answer, Failure};
use config::near::nearest;
use config::{Config, ConfigError, Holds, job_text, stated};
use protocol::api::{SessionFilter, SetupOptions};
use serde_json::json;
use std::path::Path;

/// Writes the set-up of a session into a file.
pub(super) async fn write(
    client: &Client,
    config: &Config,
    named: Option<&str>,
    to: &Path,
) -> Result<Answer, Failure> {
    if ending(to).as_deref() != Some("toml") {
        return Err(Failure::bad_value(format!(
            "{} cannot be a job: its ending is not .toml",
            to.display()
        ))
        .hint("--to FILE.toml"));
    }
    let session = match named {
        Some(named) => Some(session(client, named).await?),
        None => None,
    };
    let record = record(client, session.as_deref()).await?;
    let back = stated(config, &record.setup, Holds::Then);
    let content = job_text(&back.options);
    save(to, content.as_bytes())?;
    let session = &record.session;
    let mut text = format!(
        "job of session {} ({}) written to {}\n",
        session.id,
        session.name,
        to.display()
    );
    for sentence in &back.changed {
        text.push_str(&format!("changed: {sentence}\n"));
    }
    let json = json!({
        "session": session.id,
        "file": to,
        "bytes": content.len(),
        "options": back.options.stated().into_iter().map(|s| (s.option.flag, s.value)).collect::<Vec<_>>(),
        "changed": back.changed,
    });
    Answer::new(text, &json)
}

/// Reads a job; the options given beside it win and are checked with it.
pub(super) fn read(
    config: &Config,
    file: &Path,
    given: &SetupOptions,
) -> Result<SetupOptions, Failure> {
    config.load_job(file, given).map_err(|error| match error {
        ConfigError::Unreadable { path, reason } => Failure::new(
            "bad_job",
            format!("the job {} cannot be read: {reason}", path.display()),
        )
        .hint("write one from a session: `conewright session job SESSION --to FILE.toml`"),
        broken @ ConfigError::Broken { .. } => Failure::new("bad_job", broken.to_string()),
    })
}

/// A session that is named by its number, by `current` or `latest`, or by its part's name: then the last of that part.
pub(super) async fn session(client: &Client, named: &str) -> Result<String, Failure> {
    let named = named.trim();
    if matches!(named, "current" | "latest") || named.parse::<u64>().is_ok() {
        return Ok(named.to_owned());
    }
    let list = client.sessions(&SessionFilter::default()).await?;
    let same = |name: &str| name.trim().to_lowercase() == named.to_lowercase();
    let of_part = list.sessions.iter().filter(|line| same(&line.name));
    let latest = of_part.map(|line| line.session).max();
    latest.map(|number| number.to_string()).ok_or_else(|| {
        let known = list.sessions.iter().map(|line| line.name.as_str());
        let hint = match nearest(named, known) {
            Some(near) => format!("did you mean `{near}`?"),
            None => "conewright session list shows them".to_owned(),
        };
        Failure::bad_value(format!("there is no session of a part `{named}`")).hint(hint)
    })
}

/// Options as they are typed on a command line.
pub(super) fn flags(options: &[(String, String)]) -> String {
    let words = options
        .iter()
        .map(|(flag, value)| format!("--{flag}{}{}", glue(value), quoted(value)));
    words.collect::<Vec<_>>().join(" ")
}

/// A value that begins with a hyphen would be taken for a flag.
fn glue(value: &str) -> &'static str {
    if value.starts_with('-') { "=" } else { " " }
}

/// A word as a shell takes it whole.
pub(super) fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_./:,=+@%".contains(c);
    if !word.is_empty() && word.chars().all(plain) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', r"'\''"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn options_are_printed_as_a_shell_takes_them() {
        let options = [
            ("fixture", "angle plate"),
            ("tolerance", "-AT4"),
            ("station", "C=40"),
            ("kit", "Jo's"),
        ];
        let options = options.map(|(flag, value)| (flag.to_owned(), value.to_owned()));
        assert_eq!(
            flags(&options),
            r"--fixture 'angle plate' --tolerance=-AT4 --station C=40 --kit 'Jo'\''s'"
        );
    }
}
