//! `status`: everything as it is now.

use super::written::Written;
use crate::client::Client;
use crate::layout::Table;
use crate::{Answer, Failure, outcome_text};
use protocol::api::{CableState, CableStatus, Status};
use protocol::fold::Outcome;
use protocol::screen::words;
use protocol::style::Style;
use serde_json::json;

pub(super) async fn run(client: Client, written: Written) -> Result<Answer, Failure> {
    let status = client.status().await?;
    let mut answer = Answer::new(text(&status, written), &status)?
        .judged(status.outcome.as_ref().and_then(Outcome::verdict));
    // On the command line a session is its number wherever it occurs; its name stands beside it.
    if let Some(session) = &status.session {
        answer.json["session"] = json!(session.id);
        answer.json["session_name"] = json!(session.name);
    }
    Ok(answer)
}

fn text(status: &Status, written: Written) -> String {
    let style = written.style(status.setup.as_ref());
    let mut text = match &status.session {
        Some(session) => format!("session {}: {}\n", session.id, session.name),
        None => "no session is open\n".to_owned(),
    };
    if let Some(step) = &status.step {
        text.push_str(&format!("step {}: {}", step.number, step.kind.name()));
        if status.clamped {
            text.push_str(", clamped");
        }
        if let Some(station) = &status.next_station {
            let round = status
                .next_round
                .map_or(String::new(), |r| format!(" of round {r}"));
            text.push_str(&format!(", next mark: {station}{round}"));
        }
        text.push('\n');
    }
    if status.cables.is_empty() {
        // A bare number is in millimetres, whatever is shown.
        let reading = if style.inches() { "0.0005in" } else { "0.012" };
        text.push_str(&format!(
            "no cable is configured: readings are typed, as in mark A --value {reading}\n"
        ));
    } else {
        text.push_str(&cables(&status.cables, style));
    }
    if let Some(pedal) = &status.pedal {
        let why = pedal
            .detail
            .as_ref()
            .map_or(String::new(), |why| format!(": {why}"));
        text.push_str(&format!(
            "pedal {}: {}{why}\n",
            pedal.device,
            state(pedal.state)
        ));
    }
    if let (Some(outcome), Some(setup)) = (&status.outcome, &status.setup) {
        text.push_str(&outcome_text::outcome(outcome, setup, style));
    }
    if let Some(why) = &status.no_outcome {
        text.push_str(&format!("no outcome yet: {}\n", style.retold(why)));
    }
    if let Some(double) = &status.double_press {
        let (happened, asked) = words::double_press(double, style);
        text.push_str(&format!(
            "{} was {happened} within 0.3 s: {asked} `conewright mark` takes it, `conewright undo` leaves it\n",
            double.cable
        ));
    }
    if let Some(waiting) = &status.waiting {
        text.push_str(&format!(
            "a mark waits for rest, {:.0} s more; `conewright undo` drops it\n",
            waiting.left_s.ceil()
        ));
    }
    if let Some(notice) = &status.notice {
        text.push_str(&format!("notice: {notice}\n"));
    }
    text
}

/// The state of a cable in one word.
pub(super) const fn state(state: CableState) -> &'static str {
    match state {
        CableState::Live => "live",
        CableState::Quiet => "quiet",
        CableState::Stale => "stale",
        CableState::Gone => "gone",
        CableState::Busy => "busy",
        CableState::Denied => "denied",
    }
}

/// The state of a cable, also that another instrument has taken its place.
pub(super) fn cable_state(cable: &CableStatus) -> &'static str {
    match cable.state {
        CableState::Denied if cable.other_instrument.is_some() => "other instrument",
        other => state(other),
    }
}

/// The cables, one a line; a value that is not live stands with its age.
pub(super) fn cables(cables: &[CableStatus], style: Style) -> String {
    let mut table = Table::new(&["cable", "state", "reading", "age", "skipped", ""]);
    for cable in cables {
        table.row([
            cable.name.clone(),
            cable_state(cable).to_owned(),
            cable
                .reading
                .map_or(String::new(), |r| style.read(r.mm(), cable.resolution)),
            cable
                .age_s
                .map_or(String::new(), |age| format!("{age:.1} s")),
            match cable.skipped_bytes {
                0 => String::new(),
                n => format!("{n} bytes"),
            },
            cable.detail.clone().unwrap_or_default(),
        ]);
    }
    table.text()
}
