//! Keeping raw bytes with their timing: for a bug report, and for the test case that it becomes.

use super::fault::Fault;
use super::raw::{Raw, Received};
use config::frame::FrameTable;
use config::model::{Cable, Cadence};
use protocol::capture::{Chunk, chunk_line, head};
use std::io::{self, Write};
use std::time::Duration;
use tokio::time::{Instant, sleep};

/// What was captured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Captured {
    /// Bytes, in all.
    pub bytes: u64,
    /// How long, ns.
    pub lasted_ns: i64,
    /// Whether the cable left before the end.
    pub hung_up: bool,
}

/// Why nothing more is captured.
#[derive(Debug, thiserror::Error)]
pub enum CaptureFault {
    /// The port cannot be had.
    #[error("{0}")]
    Port(#[from] Fault),
    /// The capture cannot be written.
    #[error("the capture cannot be written: {0}")]
    Write(#[from] io::Error),
}

/// Captures what a cable's port gives until `over` ends or the cable leaves, line by line as it comes, so that what
/// was written is whole whatever happens. A polled cable is asked as its configuration says.
///
/// # Errors
/// The port cannot be had, or the capture cannot be written.
pub async fn capture(
    cable: &Cable,
    over: impl Future<Output = ()>,
    to: &mut (dyn Write + Send),
) -> Result<Captured, CaptureFault> {
    let mut raw = Raw::open(cable).await?;
    to.write_all(head_of(cable, &raw).as_bytes())?;
    to.flush()?;
    let (request, interval) = match &cable.cadence {
        Cadence::Polled {
            request,
            interval_s,
            ..
        } => {
            let own = cable.decoder().and_then(|frame| frame.request());
            let request = if request.is_empty() {
                own.unwrap_or_default()
            } else {
                request.clone()
            };
            (
                request,
                Duration::try_from_secs_f64(*interval_s).unwrap_or(LONGEST_WAIT),
            )
        }
        Cadence::Streams { .. } | Cadence::Press => (Vec::new(), LONGEST_WAIT),
    };
    let mut captured = Captured {
        bytes: 0,
        lasted_ns: 0,
        hung_up: false,
    };
    let mut next_request = Instant::now();
    tokio::pin!(over);
    while !captured.hung_up {
        if !request.is_empty() && Instant::now() >= next_request {
            raw.send(&request).await;
            next_request = Instant::now() + interval;
        }
        let wait = if request.is_empty() {
            Instant::now() + LONGEST_WAIT
        } else {
            next_request
        };
        let heard = tokio::select! {
            biased;
            heard = raw.next(wait) => heard,
            () = &mut over => break,
        };
        match heard {
            Received::Bytes(chunk) => {
                captured.bytes += chunk.bytes.len() as u64 + u64::from(chunk.damaged);
                to.write_all(chunk_line(&chunk).as_bytes())?;
                to.flush()?;
            }
            Received::Nothing => {}
            Received::HangUp(_) => captured.hung_up = true,
        }
    }
    captured.lasted_ns = raw.elapsed_ns();
    // The silence at the end is part of what was heard.
    let end = Chunk {
        at_ns: captured.lasted_ns,
        ..Chunk::default()
    };
    to.write_all(chunk_line(&end).as_bytes())?;
    to.flush()?;
    Ok(captured)
}

/// Nothing is due for this long; any long time would do.
const LONGEST_WAIT: Duration = Duration::from_secs(3600);

fn head_of(cable: &Cable, raw: &Raw) -> String {
    let settings = cable.settings.to_string();
    let path = raw.path().display().to_string();
    let frame = match &cable.described {
        None => cable.frame.clone(),
        Some(FrameTable::Text(pattern)) => serde_json::to_string(pattern).unwrap_or_default(),
        Some(FrameTable::Modbus(modbus)) => serde_json::to_string(modbus).unwrap_or_default(),
    };
    let cadence = match &cable.cadence {
        Cadence::Streams { .. } => "streams",
        Cadence::Polled { .. } => "polled",
        Cadence::Press => "press",
    };
    let notes = raw.notes().join("; ");
    let unit = match cable.unit {
        metrology::Unit::Um => "um",
        other => other.sign(),
    };
    let mut keys = vec![
        ("settings", settings.as_str()),
        ("frame", &frame),
        ("unit", unit),
        ("cadence", cadence),
        ("port", &path),
        ("program", env!("CARGO_PKG_VERSION")),
    ];
    if !notes.is_empty() {
        keys.push(("notes", &notes));
    }
    head(keys)
}

/// A future that ends after so many seconds; without a time it never does.
pub async fn after(seconds: Option<f64>) {
    match seconds.map(Duration::try_from_secs_f64) {
        Some(Ok(time)) => sleep(time).await,
        Some(Err(_)) => {}
        None => std::future::pending().await,
    }
}
