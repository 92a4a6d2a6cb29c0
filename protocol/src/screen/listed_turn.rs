//! The listing of a run-out: its planes, or the clock as it was read, or the orders of one turn.

use super::clock;
use super::parts::{Column, Listing, Table};
use crate::api::MarkLine;
use crate::evidence::Place;
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
            heading: format!("read round the clock, {}", units.sign()),
            cells,
        });
    }
    Some(Listing::Table(orders(&runout?.section, units)))
}

/// The usual cause of an order. Common practice.
pub(super) const fn cause(order: usize) -> Option<&'static str> {
    match order {
        2 => Some("ovality"),
        3 => Some("three-jaw"),
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
            clock::near(section.high_spot_deg),
            round.map(|um| units.small_plain(um)).unwrap_or_default(),
        ]
    };
    let small = units.small_sign();
    let columns = [
        Column::right(format!("plane {}", units.long_sign()), 9),
        Column::right(format!("TIR {small}"), 9),
        Column::right(format!("off {small}"), 9).spare(),
        Column::right("high spot", 12),
        Column::right(format!("round {small}"), 9),
    ];
    Table::first_kept(columns, planes.iter().map(row))
}

fn hour(mark: &MarkLine, units: Style) -> Option<[String; 2]> {
    let (Some(Place::Angle { angle, .. }), Some(value)) = (&mark.at, mark.value) else {
        return None;
    };
    let shown = units.reading(value.value_mm, Some(value.resolution), 1);
    let hour = clock::hour(angle.deg()).replace(" o'clock", "h");
    Some([hour, shown])
}

fn orders(section: &Section, units: Style) -> Table {
    let orders = (2..).zip(&section.harmonics_um);
    let rows = orders.map(|(order, um)| {
        let cause = cause(order).unwrap_or_default();
        vec![order.to_string(), units.small_plain(*um), cause.to_owned()]
    });
    let columns = [
        Column::right("order", 5),
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
