//! A run-out from a table: readings at angles, or at times.

use super::table::Row;
use super::{Column, FromTable, Table, finer};
use crate::Failure;
use crate::args::TableHelp;
use metrology::Length;
use metrology::runout::{RunoutPoint, TimedReading};
use metrology::setup::Setup;
use protocol::step::{RunoutInputs, RunoutOptions, RunoutPlan, Turning};

/// More planes than a part is read at; a column with more different places is of something else.
const MOST_PLANES: usize = 100;
/// Angles closer than this are one place of the part, degrees.
const SAME_DEG: f64 = 1e-3;

impl TableHelp for RunoutPlan {
    const HELP: &'static str = "A run-out: columns reading_mm, angle_deg or time_s, and optionally plane_mm, turned and turn_mark";
    const EXAMPLES: &'static str = "\
angle_deg counts from 0 to 360 in each turn. With time_s and turn_mark (1 in the row where a line on the part comes by) \
the angle runs evenly from mark to mark; with time_s alone the time of a turn is found from the readings. turned is 1 in \
the rows that were read with the part turned half a turn and the indicator moved across.

Example:
  conewright analyse runout nose.csv --filter 50 --limit 2um --at-planes 0,60";
}

impl FromTable for RunoutPlan {
    const COLUMNS: &'static [Column] = &[
        Column::needed("reading_mm"),
        Column::optional("angle_deg"),
        Column::optional("time_s"),
        Column::optional("plane_mm"),
        Column::optional("turned"),
        Column::optional("turn_mark"),
    ];
    const COLUMNS_STATE_OPTIONS: bool = true;

    fn state(table: &Table, options: &mut RunoutOptions) -> Result<(), Failure> {
        go_together(table, options)?;
        options.reversal = table.has("turned");
        options.planes = planes(table)?.iter().map(Length::to_string).collect();
        Ok(())
    }

    fn read(
        &self,
        table: &Table,
        _setup: &Setup,
    ) -> Result<(RunoutInputs, Option<Length>), Failure> {
        let mut shown = None;
        let (first, turned) = if table.has("angle_deg") {
            let (first, turned) = at_angles(table, &mut shown)?;
            (Turning::Angles(first), turned)
        } else {
            (at_times(table, &mut shown)?, None)
        };
        Ok((RunoutInputs { first, turned }, shown))
    }
}

/// Refuses columns that do not go together.
fn go_together(table: &Table, options: &RunoutOptions) -> Result<(), Failure> {
    let has = |column| table.has(column);
    match (has("angle_deg"), has("time_s")) {
        (false, false) => {
            return Err(table
                .wrong("column `angle_deg` is missing, and `time_s` too")
                .hint("each reading needs the part's angle, or its time when the part turned steadily or its turns are marked"));
        }
        (true, true) => {
            return Err(table
                .wrong("columns `angle_deg` and `time_s` both say where a reading was taken")
                .hint("leave one of them out"));
        }
        (true, false) if has("turn_mark") => {
            return Err(table
                .wrong(
                    "column `turn_mark` gives angles by time, and `angle_deg` gives them already",
                )
                .hint("leave it out, or give `time_s` instead of `angle_deg`"));
        }
        (false, true) if has("turned") => {
            return Err(table
                .wrong("column `turned` needs the same angles in both set-ups, and there are only times")
                .hint("give `angle_deg` instead of `time_s`"));
        }
        (false, true) if !has("turn_mark") && !options.analysis.at_planes.is_empty() => {
            return Err(table
                .wrong("angles that are found from the readings have no common zero, so they give no axis")
                .hint("give `angle_deg`, or mark each turn in `turn_mark`; or leave `--at-planes` out"));
        }
        _ => {}
    }
    Ok(())
}

/// The different planes, in the order in which they were read.
fn planes(table: &Table) -> Result<Vec<Length>, Failure> {
    let mut planes: Vec<Length> = Vec::new();
    if !table.has("plane_mm") {
        return Ok(planes);
    }
    for row in table.rows() {
        let plane = row.length("plane_mm")?.value;
        if planes.last() == Some(&plane) || planes.contains(&plane) {
            continue;
        }
        if planes.len() == MOST_PLANES {
            return Err(row
                .wrong(
                    "plane_mm",
                    format!("more than {MOST_PLANES} different planes"),
                )
                .hint("a plane is where the indicator stands for a turn or several"));
        }
        planes.push(plane);
    }
    Ok(planes)
}

