//! `cable`: the ports and the configured cables, and a cable's readings as they arrive.
//!
//! Ports are listed here and not by the daemon: someone who writes a configuration has none to start one with.

use super::status::{cable_state, cables as cable_lines};
use crate::client::{Client, block_on};
use crate::layout::Table;
use crate::{Answer, Exit, Failure, Paths};
use config::Config;
use daemon::cable::{PortInfo, ports};
use protocol::api::{AcceptRequest, Live, LiveReading, Status};
use protocol::style::Style;
use serde_json::json;
use std::io::Write;
use std::time::Duration;

/// Lists the ports, without opening any, and the cables of the configuration with their states.
///
/// The states are the daemon's, so it is started when there is a cable that it could have a state of. That it
/// cannot be does not keep the ports from being listed.
pub(super) fn list(
    paths: &Paths,
    configuration: impl FnOnce() -> Result<Config, Failure>,
    style: Style,
) -> Result<Answer, Failure> {
    let ports = ports();
    let client = Client::new(paths);
    let cables = block_on(async {
        match client.regarded_status().await? {
            Some(status) => return Ok(status.cables),
            None if configuration()?.cables.is_empty() => return Ok(Vec::new()),
            None => client.ensure_daemon().await?,
        }
        Ok(client.status().await?.cables)
    });
    let (cables, complaint) = match cables {
        Ok(cables) => (cables, None),
        Err(failure) => (Vec::new(), Some(failure)),
    };
    let mut text = port_lines(&ports);
    if cables.is_empty() && complaint.is_none() {
        text.push_str("no cable is configured\n");
    } else {
        text.push_str(&cable_lines(&cables, style));
    }
    let mut answer = Answer::new(text, &json!({ "ports": ports, "cables": cables }))?;
    if let Some(failure) = complaint {
        answer.exit = failure.exit;
        answer.complaint = Some(failure);
    }
    Ok(answer)
}

fn port_lines(ports: &[PortInfo]) -> String {
    if ports.is_empty() {
        return "no serial port on this computer\n".to_owned();
    }
    let mut table = Table::new(&["port", "access", "usb", "what it is", ""]);
    for port in ports {
        let held = port.held_by.as_ref().map(|by| format!("held by {by}"));
        let remarks: Vec<String> = held.into_iter().chain(port.denial.clone()).collect();
        table.row([
            port.path.display().to_string(),
            port.access.clone(),
            port.usb.as_ref().map_or(String::new(), ToString::to_string),
            port.description.clone().unwrap_or_default(),
            remarks.join("; "),
        ]);
    }
    table.text()
}

/// Goes on with what a cable has now.
pub(super) async fn accept(client: Client, cable: Option<String>) -> Result<Answer, Failure> {
    let accepted = client.accept(&AcceptRequest { cable }).await?;
    let what = accepted
        .instrument
        .as_ref()
        .map_or(String::new(), |what| format!(": {what}"));
    let round = if accepted.new_round {
        "; the next mark begins a new round"
    } else {
        ""
    };
    let text = format!("accepted for the cable {}{what}{round}", accepted.cable);
    Answer::new(text, &accepted)
}

/// What ends the listening; without either it goes on until it is interrupted.
pub(super) struct Limits {
    pub count: Option<u64>,
    pub seconds: Option<f64>,
    pub style: Style,
}

pub(super) fn listen(
    paths: &Paths,
    cable: Option<&str>,
    limits: &Limits,
    json: bool,
) -> Result<Exit, Failure> {
    let client = Client::new(paths);
    let lasting =
        match limits.seconds {
            None => None,
            Some(s) => Some(Duration::try_from_secs_f64(s).map_err(|_| {
                Failure::bad_value(format!("--seconds {s}: a time is zero or above"))
            })?),
        };
    block_on(async {
        client.ensure_daemon().await?;
        let mut heard = Heard {
            json,
            readings: Vec::new(),
            count: 0,
            style: limits.style,
        };
        // An interruption and the end of the time asked for are how it is meant to end.
        tokio::select! {
            ended = heard.listen(&client, cable, limits.count) => ended?,
            () = over(lasting) => {}
            _ = tokio::signal::ctrl_c() => {}
        }
        heard.end()
    })
}

