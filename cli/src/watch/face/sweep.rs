//! A sweep: by stations or recorded; then the line, what it says of the half angle, and how straight it is.

use super::value::reading;
use super::{Face, Strip, Table, Value, outliers, signed_um, um, unsigned, verdict};
use crate::watch::advice::{self, Advice, next};
use crate::watch::digits;
use crate::watch::figures::{Units, arcsec};
use crate::watch::state::Watch;
use crate::watch::target::Target;
use crate::watch::words;
use metrology::Counted;
use metrology::sweep::{PositionsFrom, Subject, SweepOutcome};
use metrology::uncertainty::Verdict;
use metrology::{Angle, Unit};
use protocol::api::{SoFar, Status};
use protocol::evidence::Place;
use protocol::fold::Outcome;
use protocol::plan::SweepPlan;

fn sweep(status: &Status) -> Option<&SweepOutcome> {
    let Outcome::Sweep(sweep) = status.outcome.as_ref()? else {
        return None;
    };
    Some(sweep)
}

pub fn face(watch: &Watch, status: &Status, plan: &SweepPlan, now_s: f64) -> Face {
    let stations = plan.sweep.positions == PositionsFrom::Stations;
    let mut face = Face {
        must: vec![reading(watch, now_s)],
        rounds: stations,
        ..Face::idle(watch, now_s)
    };
    if status.recording {
        recorded_so_far(&mut face, watch);
        return face;
    }
    let Some(sweep) = sweep(status) else {
        let value = next_place(watch, status);
        face.must.extend(value);
        return face;
    };
    face.must.push(half_angle(watch, sweep));
    let count = advice::advice(watch, now_s).count;
    face.may = match count {
        Some(count) => Some(Value::to_go(watch.look, count)),
        None if stations && next(watch, status).is_some() => next_place(watch, status),
        None => Some(straightness(watch, sweep)),
    };
    if sweep.tap.is_some() {
        face.strip = Strip::Count;
    }
    "no tolerance was stated, so there is no verdict".clone_into(&mut face.undecided);
    let (value, expanded) = judged(sweep);
    face.sign = sweep.verdict.map(|found| {
        let parts = words::held_against("half angle ", value, expanded, sweep.limits_arcsec);
        verdict(found, sweep.undecided_because, parts)
    });
    facts(&mut face, sweep, status, watch.look.units);
    face
}

/// The half angle's error where it is known, else the line's slope against the travel, each with its uncertainty.
fn judged(sweep: &SweepOutcome) -> (Option<f64>, Option<f64>) {
    match sweep.half_angle_error_arcsec {
        Some(error) => (Some(error), sweep.half_angle_expanded_arcsec),
        None => (Some(sweep.residual_arcsec), sweep.residual_expanded_arcsec),
    }
}

fn half_angle(watch: &Watch, sweep: &SweepOutcome) -> Value {
    let (value, expanded) = judged(sweep);
    let label = match sweep.half_angle_error_arcsec {
        Some(_) => "HALF ANGLE off by",
        None => "LINE against the travel",
    };
    let under = words::residual_state(sweep.cone, expanded, None);
    Value::computed(watch, label, value.map(arcsec), under)
}

fn straightness(watch: &Watch, sweep: &SweepOutcome) -> Value {
    let units = watch.look.units;
    let value = unsigned(sweep.straightness_mz_um, units);
    Value::of(watch.look, "STRAIGHT", value, units.small_sign())
}

fn recorded_so_far(face: &mut Face, watch: &Watch) {
    let units = watch.look.units;
    let Some(SoFar::Sweep {
        points,
        range_um,
        slope,
        bow_um,
    }) = watch.so_far
    else {
        face.must
            .push(Value::computed(watch, "RANGE", None, "no reading yet"));
        return;
    };
    let small = units.small_sign();
    let mut range = Value::of(watch.look, "RANGE so far", unsigned(range_um, units), small);
    // Room for one more digit before the point: it grows while it is looked at.
    range.widest = format!("0{}", range.value);
    face.must.push(range);
    let slope = slope.map(|slope| arcsec(Angle::from_rad(slope.atan()).arcsec()));
    face.may = Some(match &slope {
        Some(slope) => Value::of(watch.look, "LINE so far", slope.clone(), "arcsec"),
        None => Value::of(watch.look, "READINGS", points.to_string(), ""),
    });
    let mut parts = vec![format!("range {}", um(range_um, units))];
    parts.extend(slope.map(|slope| format!("line {slope} arcsec")));
    parts.extend(bow_um.map(|bow| format!("bow {}", signed_um(bow, units))));
    parts.push(format!("{points} placed readings"));
    face.fact("SO FAR", parts);
}

fn facts(face: &mut Face, sweep: &SweepOutcome, status: &Status, units: Units) {
    let setup = status.setup.as_ref();
    let mut worth = Vec::new();
    if let Some(taper) = sweep.over_taper_um {
        worth.push(format!("{} on diameter", signed_um(taper, units)));
        if let Some(length) = setup.and_then(words::length) {
            worth.push(format!(" over its {} mm", length.decimal(Unit::Mm)));
        }
    }
    let swept = sweep.to_mm - sweep.from_mm;
    worth.push(format!(
        "{} over the swept {swept:.0} mm",
        signed_um(sweep.over_span_um, units)
    ));
    face.fact("WORTH", worth);
    let mut form = vec![format!(
        "straight within {} (minimum zone)",
        um(sweep.straightness_mz_um, units)
    )];
    if let Some(bow) = sweep.bow_um {
        form.push(format!("bow {}", signed_um(bow, units)));
    }
    form.push(format!(
        "{} about the least squares line",
        um(sweep.straightness_ls_um, units)
    ));
    face.fact("FORM", form);
    let mut points = vec![Counted(sweep.points, "point").to_string()];
    points.extend(outliers(
        sweep.outliers,
        &sweep.outlier_rows,
        sweep.rejected,
    ));
    points.push(format!(
        "from {:.1} to {:.1} mm",
        sweep.from_mm, sweep.to_mm
    ));
    if let Some(filtered) = &sweep.filtered {
        let left_out = filtered.left_out_mm.map_or(String::new(), |mm| {
            format!(", {mm} mm left out at each end")
        });
        points.push(format!(
            "form behind a {} filter of {} mm{left_out}",
            filtered.filter, filtered.cut_off_mm
        ));
    }
    face.fact("POINTS", points);
}

