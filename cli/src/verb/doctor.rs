//! `doctor`: what this computer does that spoils readings, and the rules that put it right.

use crate::{Answer, Exit, Failure, Paths};
use config::Config;
use daemon::doctor::{self, Asked, Finding, InstallFault, gather, judge};
use serde_json::json;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};

/// Looks at the computer whose files are below `root`, and judges it.
pub(super) fn look(config: &Config, paths: &Paths, root: &Path) -> Result<Answer, Failure> {
    let asked = Asked {
        data: paths.data.clone(),
        runtime: std::env::var_os("XDG_RUNTIME_DIR").map(PathBuf::from),
        pedal: config.pedal.as_ref().map(|pedal| pedal.device.clone()),
        rules: doctor::rules(config),
    };
    let findings = judge(&gather(root, &asked));
    let well = findings.iter().all(|finding| finding.well);
    let document = json!({ "well": well, "findings": findings });
    let answer = Answer::new(lines(&findings), &document)?;
    Ok(if well {
        answer
    } else {
        answer.exit(Exit::Failed)
    })
}

/// What needs attention first, each with what to do; then what is well.
fn lines(findings: &[Finding]) -> String {
    let mut text = String::new();
    let (well, wrong): (Vec<&Finding>, Vec<&Finding>) = findings.iter().partition(|f| f.well);
    for finding in &wrong {
        text.push_str(&format!(
            "ATTENTION {}: {}\n",
            finding.check, finding.evidence
        ));
        if let Some(remedy) = &finding.remedy {
            text.push_str(&format!("          remedy: {remedy}\n"));
        }
    }
    for finding in well {
        text.push_str(&format!(
            "well      {}: {}\n",
            finding.check, finding.evidence
        ));
    }
    text.push_str(&match wrong.len() {
        0 => "nothing needs attention\n".to_owned(),
        1 => "one thing needs attention\n".to_owned(),
        n => format!("{n} things need attention\n"),
    });
    text
}

/// Prints the udev rules for a configuration.
pub(super) fn print_rules(config: &Config) -> Result<Answer, Failure> {
    let rules = doctor::rules(config);
    let document = json!({ "file": doctor::RULES_FILE, "rules": rules });
    Answer::new(rules.clone(), &document)
}

/// Puts the udev rules in place.
pub(super) fn install(
    config: &Config,
    root: &Path,
    named_config: Option<&OsStr>,
) -> Result<Answer, Failure> {
    let installed = doctor::install(root, &doctor::rules(config))
        .map_err(|fault| refusal(&fault, named_config))?;
    let path = installed.path.display();
    let told = match &installed.not_told {
        None => "udev has read them: put the cables out and in again".to_owned(),
        Some(why) => format!(
            "udev was not told ({why}): `sudo udevadm control --reload`, then put the cables out and in"
        ),
    };
    let document = json!({
        "file": path.to_string(),
        "reloaded": installed.not_told.is_none(),
    });
    Answer::new(format!("{path} is in place; {told}\n"), &document)
}

fn refusal(fault: &InstallFault, named_config: Option<&OsStr>) -> Failure {
    let failure = Failure::new("not_installed", fault.to_string());
    if fault.is_denied() {
        failure.hint(format!("it needs root: {}", as_root(named_config)))
    } else {
        failure
    }
}

/// The whole command: root has another home, and so another configuration, and may have another path.
fn as_root(named_config: Option<&OsStr>) -> String {
    let quoted = |path: &Path| format!("'{}'", path.display().to_string().replace('\'', "'\\''"));
    let program = std::env::current_exe().unwrap_or_else(|_| PathBuf::from("conewright"));
    let named = named_config.filter(|name| !name.is_empty()).map(Path::new);
    let config = Config::find(named, &|name| std::env::var_os(name));
    let config = config.and_then(|path| std::path::absolute(path).ok());
    let option = config.map_or(String::new(), |path| format!(" --config {}", quoted(&path)));
    format!("`sudo {}{option} doctor --install`", quoted(&program))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::{Error, ErrorKind};

    /// The tests may run as root, to whom nothing is denied: the fault is made here.
    #[test]
    fn who_may_not_install_is_given_the_whole_command() {
        let fault = |kind: ErrorKind| InstallFault {
            path: PathBuf::from("/etc/udev/rules.d/70-conewright.rules"),
            source: Error::from(kind),
        };
        let config = tempfile::NamedTempFile::with_prefix("it's ").unwrap();
        let named = Some(config.path().as_os_str());
        let denied = refusal(&fault(ErrorKind::PermissionDenied), named);
        let hint = denied.hint.unwrap();
        let quoted = config.path().display().to_string().replace('\'', "'\\''");
        let end = format!("--config '{quoted}' doctor --install`");
        assert!(
            hint.starts_with("it needs root: `sudo '/") && hint.ends_with(&end),
            "{hint}"
        );
        assert!(
            refusal(&fault(ErrorKind::StorageFull), named)
                .hint
                .is_none()
        );
    }
}
