//! `mark` and `undo`.

use crate::args::MarkArgs;
use crate::client::Client;
use crate::layout::reading;
use crate::{Answer, Failure};
use protocol::api::MarkRequest;

pub(super) async fn mark(client: Client, args: MarkArgs) -> Result<Answer, Failure> {
    let request = MarkRequest {
        station: args.station,
        value: args.value,
        angle: args.angle,
        new_round: args.new_round,
        wait_s: args.wait,
    };
    let marked = client.mark(&request).await?;
    let mut text = format!("mark {} at {}", marked.number, marked.place);
    if let Some(value) = &marked.value {
        // A mean of several readings is finer than the display by a place.
        let step = match value.readings {
            0 | 1 => value.resolution,
            _ => metrology::Length::from_pm(value.resolution.pm() / 10),
        };
        text.push_str(&format!(
            ", round {}: {}",
            marked.round,
            reading(value.value_mm, Some(step))
        ));
        if value.readings > 1 {
            text.push_str(&format!(
                ", mean of {} readings within {:.2} µm",
                value.readings, value.spread_um
            ));
        }
    }
    if let Some(note) = &marked.note {
        text.push_str(&format!("\n{note}"));
    }
    Answer::new(text, &marked)
}

pub(super) async fn undo(client: Client) -> Result<Answer, Failure> {
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
    let text = format!("mark {} at {} taken back", undone.number, undone.place);
    Answer::new(text, &undone)
}
