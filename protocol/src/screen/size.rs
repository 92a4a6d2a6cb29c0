//! Size: what is left on diameter, as infeed and passes; and a word that cannot be missed when there is too little.

use super::parts::{Advice, Column, Listing, Meaning, Screen, Sign, Table, Value};
use super::plot::{Line, Plot};
use super::shown::{Open, Shown};
use super::value::reading_if_any;
use super::verdict;
use crate::evidence::Place;
use crate::sheet::size::{next_pass, passes};
use crate::sheet::words::NO_TOLERANCE;
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
            format!("from the gauge plane, {}", units.long_sign()),
            format!("left on diameter, {}", units.small_sign()),
        ];
        Line::of("What is left", axes, points.collect()).map(Plot::Line)
    }

    const PLACE: &'static str = "plane, mm from the gauge plane toward the small end";

    fn advice(open: &Open<'_, Self>) -> Advice {
        let measure = measured(open);
        let found = open.found;
        if found.is_some_and(|size| size.rounds_disagree.is_some()) {
            return Advice::say(format!(
                "Was the part ground between? o: yes. If not, measure {measure} again."
            ));
        }
        if open.status.ground {
            return Advice::say(format!(
                "Ground: let it cool, measure {measure}, type it, enter."
            ));
        }
        let unsure = found.is_some_and(|size| size.stock_on_diameter_um.is_some());
        Advice::say(match found.and_then(|size| size.finish) {
            None if unsure => format!(
                "Measure {measure} again, without grinding: that tells how well it repeats. Ground since? o."
            ),
            None => format!("Measure {measure}, type it, enter."),
            Some(Finish::Left) if not_all_measured(open) => {
                format!("Before grinding, measure {measure} as well, type it, enter.")
            }
            Some(Finish::Left)
                if found.and_then(|size| size.next_pass) == Some(NextPass::AtSize) =>
            {
                "STOP: at size, as near as was asked for.".to_owned()
            }
            Some(Finish::Left) => {
                format!("Grind, press o, let it cool, measure {measure}, type it, enter.")
            }
            Some(Finish::AtSize) => "STOP: at size or under, within the uncertainty.".to_owned(),
            Some(Finish::Undersize | Finish::Oversize) => {
                "STOP: nothing puts that back. Measure once more, cool and clean, to be sure."
                    .to_owned()
            }
        })
    }

    fn show(open: &Open<'_, Self>, screen: &mut Screen) {
        let units = open.seen.units;
        screen.must = reading_if_any(open.seen).into_iter().collect();
        screen.must.push(left(open));
        let Some(size) = open.found else { return };
        let infeed = size.infeed_um.filter(|infeed| *infeed > 0.0);
        screen.may = infeed.map(|infeed| {
            let way = match open.step.size.infeed {
                Infeed::Axis => "square to axis",
                Infeed::Cone => "square to cone",
            };
            let under = format!("{}, {way}", units.small_sign());
            Value::of("INFEED", units.small_plain(infeed), under)
        });
        screen.banner = banner(size, units);
        if size.half_angle_deg.is_some() {
            screen.undecided = format!("half angle: {NO_TOLERANCE}");
        }
        screen.sign = size.verdict.map(|found| {
            let parts = verdict::held_against(
                "half angle ",
                size.half_angle_error_arcsec,
                size.half_angle_expanded_arcsec,
                size.limits_arcsec,
            );
            verdict::sign(found, size.undecided_because, parts)
        });
        facts(screen, size, open.step.size.infeed, units);
    }

    /// The planes; before anything can be computed, what was measured.
    fn listing(open: &Open<'_, Self>) -> Option<Listing> {
        let units = open.seen.units;
        if let Some(size) = open.found.filter(|size| !size.planes.is_empty()) {
            let heading = format!("plane {}", units.long_sign());
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
            let table = Table::newest_last(columns(&heading, units), rows);
            return Some(Listing::Table(table));
        }
        let rows = open.status.marks.iter().filter_map(|mark| {
            let place = match &mark.at {
                Some(Place::Plane { plane }) => units.length(*plane),
                _ => mark.place.clone(),
            };
            Some(row(units, place, mark.value?.value_mm, None, None))
        });
        let table = Table::newest_last(columns("where", units), rows);
        Some(Listing::Table(table))
    }
}

