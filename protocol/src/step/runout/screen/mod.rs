//! Run-out: the total indicator reading while it turns; then where it stands out, how far, and how to true it.

mod listed_turn;

use crate::api::{SoFar, Status};
use crate::evidence::Place;
use crate::said;
use crate::screen::clock;
use crate::screen::parts::{Advice, Listing, Meaning, Screen, Strip, Value};
use crate::screen::plot::{Plot, Round, from_first};
use crate::screen::shown::{Open, Shown, ends, no_end};
use crate::screen::target::{Target, What};
use crate::screen::value::reading;
use crate::screen::verdict;
use crate::screen::words::{outliers, round_under_way};
use crate::sheet::words::limits_missing;
use crate::step::{AnglesFrom, RunoutPlan};
use crate::style::Style;
use metrology::runout::{OwnAmount, RunoutOutcome, Section};
use metrology::uncertainty::Verdict;

impl Shown for RunoutPlan {
    /// The clock, as far as it was read.
    fn plot(open: &Open<'_, Self>) -> Option<Plot> {
        let units = open.seen.units;
        let points = from_first(&open.status.marks, units, |place| match place {
            Place::Angle { angle, .. } => Some(angle.deg()),
            _ => None,
        });
        (!points.is_empty()).then(|| {
            Plot::Round(Round {
                title: said!(units, "live-round-the-clock"),
                unit: units.small_sign(),
                points,
                high_deg: open.found.map(|runout| runout.section.high_spot_deg),
            })
        })
    }

    fn place_wanted(style: Style) -> String {
        said!(style, "live-place-angle")
    }

    fn target(runout: &RunoutOutcome, style: Style) -> Option<Target> {
        let truing = runout.truing.as_ref()?;
        Some(Target {
            what: What::Part,
            place: clock::near(truing.at_deg, style),
            target_mm: truing.target_mm,
            move_um: -truing.move_um.abs(),
            trial: false,
            aim: None,
        })
    }

    /// What the marked turns hold counts without an end.
    fn loses(&self, status: &Status, style: Style) -> Option<String> {
        (status.recording && status.outcome.is_none()).then(|| no_end(style))
    }

    fn ends_recording(&self, style: Style) -> String {
        match self.angles {
            AnglesFrom::Turns => said!(style, "live-line-comes-by"),
            AnglesFrom::Clock | AnglesFrom::Steady => ends(style),
        }
    }

    fn advice(open: &Open<'_, Self>) -> Advice {
        if let Some(advice) = turning(open) {
            return advice;
        }
        let style = open.seen.units;
        let found = open.found;
        if open.step.reversal && found.is_some_and(|runout| runout.reversal.is_none()) {
            return Advice::say(style, said!(style, "live-reverse"));
        }
        match found.and_then(|runout| Self::target(runout, style)) {
            Some(target) => target.advice(open.seen, &said!(style, "live-then-runout-again")),
            None => Advice::say(style, said!(style, "live-nothing-to-true")),
        }
    }

    fn show(open: &Open<'_, Self>, screen: &mut Screen) {
        let units = open.seen.units;
        let style = open.seen.units;
        let clock = open.step.angles == AnglesFrom::Clock;
        let recording = open.status.recording;
        screen.must = vec![reading(open.seen)];
        screen.rounds = clock;
        let count = screen.advice.count.as_ref();
        if recording && count.is_none() {
            screen.must.push(tir_so_far(open));
        } else if let Some(runout) = open
            .found
            .filter(|_| !clock || !round_under_way(open.status))
        {
            screen.must.push(tir(open, &runout.section));
            screen.may = Some(count.map_or_else(
                || high_spot(&runout.section, style),
                |count| Value::to_go(count, style),
            ));
        } else {
            screen.must.extend(next_angle(open));
            screen.may = open.found.map(|runout| tir(open, &runout.section));
        }
        let Some(runout) = open.found else { return };
        let section = &runout.section;
        if runout.truing.is_some() && (count.is_some() || !recording) {
            screen.strip = Strip::Count;
        }
        screen.undecided = limits_missing(units);
        screen.sign = section.verdict.map(|found| {
            let mut parts = vec![said!(units, "live-runout", by = units.um(section.tir_um))];
            let limit = open.step.runout.limit.map(|limit| units.um(limit.um()));
            parts.extend(limit.map(|limit| said!(units, "live-allowed", limits = limit)));
            verdict::sign(found, section.undecided_because, parts, units)
        });
        facts(screen, runout, units);
        learned(screen, runout, units);
    }

    /// Planes where there are several, else the clock as it was read, else the orders.
    fn listing(open: &Open<'_, Self>) -> Option<Listing> {
        listed_turn::listing(open.found, &open.status.marks, open.seen.units)
    }
}

