//! Run-out: the total indicator reading while it turns; then where it stands out, how far, and how to true it.

use super::value::reading;
use super::{Face, Strip, Table, Value, between, outliers, um, unsigned, verdict};
use crate::watch::advice::{self, Advice, next};
use crate::watch::clock;
use crate::watch::figures::Units;
use crate::watch::look::Look;
use crate::watch::state::Watch;
use crate::watch::target::Target;
use crate::watch::words;
use metrology::Counted;
use metrology::runout::{OwnAmount, RunoutOutcome, Section};
use metrology::uncertainty::Verdict;
use protocol::api::{MarkLine, SoFar, Status};
use protocol::evidence::Place;
use protocol::fold::Outcome;
use protocol::plan::{AnglesFrom, RunoutPlan};
use ratatui::style::Color;

fn runout(status: &Status) -> Option<&RunoutOutcome> {
    let Outcome::Runout(runout) = status.outcome.as_ref()? else {
        return None;
    };
    Some(runout)
}

pub fn face(watch: &Watch, status: &Status, plan: &RunoutPlan, now_s: f64) -> Face {
    let look = watch.look;
    let clock = plan.angles == AnglesFrom::Clock;
    let mut face = Face {
        must: vec![reading(watch, now_s)],
        rounds: clock,
        ..Face::idle(watch, now_s)
    };
    let runout = runout(status);
    let turning = clock && words::round_under_way(status);
    let count = advice::advice(watch, now_s).count;
    if status.recording && count.is_none() {
        face.must.push(turning_tir(watch, runout));
    } else if turning || runout.is_none() {
        face.must.extend(next_angle(watch, status));
        face.may = runout.map(|runout| tir(watch, &runout.section));
    } else if let Some(runout) = runout {
        face.must.push(tir(watch, &runout.section));
        face.may = match count {
            Some(count) => Some(Value::to_go(look, count)),
            None => Some(high_spot(watch, &runout.section)),
        };
    }
    let Some(runout) = runout else { return face };
    if runout.truing.is_some() && (count.is_some() || !status.recording) {
        face.strip = Strip::Count;
    }
    "no limit was stated, so there is no verdict".clone_into(&mut face.undecided);
    face.sign = runout.section.verdict.map(|found| {
        let mut parts = vec![format!("run-out {}", um(runout.section.tir_um, look.units))];
        parts.extend(
            plan.runout
                .limit
                .map(|limit| format!("allowed {}", um(limit.um(), look.units))),
        );
        verdict(found, runout.section.undecided_because, parts)
    });
    facts(&mut face, runout, look.units);
    face.learned = learned(runout, look.units);
    face
}

/// While it turns: what has come so far, and else what the marked turns tell.
fn turning_tir(watch: &Watch, runout: Option<&RunoutOutcome>) -> Value {
    let units = watch.look.units;
    let so_far = match watch.so_far {
        Some(SoFar::Runout { tir_um, .. }) => Some(tir_um),
        _ => runout.map(|runout| runout.section.tir_um),
    };
    let value = so_far.map(|tir| unsigned(tir, units));
    let mut tir = Value::computed(watch, "RUN-OUT so far", value, units.small_sign());
    tir.widest = format!("0{}", tir.value);
    tir.style = watch.look.ink(Color::Cyan).patch(watch.look.strong());
    tir
}

fn tir(watch: &Watch, section: &Section) -> Value {
    let units = watch.look.units;
    let value = Some(unsigned(section.tir_um, units));
    let under = format!("{}, TIR", units.small_sign());
    let mut tir = Value::computed(watch, "RUN-OUT", value, under);
    if section.verdict == Some(Verdict::Out) {
        tir.style = watch.look.ink(Color::Red).patch(watch.look.strong());
    }
    tir
}

fn high_spot(watch: &Watch, section: &Section) -> Value {
    let hour = clock::near(section.high_spot_deg);
    let hour = hour.split(' ').next().unwrap_or_default();
    let under = format!("o'clock = {:.0}°", section.high_spot_deg);
    Value::of(watch.look, "HIGH SPOT", hour, under)
}

fn next_angle(watch: &Watch, status: &Status) -> Option<Value> {
    let next = next(watch, status)?;
    let look = watch.look;
    let mut value = match (&status.next_place, &watch.place) {
        (Some(Place::Angle { angle, plane }), None) => {
            let (large, unit) = clock::digits(angle.deg());
            let other = match unit {
                "degrees" => clock::hour(angle.deg()),
                _ => format!("{}°", clock::degrees(angle.deg())),
            };
            let plane = plane.map(|p| format!(", plane {p}")).unwrap_or_default();
            Value::of(look, "NEXT", large, format!("{unit} = {other}{plane}"))
        }
        _ => Value::of(look, "NEXT", "mark", next),
    };
    "12".clone_into(&mut value.widest);
    Some(value)
}

