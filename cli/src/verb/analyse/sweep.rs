//! A sweep from a table: readings along the travel.

use super::{Column, Table, finer};
use crate::Failure;
use metrology::Length;
use metrology::sweep::SweepPoint;
use protocol::fold::Inputs;

pub(super) const COLUMNS: &[Column] =
    &[Column::needed("position_mm"), Column::needed("reading_mm")];

pub(super) fn inputs(table: &Table) -> Result<(Inputs, Option<Length>), Failure> {
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
    Ok((Inputs::Sweep { points, unplaced }, shown))
}
