//! A sweep: by stations or recorded; then the line, what it says of the half angle, and how straight it is.

use super::parts::{Advice, Column, Listing, Screen, Strip, Table, Value};
use super::plot::{Line, Plot, from_first};
use super::shown::{Open, Shown};
use super::target::Target;
use super::units::arcsec;
use super::value::{is_short, reading};
use super::verdict;
use super::words::{outliers, residual_state};
use crate::api::SoFar;
use crate::evidence::Place;
use crate::sheet::sweep::filter;
use crate::sheet::words::NO_TOLERANCE;
use crate::step::SweepPlan;
use crate::style::Style;
use metrology::setup::Setup;
use metrology::sweep::{PositionsFrom, Subject, SweepOutcome};
use metrology::uncertainty::Verdict;
use metrology::{Angle, Counted};

impl Shown for SweepPlan {
    /// The profile, as far as it was marked at stations.
    fn plot(open: &Open<'_, Self>) -> Option<Plot> {
        let units = open.seen.units;
        let points = from_first(&open.status.marks, units, |place| match place {
            Place::Station(station) => Some(units.long(station.position.mm())),
            _ => None,
        });
        let axes = [
            format!("from A, {}", units.long_sign()),
            format!("reading from the first, {}", units.small_sign()),
        ];
        Line::of("Profile", axes, points).map(Plot::Line)
    }

    fn target(sweep: &SweepOutcome) -> Option<Target> {
        sweep.tap.as_ref().map(Target::tap)
    }

    fn advice(open: &Open<'_, Self>) -> Advice {
        let sweep = &open.step.sweep;
        let next = open.seen.next();
        if open.status.recording {
            return Advice::say(match sweep.positions {
                PositionsFrom::Feed => "Feed on evenly, and mark the end as you pass it.",
                _ => "Move along the part at any pace, and mark the end.",
            });
        }
        let Some(found) = open.found else {
            let place = next.unwrap_or_else(|| "a place".to_owned());
            return Advice::say(match sweep.positions {
                PositionsFrom::Stations => {
                    format!("Go to {place}, let it settle, mark; then the next.")
                }
                PositionsFrom::Feed => {
                    format!("Feed evenly, and mark ({place}) as you pass where it begins.")
                }
                PositionsFrom::Cable => format!("Stand where it begins, and mark ({place})."),
            });
        };
        if found.verdict == Some(Verdict::In) {
            return Advice::say("In tolerance: nothing to tap. Key s opens the next step.");
        }
        if let Some(target) = Self::target(found) {
            return target.advice(open.seen, "sweep again in a new step, key s");
        }
        if sweep.subject == Subject::Part {
            return Advice::say("This is how the part came out. Key s opens the next step.");
        }
        Advice::say(match next {
            Some(next) => format!("Go on to {next}, or key s for the next step."),
            None => "Key s opens the next step.".to_owned(),
        })
    }

    fn show(open: &Open<'_, Self>, screen: &mut Screen) {
        let stations = open.step.sweep.positions == PositionsFrom::Stations;
        let units = open.seen.units;
        screen.must = vec![reading(open.seen)];
        screen.rounds = stations;
        if open.status.recording {
            recorded_so_far(open, screen);
            return;
        }
        let Some(sweep) = open.found else {
            screen.must.extend(next_place(open));
            return;
        };
        screen.must.push(half_angle(open, sweep));
        screen.may = match &screen.advice.count {
            Some(count) => Some(Value::to_go(count)),
            None if stations && open.seen.next().is_some() => next_place(open),
            None => {
                let straight = units.small_plain(sweep.straightness_mz_um);
                Some(Value::of("STRAIGHT", straight, units.small_sign()))
            }
        };
        if sweep.tap.is_some() {
            screen.strip = Strip::Count;
        }
        NO_TOLERANCE.clone_into(&mut screen.undecided);
        let (value, expanded) = judged(sweep);
        screen.sign = sweep.verdict.map(|found| {
            let parts =
                verdict::held_against("half angle ", Some(value), expanded, sweep.limits_arcsec);
            verdict::sign(found, sweep.undecided_because, parts)
        });
        let setup = open.status.setup.as_ref();
        screen.fact("WORTH", worth(sweep, setup, units));
        screen.fact("FORM", form(sweep, units));
        screen.fact("POINTS", points(sweep, units));
    }

    /// Station by station how far the reading lies off the line.
    fn listing(open: &Open<'_, Self>) -> Option<Listing> {
        let units = open.seen.units;
        let setup = open.setup();
        // The line is one of lengths, and a lever or a check's correction lies between them and what is shown.
        let true_mm = |shown: f64| {
            setup
                .as_ref()
                .map_or(shown, |setup| setup.indicator.true_mm(shown))
        };
        let rows = open.status.marks.iter().filter_map(|mark| {
            let value = mark.value?;
            let off = match (&mark.at, open.found) {
                (Some(Place::Station(at)), Some(line)) => {
                    let there = line.intercept_mm + line.slope * at.position.mm();
                    units.small_signed((true_mm(value.value_mm) - there) * 1e3)
                }
                _ => String::new(),
            };
            let shown = units.reading(value.value_mm, Some(value.resolution), 1);
            Some(vec![mark.place.clone(), shown, off])
        });
        let columns = [
            Column::right("station", 10),
            Column::right(units.sign(), 12),
            Column::right(format!("off line {}", units.small_sign()), 12),
        ];
        Some(Listing::Table(Table::newest_last(columns, rows)))
    }
}

