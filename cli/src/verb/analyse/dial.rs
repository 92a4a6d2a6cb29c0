//! A check of the indicator from a table.

use super::{Column, FromTable, Table, finer};
use crate::Failure;
use crate::args::TableHelp;
use metrology::Length;
use metrology::dial::{DialPoint, Direction};
use metrology::setup::Setup;
use protocol::step::DialPlan;

impl TableHelp for DialPlan {
    const HELP: &'static str =
        "A check of the indicator: columns nominal_mm, reading_mm and direction (up or down)";
    const EXAMPLES: &'static str = "\
Example:
  conewright analyse dial blocks.csv --kit metric-88 --indicator-error 2um --correct";
}

impl FromTable for DialPlan {
    const COLUMNS: &'static [Column] = &[
        Column::needed("nominal_mm"),
        Column::needed("reading_mm"),
        Column::needed("direction"),
    ];

    fn read(
        &self,
        table: &Table,
        _setup: &Setup,
    ) -> Result<(Vec<DialPoint>, Option<Length>), Failure> {
        let mut points = Vec::with_capacity(table.len());
        let mut shown = None;
        for row in table.rows() {
            let reading = row.length("reading_mm")?;
            finer(&mut shown, reading.resolution);
            let way = row.cell("direction");
            let direction = if way.eq_ignore_ascii_case("up") {
                Direction::Up
            } else if way.eq_ignore_ascii_case("down") {
                Direction::Down
            } else {
                return Err(row
                    .wrong("direction", format!("`{way}` is neither up nor down"))
                    .hint("up when the plunger was pushed in further to come to the reading, down when it was let out"));
            };
            points.push(DialPoint {
                nominal_mm: row.length("nominal_mm")?.value.mm(),
                reading_mm: reading.value.mm(),
                direction,
            });
        }
        Ok((points, shown))
    }
}
