//! `service`: the daemon as a service of this user, for those who installed no package.

mod manager;
mod unit;

use super::{daemon, load};
use crate::args::ServiceVerb;
use crate::{Answer, Failure, Paths};
use config::Config;
use config::own::{self, Use};
use manager::Trouble;
use serde_json::json;
use std::ffi::OsString;
use std::fs;
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use unit::{Service, UNITS};

pub(super) fn run(paths: &Paths, verb: ServiceVerb) -> Result<Answer, Failure> {
    let folder = folder(&|name| std::env::var_os(name))?;
    match verb {
        ServiceVerb::Install => install(paths, &folder),
        ServiceVerb::Remove => remove(paths, &folder),
        ServiceVerb::Status => status(&folder),
    }
}

/// Where the units of a user are (systemd.unit(5)).
fn folder(environment: &impl Fn(&str) -> Option<OsString>) -> Result<PathBuf, Failure> {
    let directory = |name| {
        environment(name)
            .map(PathBuf::from)
            .filter(|p| p.is_absolute())
    };
    directory("XDG_CONFIG_HOME")
        .or_else(|| directory("HOME").map(|home| home.join(".config")))
        .map(|base| base.join("systemd/user"))
        .ok_or_else(|| {
            Failure::new(
                "no_home",
                "there is no place for the service's files: neither XDG_CONFIG_HOME nor HOME is set",
            )
        })
}

/// What lies at a unit's place.
enum Found {
    Nothing,
    Own(String),
    Foreign,
}

fn found(path: &Path) -> Result<Found, Failure> {
    match fs::symlink_metadata(path) {
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(Found::Nothing),
        Err(error) => return Err(unusable("read", path, &error)),
        // A link is somebody's choice, as one to /dev/null is: it masks the unit.
        Ok(found) if !found.is_file() => return Ok(Found::Foreign),
        Ok(_) => {}
    }
    let text = fs::read_to_string(path).map_err(|error| unusable("read", path, &error))?;
    Ok(if unit::is_own(&text) {
        Found::Own(text)
    } else {
        Found::Foreign
    })
}

fn unusable(doing: &str, path: &Path, error: &io::Error) -> Failure {
    Failure::new(
        "cannot_write",
        format!("could not {doing} {}: {error}", path.display()),
    )
}

/// The texts of the units that are there; a file of somebody else's in their place is refused.
fn own_units(folder: &Path) -> Result<[Option<String>; 2], Failure> {
    let mut own = [None, None];
    for (name, own) in UNITS.iter().zip(&mut own) {
        let path = folder.join(name);
        match found(&path)? {
            Found::Nothing => {}
            Found::Own(text) => *own = Some(text),
            Found::Foreign => {
                return Err(Failure::new(
                    "foreign_unit",
                    format!("{} was not written by this program", path.display()),
                )
                .hint("it is left as it is; move it away, and repeat the command"));
            }
        }
    }
    Ok(own)
}

fn install(paths: &Paths, folder: &Path) -> Result<Answer, Failure> {
    if std::env::var_os("SUDO_UID").is_some() {
        return Err(Failure::usage(
            "with sudo this would be a service of root, with data of its own",
        )
        .hint("repeat the command without sudo"));
    }
    own_units(folder)?;
    let executable = std::env::current_exe()
        .map_err(|e| Failure::new("internal", format!("this program's own file: {e}")))?;
    let (config, log_folder) = configuration(paths)?;
    let service = Service {
        executable: &executable,
        paths,
        config,
        log_folder,
    };
    let texts = service.texts()?;
    manager::answers()?;
    let user = rustix::process::geteuid().as_raw();
    own::directory(&paths.data, user, Use::Data)
        .map_err(|error| Failure::new("not_own", error.to_string()))?;
    stop_units();
    // One that a verb has started holds the data, and the service could not.
    let stopped = daemon::stop(paths)?.json["stopped"] == true;
    fs::create_dir_all(folder).map_err(|error| unusable("make", folder, &error))?;
    for (name, text) in UNITS.iter().zip(&texts) {
        let path = folder.join(name);
        fs::write(&path, text).map_err(|error| unusable("write", &path, &error))?;
    }
    manager::ask(&["daemon-reload"])?;
    manager::ask(&["enable", "--now", UNITS[0], UNITS[1]])?;
    let [socket, service] = UNITS.map(|name| folder.join(name).display().to_string());
    let mut text = format!(
        "the service is installed and runs {}\nwritten: {socket}\n         {service}\n",
        executable.display()
    );
    if stopped {
        text.push_str(
            "the daemon that ran before was stopped; the service goes on with its session\n",
        );
    }
    text.push_str("it starts when you log in, and whenever a verb asks for it; to undo: conewright service remove");
    let document = json!({
        "installed": true, "executable": executable, "written": [socket, service], "stopped": stopped,
    });
    Answer::new(text, &document)
}

