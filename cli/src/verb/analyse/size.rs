//! A size from a table: its columns say how it was measured.

use super::table::Row;
use super::{Column, FromTable, Table, finer};
use crate::Failure;
use crate::args::TableHelp;
use metrology::Length;
use metrology::setup::Setup;
use metrology::size::{Ball, Measured, Over, SectionReading};
use protocol::step::{SizeBy, SizeOptions, SizePlan};

/// The ways of measuring by name, each with its columns.
const WAYS: [(&str, &[&str]); 4] = [
    ("sections", &["plane_mm", "diameter_mm"]),
    ("stand-off", &["stand_off_mm"]),
    ("rollers", &["stacks_mm", "over_mm"]),
    ("balls", &["ball_diameter_mm", "depth_mm"]),
];

impl TableHelp for SizePlan {
    const HELP: &'static str =
        "A size: columns plane_mm and diameter_mm, or those of another way of measuring";
    const EXAMPLES: &'static str = "\
The columns say how it was measured: plane_mm and diameter_mm; stand_off_mm; stacks_mm and over_mm (with --rollers); \
ball_diameter_mm and depth_mm.

Examples:
  conewright analyse size seat.csv --taper 1:12 --pass-depth 10um --allowance 5um
  conewright analyse size rolls.csv --taper 1:12 --rollers 6";
}

impl FromTable for SizePlan {
    const COLUMNS: &'static [Column] = &[
        Column::optional("plane_mm"),
        Column::optional("diameter_mm"),
        Column::optional("stand_off_mm"),
        Column::optional("stacks_mm"),
        Column::optional("over_mm"),
        Column::optional("ball_diameter_mm"),
        Column::optional("depth_mm"),
    ];
    const COLUMNS_STATE_OPTIONS: bool = true;

    fn state(table: &Table, options: &mut SizeOptions) -> Result<(), Failure> {
        let way = way(table, options.analysis.by.as_deref())?;
        options.analysis.by.get_or_insert_with(|| way.to_owned());
        if way == "balls" {
            let [one, other] = two_balls(table)?;
            options.big_ball = Some(one.max(other).to_string());
            options.small_ball = Some(one.min(other).to_string());
        }
        Ok(())
    }

    fn read(&self, table: &Table, _setup: &Setup) -> Result<(Measured, Option<Length>), Failure> {
        let mut shown = None;
        let mut read = |row: &Row<'_>, column: &str| -> Result<Length, Failure> {
            let cell = row.length(column)?;
            finer(&mut shown, cell.resolution);
            Ok(cell.value)
        };
        let rows = table.rows();
        let measured = match self.by {
            SizeBy::Sections => {
                let sections = rows.map(|row| section(&row, read(&row, "diameter_mm")?));
                Measured::Sections(sections.collect::<Result<_, _>>()?)
            }
            SizeBy::StandOff => {
                let short = rows.map(|row| read(&row, "stand_off_mm"));
                let short = short.collect::<Result<_, _>>()?;
                Measured::StandOff { short }
            }
            SizeBy::Rollers { radius } => {
                let over = rows.map(|row| over_stacks(&row, read(&row, "over_mm")?));
                let over = over.collect::<Result<_, _>>()?;
                Measured::Rollers { radius, over }
            }
            SizeBy::Balls { big, small } => {
                let mut tops = [Vec::new(), Vec::new()];
                for row in rows {
                    let depth = read(&row, "depth_mm")?;
                    let diameter = row.length("ball_diameter_mm")?.value;
                    let which = usize::from(Length::from_pm(diameter.pm() / 2) != big);
                    tops[which].push(depth);
                }
                let [of_big, of_small] = tops;
                let ball = |radius, tops_below_face| Ball {
                    radius,
                    tops_below_face,
                };
                Measured::Balls {
                    big: ball(big, of_big),
                    small: ball(small, of_small),
                }
            }
        };
        Ok((measured, shown))
    }
}

fn section(row: &Row<'_>, diameter: Length) -> Result<SectionReading, Failure> {
    if diameter <= Length::ZERO {
        return Err(row.wrong(
            "diameter_mm",
            format!("{diameter} is out of range: above 0 mm"),
        ));
    }
    Ok(SectionReading {
        plane_mm: row.length("plane_mm")?.value.mm(),
        diameter_mm: diameter.mm(),
    })
}

fn over_stacks(row: &Row<'_>, over: Length) -> Result<Over, Failure> {
    let stacks = row.length("stacks_mm")?.value;
    if stacks < Length::ZERO {
        return Err(row.wrong(
            "stacks_mm",
            format!("{stacks} is out of range: 0 mm or more"),
        ));
    }
    Ok(Over { stacks, over })
}

/// The way of measuring that the columns are of; refuses columns of two ways, half of one, and an option that says otherwise.
fn way(table: &Table, stated: Option<&str>) -> Result<&'static str, Failure> {
    let present = |columns: &[&'static str]| columns.iter().copied().find(|c| table.has(c));
    let mut ways = WAYS
        .iter()
        .filter_map(|(way, columns)| Some((*way, *columns, present(columns)?)));
    let Some((way, columns, column)) = ways.next() else {
        return Err(table
            .wrong("no column says how the size was measured")
            .hint(all()));
    };
    if let Some((other, _, strange)) = ways.next() {
        return Err(table
            .wrong(format!(
                "column `{column}` is of {way}, and column `{strange}` of {other}"
            ))
            .hint("a table is of one way of measuring: leave the columns of the other out"));
    }
    if let Some(missing) = columns.iter().find(|column| !table.has(column)) {
        return Err(table
            .wrong(format!("column `{missing}` is missing"))
            .hint(all()));
    }
    if let Some(stated) = stated
        && !stated.trim().eq_ignore_ascii_case(way)
        && WAYS
            .iter()
            .any(|(known, _)| stated.trim().eq_ignore_ascii_case(known))
    {
        return Err(table
            .wrong(format!(
                "its columns are of {way}, and `--by {stated}` is stated"
            ))
            .hint(all()));
    }
    Ok(way)
}

fn all() -> String {
    let ways: Vec<String> = WAYS
        .iter()
        .map(|(way, columns)| format!("{way}: {}", columns.join(", ")))
        .collect();
    format!("the columns are, for {}", ways.join("; for "))
}

/// The diameters of the two balls.
fn two_balls(table: &Table) -> Result<[Length; 2], Failure> {
    let mut diameters = Vec::new();
    for row in table.rows() {
        diameters.push((row.length("ball_diameter_mm")?.value, row));
    }
    let one = diameters.first().map(|(one, _)| *one);
    let strange = diameters.iter().find(|(other, _)| Some(*other) != one);
    let (Some(one), Some((other, _))) = (one, strange) else {
        return Err(match diameters.get(1) {
            Some((one, second)) => second
                .wrong(
                    "ball_diameter_mm",
                    format!("both balls have a diameter of {one}"),
                )
                .hint("two balls of different size tell the angle"),
            None => table
                .wrong(format!(
                    "two balls are needed, a row for each, and rows here: {}",
                    table.len()
                ))
                .hint("state the diameter of each, and the depth of its top below the face"),
        });
    };
    let third = diameters
        .iter()
        .find(|(third, _)| *third != one && third != other);
    if let Some((third, row)) = third {
        return Err(row
            .wrong(
                "ball_diameter_mm",
                format!("{third} is a third diameter, and two balls tell the angle"),
            )
            .hint("a row for each depth, with the diameter of one of the two balls"));
    }
    Ok([one, *other])
}
