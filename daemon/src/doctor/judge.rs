//! What the facts mean: which of them spoil readings, and what to do.

use super::facts::{Facts, PortFacts};
use serde::{Deserialize, Serialize};

/// An adapter that gathers bytes for longer makes readings late and uneven, ms. 1 ms is the least that adapters take.
const LATENCY_MS: u32 = 2;
/// Less room than this on the disk of the data is little, bytes. A day of 24 cables at 50 readings/s is about 3 GB; a zero
/// step is far below 1 MB.
const LITTLE_ROOM: u64 = 200 * 1024 * 1024;

/// One thing that was looked at.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Finding {
    /// What was looked at: `access`, `holder`, `modem-manager`, `braille-driver`, `latency`, `autosuspend`, `pedal`,
    /// `runtime`, `data`, `room` or `rules`.
    pub check: String,
    /// Whether it is as it should be.
    pub well: bool,
    /// What was found, and where.
    pub evidence: String,
    /// What to do.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub remedy: Option<String>,
}

fn well(check: &str, evidence: impl Into<String>) -> Finding {
    Finding {
        check: check.to_owned(),
        well: true,
        evidence: evidence.into(),
        remedy: None,
    }
}

fn wrong(check: &str, evidence: impl Into<String>, remedy: impl Into<String>) -> Finding {
    Finding {
        check: check.to_owned(),
        well: false,
        evidence: evidence.into(),
        remedy: Some(remedy.into()),
    }
}

const INSTALL: &str =
    "`sudo conewright doctor --install` sets the rules for it; then put the cable in again";

/// Judges the facts: at least one finding for each thing that was looked at.
#[must_use]
pub fn judge(facts: &Facts) -> Vec<Finding> {
    let mut findings = Vec::new();
    for port in &facts.ports {
        findings.extend(of_port(port));
    }
    if facts.ports.is_empty() {
        findings.push(well(
            "access",
            "no serial port is there now: plug the cable in and ask again",
        ));
    }
    findings.extend(takers(facts));
    findings.extend(pedal(facts));
    findings.push(runtime(facts));
    findings.extend(data(facts));
    findings.push(rules(facts));
    findings
}

fn of_port(port: &PortFacts) -> Vec<Finding> {
    let path = port.path.display();
    let driver = port.driver.as_deref().unwrap_or("a driver without a name");
    let mut findings = vec![match &port.denial {
        None => well("access", format!("{path} ({driver}) may be opened")),
        Some(why) => wrong(
            "access",
            why.clone(),
            "what it says above; or the rules of `sudo conewright doctor --install`, which let whoever sits here open it",
        ),
    }];
    // The daemon itself is the one that should have it.
    let others: Vec<&str> = port
        .held_by
        .iter()
        .map(String::as_str)
        .filter(|holder| !holder.starts_with("conewright "))
        .collect();
    if !others.is_empty() {
        findings.push(wrong(
            "holder",
            format!("{path} is held by {}", others.join(", ")),
            "close that program, or keep it from this port",
        ));
    }
    if let Some(ms) = port.latency_ms {
        let evidence = format!("{path} gathers bytes for {ms} ms (latency_timer)");
        findings.push(if ms <= LATENCY_MS {
            well("latency", evidence)
        } else {
            wrong("latency", evidence, INSTALL)
        });
    }
    if let Some(power) = &port.power {
        let file = port.power_file.as_deref().unwrap_or(&port.path).display();
        let evidence = format!("{path}: {file} is `{power}`");
        findings.push(if power == "auto" {
            wrong(
                "autosuspend",
                format!("{evidence}, so that the adapter is put to sleep between readings"),
                INSTALL,
            )
        } else {
            well("autosuspend", evidence)
        });
    }
    findings
}

