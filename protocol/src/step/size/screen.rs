//! Size: what is left on diameter, as infeed and passes; and a word that cannot be missed when there is too little.

use super::sheet::{next_pass, passes};
use crate::evidence::Place;
use crate::said;
use crate::screen::parts::{Advice, Column, Listing, Meaning, Screen, Sign, Table, Value};
use crate::screen::plot::{Line, Plot};
use crate::screen::shown::{Open, Shown};
use crate::screen::value::reading_if_any;
use crate::screen::verdict;
use crate::sheet::words::tolerance_missing;
use crate::step::{SizeBy, SizePlan};
use crate::style::Style;
use metrology::Angle;
use metrology::grind::NextPass;
use metrology::size::{Finish, Infeed, SizeOutcome};

impl Shown for SizePlan {
    /// What is left in each plane.
    fn plot(open: &Open<'_, Self>) -> Option<Plot> {
        let units = open.seen.units;
        let planes = open.found?.planes.iter();
        let points = planes
            .filter_map(|plane| Some([units.long(plane.plane_mm), units.small(plane.stock_um?)]));
        let axes = [
            said!(units, "live-axis-from-plane", unit = units.long_sign()),
            said!(units, "column-left", unit = units.small_sign()),
        ];
        Line::of(said!(units, "live-what-is-left"), axes, points.collect()).map(Plot::Line)
    }

    fn place_wanted(style: Style) -> String {
        said!(style, "live-place-plane")
    }

    fn advice(open: &Open<'_, Self>) -> Advice {
        let style = open.seen.units;
        let what = measured(open);
        let found = open.found;
        if found.is_some_and(|size| size.rounds_disagree.is_some()) {
            return Advice::say(style, said!(style, "live-was-it-ground", what = what));
        }
        if open.status.ground {
            return Advice::say(style, said!(style, "live-measure-ground", what = what));
        }
        let unsure = found.is_some_and(|size| size.stock_on_diameter_um.is_some());
        let text = match found.and_then(|size| size.finish) {
            None if unsure => said!(style, "live-measure-again", what = what),
            None => said!(style, "live-measure", what = what),
            Some(Finish::Left) if not_all_measured(open) => {
                said!(style, "live-measure-first", what = what)
            }
            Some(Finish::Left)
                if found.and_then(|size| size.next_pass) == Some(NextPass::AtSize) =>
            {
                said!(style, "live-stop-as-asked")
            }
            Some(Finish::Left) => said!(style, "live-grind-and-measure", what = what),
            Some(Finish::AtSize) => said!(style, "live-stop-at-size"),
            Some(Finish::Undersize | Finish::Oversize) => said!(style, "live-stop-too-far"),
        };
        Advice::say(style, text)
    }

    fn show(open: &Open<'_, Self>, screen: &mut Screen) {
        let units = open.seen.units;
        screen.must = reading_if_any(open.seen).into_iter().collect();
        screen.must.push(left(open));
        let Some(size) = open.found else { return };
        let infeed = size.infeed_um.filter(|infeed| *infeed > 0.0);
        screen.may = infeed.map(|infeed| {
            let unit = units.small_sign();
            let under = match open.step.size.infeed {
                Infeed::Axis => said!(units, "live-square-to-axis", unit = unit),
                Infeed::Cone => said!(units, "live-square-to-cone", unit = unit),
            };
            Value::of(
                said!(units, "live-label-infeed"),
                units.small_plain(infeed),
                under,
            )
        });
        screen.banner = banner(size, units);
        if size.half_angle_deg.is_some() {
            let why = tolerance_missing(units);
            screen.undecided = said!(units, "live-half-angle-why", why = why);
        }
        screen.sign = size.verdict.map(|found| {
            let parts = verdict::held_against(
                size.half_angle_error_arcsec,
                size.half_angle_expanded_arcsec,
                size.limits_arcsec,
                units,
            );
            verdict::sign(found, size.undecided_because, parts, units)
        });
        facts(screen, size, open.step.size.infeed, units);
    }

    /// The planes; before anything can be computed, what was measured.
    fn listing(open: &Open<'_, Self>) -> Option<Listing> {
        let units = open.seen.units;
        if let Some(size) = open.found.filter(|size| !size.planes.is_empty()) {
            let heading = said!(units, "live-column-plane", unit = units.long_sign());
            let rows = size.planes.iter().map(|plane| {
                let place = units.long_number(plane.plane_mm, 3);
                row(
                    units,
                    place,
                    plane.diameter_mm,
                    plane.wanted_mm,
                    plane.stock_um,
                )
            });
            let table = Table::newest_last(columns(heading, units), rows);
            return Some(Listing::Table(table));
        }
        let rows = open.status.marks.iter().filter_map(|mark| {
            let place = match &mark.at {
                Some(Place::Plane { plane }) => units.length(*plane),
                _ => mark.place.clone(),
            };
            Some(row(units, place, mark.value?.value_mm, None, None))
        });
        let heading = said!(units, "live-column-where");
        let table = Table::newest_last(columns(heading, units), rows);
        Some(Listing::Table(table))
    }
}

/// What is measured, and where.
fn measured(open: &Open<'_, SizePlan>) -> String {
    let style = open.seen.units;
    let what = match open.step.by {
        SizeBy::Sections => said!(style, "live-the-diameter"),
        SizeBy::StandOff => return said!(style, "live-the-stand-off"),
        SizeBy::Rollers { .. } => said!(style, "live-over-rollers"),
        SizeBy::Balls { .. } => said!(style, "live-depth-of-ball"),
    };
    match open.seen.next() {
        Some(place) => said!(style, "live-what-at", what = what, place = place),
        None => what,
    }
}

