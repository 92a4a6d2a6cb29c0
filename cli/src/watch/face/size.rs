//! Size: what is left on diameter, as infeed and passes; and a word that cannot be missed when there is too little.

use super::value::reading_if_any;
use super::{Face, Sign, Table, Value, signed_um, um, unsigned, verdict};
use crate::watch::advice::{Advice, next};
use crate::watch::figures::Units;
use crate::watch::state::Watch;
use crate::watch::words;
use metrology::size::{Finish, Infeed, SizeOutcome};
use protocol::api::Status;
use protocol::evidence::Place;
use protocol::fold::Outcome;
use protocol::plan::{SizeBy, SizePlan};
use ratatui::style::Color;

fn size(status: &Status) -> Option<&SizeOutcome> {
    let Outcome::Size(size) = status.outcome.as_ref()? else {
        return None;
    };
    Some(size)
}

pub fn face(watch: &Watch, status: &Status, plan: &SizePlan, now_s: f64) -> Face {
    let look = watch.look;
    let units = look.units;
    let size = size(status);
    let mut face = Face {
        must: reading_if_any(watch, now_s).into_iter().collect(),
        ..Face::idle(watch, now_s)
    };
    face.must.push(left(watch, size));
    face.may = size
        .and_then(|size| size.infeed_um)
        .filter(|infeed| *infeed > 0.0)
        .map(|infeed| {
            let way = match plan.size.infeed {
                Infeed::Axis => "square to axis",
                Infeed::Cone => "square to cone",
            };
            let under = format!("{}, {way}", units.small_sign());
            Value::of(look, "INFEED", unsigned(infeed, units), under)
        });
    let Some(size) = size else { return face };
    face.banner = banner(size, units);
    if size.half_angle_deg.is_some() {
        "no tolerance was stated, so there is no verdict on the half angle"
            .clone_into(&mut face.undecided);
    }
    face.sign = size.verdict.map(|found| {
        let parts = words::held_against(
            "half angle ",
            size.half_angle_error_arcsec,
            size.half_angle_expanded_arcsec,
            size.limits_arcsec,
        );
        verdict(found, size.undecided_because, parts)
    });
    facts(&mut face, size, plan.size.infeed, units);
    face
}

fn left(watch: &Watch, size: Option<&SizeOutcome>) -> Value {
    let units = watch.look.units;
    let stock = size.and_then(|size| size.stock_on_diameter_um);
    let gone = size.and_then(|size| size.finish);
    let label = match gone {
        Some(Finish::Undersize) => "UNDERSIZE by",
        Some(Finish::Oversize) => "OVERSIZE by",
        _ => "LEFT on diameter",
    };
    let value = match gone {
        Some(Finish::Undersize | Finish::Oversize) => stock.map(|um| unsigned(um, units)),
        _ => stock.map(|um| units.small_signed(um).trim_start_matches('+').to_owned()),
    };
    let under = match size.and_then(|size| size.stock_expanded_um) {
        Some(u) => format!("{}, ± {} (95 %)", units.small_sign(), unsigned(u, units)),
        None => units.small_sign().to_owned(),
    };
    let value = Value::computed(watch, label, value, under);
    match gone {
        Some(Finish::Undersize | Finish::Oversize) => value.plated(watch.look, Color::Red),
        _ => value,
    }
}

fn banner(size: &SizeOutcome, units: Units) -> Option<Sign> {
    let by = size.stock_on_diameter_um.map(|stock| um(stock, units));
    let by = by.unwrap_or_default();
    if let Some(disagree) = &size.rounds_disagree {
        let by = match disagree.by_arcsec {
            Some(arcsec) => format!("by {:.1} arcsec", arcsec.abs()),
            None => format!("by {}", um(disagree.by_um.abs(), units)),
        };
        return Some(Sign {
            word: "GROUND BETWEEN?".to_owned(),
            colour: Color::Yellow,
            parts: vec![format!(
                "the rounds disagree {by} from round {} on",
                disagree.from_round
            )],
        });
    }
    let (word, colour, mut parts) = match size.finish? {
        Finish::Left => return None,
        Finish::AtSize => (
            "AT SIZE OR UNDER",
            Color::Yellow,
            vec!["what is left is within the uncertainty: stop here".to_owned()],
        ),
        Finish::Undersize => (
            "UNDERSIZE",
            Color::Red,
            vec![format!("{by} too small on diameter")],
        ),
        Finish::Oversize => (
            "OVERSIZE",
            Color::Red,
            vec![format!("the bore is {by} too large")],
        ),
    };
    parts.extend(
        size.stock_plane_mm
            .map(|plane| format!("at plane {plane:.2} mm")),
    );
    Some(Sign {
        word: word.to_owned(),
        colour,
        parts,
    })
}

