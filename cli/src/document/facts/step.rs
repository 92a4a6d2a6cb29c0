//! A step's heading, time and marks.

use super::{filled, utc};
use crate::layout::signed;
use protocol::evidence::{MarkLine, MarkValue};
use protocol::plan::{Condition, Plan};
use protocol::record::StepRecord;
use protocol::sheet::Table;

/// What for, and in which state of the part.
pub fn title(plan: &Plan) -> String {
    let condition = match plan.condition {
        Some(Condition::Found) => ", as found",
        Some(Condition::Left) => ", as left",
        None => "",
    };
    format!("{}{}{condition}", plan.kind().word(), plan.work.qualifier())
}

/// A step's heading.
pub fn heading(step: &StepRecord) -> String {
    format!("Step {}: {}", step.number, title(&step.plan))
}

/// When it was open.
pub fn when(step: &StepRecord) -> String {
    let closed = step
        .closed
        .map_or_else(String::new, |t| format!(" to {}", utc(t)));
    format!("{}{closed} UTC", utc(step.opened))
}

/// Why there is no outcome.
pub fn no_outcome(step: &StepRecord) -> &str {
    step.no_outcome
        .as_deref()
        .unwrap_or("Nothing was computed.")
}

/// From this many marks on, the table tells the first and the last of them: the readings are in the record.
const MANY_MARKS: usize = 60;

/// The marks that count, and what is said of those that are not in the table.
pub struct Marks {
    /// The table.
    pub table: Table,
    /// Above the table, when it does not show all.
    pub shown: Option<String>,
    /// Below it, when some were taken back.
    pub taken_back: Option<String>,
}

/// The marks of a step; none when it has none that counts.
pub fn marks(step: &StepRecord) -> Option<Marks> {
    let (count, half) = (step.values.len(), MANY_MARKS / 2);
    let many = count > MANY_MARKS;
    let lines = step.values.iter().enumerate();
    let shown = lines.filter(|(index, _)| !many || *index < half || *index >= count - half);
    let dwelt = dwelt(step);
    let table = Table::new(
        &[
            "#Mark",
            "Place",
            "#Round",
            "#Value, mm",
            "#Spread, µm",
            "#Readings",
        ],
        shown.map(|(_, line)| row(line, dwelt)),
    );
    let taken_back = step.evidence.marks.iter().filter(|mark| mark.taken_back);
    let taken_back: Vec<String> = taken_back.map(|mark| mark.number.to_string()).collect();
    let taken_back = taken_back.join(", ");
    (count > 0).then(|| Marks {
        table: filled(table),
        shown: many
            .then(|| format!("The first and the last {half} of {count}; all are in the record.")),
        taken_back: (!taken_back.is_empty())
            .then(|| format!("Taken back, and counted nowhere: mark {taken_back}.")),
    })
}

/// Whether a mark is of more than one reading. Of typed values, which are all of one, there is nothing to say on spread and
/// number.
fn dwelt(step: &StepRecord) -> bool {
    let mut values = step.values.iter().filter_map(|line| line.value);
    values.any(|value| value.readings > 1)
}

fn row(line: &MarkLine, dwelt: bool) -> Vec<String> {
    let told = |f: &dyn Fn(&MarkValue) -> String| line.value.as_ref().map_or_else(String::new, f);
    let of_dwell = |f: &dyn Fn(&MarkValue) -> String| if dwelt { told(f) } else { String::new() };
    vec![
        line.number.to_string(),
        line.place.clone(),
        line.round.to_string(),
        told(&|value| signed(value.value_mm, 5)),
        of_dwell(&|value| format!("{:.2}", value.spread_um)),
        of_dwell(&|value| value.readings.to_string()),
    ]
}
