//! Run-out: the total indicator reading while it turns; then where it stands out, how far, and how to true it.

use super::clock;
use super::listed_turn;
use super::parts::{Advice, Listing, Meaning, Screen, Strip, Value};
use super::plot::{Plot, Round, from_first};
use super::shown::{ENDS, NO_END, Open, Shown};
use super::target::{Target, What};
use super::value::reading;
use super::verdict;
use super::words::{outliers, round_under_way};
use crate::api::{SoFar, Status};
use crate::evidence::Place;
use crate::sheet::words::NO_LIMIT;
use crate::step::{AnglesFrom, RunoutPlan};
use crate::style::Style;
use metrology::Counted;
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
                title: "Round the clock".to_owned(),
                unit: units.small_sign(),
                points,
                high_deg: open.found.map(|runout| runout.section.high_spot_deg),
            })
        })
    }

    const PLACE: &'static str = "angle, as 4h or 120";

    fn target(runout: &RunoutOutcome) -> Option<Target> {
        let truing = runout.truing.as_ref()?;
        Some(Target {
            what: What::Part,
            place: clock::near(truing.at_deg),
            target_mm: truing.target_mm,
            move_um: -truing.move_um.abs(),
            trial: false,
            aim: None,
        })
    }

    /// What the marked turns hold counts without an end.
    fn loses(&self, status: &Status) -> Option<String> {
        (status.recording && status.outcome.is_none()).then(|| NO_END.to_owned())
    }

    fn ends_recording(&self) -> &'static str {
        match self.angles {
            AnglesFrom::Turns => "space: the line comes by",
            AnglesFrom::Clock | AnglesFrom::Steady => ENDS,
        }
    }

    fn advice(open: &Open<'_, Self>) -> Advice {
        if let Some(advice) = turning(open) {
            return advice;
        }
        let found = open.found;
        if open.step.reversal && found.is_some_and(|runout| runout.reversal.is_none()) {
            return Advice::say(
                "Now turn the part half a turn in its chuck, the indicator across, and go round again.",
            );
        }
        match found.and_then(Self::target) {
            Some(target) => {
                let then = "TRUE there. Take the run-out again in a new step, key s";
                target.advice(open.seen, then)
            }
            None => Advice::say("No eccentricity is proved: nothing to true. Key s: next step."),
        }
    }

    fn show(open: &Open<'_, Self>, screen: &mut Screen) {
        let units = open.seen.units;
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
            screen.may = Some(count.map_or_else(|| high_spot(&runout.section), Value::to_go));
        } else {
            screen.must.extend(next_angle(open));
            screen.may = open.found.map(|runout| tir(open, &runout.section));
        }
        let Some(runout) = open.found else { return };
        let section = &runout.section;
        if runout.truing.is_some() && (count.is_some() || !recording) {
            screen.strip = Strip::Count;
        }
        NO_LIMIT.clone_into(&mut screen.undecided);
        screen.sign = section.verdict.map(|found| {
            let mut parts = vec![format!("run-out {}", units.um(section.tir_um))];
            let limit = open.step.runout.limit;
            parts.extend(limit.map(|limit| format!("allowed {}", units.um(limit.um()))));
            verdict::sign(found, section.undecided_because, parts)
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
    let say = |text: &str| Some(Advice::say(text));
    match open.step.angles {
        AnglesFrom::Turns if recording => {
            let Some(target) = open.found.and_then(RunoutPlan::target) else {
                return say("Turn on, and mark each time that the line comes by.");
            };
            // Turns are marked on without an end: standing at the high spot is what tells that they are over.
            if open.seen.stands_at() == Some(&*target.place) {
                return None;
            }
            let last = open.seen.indicator().and_then(|i| i.last);
            let sentence = target.sentence(last.map(|last| last.resolution), open.seen.units);
            Some(Advice::say(format!(
                "Turn on and mark; or key g once its high spot is under the indicator. {sentence}."
            )))
        }
        AnglesFrom::Turns if nothing => {
            say("Draw a line on the part, turn it, and mark as the line comes by.")
        }
        AnglesFrom::Steady if recording => {
            say("Keep it turning evenly for four turns or more, and mark the end.")
        }
        AnglesFrom::Steady if nothing => {
            say("Let it turn at a steady speed, and mark the beginning.")
        }
        AnglesFrom::Clock if nothing || round_under_way(open.status) => {
            let place = open.seen.next();
            let place = place.as_deref().unwrap_or("the next angle");
            Some(Advice::say(format!(
                "Turn to {place}, let it settle, mark."
            )))
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
    let tir = Value::computed(open.seen, "RUN-OUT so far", value, units.small_sign());
    let widest = format!("0{}", tir.value);
    tir.widest(widest).meaning(Meaning::Counting)
}

fn tir(open: &Open<'_, RunoutPlan>, section: &Section) -> Value {
    let units = open.seen.units;
    let value = Some(units.small_plain(section.tir_um));
    let under = format!("{}, TIR", units.small_sign());
    let tir = Value::computed(open.seen, "RUN-OUT", value, under);
    match section.verdict {
        Some(Verdict::Out) => tir.meaning(Meaning::Bad),
        _ => tir,
    }
}

fn high_spot(section: &Section) -> Value {
    let hour = clock::near(section.high_spot_deg);
    let hour = hour.split(' ').next().unwrap_or_default();
    let under = format!("o'clock = {:.0}°", section.high_spot_deg);
    Value::of("HIGH SPOT", hour, under)
}

fn next_angle(open: &Open<'_, RunoutPlan>) -> Option<Value> {
    let next = open.seen.next()?;
    let value = match &open.status.next_place {
        Some(Place::Angle { angle, plane }) if open.seen.user.place.is_none() => {
            let (large, unit) = clock::digits(angle.deg());
            let other = match unit {
                "degrees" => clock::hour(angle.deg()),
                _ => format!("{}°", clock::degrees(angle.deg())),
            };
            let plane = plane.map(|p| format!(", plane {p}")).unwrap_or_default();
            Value::of("NEXT", large, format!("{unit} = {other}{plane}"))
        }
        _ => Value::of("NEXT", "mark", next),
    };
    Some(value.widest("12"))
}

/// Where a plane is, mm, with as many decimals as it has in millimetres.
fn plane(mm: f64, units: Style) -> String {
    if units.inches() {
        units.long_text(mm, 3)
    } else {
        format!("{mm} mm")
    }
}

/// Limits between which a value lies.
fn between([low, high]: [f64; 2], units: Style) -> String {
    let (low, high) = (units.small_plain(low), units.small_plain(high));
    format!(" ({low} to {high})")
}

fn facts(screen: &mut Screen, runout: &RunoutOutcome, units: Style) {
    let section = &runout.section;
    screen.fact("CENTRE", centre(section, units));
    let part = own(section, units);
    // The part's own figures stand in the place of those of the readings: one line for the form.
    let form = match part.is_empty() {
        true => form(section, units),
        false => Vec::new(),
    };
    screen.fact("PART", part);
    screen.fact("FORM", form);
    let orders = (2..).zip(&section.harmonics_um).take(8);
    let order = |(order, um): (usize, &f64)| {
        let proved = section.proved_orders.contains(&order);
        let cause = match listed_turn::cause(order) {
            Some(cause) if proved => format!(" {cause}"),
            _ => String::new(),
        };
        format!("{order}{cause} {}", units.um(*um))
    };
    screen.fact("ORDERS", orders.map(order).collect());
    screen.fact("TURNS", turns(section, units));
    if let Some(axis) = &runout.axis {
        let off = format!(
            "{} off at {}, toward {}",
            units.um(axis.offset_um),
            plane(axis.plane_mm, units),
            clock::near(axis.offset_direction_deg)
        );
        let tilted = format!(
            "tilted by {:.0} µrad toward {}",
            axis.tilt_urad,
            clock::near(axis.direction_deg)
        );
        screen.fact("AXIS", vec![off, tilted]);
    }
    if let Some(reversal) = &runout.reversal {
        let part = units.um(reversal.part.error_mz_um);
        let spindle = units.um(reversal.spindle.error_mz_um);
        screen.fact(
            "APART",
            vec![
                format!("part round within {part}"),
                format!("spindle {spindle}"),
            ],
        );
    }
}

fn centre(section: &Section, units: Style) -> Vec<String> {
    let spot = match section.high_spot_expanded_deg {
        Some(u) if u >= 180.0 => ", may be anywhere".to_owned(),
        Some(u) => format!(" ± {u:.0}°"),
        None => String::new(),
    };
    let mut centre = vec![
        format!("{} off", units.um(section.eccentricity_um)),
        format!(
            "high spot at {} ({:.0}°{spot})",
            clock::near(section.high_spot_deg),
            section.high_spot_deg
        ),
    ];
    let limits = section.eccentricity_interval_um;
    centre.extend(limits.map(|limits| format!("95 %{}", between(limits, units))));
    centre
}

/// What the part itself does, without the scatter of the readings.
fn own(section: &Section, units: Style) -> Vec<String> {
    let own = |what: &str, own: Option<OwnAmount>| {
        let own = own?;
        let limits = between(own.interval_um, units);
        Some(format!("{what} {}{limits}", units.um(own.um)))
    };
    let parts = [
        own("run-out", section.part_runout),
        own("round within", section.part_roundness),
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
        .map(|zone| format!("round within {} (minimum zone)", units.um(zone)));
    let squares = section
        .roundness_ls_um
        .map(|squares| format!("{} about the least squares circle", units.um(squares)));
    zone.into_iter().chain(squares).collect()
}

fn turns(section: &Section, units: Style) -> Vec<String> {
    let mut turns = vec![
        Counted(section.turns, "turn").to_string(),
        Counted(section.points, "reading").to_string(),
    ];
    turns.extend(section.turn_s.map(|s| format!("{s:.2} s a turn")));
    turns.extend(outliers(
        section.outliers,
        &section.outlier_rows,
        section.rejected,
    ));
    let same = section.synchronous_um;
    turns.extend(same.map(|um| format!("{} the same each turn", units.um(um))));
    let other = section.asynchronous_um;
    turns.extend(other.map(|um| format!("{} from turn to turn", units.um(um))));
    turns
}

fn learned(screen: &mut Screen, runout: &RunoutOutcome, units: Style) {
    for at in &runout.elsewhere {
        let text = format!(
            "{} at {}, high at {}",
            units.um(at.runout_um),
            plane(at.plane_mm, units),
            clock::near(at.high_spot_deg)
        );
        screen.detail("RUN-OUT", text);
    }
    if let Some(upr) = runout.filter_upr {
        screen.detail(
            "FILTER",
            format!("{upr} undulations per turn, for roundness"),
        );
    }
}