async fn over(lasting: Option<Duration>) {
    match lasting {
        Some(lasting) => tokio::time::sleep(lasting).await,
        None => std::future::pending().await,
    }
}

struct Heard {
    json: bool,
    readings: Vec<LiveReading>,
    count: u64,
    style: Style,
}

impl Heard {
    async fn listen(
        &mut self,
        client: &Client,
        cable: Option<&str>,
        count: Option<u64>,
    ) -> Result<(), Failure> {
        let mut events = client.events().await?;
        let mut chosen: Option<String> = None;
        let mut told = None;
        let mut skipped = None;
        while count.is_none_or(|count| self.count < count) {
            let Some(event) = events.next().await? else {
                return Err(Failure::new("not_running", "the daemon was stopped"));
            };
            match event {
                Live::Snapshot(status) => {
                    let name = choose(&status, cable)?;
                    // A cable that is silent has a reason, and the reason is worth a line once.
                    let now = status.cables.iter().find(|c| c.name == name);
                    // What came before is not of this listening; of what comes the last of it is shown.
                    let before = skipped.replace(now.map_or(0, |c| c.skipped_bytes));
                    if let (Some(cable), Some(before)) = (now, before)
                        && cable.skipped_bytes > before
                    {
                        let more = cable.skipped_bytes - before;
                        let last = cable.last_skipped.as_deref().unwrap_or_default();
                        eprintln!("{more} bytes of {name} were not readings, the last: {last}");
                    }
                    let now = now.map(|c| (cable_state(c), c.detail.clone()));
                    if let Some((is, detail)) = &now
                        && told.as_ref() != now.as_ref()
                    {
                        let detail = detail.as_ref().map_or(String::new(), |d| format!(": {d}"));
                        eprintln!("cable {name} is {is}{detail}");
                    }
                    told = now;
                    chosen = Some(name);
                }
                Live::Reading(reading) if chosen.as_ref() == Some(&reading.cable) => {
                    self.hear(reading)?;
                }
                Live::Reading(_) => {}
            }
        }
        Ok(())
    }

    fn hear(&mut self, heard: LiveReading) -> Result<(), Failure> {
        self.count += 1;
        if self.json {
            self.readings.push(heard);
            return Ok(());
        }
        let settled = if heard.settled { "  settled" } else { "" };
        let mut out = std::io::stdout().lock();
        writeln!(
            out,
            "{}{settled}",
            self.style.read(heard.value.mm(), Some(heard.resolution))
        )
        .and_then(|()| out.flush())
        .map_err(|e| Failure::output(&e))
    }

    fn end(self) -> Result<Exit, Failure> {
        if self.json {
            let mut out = std::io::stdout().lock();
            writeln!(out, "{:#}", json!({ "readings": self.readings }))
                .map_err(|e| Failure::output(&e))?;
        }
        Ok(Exit::Done)
    }
}

/// The cable that was named, or the first.
fn choose(status: &Status, named: Option<&str>) -> Result<String, Failure> {
    let names: Vec<&str> = status.cables.iter().map(|c| c.name.as_str()).collect();
    match named {
        None => names.first().map(|&n| n.to_owned()).ok_or_else(|| {
            Failure::new("no_cable", "no cable is configured")
                .hint("conewright cable list shows the ports; describe one as [cable.NAME] in the configuration")
        }),
        Some(named) if names.contains(&named) => Ok(named.to_owned()),
        Some(named) => {
            let hint = match config::near::nearest(named, names.iter().copied()) {
                Some(near) => format!("did you mean `{near}`?"),
                None if names.is_empty() => "no cable is configured".to_owned(),
                None => format!("the configuration has {}", names.join(", ")),
            };
            Err(Failure::bad_value(format!("there is no cable `{named}`")).hint(hint))
        }
    }
}
