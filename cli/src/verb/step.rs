//! `step`, and what is said within one: `clamp` and `note`.

use crate::args::StepVerb;
use crate::client::Client;
use crate::outcome_text;
use crate::{Answer, Failure};
use config::shipped::{cautions_for, occasions};
use protocol::api::OpenStep;
use protocol::fold::StepKind;
use serde_json::json;

pub(super) async fn run(client: Client, verb: StepVerb) -> Result<Answer, Failure> {
    match verb {
        StepVerb::Zero => open(client, StepKind::Zero).await,
        StepVerb::Close => {
            let setup = client.status().await?.setup.unwrap_or_default();
            let closed = client.close_step().await?;
            let mut text = format!("step {} closed: {}\n", closed.number, closed.kind.name());
            if let Some(outcome) = &closed.outcome {
                text.push_str(&outcome_text::outcome(outcome, &setup));
            }
            Answer::new(text, &closed)
        }
    }
}

async fn open(client: Client, kind: StepKind) -> Result<Answer, Failure> {
    let opened = client.open_step(&OpenStep::from(kind)).await?;
    let next = client.status().await?.next_station;
    let mut text = format!("step {} open: {}", opened.number, opened.plan.kind().name());
    if let Some(station) = next {
        text.push_str(&format!(
            "\nnext: stand at {station}, let it settle, and mark"
        ));
    }
    Ok(Answer::new(text, &opened)?.talk(cautions(kind)))
}

/// The cautions that belong to a kind of step, one a line.
fn cautions(kind: StepKind) -> String {
    let lines: Vec<String> = cautions_for(occasions(kind))
        .map(|caution| format!("caution: {}", caution.text))
        .collect();
    lines.join("\n")
}

pub(super) async fn clamp(client: Client, tight: bool) -> Result<Answer, Failure> {
    client.clamp(tight).await?;
    let text = if tight {
        "clamped: the next round measures what that moved"
    } else {
        "clamp loosened"
    };
    Answer::new(text, &json!({ "clamped": tight }))
}

pub(super) async fn note(client: Client, words: &[String]) -> Result<Answer, Failure> {
    let text = words.join(" ");
    client.note(&text).await?;
    Answer::new("noted", &json!({ "note": text }))
}
