//! A zero step in words.

use super::{allowed, over_taper, tap, verdict, within_arcsec};
use crate::layout::{Pairs, Table, arcsec, signed, um};
use metrology::setup::Setup;
use metrology::uncertainty::Verdict;
use metrology::zero::level::Level;
use metrology::zero::{Sloping, ZeroOutcome};

pub(super) fn text(zero: &ZeroOutcome, setup: &Setup) -> String {
    let mut text = rounds(zero);
    let mut pairs = Pairs::default();
    pairs.add_some(
        "worth",
        zero.level.as_ref().map(|level| worth(level, zero.verdict)),
    );
    pairs.add_some("residual", residual(zero));
    pairs.add_some("over the span", zero.over_span_um.map(um));
    pairs.add_some(
        "over the taper",
        zero.over_taper_um.map(|worth| over_taper(worth, setup)),
    );
    pairs.add_some(
        "half angle",
        zero.half_angle_error_arcsec.map(|error| {
            let expanded = within_arcsec(zero.half_angle_expanded_arcsec);
            format!("{}{expanded}, stack included", arcsec(error))
        }),
    );
    pairs.add_some("allowed", zero.limits_arcsec.map(allowed));
    pairs.add_some("verdict", zero.verdict.map(|v| verdict(v).to_owned()));
    pairs.add_some("tap", zero.tap.as_ref().map(|t| tap(t, setup)));
    pairs.add_some(
        "turns about",
        zero.pivot.as_ref().map(|pivot| {
            let from = match pivot.from_rounds.as_slice() {
                [] => "as given, or as the fixture remembers".to_owned(),
                rounds => {
                    let rounds: Vec<String> = rounds.iter().map(u32::to_string).collect();
                    format!("from rounds {}", rounds.join(", "))
                }
            };
            let u = pivot
                .u_mm
                .map_or(String::new(), |u| format!(", u {u:.1} mm"));
            format!("{:.1} mm from A{u}, {from}", pivot.position_mm)
        }),
    );
    pairs.add_some(
        "clamp",
        zero.clamp_shift.as_ref().map(|shift| {
            let agree = if shift.agree {
                "they agree: aim off by it"
            } else {
                "not yet enough to aim off by"
            };
            format!(
                "tightening turns it by {}, {} seen, {agree}",
                arcsec(metrology::Angle::from_rad(shift.slope.atan()).arcsec()),
                shift.count
            )
        }),
    );
    text.push_str(&pairs.text());
    text
}

/// What a level axis is worth, with the word on whether that is enough.
fn worth(level: &Level, judged: Option<Verdict>) -> String {
    let enough = match judged {
        Some(Verdict::In) => ": enough is enough",
        _ => "",
    };
    format!(
        "{:.3} µm on diameter, {:.3} µm at most{enough}\nthe axis rises {} over the part, axes {:.1} mm apart",
        level.worth_um.abs(),
        level.at_most_um,
        um(level.rise_um),
        level.axes_mm
    )
}

fn residual(zero: &ZeroOutcome) -> Option<String> {
    let value = zero.residual_arcsec?;
    let expanded = within_arcsec(zero.residual_expanded_arcsec);
    let way = match zero.cone {
        Some(Sloping::Steeper) => ", the cone would be steeper",
        Some(Sloping::Shallower) => ", the cone would be shallower",
        None => "",
    };
    Some(format!("{}{expanded}{way}", arcsec(value)))
}

fn rounds(zero: &ZeroOutcome) -> String {
    if zero.rounds.is_empty() {
        return String::new();
    }
    let mut table = Table::new(&["round", "residual", "u", "drift", "bow", ""]);
    for round in &zero.rounds {
        table.row([
            round.round.to_string(),
            arcsec(round.residual_arcsec),
            format!("{:.2}\"", round.residual_u_arcsec),
            round
                .drift_um_per_min
                .map_or(String::new(), |d| format!("{} µm/min", signed(d, 2))),
            round.bow_um.map_or(String::new(), um),
            if round.clamped { "clamped" } else { "" }.to_owned(),
        ]);
    }
    table.text()
}
