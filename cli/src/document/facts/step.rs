//! A step's heading, time and marks.

use super::{filled, moment, utc};
use protocol::evidence::{MarkLine, MarkValue};
use protocol::plan::{Condition, Plan};
use protocol::record::StepRecord;
use protocol::said;
use protocol::sheet::{Column, Table, words};
use protocol::style::Style;

/// What for, and in which state of the part.
pub fn title(plan: &Plan, style: Style) -> String {
    let kind = style.term("kind", plan.kind().word());
    let title = match plan.work.qualifier().trim() {
        "" => kind,
        qualifier => format!("{kind} {}", style.term("qualifier", qualifier)),
    };
    match plan.condition {
        Some(Condition::Found) => said!(style, "title-found", title = title),
        Some(Condition::Left) => said!(style, "title-left", title = title),
        None => title,
    }
}

/// A step's heading.
pub fn heading(step: &StepRecord, style: Style) -> String {
    let title = title(&step.plan, style);
    said!(style, "step-heading", step = step.number, title = title)
}

/// When it was open.
pub fn when(step: &StepRecord, style: Style) -> String {
    match step.closed {
        Some(closed) => said!(
            style,
            "from-to-utc",
            from = utc(step.opened),
            to = utc(closed)
        ),
        None => moment(step.opened, style),
    }
}

/// Why there is no outcome.
pub fn no_outcome(step: &StepRecord, style: Style) -> String {
    match &step.no_outcome {
        Some(why) => style.retold(why),
        None => said!(style, "nothing-computed"),
    }
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
pub fn marks(step: &StepRecord, style: Style) -> Option<Marks> {
    let (count, half) = (step.values.len(), MANY_MARKS / 2);
    let many = count > MANY_MARKS;
    let lines = step.values.iter().enumerate();
    let shown = lines.filter(|(index, _)| !many || *index < half || *index >= count - half);
    let dwelt = dwelt(step);
    let columns = [
        Column::number(said!(style, "column-mark")),
        Column::text(said!(style, "column-place")),
        Column::number(said!(style, "column-mark-round")),
        Column::number(said!(style, "column-value", unit = style.long_sign())),
        Column::number(said!(style, "column-spread", unit = style.small_sign())),
        Column::number(said!(style, "column-mark-readings")),
    ];
    let table = Table::new(columns, shown.map(|(_, line)| row(line, dwelt, style)));
    let taken_back = step.evidence.marks.iter().filter(|mark| mark.taken_back);
    let taken_back: Vec<String> = taken_back.map(|mark| mark.number.to_string()).collect();
    let taken_back = taken_back.join(", ");
    (count > 0).then(|| Marks {
        table: filled(table),
        shown: many.then(|| said!(style, "first-and-last", half = half, count = count)),
        taken_back: (!taken_back.is_empty())
            .then(|| said!(style, "taken-back", marks = taken_back)),
    })
}

/// Whether a mark is of more than one reading. Of typed values, which are all of one, there is nothing to say on spread and
/// number.
fn dwelt(step: &StepRecord) -> bool {
    let mut values = step.values.iter().filter_map(|line| line.value);
    values.any(|value| value.readings > 1)
}

fn row(line: &MarkLine, dwelt: bool, style: Style) -> Vec<String> {
    let told = |f: &dyn Fn(&MarkValue) -> String| line.value.as_ref().map_or_else(String::new, f);
    let of_dwell = |f: &dyn Fn(&MarkValue) -> String| if dwelt { told(f) } else { String::new() };
    // In a record made by an older program the words are all there is.
    let place = line.at.as_ref();
    let place = place.map_or_else(|| line.place.clone(), |at| words::place(at, style));
    vec![
        line.number.to_string(),
        place,
        line.round.to_string(),
        told(&|value| style.signed(style.long(value.value_mm), 5)),
        of_dwell(&|value| style.micro_number(value.spread_um, 2)),
        of_dwell(&|value| value.readings.to_string()),
    ]
}
