//! `config`: whether the configuration is sound, and what holds.

use crate::args::ConfigVerb;
use crate::client::{Client, block_on};
use crate::layout::Table;
use crate::{Answer, Failure, Paths};
use config::{Config, held};
use protocol::api::ConfigStatus;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

pub(super) fn run(paths: &Paths, verb: &ConfigVerb) -> Result<Answer, Failure> {
    match verb {
        ConfigVerb::Check { file } => check(paths, file.as_deref()),
        ConfigVerb::Show => show(paths),
    }
}

/// The file that would be loaded; none where there is none.
fn found(paths: &Paths) -> Option<PathBuf> {
    Config::find(paths.config.as_deref(), &|name| std::env::var_os(name))
}

/// What a daemon that runs works with. None is started.
fn of_daemon(paths: &Paths) -> Option<ConfigStatus> {
    let client = Client::new(paths);
    let asked = block_on(async { Ok(client.status().await?) });
    asked.ok().and_then(|status| status.config)
}

fn same(a: &Path, b: &Path) -> bool {
    let real = |path: &Path| path.canonicalize().unwrap_or_else(|_| path.to_owned());
    real(a) == real(b)
}

/// What the running daemon makes of a file, in a line.
fn daemon_line(daemon: Option<&ConfigStatus>, path: Option<&Path>) -> String {
    let Some(daemon) = daemon else {
        return "no daemon is running".to_owned();
    };
    if let Some(trouble) = &daemon.trouble {
        return format!("the running daemon: {trouble}");
    }
    match (&daemon.file, path) {
        (Some(file), Some(path)) if same(Path::new(file), path) => {
            "the running daemon works with it".to_owned()
        }
        // It waits for a file at the usual place.
        (_, None) => "the running daemon has none either".to_owned(),
        (Some(file), _) => format!("the running daemon works with another one: {file}"),
        (None, _) => "the running daemon works without a configuration".to_owned(),
    }
}

fn check(paths: &Paths, file: Option<&Path>) -> Result<Answer, Failure> {
    let path = file.map(Path::to_owned).or_else(|| found(paths));
    let daemon = of_daemon(paths);
    let about_daemon = daemon_line(daemon.as_ref(), path.as_deref());
    let Some(path) = path else {
        let text = format!("there is no configuration: everything is as built in\n{about_daemon}");
        return Answer::new(text, &json!({ "well": true, "daemon": daemon }));
    };
    let config = super::load(&path)?;
    let cables: Vec<_> = config.cables.iter().map(|cable| &cable.name).collect();
    let text = format!(
        "{}: no mistakes; {}\n{about_daemon}",
        path.display(),
        metrology::Counted(cables.len() as u64, "cable")
    );
    let json = json!({ "well": true, "file": path, "cables": cables, "daemon": daemon });
    Answer::new(text, &json)
}

fn show(paths: &Paths) -> Result<Answer, Failure> {
    let path = found(paths);
    let text = match &path {
        None => String::new(),
        Some(path) => {
            super::load(path)?;
            std::fs::read_to_string(path).map_err(|error| {
                Failure::new("cannot_read", format!("{}: {error}", path.display()))
            })?
        }
    };
    let daemon = of_daemon(paths);
    let mut table = Table::new(&["key", "value", "from"]);
    let mut rows: Vec<Value> = Vec::new();
    for held in held(&text) {
        let from = held
            .line
            .map_or_else(|| "built in".to_owned(), |line| format!("line {line}"));
        rows.push(json!({ "key": held.key, "value": held.value, "line": held.line }));
        table.row([held.key, held.value, from]);
    }
    let file = match &path {
        Some(path) => path.display().to_string(),
        None => "there is no configuration: everything is as built in".to_owned(),
    };
    let about_daemon = daemon_line(daemon.as_ref(), path.as_deref());
    let text = format!("{file}\n{about_daemon}\n{}", table.text());
    Answer::new(
        text,
        &json!({ "file": path, "daemon": daemon, "keys": rows }),
    )
}
