//! A sweep: by stations or recorded; then the line, what it says of the half angle, and how straight it is.

use super::sheet::filter;
use crate::api::SoFar;
use crate::evidence::Place;
use crate::said;
use crate::screen::parts::{Advice, Column, Listing, Screen, Strip, Table, Value};
use crate::screen::plot::{Line, Plot, from_first};
use crate::screen::shown::{Open, Shown};
use crate::screen::target::Target;
use crate::screen::units::arcsec;
use crate::screen::value::{is_short, reading};
use crate::screen::verdict;
use crate::screen::words::{outliers, residual_state};
use crate::sheet::words::tolerance_missing;
use crate::step::SweepPlan;
use crate::style::Style;
use metrology::Angle;
use metrology::setup::Setup;
use metrology::sweep::{PositionsFrom, Subject, SweepOutcome};
use metrology::uncertainty::Verdict;

impl Shown for SweepPlan {
    /// The profile, as far as it was marked at stations.
    fn plot(open: &Open<'_, Self>) -> Option<Plot> {
        let units = open.seen.units;
        let points = from_first(&open.status.marks, units, |place| match place {
            Place::Station(station) => Some(units.long(station.position.mm())),
            _ => None,
        });
        let axes = [
            said!(units, "live-axis-from-a", unit = units.long_sign()),
            said!(units, "live-axis-from-first", unit = units.small_sign()),
        ];
        Line::of(said!(units, "live-profile"), axes, points).map(Plot::Line)
    }

    fn target(sweep: &SweepOutcome, style: Style) -> Option<Target> {
        sweep.tap.as_ref().map(|tap| Target::tap(tap, style))
    }

