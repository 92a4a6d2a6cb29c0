//! What a user does, as requests to the daemon.

use crate::client::{Answered, Client};
use crate::toolroom::DEADLINE;
use serde_json::{Value, json};
use std::io;
use std::time::Instant;

/// A step that is opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Marks at stations.
    Zero,
    /// Every reading between a beginning and an end counts, at a steady feed.
    Feed,
    /// The same, where the cable `table` tells the places.
    Places,
    /// Every reading counts from the first turn mark to the last.
    Turns,
    /// Every reading counts between a beginning and an end, while the part turns steadily.
    Steady,
    /// Diameters at two planes.
    Size,
    /// The indicator on three known steps.
    Dial,
    /// A print, judged by what the steps before it found.
    Contact,
}

impl Kind {
    /// Every kind that needs no second cable.
    pub const ALL: [Self; 7] = [
        Self::Zero,
        Self::Feed,
        Self::Turns,
        Self::Steady,
        Self::Size,
        Self::Dial,
        Self::Contact,
    ];

    /// Whether its outcome is computed from every reading of its stretches.
    #[must_use]
    pub const fn records(self) -> bool {
        matches!(self, Self::Feed | Self::Places | Self::Turns | Self::Steady)
    }

    fn body(self) -> Value {
        match self {
            Self::Zero => json!({ "kind": "zero" }),
            Self::Feed => json!({ "kind": "sweep", "positions": "feed" }),
            Self::Places => {
                json!({ "kind": "sweep", "positions": "cable", "position_cable": "table" })
            }
            Self::Turns => json!({ "kind": "runout", "angles": "turns", "limit": "5um" }),
            Self::Steady => json!({ "kind": "runout", "angles": "steady" }),
            Self::Size => json!({ "kind": "size", "planes": ["0", "24"] }),
            Self::Dial => json!({ "kind": "dial", "nominals": ["0", "1", "2"] }),
            Self::Contact => json!({ "kind": "contact", "film": "2um" }),
        }
    }
}

/// Something that a user does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Act {
    /// Opens a session.
    Open,
    /// Opens a step.
    Step(Kind),
    /// Marks the settled reading, or a typed one; in a step that records, the moment.
    Mark(Option<String>),
    /// Judges a print.
    Print(&'static str),
    /// Lets so many readings be recorded.
    Record(u64),
    /// Takes the last mark back.
    Undo,
    /// Writes a note.
    Note(String),
    /// Tightens or loosens the clamp.
    Clamp(bool),
    /// Says that the part was ground.
    Ground,
    /// Closes the step.
    CloseStep,
    /// Closes the session.
    CloseSession,
}

/// A typed mark.
#[must_use]
pub fn typed(value: &str) -> Act {
    Act::Mark(Some(value.to_owned()))
}

impl Act {
    /// Does it.
    ///
    /// # Errors
    /// The daemon did not answer: it may or may not have been done.
    pub fn with(&self, client: &Client) -> io::Result<Answered> {
        let (path, body) = match self {
            Self::Open => (
                "/v1/sessions",
                json!({ "name": "spindle seat", "taper": "1:12", "length": "30",
                        "tolerance": "5arcsec", "span": "80", "big_end": "A",
                        "indicator_side": "wheel" }),
            ),
            Self::Step(kind) => ("/v1/steps", kind.body()),
            Self::Mark(None) => ("/v1/marks", json!({})),
            Self::Mark(Some(value)) => ("/v1/marks", json!({ "value": value })),
            Self::Print(zones) => ("/v1/marks", json!({ "station": zones })),
            Self::Record(readings) => return recorded(client, *readings),
            Self::Undo => ("/v1/marks/undo", json!({})),
            Self::Note(text) => ("/v1/notes", json!({ "text": text })),
            Self::Clamp(tight) => ("/v1/clamp", json!({ "tight": tight })),
            Self::Ground => ("/v1/ground", json!({})),
            Self::CloseStep => ("/v1/steps/current/close", json!({})),
            Self::CloseSession => ("/v1/sessions/current/close", json!({})),
        };
        client.post(path, &body)
    }
}

/// Whether a refusal is one of a reading that does not rest yet, or of a cable that has not come alive.
#[must_use]
pub fn passes(answer: &Value) -> bool {
    let code = answer["code"].as_str().unwrap_or_default();
    matches!(code, "not_settled" | "cable_not_live")
}

/// Waits until so many readings more have been recorded.
fn recorded(client: &Client, readings: u64) -> io::Result<Answered> {
    let until = Instant::now() + DEADLINE;
    let mut wanted = None;
    loop {
        let (status, now) = client.get("/v1/status")?;
        let points = now["so_far"]["points"].as_u64().unwrap_or(0);
        let wanted = *wanted.get_or_insert(points + readings);
        if status != 200 || points >= wanted {
            return Ok((status, now));
        }
        if Instant::now() > until {
            return Err(io::Error::other(format!("nothing is recorded: {now}")));
        }
        std::thread::yield_now();
    }
}
