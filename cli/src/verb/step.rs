//! `step`, and what is said within one: `clamp` and `note`.

use super::cautions;
use super::written::Written;
use crate::args::StepVerb;
use crate::client::Client;
use crate::outcome_text::{self, ground_words};
use crate::{Answer, Failure};
use protocol::api::SessionFilter;
use protocol::fold::Outcome;
use protocol::plan::{Plan, StepKind};
use protocol::sheet::words;
use protocol::step::StepOptions;
use protocol::style::Style;
use serde_json::json;

pub(super) async fn run(
    client: Client,
    verb: StepVerb,
    written: Written,
) -> Result<Answer, Failure> {
    match verb.opening() {
        Some(options) => open(client, &options, written).await,
        None => close(client, written).await,
    }
}

async fn close(client: Client, written: Written) -> Result<Answer, Failure> {
    let status = client.status().await?;
    let setup = status.setup.unwrap_or_default();
    let closed = client.close_step().await?;
    let mut text = format!("step {} closed: {}\n", closed.number, closed.kind.word());
    if let Some(outcome) = &closed.outcome {
        text.push_str(&outcome_text::outcome(
            outcome,
            &setup,
            written.style(Some(&setup)),
        ));
    }
    let verdict = closed.outcome.as_ref().and_then(Outcome::verdict);
    Ok(Answer::new(text, &closed)?.judged(verdict))
}

async fn open(client: Client, options: &StepOptions, written: Written) -> Result<Answer, Failure> {
    let earlier = earlier(&client).await;
    let opened = client.open_step(options).await?;
    let status = client.status().await?;
    let mut text = format!("step {} open: {}", opened.number, opened.plan.kind().word());
    let style = written.style(status.setup.as_ref());
    let next = status.next_place.as_ref();
    let next = next.map(|place| words::place(place, style));
    let next = next.or(status.next_mark).or(status.next_station);
    text.push_str(&format!(
        "\nnext: {}",
        next_words(&opened.plan, next.as_deref())
    ));
    Ok(Answer::new(text, &opened)?.talk(cautions::at_step(options.kind(), &earlier)))
}

/// What to do for the next mark, and how it is named where only the user can say what it is about.
fn next_words(plan: &Plan, next: Option<&str>) -> String {
    next.map_or_else(
        || plan.kind().how_to_mark().to_owned(),
        |next| plan.work.instruction(next),
    )
}

/// The kinds of step that the current session has had; none where that is not known, so that every caution is said once more.
async fn earlier(client: &Client) -> Vec<StepKind> {
    let current = client.status().await.ok().and_then(|status| status.session);
    let list = client.sessions(&SessionFilter::default()).await;
    let (Some(current), Ok(list)) = (current, list) else {
        return Vec::new();
    };
    let mut lines = list.sessions.into_iter();
    let line = lines.find(|line| line.session == current.id);
    line.map_or_else(Vec::new, |line| line.kinds)
}

pub(super) async fn clamp(client: Client, tight: bool) -> Result<Answer, Failure> {
    client.clamp(tight).await?;
    let text = if tight {
        "clamped: the next round measures what that moved"
    } else {
        "clamp loosened"
    };
    let answer = Answer::new(text, &json!({ "clamped": tight }))?;
    Ok(answer.talk(cautions::of_any_work()))
}

pub(super) async fn ground(client: Client, not: bool) -> Result<Answer, Failure> {
    let ground = client.ground(not).await?;
    Answer::new(
        ground_words(ground, not, Style::default()),
        &json!({ "not": not, "ground": ground }),
    )
}

pub(super) async fn note(client: Client, words: &[String]) -> Result<Answer, Failure> {
    let text = words.join(" ");
    client.note(&text).await?;
    Answer::new("noted", &json!({ "note": text }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use protocol::plan::{AnglesFrom, RunoutPlan, Work};

    #[test]
    fn what_comes_next_is_said_for_every_kind() {
        for kind in StepKind::ALL {
            let plan = Plan::usual(kind);
            let unnamed = next_words(&plan, None);
            assert!(unnamed.contains("conewright mark "), "{unnamed}");
            let named = next_words(&plan, Some("24 mm"));
            assert!(named.contains("24 mm") && named.contains("mark"), "{named}");
        }
        let turns = Plan::of(Work::Runout(RunoutPlan {
            angles: AnglesFrom::Turns,
            ..RunoutPlan::default()
        }));
        assert_eq!(
            next_words(&turns, Some("turn")),
            "turn: mark each time that the line on the part comes by"
        );
    }
}
