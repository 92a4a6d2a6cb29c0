//! A step's outcome in words: what `status`, `analyse` and `session show` print of it.

use crate::layout::{Pairs, Table, arcsec, reading, signed, um};
use metrology::setup::Setup;
use metrology::uncertainty::{Component, Verdict};
use metrology::zero::{Sloping, Tap, ZeroOutcome};
use protocol::fold::Outcome;

/// The outcome in whole lines.
#[must_use]
pub fn outcome(outcome: &Outcome, setup: &Setup) -> String {
    match outcome {
        Outcome::Zero(zero) => zero_outcome(zero, setup),
        other => {
            let mut pairs = Pairs::default();
            for sentence in other.sentences() {
                pairs.add("remark", sentence);
            }
            pairs.text() + &budget(other.budget())
        }
    }
}

/// The verdict in words: what was decided, and of what.
#[must_use]
pub const fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::In => "in tolerance",
        Verdict::Out => "out of tolerance",
        Verdict::Undecided => "undecided: the limit lies within the uncertainty",
    }
}

fn zero_outcome(zero: &ZeroOutcome, setup: &Setup) -> String {
    let mut text = rounds(zero);
    let mut pairs = Pairs::default();
    pairs.add_some("residual", residual(zero));
    pairs.add_some("over the span", zero.over_span_um.map(um));
    pairs.add_some(
        "over the taper",
        zero.over_taper_um.map(|worth| {
            let length = setup.length.or(setup.taper.as_ref().and_then(|t| t.length));
            let over = length.map_or(String::new(), |l| format!(" over {l}"));
            format!("{} on diameter{over}", um(worth))
        }),
    );
    pairs.add_some(
        "half angle",
        zero.half_angle_error_arcsec.map(|error| {
            let expanded = zero
                .half_angle_expanded_arcsec
                .map_or(String::new(), |u| format!(" ± {u:.2}\" (95 %)"));
            format!("{}{expanded}, stack included", arcsec(error))
        }),
    );
    pairs.add_some(
        "allowed",
        zero.limits_arcsec
            .map(|[low, high]| format!("{} to {} of the half angle", arcsec(low), arcsec(high))),
    );
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
    for remark in &zero.remarks {
        pairs.add("remark", remark);
    }
    text.push_str(&pairs.text());
    text.push_str(&budget(&zero.budget));
    text
}

fn residual(zero: &ZeroOutcome) -> Option<String> {
    let value = zero.residual_arcsec?;
    let expanded = zero
        .residual_expanded_arcsec
        .map_or(String::new(), |u| format!(" ± {u:.2}\" (95 %)"));
    let way = match zero.cone {
        Some(Sloping::Steeper) => ", the cone would be steeper",
        Some(Sloping::Shallower) => ", the cone would be shallower",
        None => "",
    };
    Some(format!("{}{expanded}{way}", arcsec(value)))
}

/// The tap as a sentence.
fn tap(tap: &Tap, setup: &Setup) -> String {
    let way = if tap.toward {
        "toward the indicator"
    } else {
        "away from the indicator"
    };
    let mut text = format!(
        "{} {way}, to {} ({})",
        tap.station,
        reading(tap.target_mm, setup.indicator.resolution),
        um(tap.move_um)
    );
    if tap.trial {
        text.push_str("\na trial: where the set-up turns is not known yet");
    }
    if let Some(aim) = tap.aim_arcsec {
        text.push_str(&format!("\naims off by {} for the clamp", arcsec(aim)));
    }
    text
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

fn budget(budget: &[Component]) -> String {
    if budget.is_empty() {
        return String::new();
    }
    let mut table = Table::new(&["budget", "u", "", "degrees of freedom"]);
    for line in budget {
        table.row([
            line.component.clone(),
            format!("{:.4}", line.u),
            line.unit.clone(),
            line.degrees_of_freedom
                .map_or("infinite".to_owned(), |v| format!("{v:.0}")),
        ]);
    }
    table.text()
}