/// The place of the next mark, large where it has a short name.
fn next_place(watch: &Watch, status: &Status) -> Option<Value> {
    let next = next(watch, status)?;
    let look = watch.look;
    let short = match &status.next_place {
        Some(Place::Station(station)) if watch.place.is_none() => Some(station.name.clone()),
        _ => Some(next.clone()),
    };
    let mut value = match short.filter(|name| digits::drawable(name)) {
        Some(name) => Value::of(look, "NEXT", name, "station"),
        None => Value::of(look, "NEXT", "", next),
    };
    if value.value.is_empty() {
        value.value = "mark".to_owned();
    }
    value.widest.clear();
    Some(value)
}

pub fn advice(watch: &Watch, status: &Status, plan: &SweepPlan, now_s: f64) -> Advice {
    let next = next(watch, status);
    if status.recording {
        let how = match plan.sweep.positions {
            PositionsFrom::Feed => "Feed on evenly, and mark the end as you pass it.",
            _ => "Move along the part at any pace, and mark the end.",
        };
        return Advice::say(how);
    }
    let Some(sweep) = sweep(status) else {
        let place = next.unwrap_or_else(|| "a place".to_owned());
        return Advice::say(match plan.sweep.positions {
            PositionsFrom::Stations => {
                format!("Go to {place}, let it settle, mark; then the next.")
            }
            PositionsFrom::Feed => {
                format!("Feed evenly, and mark ({place}) as you pass where it begins.")
            }
            PositionsFrom::Cable => format!("Stand where it begins, and mark ({place})."),
        });
    };
    if sweep.verdict == Some(Verdict::In) {
        return Advice::say("In tolerance: nothing to tap. Key s opens the next step.");
    }
    match Target::of(status) {
        Some(target) => {
            let then = "sweep again in a new step, key s";
            Advice::toward(&target, watch, then, now_s)
        }
        None if plan.sweep.subject == Subject::Part => {
            Advice::say("This is how the part came out. Key s opens the next step.")
        }
        None => match next {
            Some(next) => Advice::say(format!("Go on to {next}, or key s for the next step.")),
            None => Advice::say("Key s opens the next step."),
        },
    }
}

/// Station by station how far the reading lies off the line.
pub fn table(status: &Status, units: Units) -> Option<Table> {
    let line = sweep(status);
    let indicator = status.setup.as_ref().map(|setup| match &status.plan {
        Some(plan) => plan.setup(setup).indicator.clone(),
        None => setup.indicator.clone(),
    });
    // The line is one of lengths, and a lever or a check's correction lies between them and what is shown.
    let true_mm = |shown: f64| indicator.as_ref().map_or(shown, |of| of.true_mm(shown));
    let rows = status.marks.iter().filter_map(|mark| {
        let value = mark.value?;
        let shown = units.reading(value.value_mm, Some(value.resolution), 1);
        let off = match (&mark.at, line) {
            (Some(Place::Station(at)), Some(line)) => {
                let there = line.intercept_mm + line.slope * at.position.mm();
                units.small_signed((true_mm(value.value_mm) - there) * 1e3)
            }
            _ => String::new(),
        };
        Some(format!("{:>10} {shown:>12} {off:>12}", mark.place))
    });
    Some(Table {
        head: format!(
            "{:>10} {:>12} {:>12}",
            "station",
            units.sign(),
            format!("off line {}", units.small_sign())
        ),
        rows: rows.collect(),
        newest_last: true,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use metrology::Length;
    use metrology::setup::{Setup, Station};
    use protocol::api::MarkLine;
    use protocol::evidence::MarkValue;

    /// A lever at 30° shows 1/cos 30° of what is there: on the line itself nothing is off it.
    #[test]
    fn off_the_line_is_told_in_lengths_also_by_a_lever() {
        let (length, shown_mm) = (80.0, 0.3);
        let mark = |number, at: f64, value_mm| MarkLine {
            number,
            station: None,
            place: at.to_string(),
            at: Some(Place::Station(Station {
                name: at.to_string(),
                position: Length::from_um(at as i64 * 1_000),
            })),
            round: 1,
            value: Some(MarkValue {
                value_mm,
                spread_um: 0.0,
                sd_um: None,
                readings: 1,
                resolution: Length::from_um(1),
            }),
        };
        let mut setup = Setup::default();
        setup.indicator.lever_angle = Some(Angle::from_deg(30.0));
        let slope = shown_mm * 30_f64.to_radians().cos() / length;
        let status = Status {
            outcome: Some(Outcome::Sweep(SweepOutcome {
                slope,
                ..SweepOutcome::default()
            })),
            marks: vec![mark(1, 0.0, 0.0), mark(2, length, shown_mm)],
            setup: Some(setup),
            ..Status::default()
        };
        let table = table(&status, Units::default()).unwrap();
        for row in &table.rows {
            let off: f64 = row.split_whitespace().last().unwrap().parse().unwrap();
            assert!(off.abs() < 1e-6, "{row}");
        }
    }
}