    fn advice(open: &Open<'_, Self>) -> Advice {
        let style = open.seen.units;
        let sweep = &open.step.sweep;
        let next = open.seen.next();
        let say = |text: String| Advice::say(style, text);
        if open.status.recording {
            return say(match sweep.positions {
                PositionsFrom::Feed => said!(style, "live-feed-on"),
                _ => said!(style, "live-move-along"),
            });
        }
        let Some(found) = open.found else {
            let place = next.unwrap_or_else(|| said!(style, "live-a-place"));
            return say(match sweep.positions {
                PositionsFrom::Stations => said!(style, "live-sweep-go-to", place = place),
                PositionsFrom::Feed => said!(style, "live-sweep-feed", place = place),
                PositionsFrom::Cable => said!(style, "live-sweep-begin", place = place),
            });
        };
        if found.verdict == Some(Verdict::In) {
            return say(said!(style, "live-nothing-to-tap"));
        }
        if let Some(target) = Self::target(found, style) {
            return target.advice(open.seen, &said!(style, "live-then-sweep-again"));
        }
        if sweep.subject == Subject::Part {
            return say(said!(style, "live-part-came-out"));
        }
        say(match next {
            Some(next) => said!(style, "live-go-on-to", place = next),
            None => said!(style, "live-key-s-next"),
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
            Some(count) => Some(Value::to_go(count, units)),
            None if stations && open.seen.next().is_some() => next_place(open),
            None => {
                let straight = units.small_plain(sweep.straightness_mz_um);
                let label = said!(units, "live-label-straight");
                Some(Value::of(label, straight, units.small_sign()))
            }
        };
        if sweep.tap.is_some() {
            screen.strip = Strip::Count;
        }
        screen.undecided = tolerance_missing(units);
        let (value, expanded) = judged(sweep);
        screen.sign = sweep.verdict.map(|found| {
            let parts = verdict::held_against(Some(value), expanded, sweep.limits_arcsec, units);
            verdict::sign(found, sweep.undecided_because, parts, units)
        });
        let setup = open.status.setup.as_ref();
        screen.fact(said!(units, "live-label-worth"), worth(sweep, setup, units));
        screen.fact(said!(units, "live-label-form"), form(sweep, units));
        screen.fact(said!(units, "live-label-points"), points(sweep, units));
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
            Column::right(said!(units, "live-station"), 10),
            Column::right(units.sign(), 12),
            Column::right(
                said!(units, "live-column-off-line", unit = units.small_sign()),
                12,
            ),
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
    let style = open.seen.units;
    let (value, expanded) = judged(sweep);
    let label = match sweep.half_angle_error_arcsec {
        Some(_) => said!(style, "live-label-half-angle"),
        None => said!(style, "live-label-line"),
    };
    let shown = arcsec(value, style);
    let under = residual_state(&shown, sweep.cone, expanded, None, style);
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
        let label = said!(units, "live-label-range");
        let none = Value::computed(open.seen, label, None, said!(units, "live-none-yet"));
        screen.must.push(none);
        return;
    };
    let range = units.small_plain(range_um);
    // Room for one more digit before the point: it grows while it is looked at.
    let widest = format!("0{range}");
    let label = said!(units, "live-label-range-so-far");
    let range = Value::of(label, range, units.small_sign()).widest(widest);
    screen.must.push(range);
    let slope = slope.map(|slope| arcsec(Angle::from_rad(slope.atan()).arcsec(), units));
    screen.may = Some(match &slope {
        Some(slope) => Value::of(
            said!(units, "live-label-line-so-far"),
            slope.clone(),
            "arcsec",
        ),
        None => Value::of(said!(units, "live-label-readings"), points.to_string(), ""),
    });
    let mut parts = vec![said!(units, "live-range", by = units.um(range_um))];
    parts.extend(slope.map(|slope| said!(units, "live-line", slope = slope)));
    parts.extend(bow_um.map(|bow| said!(units, "live-bow", bow = units.signed_um(bow))));
    parts.push(said!(units, "live-placed", readings = points));
    screen.fact(said!(units, "live-label-so-far"), parts);
}

fn worth(sweep: &SweepOutcome, setup: Option<&Setup>, units: Style) -> Vec<String> {
    let mut worth = Vec::new();
    if let Some(taper) = sweep.over_taper_um {
        let taper = units.signed_um(taper);
        worth.push(said!(units, "live-on-diameter", worth = taper));
        if let Some(length) = setup.and_then(Setup::taper_length) {
            let length = units.length(length);
            worth.push(said!(units, "live-over-its", length = length));
        }
    }
    let swept = sweep.to_mm - sweep.from_mm;
    worth.push(said!(
        units,
        "live-over-swept",
        worth = units.signed_um(sweep.over_span_um),
        length = units.long_text(swept, 0)
    ));
    worth
}

fn form(sweep: &SweepOutcome, units: Style) -> Vec<String> {
    let mut form = vec![said!(
        units,
        "live-straight-within",
        by = units.um(sweep.straightness_mz_um)
    )];
    if let Some(bow) = sweep.bow_um {
        form.push(said!(units, "live-bow", bow = units.signed_um(bow)));
    }
    form.push(said!(
        units,
        "live-about-line",
        by = units.um(sweep.straightness_ls_um)
    ));
    form
}

fn points(sweep: &SweepOutcome, units: Style) -> Vec<String> {
    let mut points = vec![said!(units, "live-points", count = sweep.points)];
    points.extend(outliers(
        sweep.outliers,
        &sweep.outlier_rows,
        sweep.rejected,
        units,
    ));
    points.push(said!(
        units,
        "live-from-to",
        from = units.long_number(sweep.from_mm, 1),
        to = units.long_text(sweep.to_mm, 1)
    ));
    let filtered = sweep.filtered.as_ref().map(|found| filter(found, units));
    points.extend(filtered.map(|filter| said!(units, "live-filter", filter = filter)));
    points
}

/// The place of the next mark, large where it has a short name.
fn next_place(open: &Open<'_, SweepPlan>) -> Option<Value> {
    let units = open.seen.units;
    let next = open.seen.next()?;
    let under = said!(units, "live-station");
    Some(match &open.status.next_place {
        Some(Place::Station(station))
            if open.seen.user.place.is_none() && is_short(&station.name) =>
        {
            Value::next(&station.name, &under, units)
        }
        _ => Value::next(&next, &under, units),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::api::{MarkLine, Status};
    use crate::evidence::MarkValue;
    use crate::screen::Seen;
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