/// What to do while it is turned; none once that is over.
fn turning(open: &Open<'_, RunoutPlan>) -> Option<Advice> {
    let recording = open.status.recording;
    let nothing = open.status.outcome.is_none();
    let style = open.seen.units;
    let say = |text: String| Some(Advice::say(style, text));
    match open.step.angles {
        AnglesFrom::Turns if recording => {
            let target = open
                .found
                .and_then(|runout| RunoutPlan::target(runout, style));
            let Some(target) = target else {
                return say(said!(style, "live-turn-on"));
            };
            // Turns are marked on without an end: standing at the high spot is what tells that they are over.
            if open.seen.stands_at() == Some(&*target.place) {
                return None;
            }
            let last = open.seen.indicator().and_then(|i| i.last);
            let sentence = target.sentence(last.map(|last| last.resolution), style);
            say(said!(style, "live-turn-on-or-true", then = sentence))
        }
        AnglesFrom::Turns if nothing => say(said!(style, "live-draw-a-line")),
        AnglesFrom::Steady if recording => say(said!(style, "live-keep-turning")),
        AnglesFrom::Steady if nothing => say(said!(style, "live-let-it-turn")),
        AnglesFrom::Clock if nothing || round_under_way(open.status) => {
            let place = open.seen.next();
            let place = place.unwrap_or_else(|| said!(style, "live-next-angle"));
            say(said!(style, "live-turn-to", place = place))
        }
        _ => None,
    }
}

/// While it turns: what has come so far, and else what the marked turns tell.
fn tir_so_far(open: &Open<'_, RunoutPlan>) -> Value {
    let units = open.seen.units;
    let so_far = match open.seen.so_far {
        Some(SoFar::Runout { tir_um, .. }) => Some(tir_um),
        _ => open.found.map(|runout| runout.section.tir_um),
    };
    let value = so_far.map(|tir| units.small_plain(tir));
    let label = said!(units, "live-label-runout-so-far");
    let tir = Value::computed(open.seen, label, value, units.small_sign());
    let widest = format!("0{}", tir.value);
    tir.widest(widest).meaning(Meaning::Counting)
}

fn tir(open: &Open<'_, RunoutPlan>, section: &Section) -> Value {
    let units = open.seen.units;
    let value = Some(units.small_plain(section.tir_um));
    let under = said!(units, "live-tir", unit = units.small_sign());
    let tir = Value::computed(open.seen, said!(units, "live-label-runout"), value, under);
    match section.verdict {
        Some(Verdict::Out) => tir.meaning(Meaning::Bad),
        _ => tir,
    }
}

fn high_spot(section: &Section, style: Style) -> Value {
    let hour = clock::near_hour(section.high_spot_deg).to_string();
    let deg = style.number(section.high_spot_deg, 0);
    let under = said!(style, "live-under-hour", deg = deg, plane = "");
    Value::of(said!(style, "live-label-high-spot"), hour, under)
}

fn next_angle(open: &Open<'_, RunoutPlan>) -> Option<Value> {
    let style = open.seen.units;
    let next = open.seen.next()?;
    let value = match &open.status.next_place {
        Some(Place::Angle { angle, plane }) if open.seen.user.place.is_none() => {
            let plane = plane.map_or_else(String::new, |plane| {
                said!(
                    style,
                    "live-in-plane",
                    plane = style.written(plane.to_string())
                )
            });
            let degrees = clock::degrees(angle.deg(), style);
            // A whole hour is drawn large, any other angle in degrees.
            let (large, under) = if clock::is_whole(angle.deg()) {
                let under = said!(style, "live-under-hour", deg = degrees, plane = plane);
                (clock::time(angle.deg()), under)
            } else {
                let hour = clock::hour(angle.deg(), style);
                let under = said!(style, "live-under-degrees", hour = hour, plane = plane);
                (degrees, under)
            };
            Value::of(said!(style, "live-label-next"), large, under)
        }
        _ => Value::next_named(&next, style),
    };
    Some(value.widest("12"))
}

/// Where a plane is, mm, with as many decimals as it has in millimetres.
fn plane(mm: f64, units: Style) -> String {
    if units.inches() {
        units.long_text(mm, 3)
    } else {
        format!("{} mm", units.exact(mm))
    }
}

/// Limits between which a value lies.
fn between([low, high]: [f64; 2], units: Style) -> String {
    let (low, high) = (units.small_plain(low), units.small_plain(high));
    said!(units, "live-between", low = low, high = high)
}