/// The configuration that the service must be told of, and the folder of its log.
fn configuration(paths: &Paths) -> Result<(Option<PathBuf>, Option<PathBuf>), Failure> {
    let environment = |name: &str| std::env::var_os(name);
    let Some(path) = Config::find(paths.config.as_deref(), &environment) else {
        return Ok((None, None));
    };
    let log_folder = load(&path)?
        .log
        .file
        .and_then(|file| file.parent().map(Path::to_owned));
    Ok((Some(path), log_folder))
}

/// Stops the service, of a package or of this program. What is not there is no failure.
fn stop_units() {
    let _ = manager::ask(&["stop", UNITS[0], UNITS[1]]);
}

fn remove(paths: &Paths, folder: &Path) -> Result<Answer, Failure> {
    let own = own_units(folder)?;
    if own.iter().all(Option::is_none) {
        let text = format!(
            "no service is installed in {}: there is nothing to remove",
            folder.display()
        );
        return Answer::new(text, &json!({ "removed": [] }));
    }
    // Without systemd the files do nothing, and are removed all the same.
    let disabled = manager::ask(&["disable", "--now", UNITS[0], UNITS[1]]);
    let mut removed = Vec::new();
    for (name, own) in UNITS.iter().zip(&own) {
        let path = folder.join(name);
        if own.is_some() {
            fs::remove_file(&path).map_err(|error| unusable("remove", &path, &error))?;
            removed.push(path.display().to_string());
        }
    }
    let reloaded = disabled.and_then(|_| manager::ask(&["daemon-reload"]));
    let mut text = format!("removed: {}\n", removed.join("\n         "));
    if let Err(trouble) = &reloaded {
        text.push_str(&format!("systemd was not told: {trouble}\n"));
    }
    text.push_str(&format!(
        "the data stays in {}; verbs start the daemon when they need it; to undo: conewright service install",
        paths.data.display()
    ));
    let document = json!({
        "removed": removed, "data": paths.data, "told": reloaded.is_ok(),
    });
    Answer::new(text, &document)
}

fn status(folder: &Path) -> Result<Answer, Failure> {
    let path = folder.join(UNITS[1]);
    let found = found(&path)?;
    let state = state();
    let runs = match &state {
        Ok(state) => state.clone(),
        Err(trouble) => trouble.to_string(),
    };
    let mut document = json!({
        "installed": matches!(found, Found::Own(_)), "unit": path, "state": runs,
    });
    let text = match found {
        Found::Nothing => {
            return Answer::new(
                format!(
                    "you have installed no service: verbs start the daemon when they need it\nconewright.service: {runs}\nto install: conewright service install"
                ),
                &document,
            );
        }
        Found::Foreign => {
            return Answer::new(
                format!(
                    "{} was not written by this program\nconewright.service: {runs}",
                    path.display()
                ),
                &document,
            );
        }
        Found::Own(text) => text,
    };
    let started = unit::executable(&text);
    document["executable"] = json!(started);
    let said = started
        .as_ref()
        .map_or_else(|| "nothing".to_owned(), |p| p.display().to_string());
    let mut answer = Answer::new(
        format!(
            "installed: {}\nstarts: {said}\nconewright.service: {runs}",
            path.display()
        ),
        &document,
    )?;
    if !started.as_ref().is_some_and(|path| path.is_file()) {
        answer.complaint = Some(
            Failure::new(
                "executable_moved",
                format!("the service starts {said}, which is not there"),
            )
            .hint("from the executable's new place: conewright service install"),
        );
        answer.exit = crate::Exit::Failed;
    } else if started != std::env::current_exe().ok() {
        answer.talk = "this is another executable than the service starts; to change that: conewright service install".to_owned();
    }
    Ok(answer)
}

/// What systemd says of the service, in its own words.
fn state() -> Result<String, Trouble> {
    let said = manager::ask(&[
        "show",
        UNITS[1],
        "--property=ActiveState",
        "--property=UnitFileState",
    ])?;
    let words: Vec<&str> = said
        .lines()
        .filter_map(|line| line.split_once('=').map(|(_, value)| value))
        .filter(|value| !value.is_empty())
        .collect();
    Ok(words.join(", "))
}
