//! A sweep from a table: readings along the travel.

use super::{Column, FromTable, Table, finer};
use crate::Failure;
use crate::args::TableHelp;
use metrology::Length;
use metrology::setup::Setup;
use metrology::sweep::SweepPoint;
use protocol::step::{SweepInputs, SweepPlan};

impl TableHelp for SweepPlan {
    const HELP: &'static str = "A sweep: columns position_mm and reading_mm";
    const EXAMPLES: &'static str = "\
Example:
  conewright analyse sweep edge.csv --taper 1:12 --length 30 --tolerance 5arcsec --filter 0.8";
}

impl FromTable for SweepPlan {
    const COLUMNS: &'static [Column] =
        &[Column::needed("position_mm"), Column::needed("reading_mm")];

    fn read(
        &self,
        table: &Table,
        _setup: &Setup,
    ) -> Result<(SweepInputs, Option<Length>), Failure> {
        let mut points = Vec::with_capacity(table.len());
        let mut shown = None;
        for row in table.rows() {
            let reading = row.length("reading_mm")?;
            finer(&mut shown, reading.resolution);
            points.push(SweepPoint {
                position_mm: row.length("position_mm")?.value.mm(),
                reading_mm: reading.value.mm(),
            });
        }
        let unplaced = 0;
        Ok((SweepInputs { points, unplaced }, shown))
    }
}