fn facts(face: &mut Face, size: &SizeOutcome, way: Infeed, units: Units) {
    let mut infeed = Vec::new();
    if let Some(um) = size.infeed_square_to_axis_um {
        infeed.push(format!("{} square to the axis", signed_um(um, units)));
    }
    if let Some(um) = size.infeed_square_to_cone_um {
        infeed.push(format!("{} square to the cone", signed_um(um, units)));
    }
    if way == Infeed::Cone {
        // The way that this machine feeds stands first.
        infeed.reverse();
    }
    face.fact("INFEED", infeed);
    if let Some(passes) = &size.passes {
        let mut parts = vec![match passes.count {
            0 => "none before finishing".to_owned(),
            1 => format!("1 of {}", um(passes.last_um, units)),
            n => format!(
                "{n} of {}, the last {}",
                um(passes.depth_um, units),
                um(passes.last_um, units)
            ),
        }];
        parts.push(format!(
            "then {} for finishing",
            um(passes.finishing_um, units)
        ));
        face.fact("PASSES", parts);
    }
    let mut angle = Vec::new();
    if let Some(deg) = size.half_angle_deg {
        let u = size
            .half_angle_expanded_arcsec
            .map(|u| format!(" ± {u:.1} arcsec"))
            .unwrap_or_default();
        angle.push(format!(
            "half angle {}{u}",
            metrology::Angle::from_deg(deg).dms(1)
        ));
    }
    face.fact("CONE", angle);
}

pub fn advice(watch: &Watch, status: &Status, plan: &SizePlan) -> Advice {
    let what = match plan.by {
        SizeBy::Sections => "the diameter",
        SizeBy::StandOff => "how far it stops short of its seat",
        SizeBy::Rollers { .. } => "the measurement over the rollers",
        SizeBy::Balls { .. } => "the depth of the ball's top",
    };
    let place = match (next(watch, status), plan.by) {
        (Some(place), SizeBy::Sections | SizeBy::Rollers { .. } | SizeBy::Balls { .. }) => {
            format!(" at {place}")
        }
        _ => String::new(),
    };
    let found = size(status);
    let finish = found.and_then(|size| size.finish);
    if found.is_some_and(|size| size.rounds_disagree.is_some()) {
        return Advice::say(format!(
            "Was the part ground between? o: yes. If not, measure {what}{place} again."
        ));
    }
    if status.ground {
        return Advice::say(format!(
            "Ground: let it cool, measure {what}{place}, type it, enter."
        ));
    }
    let unsure = found.is_some_and(|size| size.stock_on_diameter_um.is_some());
    Advice::say(match finish {
        None if unsure => format!(
            "Measure {what}{place} again, without grinding: that tells how well it repeats. Ground since? o."
        ),
        None => format!("Measure {what}{place}, type it, enter."),
        Some(Finish::Left) => {
            format!("Grind, press o, let it cool, measure {what}{place}, type it, enter.")
        }
        Some(Finish::AtSize) => "STOP: at size or under, within the uncertainty.".to_owned(),
        Some(Finish::Undersize | Finish::Oversize) => {
            "STOP: nothing puts that back. Measure once more, cool and clean, to be sure."
                .to_owned()
        }
    })
}

/// The planes; before anything can be computed, what was measured.
pub fn table(status: &Status, units: Units) -> Option<Table> {
    let row = |place: &str, measured: f64, wanted: Option<f64>, stock: Option<f64>| {
        let mm = |mm: f64| {
            units
                .reading(mm, None, 1)
                .trim_start_matches('+')
                .to_owned()
        };
        format!(
            "{place:>14} {:>12} {:>12} {:>10}",
            mm(measured),
            wanted.map(mm).unwrap_or_default(),
            stock.map(|um| units.small_signed(um)).unwrap_or_default()
        )
    };
    let unit = units.sign();
    let head = |what: &str| {
        format!(
            "{what:>14} {:>12} {:>12} {:>10}",
            format!("measured {unit}"),
            format!("wanted {unit}"),
            format!("left {}", units.small_sign())
        )
    };
    if let Some(size) = size(status).filter(|size| !size.planes.is_empty()) {
        let rows = size.planes.iter().map(|plane| {
            let place = format!("{:.3}", plane.plane_mm);
            row(&place, plane.diameter_mm, plane.wanted_mm, plane.stock_um)
        });
        return Some(Table {
            head: head("plane mm"),
            rows: rows.collect(),
            newest_last: true,
        });
    }
    let rows = status.marks.iter().filter_map(|mark| {
        let place = match &mark.at {
            Some(Place::Plane { plane }) => plane.to_string(),
            _ => mark.place.clone(),
        };
        Some(row(&place, mark.value?.value_mm, None, None))
    });
    Some(Table {
        head: head("where"),
        rows: rows.collect(),
        newest_last: true,
    })
}
