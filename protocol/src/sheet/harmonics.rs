//! The harmonics of a run-out: their table, and their bars.

use super::Table;
use super::plot::{Bar, Bars, Plot};
use super::words::cell;
use metrology::runout::Section;

/// What a harmonic usually comes from. Common practice, no source.
const fn usual(order: usize) -> &'static str {
    match order {
        2 => "ovality: two jaws, a bent spindle, soft centres",
        3 => "three lobes: a three-jaw chuck, centreless grinding",
        4 => "four lobes: a four-jaw chuck",
        5 | 7 => "an odd number of lobes: centreless grinding",
        _ => "many lobes: chatter, a bearing",
    }
}

/// Harmonics below this share of the largest are not in the table; the record has them all.
const WORTH_TELLING: f64 = 0.1;
/// The table tells hundredths of a µm.
const LEAST_UM: f64 = 0.005;

/// The harmonics that are worth telling, from two undulations a turn on; nothing when none is.
pub(super) fn table(amplitudes_um: &[f64], proved: &[usize]) -> Option<Table> {
    let largest = amplitudes_um.iter().copied().fold(0.0, f64::max);
    let least = (largest * WORTH_TELLING).max(LEAST_UM);
    let told = (2_usize..)
        .zip(amplitudes_um)
        .filter(|(_, um)| **um >= least);
    let rows: Vec<Vec<String>> = told
        .map(|(order, um)| {
            let cause = if proved.contains(&order) {
                usual(order)
            } else {
                "no larger than scatter and display can make it"
            };
            vec![order.to_string(), cell(Some(*um), 2), cause.to_owned()]
        })
        .collect();
    let columns = ["#a turn", "#amplitude, µm", "usually (common practice)"];
    (!rows.is_empty()).then(|| Table::new(&columns, rows))
}

pub(super) fn bars(section: &Section) -> Plot {
    let note = |order: usize| match order {
        order if !section.proved_orders.contains(&order) => "",
        2 => "oval",
        3 => "3 jaws",
        4 => "4 jaws",
        _ => "",
    };
    Plot::Bars(Bars {
        title: "Harmonics".into(),
        x_label: "undulations a turn".into(),
        y_label: "amplitude, µm".into(),
        bars: section
            .harmonics_um
            .iter()
            .enumerate()
            .map(|(index, amplitude)| Bar {
                label: (index + 2).to_string(),
                note: note(index + 2).into(),
                value: *amplitude,
            })
            .collect(),
        highest: None,
        level: None,
        places: 2,
    })
}
