//! `taper --find` and `session found`: which taper a part has, and what it takes to regrind it to one.

use super::written::Written;
use crate::args::{RegrindArgs, TaperArgs};
use crate::layout::{Pairs, Table};
use crate::{Answer, Failure};
use config::Config;
use metrology::found::{Candidate, FoundCone, Regrind, candidates, ratio_interval, regrind};
use metrology::{Angle, DomainError, Length};
use protocol::plan::Condition;
use protocol::record::Record;
use protocol::step::ConeFound;
use protocol::style::Style;
use serde_json::json;

/// Candidates outside the interval that are shown: enough to see what it is not.
const SHOWN_OUTSIDE: usize = 5;
/// What is to come off everywhere unless stated, so that a worn surface cleans up (common practice).
const CLEAN_UP: Length = Length::from_um(20);

/// What is known of the part's cone.
struct Cone {
    half_angle: Angle,
    expanded: Option<Angle>,
    big_end_mm: Option<f64>,
    length: Option<Length>,
    bore: bool,
}

/// A cone that the user states.
pub(super) fn stated(
    config: &Config,
    found: &str,
    args: &TaperArgs,
    style: Style,
) -> Result<Answer, Failure> {
    let cone = Cone {
        half_angle: angle("--find", found)?,
        expanded: args
            .uncertainty
            .as_deref()
            .map(|text| angle("--uncertainty", text))
            .transpose()?,
        big_end_mm: length("--diameter", args.diameter.as_deref())?.map(Length::mm),
        length: length("--length", args.length.as_deref())?,
        bore: args.bore,
    };
    answer(config, &cone, &args.regrind, style, "")
}

/// The cone that a session measured.
pub(super) fn of_session(
    config: &Config,
    record: &Record,
    args: &RegrindArgs,
    written: Written,
) -> Result<Answer, Failure> {
    let setup = &record.setup;
    let style = written.style(Some(setup));
    let of = |condition: Option<Condition>| -> Vec<(u32, ConeFound)> {
        let steps = record.steps.iter();
        let steps = steps.filter(|step| condition.is_none() || step.plan.condition == condition);
        let cone = |step: &protocol::record::StepRecord| {
            let cone = step.plan.work.cone_found(setup, step.outcome.as_ref()?)?;
            Some((step.number, cone))
        };
        steps.filter_map(cone).collect()
    };
    let mut cones = of(Some(Condition::Found));
    if cones.is_empty() {
        cones = of(None);
        // Later ones may be of the part after it was ground.
        cones.truncate(1);
    }
    let surest = cones
        .iter()
        .filter_map(|(number, cone)| Some((*number, cone.half_angle?)))
        .min_by(|(_, (_, a)), (_, (_, b))| {
            let wide = |expanded: &Option<Angle>| expanded.map_or(f64::INFINITY, Angle::rad);
            wide(a).total_cmp(&wide(b))
        });
    let Some((number, (half_angle, expanded))) = surest else {
        return Err(Failure::new(
            "no_cone",
            format!(
                "session {} measured no half angle of the part",
                record.session.id
            ),
        )
        .hint("measure the size at two planes: conewright step size --as found --planes 0,24"));
    };
    let sized = cones.iter().find(|(_, cone)| !cone.sections.is_empty());
    let cone = Cone {
        half_angle,
        expanded,
        big_end_mm: sized.map(|(_, cone)| at_gauge_plane(&cone.sections, half_angle)),
        length: setup.length,
        bore: sized.is_some_and(|(_, cone)| cone.bore),
    };
    let from = match sized {
        Some((size, _)) if *size != number => {
            format!("half angle of step {number}, diameters of step {size}")
        }
        _ => format!("measured in step {number}"),
    };
    answer(config, &cone, args, style, &from)
}