fn plane(table: &Table, row: &Row<'_>) -> Result<Option<f64>, Failure> {
    if !table.has("plane_mm") {
        return Ok(None);
    }
    Ok(Some(row.length("plane_mm")?.value.mm()))
}

type Halves = (Vec<RunoutPoint>, Option<Vec<RunoutPoint>>);

fn at_angles(table: &Table, shown: &mut Option<Length>) -> Result<Halves, Failure> {
    let mut first = Vec::with_capacity(table.len());
    let mut turned = Vec::new();
    let mut places = [Vec::new(), Vec::new()];
    let reversal = table.has("turned");
    for row in table.rows() {
        let angle_deg = row.number("angle_deg")?;
        if !(0.0..=360.0).contains(&angle_deg) {
            return Err(row
                .wrong(
                    "angle_deg",
                    format!("an angle of {angle_deg}° is beyond its turn"),
                )
                .hint("angles are 0° to 360°, and the next turn begins at 0° again"));
        }
        let reading = row.length("reading_mm")?;
        finer(shown, reading.resolution);
        let point = RunoutPoint {
            angle_deg,
            reading_mm: reading.value.mm(),
            plane_mm: plane(table, &row)?,
        };
        let second = reversal && row.flag("turned")?;
        if second {
            turned.push(point);
        } else {
            first.push(point);
        }
        if reversal {
            // 360° is where 0° is.
            let place = if angle_deg > 360.0 - SAME_DEG {
                0.0
            } else {
                angle_deg
            };
            places[usize::from(second)].push((place, row.line()));
        }
    }
    if !reversal {
        return Ok((first, None));
    }
    for (half, wanted) in [(&first, "0"), (&turned, "1")] {
        if half.is_empty() {
            return Err(table
                .wrong(format!("no row has {wanted} in column `turned`"))
                .hint("0 as chucked, 1 with the part turned half a turn and the indicator moved across"));
        }
    }
    same_angles(table, &mut places)?;
    Ok((first, Some(turned)))
}

/// Both set-ups of a reversal must have been read at the same angles.
fn same_angles(table: &Table, places: &mut [Vec<(f64, u64)>; 2]) -> Result<(), Failure> {
    for half in places.iter_mut() {
        half.sort_by(|a, b| a.0.total_cmp(&b.0));
    }
    let [first, turned] = places;
    for (of, other, which) in [(&*first, &*turned, 1), (&*turned, &*first, 0)] {
        let astray = of.iter().find(|(angle, _)| {
            let at = other.partition_point(|(known, _)| known + SAME_DEG < *angle);
            other
                .get(at)
                .is_none_or(|(known, _)| (known - angle).abs() > SAME_DEG)
        });
        if let Some((angle, line)) = astray {
            return Err(Failure::new(
                "bad_table",
                format!(
                    "{}, line {line}, column angle_deg: no row with {which} in column `turned` is at {angle}°",
                    table.name()
                ),
            )
            .hint("a reversal needs the same angles of the part in both set-ups"));
        }
    }
    Ok(())
}

fn at_times(table: &Table, shown: &mut Option<Length>) -> Result<Turning, Failure> {
    let marked = table.has("turn_mark");
    let mut readings: Vec<TimedReading> = Vec::with_capacity(table.len());
    let mut marks_s = Vec::new();
    for row in table.rows() {
        let time_s = row.number("time_s")?;
        if let Some(before) = readings.last()
            && time_s <= before.time_s
        {
            return Err(row
                .wrong(
                    "time_s",
                    format!(
                        "{time_s} s is not after the {} s of the row before",
                        before.time_s
                    ),
                )
                .hint("times must rise from row to row"));
        }
        let reading = row.length("reading_mm")?;
        finer(shown, reading.resolution);
        readings.push(TimedReading {
            time_s,
            reading_mm: reading.value.mm(),
            plane_mm: plane(table, &row)?,
        });
        if marked && row.flag("turn_mark")? {
            marks_s.push(time_s);
        }
    }
    Ok(if marked {
        Turning::TurnMarks { readings, marks_s }
    } else {
        Turning::Steady(readings)
    })
}
