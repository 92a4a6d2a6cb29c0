//! The listing of a run-out: its planes, or the clock as it was read, or the orders of one turn.

use crate::api::MarkLine;
use crate::evidence::Place;
use crate::said;
use crate::screen::clock;
use crate::screen::parts::{Column, Listing, Table};
use crate::style::Style;
use metrology::runout::{RunoutOutcome, Section};

pub(super) fn listing(
    runout: Option<&RunoutOutcome>,
    marks: &[MarkLine],
    units: Style,
) -> Option<Listing> {
    if let Some(runout) = runout.filter(|runout| !runout.planes.is_empty()) {
        return Some(Listing::Table(planes(&runout.planes, units)));
    }
    let cells: Vec<_> = marks.iter().filter_map(|m| hour(m, units)).collect();
    if !cells.is_empty() {
        return Some(Listing::Cells {
            heading: said!(units, "live-read-round", unit = units.sign()),
            cells,
        });
    }
    Some(Listing::Table(orders(&runout?.section, units)))
}

/// The usual cause of an order. Common practice.
pub(super) fn cause(order: usize, style: Style) -> Option<String> {
    match order {
        2 => Some(said!(style, "live-ovality")),
        3 => Some(said!(style, "live-three-jaw")),
        _ => None,
    }
}

fn planes(planes: &[Section], units: Style) -> Table {
    let row = |section: &Section| {
        let round = section.roundness_mz_um;
        vec![
            units.long_number(section.plane_mm.unwrap_or(0.0), 2),
            units.small_plain(section.tir_um),
            units.small_plain(section.eccentricity_um),
            clock::near(section.high_spot_deg, units),
            round.map(|um| units.small_plain(um)).unwrap_or_default(),
        ]
    };
    let small = units.small_sign();
    let columns = [
        Column::right(
            said!(units, "live-column-plane", unit = units.long_sign()),
            9,
        ),
        Column::right(said!(units, "live-column-tir", unit = small), 9),
        Column::right(said!(units, "live-column-off", unit = small), 9).spare(),
        Column::right(said!(units, "high-spot"), 12),
        Column::right(said!(units, "live-column-form", unit = small), 9),
    ];
    Table::first_kept(columns, planes.iter().map(row))
}

fn hour(mark: &MarkLine, units: Style) -> Option<[String; 2]> {
    let (Some(Place::Angle { angle, .. }), Some(value)) = (&mark.at, mark.value) else {
        return None;
    };
    let shown = units.reading(value.value_mm, Some(value.resolution), 1);
    let hour = clock::time(angle.deg());
    Some([format!("{hour}h"), shown])
}

fn orders(section: &Section, units: Style) -> Table {
    let orders = (2..).zip(&section.harmonics_um);
    let rows = orders.map(|(order, um)| {
        let cause = cause(order, units).unwrap_or_default();
        vec![order.to_string(), units.small_plain(*um), cause]
    });
    let columns = [
        Column::right(said!(units, "live-column-order"), 5),
        Column::right(units.small_sign(), 9),
        Column::left("", 10),
    ];
    let largest = section.harmonics_um.iter().copied().fold(0.0, f64::max);
    // A spectrum of nothing has no bars.
    let share = |um: &f64| if largest > 0.0 { um / largest } else { 0.0 };
    Table {
        bars: section.harmonics_um.iter().map(share).collect(),
        ..Table::first_kept(columns, rows)
    }
}
