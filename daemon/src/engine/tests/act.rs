//! What a user asks for, as data.

use crate::engine::Handle;
use protocol::api::{AcceptRequest, ClampRequest, GroundRequest, NoteRequest, Refusal};
use serde::Serialize;
use serde_json::{Value, json};

/// The kinds of step that a session gets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Zero,
    Feed,
    Size,
    Dial,
    Contact,
}

/// Something that a user does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Act {
    Open,
    CloseSession,
    Step(Kind),
    CloseStep,
    /// A typed value, in micrometres.
    Type(i64),
    /// The settled reading, or the moment in a step that records; waits for rest so many seconds.
    Mark(Option<u32>),
    /// A typed value at a place, which may be none.
    At(&'static str),
    Undo,
    Clamp(bool),
    Ground,
    Note(u8),
    /// What the cable has now counts.
    Accept,
    Flush,
}

fn told<T: Serialize>(answer: Result<T, Refusal>) -> Result<Value, Refusal> {
    answer.map(|answer| serde_json::to_value(answer).unwrap())
}

impl Act {
    /// Asks the engine for it, in the words of the API.
    pub async fn ask(&self, handle: &Handle) -> Result<Value, Refusal> {
        let mark = async |request: Value| {
            told(handle.mark(serde_json::from_value(request).unwrap()).await)
        };
        match self {
            Self::Open => {
                let request = json!({ "name": "spindle seat", "taper": "1:12", "length": "30",
                    "tolerance": "5arcsec", "span": "80", "big_end": "A", "indicator_side": "wheel" });
                told(
                    handle
                        .open_session(serde_json::from_value(request).unwrap())
                        .await,
                )
            }
            Self::CloseSession => told(handle.close_session().await),
            Self::Step(kind) => {
                let request = match kind {
                    Kind::Zero => json!({ "kind": "zero" }),
                    Kind::Feed => json!({ "kind": "sweep", "positions": "feed" }),
                    Kind::Size => json!({ "kind": "size", "planes": ["0", "24"] }),
                    Kind::Dial => json!({ "kind": "dial", "nominals": ["0", "1", "2"] }),
                    Kind::Contact => json!({ "kind": "contact", "film": "2um" }),
                };
                told(
                    handle
                        .open_step(serde_json::from_value(request).unwrap())
                        .await,
                )
            }
            Self::CloseStep => told(handle.close_step().await),
            Self::Type(um) => mark(json!({ "value": format!("{um}um") })).await,
            Self::Mark(wait) => mark(json!({ "wait_s": wait })).await,
            Self::At(place) => mark(json!({ "station": place, "value": "0.003" })).await,
            Self::Undo => told(handle.undo().await),
            Self::Clamp(tight) => told(handle.clamp(ClampRequest { tight: *tight }).await),
            Self::Ground => told(handle.ground(GroundRequest { not: false }).await),
            Self::Note(number) => {
                let text = format!("note {number}");
                told(handle.note(NoteRequest { text }).await)
            }
            Self::Accept => told(handle.accept(AcceptRequest::default()).await),
            Self::Flush => told(handle.flush().await),
        }
    }
}
