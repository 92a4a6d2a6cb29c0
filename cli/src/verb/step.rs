//! `step`, and what is said within one: `clamp` and `note`.

use crate::args::StepVerb;
use crate::client::Client;
use crate::outcome_text;
use crate::{Answer, Failure};
use config::shipped::{cautions_for, occasions};
use protocol::api::OpenStep;
use protocol::plan::{Plan, StepKind, Work};
use serde_json::json;

pub(super) async fn run(client: Client, verb: StepVerb) -> Result<Answer, Failure> {
    match verb.opening() {
        Some(request) => open(client, &request).await,
        None => close(client).await,
    }
}

async fn close(client: Client) -> Result<Answer, Failure> {
    let status = client.status().await?;
    let setup = status.setup.unwrap_or_default();
    let closed = client.close_step().await?;
    let mut text = format!("step {} closed: {}\n", closed.number, closed.kind.word());
    if let Some(outcome) = &closed.outcome {
        text.push_str(&outcome_text::outcome(outcome, &setup));
    }
    Answer::new(text, &closed)
}

async fn open(client: Client, request: &OpenStep) -> Result<Answer, Failure> {
    let opened = client.open_step(request).await?;
    let status = client.status().await?;
    let mut text = format!("step {} open: {}", opened.number, opened.plan.kind().word());
    if let Some(next) = status.next_mark.or(status.next_station) {
        text.push_str(&format!("\nnext: {}", next_words(&opened.plan, &next)));
    }
    Ok(Answer::new(text, &opened)?.talk(cautions(request.kind)))
}

/// What to do for the next mark.
fn next_words(plan: &Plan, next: &str) -> String {
    match &plan.work {
        _ if plan.records() => {
            format!("{next}: mark, and every reading counts until the end is marked")
        }
        Work::Zero(_) | Work::Sweep(_) => {
            format!("stand at {next}, let it settle, and mark")
        }
        Work::Runout(_) => format!("turn the part to {next}, let it settle, and mark"),
        Work::Size(_) => format!("measure at {next}, and mark"),
        Work::Dial(_) => format!("bring the indicator on {next}, let it settle, and mark"),
        Work::Contact(_) => format!(
            "{next}: mark how much of the big end, the middle and the small end printed, as in: conewright mark 90,40,0"
        ),
    }
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