/// The usual reading of an order. Common practice.
const fn reading_of(order: usize) -> &'static str {
    match order {
        2 => " ovality",
        3 => " three-jaw",
        _ => "",
    }
}

fn facts(face: &mut Face, runout: &RunoutOutcome, units: Units) {
    let section = &runout.section;
    let limits = |of: Option<[f64; 2]>| of.map(|l| between(l, units)).unwrap_or_default();
    let spot = section
        .high_spot_expanded_deg
        .map(|u| format!(" ± {u:.0}°"))
        .unwrap_or_default();
    face.fact(
        "CENTRE",
        vec![
            format!("{} off", um(section.eccentricity_um, units)),
            format!(
                "high spot at {} ({:.0}°{spot})",
                clock::near(section.high_spot_deg),
                section.high_spot_deg
            ),
            format!("95 %{}", limits(section.eccentricity_interval_um)),
        ]
        .into_iter()
        .filter(|part| part != "95 %")
        .collect(),
    );
    let own = |own: OwnAmount| format!("{}{}", um(own.um, units), limits(Some(own.interval_um)));
    let mut part: Vec<_> = (section.part_runout.iter())
        .map(|runout| format!("run-out {}", own(*runout)))
        .collect();
    part.extend(
        section
            .part_roundness
            .map(|roundness| format!("round within {}", own(roundness))),
    );
    // The part's own figures stand in the place of those of the readings: one line for the form.
    let own = !part.is_empty();
    if own {
        part.push("95 %".to_owned());
    }
    face.fact("PART", part);
    let mut form = Vec::new();
    if let Some(zone) = section.roundness_mz_um.filter(|_| !own) {
        form.push(format!("round within {} (minimum zone)", um(zone, units)));
    }
    if let Some(squares) = section.roundness_ls_um.filter(|_| !own) {
        form.push(format!(
            "{} about the least squares circle",
            um(squares, units)
        ));
    }
    face.fact("FORM", form);
    let orders = (2..).zip(&section.harmonics_um).take(8);
    face.fact(
        "ORDERS",
        orders
            .map(|(order, a)| {
                let proved = section.proved_orders.contains(&order);
                let cause = if proved { reading_of(order) } else { "" };
                format!("{order}{cause} {}", um(*a, units))
            })
            .collect(),
    );
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
    turns.extend(
        section
            .synchronous_um
            .map(|s| format!("{} the same each turn", um(s, units))),
    );
    turns.extend(
        section
            .asynchronous_um
            .map(|s| format!("{} from turn to turn", um(s, units))),
    );
    face.fact("TURNS", turns);
    if let Some(axis) = &runout.axis {
        face.fact(
            "AXIS",
            vec![
                format!(
                    "{} off at {} mm, toward {}",
                    um(axis.offset_um, units),
                    axis.plane_mm,
                    clock::near(axis.offset_direction_deg)
                ),
                format!(
                    "tilted by {:.0} µrad toward {}",
                    axis.tilt_urad,
                    clock::near(axis.direction_deg)
                ),
            ],
        );
    }
    if let Some(reversal) = &runout.reversal {
        face.fact(
            "APART",
            vec![
                format!("part round within {}", um(reversal.part.error_mz_um, units)),
                format!("spindle {}", um(reversal.spindle.error_mz_um, units)),
            ],
        );
    }
}

fn learned(runout: &RunoutOutcome, units: Units) -> Vec<(&'static str, String)> {
    let elsewhere = runout.elsewhere.iter().map(|at| {
        let text = format!(
            "{} at {} mm, high at {}",
            um(at.runout_um, units),
            at.plane_mm,
            clock::near(at.high_spot_deg)
        );
        ("RUN-OUT", text)
    });
    let filter = runout.filter_upr.map(|upr| {
        (
            "FILTER",
            format!("{upr} undulations per turn, for roundness"),
        )
    });
    elsewhere.chain(filter).collect()
}

