//! `cable identify` and `cable capture`: a port opened here, without the daemon, because nothing is known of it yet or
//! because its raw bytes are wanted.

use crate::client::block_on;
use crate::{Answer, Exit, Failure};
use config::{Config, PortSelector};
use daemon::cable::{CaptureFault, Listening, Tried, after, capture, identify, proposal};
use protocol::identify::{Candidate, NotFound, Sureness};
use serde_json::{Value, json};
use std::fs::OpenOptions;
use std::path::Path;
use std::time::Duration;

/// What `cable identify` was asked.
pub(super) struct Search<'a> {
    pub port: &'a Path,
    pub ask: bool,
    pub name: &'a str,
    pub seconds: f64,
    /// Whether the progress would spoil the one document.
    pub silent: bool,
}

/// Listens at likely settings, and prints what fits with the lines to keep.
pub(super) fn find(search: &Search<'_>) -> Result<Answer, Failure> {
    let longest = Duration::try_from_secs_f64(search.seconds).map_err(|_| {
        Failure::bad_value(format!(
            "--seconds {}: a time is zero or above",
            search.seconds
        ))
    })?;
    let port = PortSelector::Path(search.port.to_owned());
    let listening = Listening {
        ask: search.ask,
        longest,
    };
    let progress = |tried: &Tried| {
        if !search.silent {
            eprintln!("listening at {}", tried.settings);
        }
    };
    let found = block_on(async { Ok(identify(port.clone(), listening, progress).await) })?;
    let found = found.map_err(|fault| Failure::new("cable_not_live", fault.to_string()))?;
    let best = found.best.map_err(|why| not_found(why, search.ask))?;
    let lines = proposal(search.name, &port, &best);
    let mut text = format!("{}\n", candidate_line(&best));
    for other in &found.others {
        text.push_str(&format!("would fit too: {}\n", candidate_line(other)));
    }
    text.push_str(&format!("\nto keep in conewright.toml:\n\n{lines}"));
    let others: Vec<Value> = found.others.iter().map(candidate_json).collect();
    let mut document = candidate_json(&best);
    document["configuration"] = json!(lines);
    document["others"] = json!(others);
    Answer::new(text, &document)
}

const fn sure(sureness: Sureness) -> &'static str {
    match sureness {
        Sureness::Likely => "likely",
        Sureness::Certain => "certain",
    }
}

fn candidate_line(found: &Candidate<Tried>) -> String {
    format!(
        "frame `{}` at {}: {}, from {} readings",
        found.name,
        found.settings.settings,
        sure(found.sureness),
        found.readings
    )
}

fn candidate_json(found: &Candidate<Tried>) -> Value {
    json!({
        "frame": found.name,
        "settings": found.settings.settings.to_string(),
        "sureness": sure(found.sureness),
        "readings": found.readings,
    })
}

fn not_found(why: NotFound, asked: bool) -> Failure {
    let (what, hint) = match why {
        NotFound::Silent if asked => (
            "nothing was heard, and no usual request was answered",
            "is the indicator on, and does its key send? Press the key again and again while it listens",
        ),
        NotFound::Silent => (
            "nothing was heard at any setting",
            "press the indicator's key again and again while it listens, or let it be asked: --ask",
        ),
        NotFound::Garbage => (
            "bytes came, and no frame fits them at any setting",
            "describe the frame in the configuration, or keep the bytes for a report: `conewright cable capture`",
        ),
        NotFound::TooLittle => (
            "a frame fits, but in too few readings or too few different values",
            "move the plunger while it listens, and give it longer: --seconds 90",
        ),
        NotFound::Ambiguous => (
            "several settings fit alike, and the frame proves too little to tell them apart",
            "take the settings from the indicator's manual",
        ),
    };
    Failure::new("not_found", format!("not found: {what}")).hint(hint)
}

/// Writes a cable's raw bytes with their timing until the time is over or the user interrupts.
pub(super) fn keep(
    config: &Config,
    name: &str,
    file: &Path,
    seconds: Option<f64>,
) -> Result<Answer, Failure> {
    let cable = config
        .cables
        .iter()
        .find(|cable| cable.name == name)
        .ok_or_else(|| {
            let known: Vec<&str> = config
                .cables
                .iter()
                .map(|cable| cable.name.as_str())
                .collect();
            Failure::bad_value(format!("there is no cable `{name}`"))
                .hint(format!("the configuration has: {}", known.join(", ")))
        })?;
    // A capture is evidence of a fault: none is ever overwritten.
    let mut out = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(file)
        .map_err(|error| {
            Failure::new(
                "not_written",
                format!("{} cannot be made: {error}", file.display()),
            )
            .hint("name a file that does not exist yet, in a directory that can be written")
        })?;
    let over = async {
        tokio::select! {
            () = after(seconds) => {}
            _ = tokio::signal::ctrl_c() => {}
        }
    };
    let captured = block_on(async { Ok(capture(cable, over, &mut out).await) })?;
    let captured = captured.map_err(|fault| {
        if matches!(fault, CaptureFault::Port(_)) {
            // Nothing was captured into it.
            let _ = std::fs::remove_file(file);
        }
        Failure::new("cable_not_live", fault.to_string()).hint(
            "the daemon holds the ports of its cables: `conewright daemon stop` gives them back",
        )
    })?;
    let lasted_s = captured.lasted_ns as f64 * 1e-9;
    let hung_up = if captured.hung_up {
        ", until the cable left"
    } else {
        ""
    };
    let text = format!(
        "{} bytes in {lasted_s:.1} s{hung_up}, in {}\n",
        captured.bytes,
        file.display()
    );
    let document = json!({
        "file": file.display().to_string(),
        "bytes": captured.bytes,
        "lasted_s": lasted_s,
        "hung_up": captured.hung_up,
    });
    let answer = Answer::new(text, &document)?;
    Ok(if captured.bytes == 0 {
        answer.exit(Exit::Failed)
    } else {
        answer
    })
}
