//! A run-out in words.

use super::{between, outliers, plain, verdict};
use crate::layout::{Pairs, Table, reading};
use metrology::runout::{Axis, Parted, RunoutOutcome, Section, Truing};
use metrology::setup::Setup;

pub(super) fn text(runout: &RunoutOutcome, setup: &Setup) -> String {
    let section = &runout.section;
    let mut pairs = Pairs::default();
    pairs.add_some("true it", runout.truing.as_ref().map(|t| truing(t, setup)));
    pairs.add(
        "run-out",
        format!(
            "{} total indicator reading{}",
            plain(section.tir_um),
            own(section.tir_interval_um)
        ),
    );
    pairs.add_some("verdict", section.verdict.map(|v| verdict(v).to_owned()));
    pairs.add(
        "eccentricity",
        format!(
            "{}{}, high spot at {}",
            plain(section.eccentricity_um),
            between(section.eccentricity_interval_um),
            high_spot(section)
        ),
    );
    pairs.add_some("roundness", roundness(section, runout.filter_upr));
    pairs.add_some(
        "repeats",
        section.synchronous_um.map(|um| {
            format!(
                "{} turn by turn (synchronous, without the eccentricity)",
                plain(um)
            )
        }),
    );
    pairs.add_some(
        "does not repeat",
        section
            .asynchronous_um
            .map(|um| format!("{} from turn to turn (asynchronous)", plain(um))),
    );
    pairs.add_some(
        "a turn",
        section.period.as_ref().map(|period| {
            format!(
                "{:.4} s, u {:.4} s, found from the readings",
                period.turn_s, period.turn_u_s
            )
        }),
    );
    pairs.add_some("axis", runout.axis.as_ref().map(axis));
    let turns = match section.turns {
        1 => String::new(),
        n => format!(" over {n} turns"),
    };
    let plane = section
        .plane_mm
        .map_or(String::new(), |plane| format!(" in the plane {plane} mm"));
    pairs.add("readings", format!("{}{turns}{plane}", section.points));
    pairs.add_some("outliers", outliers(section.outliers, section.rejected));
    let mut text = pairs.text();
    text.push_str(&planes(&runout.planes));
    text.push_str(&elsewhere(runout));
    match &runout.reversal {
        Some(reversal) => {
            text.push_str(&parted(&reversal.part, &reversal.spindle));
            let [part, spindle] = [&reversal.part, &reversal.spindle];
            text.push_str(&harmonics(&part.harmonics_um, "part's harmonic"));
            text.push_str(&harmonics(&spindle.harmonics_um, "spindle's harmonic"));
        }
        None => text.push_str(&harmonics(&section.harmonics_um, "harmonic")),
    }
    text
}

/// An angle as an hour of the clock, twelve at 0°, where it is one; with the degrees, which always hold.
fn clock(deg: f64) -> String {
    let hours = deg.rem_euclid(360.0) / 30.0;
    let half = (hours * 2.0).round() / 2.0;
    let whole = half.floor();
    let name = if whole == 0.0 || whole == 12.0 {
        12.0
    } else {
        whole
    };
    let deg = deg.rem_euclid(360.0);
    if half > whole {
        format!("half past {name:.0} o'clock ({deg:.0}°)")
    } else {
        format!("{name:.0} o'clock ({deg:.0}°)")
    }
}

fn high_spot(section: &Section) -> String {
    let within = match section.high_spot_expanded_deg {
        Some(deg) if deg >= 180.0 => ", which may be anywhere".to_owned(),
        Some(deg) => format!(" ± {deg:.1}° (95 %)"),
        None => String::new(),
    };
    format!("{}{within}", clock(section.high_spot_deg))
}

fn truing(truing: &Truing, setup: &Setup) -> String {
    format!(
        "at {}, {} away from the indicator, to {}\nor at {} as far toward it",
        clock(truing.at_deg),
        plain(truing.move_um),
        reading(truing.target_mm, setup.indicator.resolution),
        clock(truing.opposite_deg)
    )
}