/// The half angle's error where it is known, else the line's slope against the travel, each with its uncertainty.
const fn judged(sweep: &SweepOutcome) -> (f64, Option<f64>) {
    match sweep.half_angle_error_arcsec {
        Some(error) => (error, sweep.half_angle_expanded_arcsec),
        None => (sweep.residual_arcsec, sweep.residual_expanded_arcsec),
    }
}

fn half_angle(open: &Open<'_, SweepPlan>, sweep: &SweepOutcome) -> Value {
    let (value, expanded) = judged(sweep);
    let label = match sweep.half_angle_error_arcsec {
        Some(_) => "HALF ANGLE off by",
        None => "LINE against the travel",
    };
    let shown = arcsec(value);
    let under = residual_state(&shown, sweep.cone, expanded, None);
    Value::computed(open.seen, label, Some(shown), under)
}

fn recorded_so_far(open: &Open<'_, SweepPlan>, screen: &mut Screen) {
    let units = open.seen.units;
    let Some(SoFar::Sweep {
        points,
        range_um,
        slope,
        bow_um,
    }) = open.seen.so_far
    else {
        let none = Value::computed(open.seen, "RANGE", None, "no reading yet");
        screen.must.push(none);
        return;
    };
    let range = units.small_plain(range_um);
    // Room for one more digit before the point: it grows while it is looked at.
    let widest = format!("0{range}");
    let range = Value::of("RANGE so far", range, units.small_sign()).widest(widest);
    screen.must.push(range);
    let slope = slope.map(|slope| arcsec(Angle::from_rad(slope.atan()).arcsec()));
    screen.may = Some(match &slope {
        Some(slope) => Value::of("LINE so far", slope.clone(), "arcsec"),
        None => Value::of("READINGS", points.to_string(), ""),
    });
    let mut parts = vec![format!("range {}", units.um(range_um))];
    parts.extend(slope.map(|slope| format!("line {slope} arcsec")));
    parts.extend(bow_um.map(|bow| format!("bow {}", units.signed_um(bow))));
    parts.push(format!("{points} placed readings"));
    screen.fact("SO FAR", parts);
}

fn worth(sweep: &SweepOutcome, setup: Option<&Setup>, units: Style) -> Vec<String> {
    let mut worth = Vec::new();
    if let Some(taper) = sweep.over_taper_um {
        worth.push(format!("{} on diameter", units.signed_um(taper)));
        if let Some(length) = setup.and_then(Setup::taper_length) {
            worth.push(format!(" over its {}", units.length(length)));
        }
    }
    let swept = sweep.to_mm - sweep.from_mm;
    worth.push(format!(
        "{} over the swept {}",
        units.signed_um(sweep.over_span_um),
        units.long_text(swept, 0)
    ));
    worth
}

fn form(sweep: &SweepOutcome, units: Style) -> Vec<String> {
    let mut form = vec![format!(
        "straight within {} (minimum zone)",
        units.um(sweep.straightness_mz_um)
    )];
    if let Some(bow) = sweep.bow_um {
        form.push(format!("bow {}", units.signed_um(bow)));
    }
    form.push(format!(
        "{} about the least squares line",
        units.um(sweep.straightness_ls_um)
    ));
    form
}

fn points(sweep: &SweepOutcome, units: Style) -> Vec<String> {
    let mut points = vec![Counted(sweep.points, "point").to_string()];
    points.extend(outliers(
        sweep.outliers,
        &sweep.outlier_rows,
        sweep.rejected,
    ));
    points.push(format!(
        "from {} to {}",
        units.long_number(sweep.from_mm, 1),
        units.long_text(sweep.to_mm, 1)
    ));
    let filtered = sweep.filtered.as_ref();
    points.extend(filtered.map(|filtered| format!("filter {}", filter(filtered, units))));
    points
}

/// The place of the next mark, large where it has a short name.
fn next_place(open: &Open<'_, SweepPlan>) -> Option<Value> {
    let next = open.seen.next()?;
    Some(match &open.status.next_place {
        Some(Place::Station(station))
            if open.seen.user.place.is_none() && is_short(&station.name) =>
        {
            Value::next(&station.name, "station")
        }
        _ => Value::next(&next, "station"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::api::{MarkLine, Status};
    use crate::evidence::MarkValue;
    use crate::screen::seen::Seen;
    use metrology::Length;
    use metrology::setup::Station;

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
        let found = SweepOutcome {
            slope: shown_mm * 30_f64.to_radians().cos() / length,
            ..SweepOutcome::default()
        };
        let status = Status {
            marks: vec![mark(1, 0.0, 0.0), mark(2, length, shown_mm)],
            setup: Some(setup),
            ..Status::default()
        };
        let open = Open {
            seen: &Seen::default(),
            status: &status,
            step: &SweepPlan::default(),
            found: Some(&found),
        };
        let Some(Listing::Table(table)) = SweepPlan::listing(&open) else {
            panic!("a table");
        };
        assert_eq!(table.rows.len(), 2);
        for row in &table.rows {
            let off: f64 = row[2].parse().unwrap();
            assert!(off.abs() < 1e-6, "{row:?}");
        }
    }
}
