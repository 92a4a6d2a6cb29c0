//! A print of marking dye from a table of one row.

use super::{Column, FromTable, Table};
use crate::Failure;
use crate::args::TableHelp;
use metrology::Length;
use metrology::contact::Zones;
use metrology::setup::Setup;
use protocol::step::ContactPlan;

impl TableHelp for ContactPlan {
    const HELP: &'static str =
        "A print of marking dye: columns big_percent, middle_percent and small_percent, one row";
    const EXAMPLES: &'static str = "\
Example:
  conewright analyse contact print.csv --length 30 --film 2um,5um";
}

impl FromTable for ContactPlan {
    const COLUMNS: &'static [Column] = &[
        Column::needed("big_percent"),
        Column::needed("middle_percent"),
        Column::needed("small_percent"),
    ];

    fn read(&self, table: &Table, _setup: &Setup) -> Result<(Zones, Option<Length>), Failure> {
        let mut rows = table.rows();
        let Some(row) = rows.next() else {
            return Err(table.wrong("it has no row"));
        };
        let share = |column: &str| {
            let percent = row.number(column)?;
            if (0.0..=100.0).contains(&percent) {
                return Ok(percent);
            }
            Err(row.wrong(column, format!("{percent} % is out of range: 0 to 100 %")))
        };
        let zones = Zones {
            big_percent: share("big_percent")?,
            middle_percent: share("middle_percent")?,
            small_percent: share("small_percent")?,
        };
        if let Some(second) = rows.next() {
            return Err(second
                .wrong("big_percent", "a second row: only one print is judged")
                .hint("keep the row of the print that counts"));
        }
        Ok((zones, None))
    }
}