/// The limits that hold what the part itself does, without the scatter of the readings and between them too: a high place
/// between two readings counts, so that they may lie above what was read.
fn own(limits_um: Option<[f64; 2]>) -> String {
    limits_um.map_or(String::new(), |[low, high]| {
        format!("\nthe part's own lies between {low:.2} and {high:.2} µm (95 %)")
    })
}

fn roundness(section: &Section, filter_upr: Option<u32>) -> Option<String> {
    let least_squares = section.roundness_ls_um?;
    let zone = section
        .roundness_mz_um
        .map_or(String::new(), |um| format!(", {} minimum zone", plain(um)));
    let behind = filter_upr.map_or_else(
        // What a filter leaves is another quantity than what the limits are for.
        || own(section.roundness_interval_um),
        |upr| format!("\nbehind a filter of {upr} undulations per turn"),
    );
    Some(format!(
        "{} least squares{zone}{behind}",
        plain(least_squares)
    ))
}

fn axis(axis: &Axis) -> String {
    let within = axis
        .tilt_interval_urad
        .map_or(String::new(), |[low, high]| {
            format!(" ({low:.1} to {high:.1} µrad, 95 %)")
        });
    format!(
        "{} off toward {} at the plane {} mm\nleans {:.1} µrad{within} toward {}",
        plain(axis.offset_um),
        clock(axis.offset_direction_deg),
        axis.plane_mm,
        axis.tilt_urad,
        clock(axis.direction_deg)
    )
}

fn planes(planes: &[Section]) -> String {
    if planes.is_empty() {
        return String::new();
    }
    let mut table = Table::new(&[
        "plane",
        "run-out",
        "eccentricity",
        "high spot",
        "roundness",
        "readings",
    ]);
    for section in planes {
        table.row([
            section
                .plane_mm
                .map_or(String::new(), |plane| format!("{plane} mm")),
            plain(section.tir_um),
            plain(section.eccentricity_um),
            clock(section.high_spot_deg),
            section.roundness_mz_um.map_or(String::new(), plain),
            section.points.to_string(),
        ]);
    }
    table.text()
}

fn elsewhere(runout: &RunoutOutcome) -> String {
    if runout.elsewhere.is_empty() {
        return String::new();
    }
    let mut table = Table::new(&["by the axis, at", "run-out", "high spot"]);
    for there in &runout.elsewhere {
        table.row([
            format!("{} mm", there.plane_mm),
            plain(there.runout_um),
            clock(there.high_spot_deg),
        ]);
    }
    table.text()
}

fn parted(part: &Parted, spindle: &Parted) -> String {
    let mut table = Table::new(&["reversal", "form, zone", "form, squares", "eccentricity"]);
    for (name, parted) in [("part", part), ("spindle", spindle)] {
        table.row([
            name.to_owned(),
            plain(parted.error_mz_um),
            plain(parted.error_ls_um),
            plain(parted.eccentricity_um),
        ]);
    }
    table.text()
}

/// Harmonics below this share of the largest are not told in words; the record has them all.
const WORTH_TELLING: f64 = 0.1;
/// What is told is told in hundredths of a µm.
const LEAST_UM: f64 = 0.005;

fn harmonics(amplitudes_um: &[f64], of: &str) -> String {
    let largest = amplitudes_um.iter().copied().fold(0.0, f64::max);
    let least = (largest * WORTH_TELLING).max(LEAST_UM);
    let mut table = Table::new(&[of, "amplitude", "usually (common practice)"]);
    let mut told = 0;
    for (order, um) in (2_usize..).zip(amplitudes_um) {
        if *um < least {
            continue;
        }
        told += 1;
        table.row([order.to_string(), plain(*um), usual(order).to_owned()]);
    }
    if told == 0 {
        return String::new();
    }
    table.text()
}

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn angles_are_hours_to_the_half() {
        for (deg, expected) in [
            (0.0, "12 o'clock (0°)"),
            (7.4, "12 o'clock (7°)"),
            (7.6, "half past 12 o'clock (8°)"),
            (120.0, "4 o'clock (120°)"),
            (345.0, "half past 11 o'clock (345°)"),
            (353.0, "12 o'clock (353°)"),
            (-90.0, "9 o'clock (270°)"),
        ] {
            assert_eq!(clock(deg), expected, "{deg}");
        }
    }
}