/// Whether a plane of the plan has not been measured since the part was ground.
fn not_all_measured(open: &Open<'_, SizePlan>) -> bool {
    let measured = open.found.map_or(0, |size| size.planes.len());
    measured < open.step.at.len()
}

fn left(open: &Open<'_, SizePlan>) -> Value {
    let units = open.seen.units;
    let stock = open.found.and_then(|size| size.stock_on_diameter_um);
    let (label, gone) = match open.found.and_then(|size| size.finish) {
        Some(Finish::Undersize) => (said!(units, "live-label-undersize"), true),
        Some(Finish::Oversize) => (said!(units, "live-label-oversize"), true),
        _ => (said!(units, "live-label-left"), false),
    };
    let value = stock.map(|um| match gone {
        true => units.small_plain(um),
        false => units.small_signed(um).trim_start_matches('+').to_owned(),
    });
    let small = units.small_sign();
    let under = match open.found.and_then(|size| size.stock_expanded_um) {
        Some(u) => format!("{small}, ± {} (95 %)", units.small_plain(u)),
        None => small.to_owned(),
    };
    let value = Value::computed(open.seen, label, value, under);
    if !gone {
        return value;
    }
    // It cannot be taken for something good.
    Value {
        meaning: Meaning::Bad,
        under_meaning: Meaning::Bad,
        ..value
    }
}

fn banner(size: &SizeOutcome, units: Style) -> Option<Sign> {
    let by = size.stock_on_diameter_um.map(|stock| units.um(stock));
    let by = by.unwrap_or_default();
    if let Some(disagree) = &size.rounds_disagree {
        let by = match disagree.by_arcsec {
            Some(arcsec) => format!("{} arcsec", units.number(arcsec.abs(), 1)),
            None => units.um(disagree.by_um),
        };
        return Some(Sign {
            word: said!(units, "live-ground-between"),
            meaning: Meaning::Doubtful,
            parts: vec![said!(
                units,
                "live-rounds-disagree",
                by = by,
                round = disagree.from_round
            )],
        });
    }
    let (word, meaning, text) = match size.finish? {
        Finish::Left => return None,
        Finish::AtSize => (
            said!(units, "live-at-size"),
            Meaning::Doubtful,
            said!(units, "live-stop-here"),
        ),
        Finish::Undersize => (
            said!(units, "live-undersize"),
            Meaning::Bad,
            said!(units, "live-too-small", by = by),
        ),
        Finish::Oversize => (
            said!(units, "live-oversize"),
            Meaning::Bad,
            said!(units, "live-too-large", by = by),
        ),
    };
    let at = size.stock_plane_mm;
    let at = at.map(|plane| said!(units, "live-at-plane", plane = units.long_text(plane, 2)));
    Some(Sign {
        word,
        meaning,
        parts: [text].into_iter().chain(at).collect(),
    })
}

fn facts(screen: &mut Screen, size: &SizeOutcome, way: Infeed, units: Style) {
    let axis = size.infeed_square_to_axis_um;
    let axis = axis.map(|um| said!(units, "live-infeed-axis", by = units.signed_um(um)));
    let cone = size.infeed_square_to_cone_um;
    let cone = cone.map(|um| said!(units, "live-infeed-cone", by = units.signed_um(um)));
    // The way that this machine feeds stands first.
    let infeed = match way {
        Infeed::Axis => [axis, cone],
        Infeed::Cone => [cone, axis],
    };
    let infeed = infeed.into_iter().flatten().collect();
    screen.fact(said!(units, "live-label-infeed"), infeed);
    if let Some(split) = &size.passes {
        let (roughing, then) = passes(split, |um| units.um(um), units);
        let passes = [roughing].into_iter().chain(then).collect();
        screen.fact(said!(units, "live-label-passes"), passes);
    }
    if let Some(next) = size.next_pass {
        let next = next_pass(next, |um| units.um(um), units);
        screen.fact(said!(units, "live-label-next-pass"), vec![next]);
    }
    if let Some(last) = size.ground.last() {
        let left = [last.expected_um, last.after_um].map(|um| units.um(um));
        let [expected, measured] = left;
        let passed = vec![
            said!(units, "live-pass-expected", length = expected),
            said!(units, "live-pass-left", length = measured),
        ];
        screen.fact(said!(units, "live-label-last-pass"), passed);
    }
    if let Some(deg) = size.half_angle_deg {
        let u = size.half_angle_expanded_arcsec;
        let u = u.map_or_else(String::new, |u| format!(" ± {} arcsec", units.number(u, 1)));
        let angle = units.dms(Angle::from_deg(deg)) + &u;
        let cone = said!(units, "live-half-angle-of", angle = angle);
        screen.fact(said!(units, "live-label-cone"), vec![cone]);
    }
}

fn columns(place: String, units: Style) -> [Column; 4] {
    let unit = units.sign();
    [
        Column::right(place, 14),
        Column::right(said!(units, "live-column-measured", unit = unit), 12),
        Column::right(said!(units, "live-column-wanted", unit = unit), 12).spare(),
        Column::right(
            said!(units, "live-column-left", unit = units.small_sign()),
            10,
        ),
    ]
}

fn row(
    units: Style,
    place: String,
    measured_mm: f64,
    wanted_mm: Option<f64>,
    stock_um: Option<f64>,
) -> Vec<String> {
    let mm = |mm: f64| {
        let shown = units.reading(mm, None, 1);
        shown.trim_start_matches('+').to_owned()
    };
    vec![
        place,
        mm(measured_mm),
        wanted_mm.map(mm).unwrap_or_default(),
        stock_um
            .map(|um| units.small_signed(um))
            .unwrap_or_default(),
    ]
}