/// The diameter at the gauge plane, mm: the mean section, carried along by the half angle.
fn at_gauge_plane(sections: &[[f64; 2]], half: Angle) -> f64 {
    let count = sections.len() as f64;
    let mean = |of: usize| sections.iter().map(|section| section[of]).sum::<f64>() / count;
    mean(1) + 2.0 * mean(0) * half.tan()
}

fn answer(
    config: &Config,
    cone: &Cone,
    args: &RegrindArgs,
    style: Style,
    from: &str,
) -> Result<Answer, Failure> {
    let list =
        candidates(cone.half_angle, cone.expanded, config.all_tapers()).map_err(out_of_domain)?;
    let mut pairs = Pairs::default();
    let sure = cone.expanded.map_or_else(String::new, |expanded| {
        format!(" ± {} (95 %)", style.degrees(expanded))
    });
    pairs.add("half angle", style.degrees(cone.half_angle) + &sure);
    let n = cone.half_angle.ratio_n();
    let ends = cone
        .expanded
        .map(|expanded| ratio_interval(cone.half_angle, expanded));
    let between = ends.map_or_else(String::new, |ends| {
        let [steep, slender] = ends.map(|n| ratio(n, style));
        format!(", from {steep} to {slender}")
    });
    pairs.add("on diameter", ratio(n, style) + &between);
    if !from.is_empty() {
        pairs.add("from", from);
    }
    let mut text = format!("found\n{}\n{}", pairs.text(), table(&list, style));
    let mut content = json!({
        "half_angle_deg": cone.half_angle.deg(),
        "half_angle_expanded_deg": cone.expanded.map(Angle::deg),
        "ratio_n": n,
        "ratio_n_from": ends.map(|ends| ends[0]),
        "ratio_n_to": ends.map(|ends| ends[1]).filter(|n| n.is_finite()),
        "candidates": list,
    });
    if let Some(spec) = &args.to {
        let (wanted, after) = ground(config, cone, args, spec)?;
        text.push_str(&format!("\nregrind to {wanted}\n{}", told(&after, style)));
        content["regrind"] = json!(after);
        content["regrind"]["taper"] = json!(wanted);
    }
    Answer::new(text, &content)
}

fn ground(
    config: &Config,
    cone: &Cone,
    args: &RegrindArgs,
    spec: &str,
) -> Result<(String, Regrind), Failure> {
    let wanted = config.taper(spec)?;
    let length_to_grind = cone.length.or(wanted.length).ok_or_else(|| {
        Failure::usage(format!(
            "`{}` has no length of its own, and none is stated",
            wanted.name
        ))
        .hint("state the length that is to be ground: --length 30")
    })?;
    let found = FoundCone {
        half_angle: cone.half_angle,
        big_end_mm: cone.big_end_mm,
        length: length_to_grind,
        bore: cone.bore,
    };
    let clean_up = length("--clean-up", args.clean_up.as_deref())?.unwrap_or(CLEAN_UP);
    let to = length("--to-diameter", args.to_diameter.as_deref())?.map(Length::mm);
    let after = regrind(&found, &wanted, clean_up, to).map_err(out_of_domain)?;
    Ok((wanted.name, after))
}

fn out_of_domain(error: DomainError) -> Failure {
    Failure::bad_value(error.to_string())
        .hint("conewright help taper shows how angles, diameters and lengths are given")
}

fn table(list: &[Candidate], style: Style) -> String {
    let mut table = Table::new(&[
        "taper",
        "1:n",
        "half angle",
        "found off by",
        "in the interval",
    ]);
    let mut outside = 0;
    for candidate in list {
        if candidate.within() != Some(true) {
            outside += 1;
            if outside > SHOWN_OUTSIDE {
                continue;
            }
        }
        let within = match candidate.outside_by_arcsec {
            None => "unknown".to_owned(),
            Some(by) if by > 0.0 => format!("no, outside by {}\"", style.number(by, 1)),
            Some(_) => "yes".to_owned(),
        };
        table.row([
            names(&candidate.tapers),
            style.number(candidate.ratio_n, 4),
            style.degrees(candidate.half_angle),
            style.arcsec(candidate.off_arcsec),
            within,
        ]);
    }
    let within = list.iter().filter(|c| c.within() == Some(true)).count();
    let last = match (within, list.first().and_then(Candidate::within)) {
        (_, None) => "state --uncertainty to see which tapers it can be",
        (0, _) => "no known taper lies in the interval",
        (1, _) => "one ratio lies in the interval",
        _ => {
            "several ratios lie in the interval: measure the angle better, or decide by diameter and length"
        }
    };
    format!("{}{last}\n", table.text())
}

