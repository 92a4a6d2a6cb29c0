//! `cable listen`: a cable's readings as they arrive.

use crate::client::{Client, block_on};
use crate::layout::reading;
use crate::verb::status::state;
use crate::{Exit, Failure, Paths};
use protocol::api::{Live, LiveReading, Status};
use serde_json::json;
use std::io::Write;
use std::time::Duration;

/// What ends the listening; without either it goes on until it is interrupted.
pub(super) struct Limits {
    pub count: Option<u64>,
    pub seconds: Option<f64>,
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
        while count.is_none_or(|count| self.count < count) {
            let Some(event) = events.next().await? else {
                return Err(Failure::new("not_running", "the daemon was stopped"));
            };
            match event {
                Live::Snapshot(status) => {
                    let name = choose(&status, cable)?;
                    // A cable that is silent has a reason, and the reason is worth a line once.
                    let now = status.cables.iter().find(|c| c.name == name);
                    let now = now.map(|c| (c.state, c.detail.clone()));
                    if let Some((is, detail)) = &now
                        && told.as_ref() != now.as_ref()
                    {
                        let detail = detail.as_ref().map_or(String::new(), |d| format!(": {d}"));
                        eprintln!("cable {name} is {}{detail}", state(*is));
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
            reading(heard.value.mm(), Some(heard.resolution))
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