fn facts(screen: &mut Screen, runout: &RunoutOutcome, units: Style) {
    let section = &runout.section;
    screen.fact(said!(units, "live-label-centre"), centre(section, units));
    let part = own(section, units);
    // The part's own figures stand in the place of those of the readings: one line for the form.
    let form = match part.is_empty() {
        true => form(section, units),
        false => Vec::new(),
    };
    screen.fact(said!(units, "live-label-part"), part);
    screen.fact(said!(units, "live-label-form"), form);
    let orders = (2..).zip(&section.harmonics_um).take(8);
    let order = |(order, um): (usize, &f64)| {
        let proved = section.proved_orders.contains(&order);
        let cause = match listed_turn::cause(order, units) {
            Some(cause) if proved => format!(" {cause}"),
            _ => String::new(),
        };
        format!("{order}{cause} {}", units.um(*um))
    };
    screen.fact(
        said!(units, "live-label-orders"),
        orders.map(order).collect(),
    );
    screen.fact(said!(units, "live-label-turns"), turns(section, units));
    if let Some(axis) = &runout.axis {
        let off = said!(
            units,
            "live-axis-off",
            by = units.um(axis.offset_um),
            plane = plane(axis.plane_mm, units),
            hour = clock::near(axis.offset_direction_deg, units)
        );
        let tilted = said!(
            units,
            "live-axis-tilted",
            by = units.number(axis.tilt_urad, 0),
            hour = clock::near(axis.direction_deg, units)
        );
        screen.fact(said!(units, "live-label-axis"), vec![off, tilted]);
    }
    if let Some(reversal) = &runout.reversal {
        let part = units.um(reversal.part.error_mz_um);
        let spindle = units.um(reversal.spindle.error_mz_um);
        screen.fact(
            said!(units, "live-label-apart"),
            vec![
                said!(units, "live-part-round", by = part),
                said!(units, "live-spindle", by = spindle),
            ],
        );
    }
}

fn centre(section: &Section, units: Style) -> Vec<String> {
    let spot = match section.high_spot_expanded_deg {
        Some(u) if u >= 180.0 => said!(units, "live-anywhere"),
        Some(u) => format!(" ± {u:.0}°"),
        None => String::new(),
    };
    let mut centre = vec![
        said!(units, "live-off", by = units.um(section.eccentricity_um)),
        said!(
            units,
            "live-high-spot",
            hour = clock::near(section.high_spot_deg, units),
            deg = units.number(section.high_spot_deg, 0),
            u = spot
        ),
    ];
    let limits = section.eccentricity_interval_um;
    centre.extend(limits.map(|limits| format!("95 %{}", between(limits, units))));
    centre
}

/// What the part itself does, without the scatter of the readings.
fn own(section: &Section, units: Style) -> Vec<String> {
    let own = |own: OwnAmount| units.um(own.um) + &between(own.interval_um, units);
    let parts = [
        section
            .part_runout
            .map(|runout| said!(units, "live-runout", by = own(runout))),
        section
            .part_roundness
            .map(|round| said!(units, "live-round-within", by = own(round))),
    ];
    let mut parts: Vec<String> = parts.into_iter().flatten().collect();
    if !parts.is_empty() {
        parts.push("95 %".to_owned());
    }
    parts
}

fn form(section: &Section, units: Style) -> Vec<String> {
    let zone = section
        .roundness_mz_um
        .map(|zone| said!(units, "live-round-zone", by = units.um(zone)));
    let squares = section
        .roundness_ls_um
        .map(|squares| said!(units, "live-about-circle", by = units.um(squares)));
    zone.into_iter().chain(squares).collect()
}

fn turns(section: &Section, units: Style) -> Vec<String> {
    let mut turns = vec![
        said!(units, "turns", count = section.turns),
        said!(units, "readings", count = section.points),
    ];
    let turn_s = section.turn_s.map(|s| units.number(s, 2));
    turns.extend(turn_s.map(|s| said!(units, "live-a-turn", seconds = s)));
    turns.extend(outliers(
        section.outliers,
        &section.outlier_rows,
        section.rejected,
        units,
    ));
    let same = section.synchronous_um.map(|um| units.um(um));
    turns.extend(same.map(|by| said!(units, "live-same-each-turn", by = by)));
    let other = section.asynchronous_um.map(|um| units.um(um));
    turns.extend(other.map(|by| said!(units, "live-turn-to-turn", by = by)));
    turns
}

fn learned(screen: &mut Screen, runout: &RunoutOutcome, units: Style) {
    for at in &runout.elsewhere {
        let text = said!(
            units,
            "live-runout-at",
            by = units.um(at.runout_um),
            plane = plane(at.plane_mm, units),
            hour = clock::near(at.high_spot_deg, units)
        );
        screen.detail(said!(units, "live-label-runout"), text);
    }
    if let Some(upr) = runout.filter_upr {
        let text = said!(units, "live-undulations", upr = upr);
        screen.detail(said!(units, "live-label-filter"), text);
    }
}