/// Names of one ratio; a long list is cut, because all have the same angle.
fn names(tapers: &[String]) -> String {
    const SHOWN: usize = 3;
    match tapers.len().saturating_sub(SHOWN) {
        0 => tapers.join(", "),
        more => format!("{} and {more} more", tapers[..SHOWN].join(", ")),
    }
}

fn told(after: &Regrind, style: Style) -> String {
    let mut pairs = Pairs::default();
    pairs.add(
        "comes off at big end",
        style.micro_signed(after.stock_at_big_end_um) + " on diameter",
    );
    pairs.add(
        "comes off at small end",
        style.micro_signed(after.stock_at_small_end_um) + " on diameter",
    );
    pairs.add(
        "cleans up",
        if after.cleans_up {
            "yes, over the whole length".to_owned()
        } else {
            let cleaned = style.long_text(after.cleaned_length_mm, 1);
            format!("NO: over {cleaned} only; the rest stays as it is, under size")
        },
    );
    pairs.add(
        "largest infeed",
        format!(
            "{} square to the axis, {} square to the cone",
            style.micro(after.infeed_square_to_axis_um),
            style.micro(after.infeed_square_to_cone_um),
        ),
    );
    let diameter = |mm: f64| style.long_text(mm, 4);
    pairs.add_some("big end then", after.big_end_mm.map(diameter));
    pairs.add_some("small end then", after.small_end_mm.map(diameter));
    pairs.add_some(
        "gauge diameter at",
        after.gauge_plane_mm.map(|plane| {
            let at = style.long_text(plane.abs(), 2);
            if plane >= 0.0 {
                format!("{at} from the big end, toward the small end")
            } else {
                format!("{at} beyond the big end: off the part")
            }
        }),
    );
    pairs.text()
}

fn ratio(n: f64, style: Style) -> String {
    if n.is_finite() {
        format!("1:{}", style.number(n, 4))
    } else {
        "a cylinder".to_owned()
    }
}

fn angle(flag: &str, text: &str) -> Result<Angle, Failure> {
    text.trim().parse().map_err(|e| {
        Failure::bad_value(format!("{flag}: {e}"))
            .hint("write it with its unit: `1.4303deg`, `4arcsec`; a ratio as `1:20.02`")
    })
}

fn length(flag: &str, text: Option<&str>) -> Result<Option<Length>, Failure> {
    text.map(|text| {
        text.parse().map_err(|e| {
            Failure::bad_value(format!("{flag}: {e}"))
                .hint("a bare number is in mm; 20um and 0.001in are lengths too")
        })
    })
    .transpose()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_gauge_plane_is_reached_along_the_cone() {
        let half = Angle::half_of_ratio(12.0);
        for sections in [&[[24.0, 38.0]][..], &[[0.0, 40.0], [24.0, 38.0]]] {
            assert!((at_gauge_plane(sections, half) - 40.0).abs() < 1e-12);
        }
    }

    #[test]
    fn a_long_list_of_one_ratio_is_cut() {
        let list = |n: usize| (1..=n).map(|i| i.to_string()).collect::<Vec<_>>();
        assert_eq!(names(&list(3)), "1, 2, 3");
        assert_eq!(names(&list(5)), "1, 2, 3 and 2 more");
    }
}
