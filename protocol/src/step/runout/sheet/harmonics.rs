//! The harmonics of a run-out: their table, and their bars.

use crate::said;
use crate::sheet::plot::{Bar, Bars, Plot};
use crate::sheet::{Column, Table};
use crate::style::Style;
use metrology::runout::Section;

/// What a harmonic usually comes from. Common practice, no source.
fn usual(order: usize, style: Style) -> String {
    match order {
        2 => said!(style, "usually-ovality"),
        3 => said!(style, "usually-three-lobes"),
        4 => said!(style, "usually-four-lobes"),
        5 | 7 => said!(style, "usually-odd-lobes"),
        _ => said!(style, "usually-many-lobes"),
    }
}

/// Harmonics below this share of the largest are not in the table; the record has them all.
const WORTH_TELLING: f64 = 0.1;
/// The table tells hundredths of a µm.
const LEAST_UM: f64 = 0.005;

/// The harmonics that are worth telling, from two undulations a turn on; nothing when none is.
pub(super) fn table(amplitudes_um: &[f64], proved: &[usize], style: Style) -> Option<Table> {
    let largest = amplitudes_um.iter().copied().fold(0.0, f64::max);
    let least = (largest * WORTH_TELLING).max(LEAST_UM);
    let told = (2_usize..)
        .zip(amplitudes_um)
        .filter(|(_, um)| **um >= least);
    let rows: Vec<Vec<String>> = told
        .map(|(order, um)| {
            let cause = if proved.contains(&order) {
                usual(order, style)
            } else {
                said!(style, "no-larger-than-scatter")
            };
            vec![order.to_string(), style.micro_number(*um, 2), cause]
        })
        .collect();
    let columns = [
        Column::number(said!(style, "column-a-turn")),
        Column::number(said!(style, "column-amplitude", unit = style.small_sign())),
        Column::text(said!(style, "column-usually")),
    ];
    (!rows.is_empty()).then(|| Table::new(columns, rows))
}

pub(super) fn bars(section: &Section, style: Style) -> Plot {
    let note = |order: usize| match order {
        order if !section.proved_orders.contains(&order) => String::new(),
        2 => said!(style, "oval"),
        3 | 4 => said!(style, "jaws", jaws = order),
        _ => String::new(),
    };
    Plot::Bars(Bars {
        title: said!(style, "harmonics"),
        x_label: said!(style, "undulations-a-turn"),
        y_label: said!(style, "column-amplitude", unit = style.small_sign()),
        bars: section
            .harmonics_um
            .iter()
            .enumerate()
            .map(|(index, amplitude)| Bar {
                label: (index + 2).to_string(),
                note: note(index + 2),
                value: style.small(*amplitude),
            })
            .collect(),
        highest: None,
        level: None,
        places: style.small_places(2),
    })
}
