//! `mark` and `undo`.

use super::written::Written;
use crate::args::MarkArgs;
use crate::client::Client;
use crate::{Answer, Failure};
use protocol::api::MarkRequest;
use protocol::evidence::Place;
use protocol::sheet::words;
use protocol::style::Style;

pub(super) async fn mark(
    client: Client,
    args: MarkArgs,
    written: Written,
) -> Result<Answer, Failure> {
    let in_divisions = args
        .value
        .as_deref()
        .is_some_and(|text| text.contains("div"));
    let request = MarkRequest {
        station: args.station,
        value: args.value,
        angle: args.angle,
        new_round: args.new_round,
        wait_s: args.wait,
    };
    let marked = client.mark(&request).await?;
    let style = style(&client, written, in_divisions).await;
    let place = place(marked.at.as_ref(), &marked.place, style);
    let mut text = format!("mark {} at {place}", marked.number);
    if let Some(value) = &marked.value {
        // A mean of several readings is finer than the display by a place.
        let step = match value.readings {
            0 | 1 => value.resolution,
            _ => metrology::Length::from_pm(value.resolution.pm() / 10),
        };
        text.push_str(&format!(
            ", round {}: {}",
            marked.round,
            style.read(value.value_mm, Some(step))
        ));
        if let Some(dial) = style.on_the_dial(value.value_mm, Some(value.resolution)) {
            text.push_str(&format!(", {dial}"));
        }
        if value.readings > 1 {
            text.push_str(&format!(
                ", mean of {} readings within {}",
                value.readings,
                style.micro(value.spread_um)
            ));
        }
    }
    if let Some(note) = &marked.note {
        text.push_str(&format!("\n{}", style.retold(note)));
    }
    Answer::new(text, &marked)
}

/// In which style it is told: the set-up's gauge blocks have a unit, and its dial may have divisions. A mark
/// that was made is told in any case. What was typed in divisions is told in them too, whatever else gives readings here.
async fn style(client: &Client, written: Written, in_divisions: bool) -> Style {
    let status = client.status().await.ok();
    let setup = status.and_then(|status| status.setup);
    let style = written.style(setup.as_ref());
    let division = setup.and_then(|setup| setup.indicator.division);
    Style {
        division: style.division.or(division.filter(|_| in_divisions)),
        ..style
    }
}

/// Where the mark is; an older daemon tells it in words alone.
fn place(at: Option<&Place>, words: &str, style: Style) -> String {
    at.map_or_else(|| words.to_owned(), |at| words::place(at, style))
}

pub(super) async fn undo(client: Client, written: Written) -> Result<Answer, Failure> {
    // A press that is asked about, or waits, is what the user did last; the daemon refuses whichever it is not.
    let status = client.status().await?;
    if status.waiting.is_some() {
        let done = client.leave_press().await?;
        return Answer::new(
            "the mark that waited for the reading to settle was cancelled".to_owned(),
            &done,
        );
    }
    if let Some(double) = status.double_press {
        let done = client.leave_press().await?;
        let text = format!("the second press of {} is no mark", double.cable);
        return Answer::new(text, &done);
    }
    let undone = client.undo().await?;
    let style = written.style(status.setup.as_ref());
    let place = place(undone.at.as_ref(), &undone.place, style);
    let text = format!("mark {} at {place} taken back", undone.number);
    Answer::new(text, &undone)
}
