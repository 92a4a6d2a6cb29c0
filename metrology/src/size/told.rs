//! What a size step says in sentences.

use super::outcome::{Finish, RoundsDisagree, SizeOutcome};
use super::repeats::{Disagreement, LengthError, Place, rounds};
use crate::Angle;
use crate::spread::range;
use crate::uncertainty::{Budget, COVERAGE, Undecided};

/// The word on what is left.
pub(super) fn finish(out: &mut SizeOutcome) {
    let (Some(finish), Some(stock_um)) = (out.finish, out.stock_on_diameter_um) else {
        return;
    };
    let short_um = out.stock_expanded_um.unwrap_or(0.0) - stock_um;
    let words = match finish {
        Finish::Left => return,
        Finish::Undersize => format!(
            "the part is under size by {:.1} µm on diameter: nothing is left to grind, and it is not finished but too small",
            -stock_um
        ),
        Finish::Oversize => format!(
            "the bore is over size by {:.1} µm on diameter: nothing is left to grind, and it is not finished but too large",
            -stock_um
        ),
        Finish::AtSize => format!(
            "what is left lies within its uncertainty: at size, or too far already by up to {short_um:.1} µm on diameter"
        ),
    };
    out.remarks.push(words);
}

/// What the display and what was stated allow, where nothing tells how well a length repeats, and what to do.
pub(super) fn doubt(
    out: &mut SizeOutcome,
    doubt: Option<Undecided>,
    half_angle: Option<&(Angle, Budget)>,
    stock: Option<&Budget>,
) {
    if doubt != Some(Undecided::RepeatabilityUnknown) {
        return;
    }
    let of = |budget: &Budget, unit: &str, digits: usize| {
        let u = budget.expanded(COVERAGE);
        (u > 0.0).then(|| format!("±{u:.digits$} {unit}"))
    };
    let angle = half_angle.and_then(|(_, budget)| of(budget, "arcsec of half angle", 1));
    let stock = stock.and_then(|budget| of(budget, "µm on diameter", 2));
    let allowed: Vec<String> = angle.into_iter().chain(stock).collect();
    let allowed = if allowed.is_empty() {
        String::new()
    } else {
        format!(
            "; the display and what was stated alone leave {}",
            allowed.join(", ")
        )
    };
    out.remarks.push(format!(
        "each place was measured once, and nothing tells how well that repeats, so there is no 95 % interval{allowed}: \
         measure each place again without grinding, or state the repeatability"
    ));
}

/// The question that rounds which disagree put.
pub(super) fn disagreement(out: &mut SizeOutcome, found: &Disagreement) {
    let by = match found.by_arcsec {
        Some(arcsec) => format!("{:.1} arcsec and {:.1} µm", arcsec.abs(), found.by_um.abs()),
        None => format!("{:.1} µm", found.by_um.abs()),
    };
    let round = found.from + 1;
    out.rounds_disagree = Some(RoundsDisagree {
        from_round: round as u32,
        by_um: found.by_um,
        by_arcsec: found.by_arcsec,
    });
    out.remarks.push(format!(
        "the rounds disagree by {by} from round {round} on, more than they scatter: shown is what was measured from there on. \
         Was the part ground between? If so, say it: press o, or `conewright ground` (in a table, leave the rows before it \
         out). If not, measure again"
    ));
}

/// How well what was measured again agreed.
pub(super) fn repeats(out: &mut SizeOutcome, error: &LengthError, places: &[Place]) {
    let Some((sd_um, dof)) = error.seen else {
        return;
    };
    let spread_um = places
        .iter()
        .map(|place| range(place.values_mm.iter().copied()))
        .fold(0.0, f64::max)
        * 1e3;
    let worse = if error.worse_than_known {
        ", which is more than was stated or checked"
    } else {
        ""
    };
    out.remarks.push(format!(
        "measured {} times: the same place differed by up to {spread_um:.1} µm, a standard deviation of {sd_um:.2} µm \
         with {dof} degrees of freedom{worse}",
        rounds(places)
    ));
}