/// What is measured, and where.
fn measured(open: &Open<'_, SizePlan>) -> String {
    let what = match open.step.by {
        SizeBy::Sections => "the diameter",
        SizeBy::StandOff => return "how far it stops short of its seat".to_owned(),
        SizeBy::Rollers { .. } => "the measurement over the rollers",
        SizeBy::Balls { .. } => "the depth of the ball's top",
    };
    match open.seen.next() {
        Some(place) => format!("{what} at {place}"),
        None => what.to_owned(),
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
        Some(Finish::Undersize) => ("UNDERSIZE by", true),
        Some(Finish::Oversize) => ("OVERSIZE by", true),
        _ => ("LEFT on diameter", false),
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
            Some(arcsec) => format!("by {:.1} arcsec", arcsec.abs()),
            None => format!("by {}", units.um(disagree.by_um)),
        };
        return Some(Sign {
            word: "GROUND BETWEEN?".to_owned(),
            meaning: Meaning::Doubtful,
            parts: vec![format!(
                "the rounds disagree {by} from round {} on",
                disagree.from_round
            )],
        });
    }
    let (word, meaning, text) = match size.finish? {
        Finish::Left => return None,
        Finish::AtSize => (
            "AT SIZE OR UNDER",
            Meaning::Doubtful,
            "what is left is within the uncertainty: stop here".to_owned(),
        ),
        Finish::Undersize => (
            "UNDERSIZE",
            Meaning::Bad,
            format!("{by} too small on diameter"),
        ),
        Finish::Oversize => (
            "OVERSIZE",
            Meaning::Bad,
            format!("the bore is {by} too large"),
        ),
    };
    let at = size.stock_plane_mm;
    let at = at.map(|plane| format!("at plane {}", units.long_text(plane, 2)));
    Some(Sign {
        word: word.to_owned(),
        meaning,
        parts: [text].into_iter().chain(at).collect(),
    })
}

fn facts(screen: &mut Screen, size: &SizeOutcome, way: Infeed, units: Style) {
    let square = |um: Option<f64>, to: &str| {
        um.map(|um| format!("{} square to the {to}", units.signed_um(um)))
    };
    let axis = square(size.infeed_square_to_axis_um, "axis");
    let cone = square(size.infeed_square_to_cone_um, "cone");
    // The way that this machine feeds stands first.
    let infeed = match way {
        Infeed::Axis => [axis, cone],
        Infeed::Cone => [cone, axis],
    };
    screen.fact("INFEED", infeed.into_iter().flatten().collect());
    if let Some(split) = &size.passes {
        let (roughing, then) = passes(split, |um| units.um(um), units);
        screen.fact("PASSES", [roughing].into_iter().chain(then).collect());
    }
    if let Some(next) = size.next_pass {
        let next = next_pass(next, |um| units.um(um), units);
        screen.fact("NEXT PASS", vec![next]);
    }
    if let Some(last) = size.ground.last() {
        let left = [last.expected_um, last.after_um].map(|um| units.um(um));
        let [expected, measured] = left;
        screen.fact(
            "LAST PASS",
            vec![format!("expected {expected}"), format!("left {measured}")],
        );
    }
    if let Some(deg) = size.half_angle_deg {
        let u = size
            .half_angle_expanded_arcsec
            .map(|u| format!(" ± {u:.1} arcsec"))
            .unwrap_or_default();
        let angle = Angle::from_deg(deg).dms(1);
        screen.fact("CONE", vec![format!("half angle {angle}{u}")]);
    }
}

fn columns(place: &str, units: Style) -> [Column; 4] {
    let unit = units.sign();
    [
        Column::right(place, 14),
        Column::right(format!("measured {unit}"), 12),
        Column::right(format!("wanted {unit}"), 12).spare(),
        Column::right(format!("left {}", units.small_sign()), 10),
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