fn takers(facts: &Facts) -> Vec<Finding> {
    let running = |what: &str| facts.takers.iter().find(|taker| taker.what == what);
    let open_to_it: Vec<String> = facts
        .ports
        .iter()
        .filter(|port| port.usb.is_some() && !port.ignored_by_modem_manager)
        .map(|port| port.path.display().to_string())
        .collect();
    let modem = match running("modem manager") {
        None => well("modem-manager", "none is at work"),
        Some(taker) if open_to_it.is_empty() => well(
            "modem-manager",
            format!(
                "{} (pid {}) is at work, and told to leave every USB port alone",
                taker.command, taker.pid
            ),
        ),
        Some(taker) => wrong(
            "modem-manager",
            format!(
                "{} (pid {}) is at work, and nothing keeps it from opening {} when it is plugged in: it holds the port for \
                 seconds and sends bytes to the instrument",
                taker.command,
                taker.pid,
                open_to_it.join(", ")
            ),
            INSTALL,
        ),
    };
    let mask = "`sudo systemctl mask brltty.service brltty-udev.service`, unless somebody reads this computer in braille; \
                then take its rule for this adapter out";
    let rule = facts.taker_rules.first();
    let braille = match (running("braille driver"), rule) {
        (None, None) => well(
            "braille-driver",
            "none is at work, and no rule of one names a port that is there",
        ),
        (Some(taker), None) => wrong(
            "braille-driver",
            format!(
                "{} (pid {}) is at work: it tries serial ports for a braille display",
                taker.command, taker.pid
            ),
            mask,
        ),
        (running, Some(rule)) => wrong(
            "braille-driver",
            format!(
                "{}:{} hands {} to a braille driver{}",
                rule.file.display(),
                rule.line,
                rule.port.display(),
                running.map_or(String::new(), |t| format!(
                    ", and {} (pid {}) is at work",
                    t.command, t.pid
                ))
            ),
            mask,
        ),
    };
    vec![modem, braille]
}

fn pedal(facts: &Facts) -> Option<Finding> {
    let pedal = facts.pedal.as_ref()?;
    let named = &pedal.named;
    Some(match pedal.fitting.as_slice() {
        [] => wrong(
            "pedal",
            format!("no input device {named} is there"),
            "plug it in; `conewright cable pedal list` shows those there are",
        ),
        [(path, None)] => well(
            "pedal",
            format!("{named} is {}, and may be opened", path.display()),
        ),
        [(_, Some(why))] => wrong(
            "pedal",
            why.clone(),
            "`sudo conewright doctor --install` gives whoever sits here this one device; then put it in again",
        ),
        several => {
            let paths: Vec<String> = several
                .iter()
                .map(|(p, _)| p.display().to_string())
                .collect();
            wrong(
                "pedal",
                format!("{named} is any of {}", paths.join(", ")),
                "say which by `interface`, `socket` or `name` in [pedal]",
            )
        }
    })
}

fn runtime(facts: &Facts) -> Finding {
    let runtime = &facts.runtime;
    let log_in = "log in by the usual way, which makes one; for a daemon without a login `loginctl enable-linger`; until then \
                  the socket lies with the data";
    let Some(path) = runtime.path.as_ref().map(|path| path.display()) else {
        return wrong("runtime", "XDG_RUNTIME_DIR is not set", log_in);
    };
    if !runtime.exists {
        return wrong(
            "runtime",
            format!("the runtime directory {path} is not there"),
            log_in,
        );
    }
    if !runtime.writable {
        return wrong(
            "runtime",
            format!("the runtime directory {path} may not be written"),
            log_in,
        );
    }
    if runtime.open_to_others {
        return wrong(
            "runtime",
            format!("other users may look into the runtime directory {path}"),
            format!("`chmod 700 {path}`"),
        );
    }
    well("runtime", format!("{path} is there"))
}

fn data(facts: &Facts) -> Vec<Finding> {
    let path = facts.data.path.display();
    let mut findings = vec![if facts.data.writable {
        well("data", format!("{path} may be written"))
    } else {
        wrong(
            "data",
            format!("the data directory {path} may not be written"),
            "make it yours, or name another: --data DIR",
        )
    }];
    if let Some(free) = facts.data.free_bytes {
        let mib = free / (1024 * 1024);
        let evidence = format!("{mib} MiB are free for {path}");
        findings.push(if free < LITTLE_ROOM {
            wrong("room", evidence, "make room: without it marks are refused")
        } else {
            well("room", evidence)
        });
    }
    findings
}

fn rules(facts: &Facts) -> Finding {
    let path = facts.rules.path.display();
    match (facts.rules.installed, facts.rules.current) {
        (true, true) => well("rules", format!("{path} is what the configuration needs")),
        (true, false) => wrong(
            "rules",
            format!("{path} is not what the configuration needs now"),
            "`sudo conewright doctor --install`",
        ),
        _ => well(
            "rules",
            format!("{path} is not installed: it is needed only for what is said above"),
        ),
    }
}