pub fn advice(watch: &Watch, status: &Status, plan: &RunoutPlan, now_s: f64) -> Advice {
    let next = next(watch, status);
    let under_way = words::round_under_way(status);
    let target = Target::of(status);
    // Turns are marked on without an end: standing at the high spot is what tells that they are over.
    let over = target
        .as_ref()
        .is_some_and(|t| watch.stands_at() == Some(&t.place));
    match plan.angles {
        AnglesFrom::Turns if status.recording && over => {}
        AnglesFrom::Turns if status.recording && target.is_some() => {
            let resolution = watch.indicator(now_s).and_then(|i| i.value).map(|(_, r)| r);
            let sentence = target.map(|t| t.sentence(resolution, watch.look.units));
            return Advice::say(format!(
                "Turn on and mark; or key g once its high spot is under the indicator. {}.",
                sentence.unwrap_or_default()
            ));
        }
        AnglesFrom::Turns if status.recording => {
            return Advice::say("Turn on, and mark each time that the line comes by.");
        }
        AnglesFrom::Steady if status.recording => {
            return Advice::say("Keep it turning evenly for four turns or more, and mark the end.");
        }
        AnglesFrom::Clock if under_way || status.outcome.is_none() => {
            let place = next.unwrap_or_else(|| "the next angle".to_owned());
            return Advice::say(format!("Turn to {place}, let it settle, mark."));
        }
        AnglesFrom::Turns if status.outcome.is_none() => {
            return Advice::say("Draw a line on the part, turn it, and mark as the line comes by.");
        }
        AnglesFrom::Steady if status.outcome.is_none() => {
            return Advice::say("Let it turn at a steady speed, and mark the beginning.");
        }
        _ => {}
    }
    if plan.reversal && runout(status).is_some_and(|runout| runout.reversal.is_none()) {
        return Advice::say(
            "Now turn the part half a turn in its chuck, the indicator across, and go round again.",
        );
    }
    match target {
        Some(target) => {
            let then = "TRUE there. Take the run-out again in a new step, key s";
            Advice::toward(&target, watch, then, now_s)
        }
        None => Advice::say("No eccentricity is proved: nothing to true. Key s: next step."),
    }
}

/// Planes where there are several, else the clock as it was read, else the orders.
pub fn table(status: &Status, look: Look, width: u16) -> Option<Table> {
    let units = look.units;
    let runout = runout(status);
    if let Some(runout) = runout.filter(|runout| !runout.planes.is_empty()) {
        return Some(planes(&runout.planes, units));
    }
    let clock: Vec<_> = status.marks.iter().filter_map(|m| hour(m, units)).collect();
    if !clock.is_empty() {
        return Some(rounds(&clock, units, width));
    }
    runout.map(|runout| orders(&runout.section, look, width))
}

fn planes(planes: &[Section], units: Units) -> Table {
    let small = units.small_sign();
    let row = |section: &Section| {
        format!(
            "{:>9.2} {:>9} {:>9} {:>12} {:>9}",
            section.plane_mm.unwrap_or(0.0),
            unsigned(section.tir_um, units),
            unsigned(section.eccentricity_um, units),
            clock::near(section.high_spot_deg),
            section
                .roundness_mz_um
                .map(|um| unsigned(um, units))
                .unwrap_or_default()
        )
    };
    Table {
        head: format!(
            "{:>9} {:>9} {:>9} {:>12} {:>9}",
            "plane mm",
            format!("TIR {small}"),
            format!("off {small}"),
            "high spot",
            format!("round {small}")
        ),
        rows: planes.iter().map(row).collect(),
        newest_last: false,
    }
}

fn hour(mark: &MarkLine, units: Units) -> Option<String> {
    let (Some(Place::Angle { angle, .. }), Some(value)) = (&mark.at, mark.value) else {
        return None;
    };
    let shown = units.reading(value.value_mm, Some(value.resolution), 1);
    let hour = clock::hour(angle.deg()).replace(" o'clock", "h");
    Some(format!("{hour:>5} {shown:>9}"))
}

/// The angles as read, as many in a row as there is room for.
fn rounds(cells: &[String], units: Units, width: u16) -> Table {
    let per_row = (usize::from(width) / 18).clamp(1, 6);
    Table {
        head: format!("read round the clock, {}", units.sign()),
        rows: cells.chunks(per_row).map(|row| row.join("   ")).collect(),
        newest_last: true,
    }
}

fn orders(section: &Section, look: Look, width: u16) -> Table {
    let units = look.units;
    let largest = section.harmonics_um.iter().copied().fold(0.0, f64::max);
    let room = f64::from(width.saturating_sub(30).min(60));
    let ink = if look.blocks { "█" } else { "#" };
    let row = |(order, um): (usize, &f64)| {
        // A spectrum of nothing has no bars.
        let share = if largest > 0.0 { um / largest } else { 0.0 };
        let bar = ink.repeat((share * room).round() as usize);
        let name = reading_of(order).trim();
        format!("{order:>5} {:>9}  {name:<10} {bar}", unsigned(*um, units))
    };
    Table {
        head: format!("{:>5} {:>9}", "order", units.small_sign()),
        rows: (2..).zip(&section.harmonics_um).map(row).collect(),
        newest_last: false,
    }
}
