//! The zero step: the residual, what to tap to which reading, and when enough is enough.

use super::parts::{Advice, Column, Listing, Screen, Sign, Strip, Table, Value};
use super::plot::{Line, Plot};
use super::shown::{Open, Shown};
use super::target::Target;
use super::units::arcsec;
use super::value::{is_short, reading};
use super::verdict;
use super::words::{residual_state, round_under_way};
use crate::api::Status;
use crate::sheet::Figure;
use crate::sheet::words::NO_TOLERANCE;
use crate::sheet::zero::{clamp, pivot};
use crate::step::{About, ZeroPlan};
use crate::style::Style;
use metrology::Angle;
use metrology::setup::Setup;
use metrology::taper::error_on_diameter_mm;
use metrology::uncertainty::{Undecided, Verdict};
use metrology::zero::level::Level;
use metrology::zero::{Round, ZeroOutcome};

impl Shown for ZeroPlan {
    fn target(zero: &ZeroOutcome) -> Option<Target> {
        zero.tap.as_ref().map(Target::tap)
    }

    /// A round that is under way has an outcome, if the ones before it have one.
    fn is_under_way(_status: &Status) -> bool {
        false
    }

    fn loses(&self, status: &Status) -> Option<String> {
        let round = status.next_round.filter(|_| round_under_way(status))?;
        Some(format!(
            "Round {round} is not complete, and would not count"
        ))
    }

    fn advice(open: &Open<'_, Self>) -> Advice {
        let next = open.seen.next().unwrap_or_else(|| "A".to_owned());
        if round_under_way(open.status) {
            return under_way(open, &next);
        }
        match open.found.filter(|zero| !zero.rounds.is_empty()) {
            Some(zero) => between_rounds(open, zero, &next),
            None => {
                let pass = pass(open.status.setup.as_ref());
                Advice::say(format!(
                    "First round: go to {next}, let it settle, mark. The pass is {pass}."
                ))
            }
        }
    }

    fn show(open: &Open<'_, Self>, screen: &mut Screen) {
        let units = open.seen.units;
        screen.must = vec![reading(open.seen), residual(open)];
        screen.may = third(open, screen);
        screen.strip = Strip::Count;
        screen.rounds = true;
        let Some(zero) = open.found else { return };
        if !zero.rounds.is_empty() {
            NO_TOLERANCE.clone_into(&mut screen.undecided);
        }
        learned(screen, zero, units);
        let setup = open.status.setup.as_ref();
        if open.step.about == About::Level {
            let level = zero.level.as_ref();
            screen.sign = zero
                .verdict
                .map(|found| enough(found, zero.undecided_because, level, units));
            if let Some(level) = level {
                screen.fact("WORTH", level_worth(level, setup, units));
            }
        } else {
            screen.sign = zero
                .verdict
                .map(|found| verdict::sign(found, zero.undecided_because, rests_on(zero)));
            screen.fact("WORTH", worth(zero, setup, units));
        }
    }

    /// The residual of each round.
    fn plot(open: &Open<'_, Self>) -> Option<Plot> {
        let zero = open.found?;
        let rounds = zero.rounds.iter();
        let points = rounds.map(|round| [f64::from(round.round), round.residual_arcsec]);
        let axes = ["round".to_owned(), "arcsec".to_owned()];
        let mut line = Line::of("Residual of each round", axes, points.collect())?;
        // Limits that lie unevenly about zero are of the half angle, whose sign may not be the residual's.
        line.limits = zero
            .limits_arcsec
            .filter(|[low, high]| (low + high).abs() < 1e-6 && open.step.about != About::Level);
        Some(Plot::Line(line))
    }

    /// The rounds, the newest last.
    fn listing(open: &Open<'_, Self>) -> Option<Listing> {
        let setup = open.status.setup.as_ref();
        let zero = open.found?;
        Some(Listing::Table(rounds(zero, setup, open.seen.units)))
    }

    /// The marks of the last two rounds.
    fn marks(open: &Open<'_, Self>) -> Option<String> {
        let marks = &open.status.marks;
        let newest = marks.last()?.round;
        let last = marks.iter().filter(|mark| mark.round + 1 >= newest);
        let words: Vec<_> = last
            .filter_map(|mark| {
                let value = mark.value?;
                let units = open.seen.units;
                let value = units.reading(value.value_mm, Some(value.resolution), 1);
                Some(format!("{}{} {value}", mark.place, mark.round))
            })
            .collect();
        (!words.is_empty()).then(|| words.join("  "))
    }
}

/// The verdict is of a round, and stays what it is while the set-up is tapped on.
fn rests_on(zero: &ZeroOutcome) -> Vec<String> {
    let mut parts = verdict::of_zero(zero);
    if let (Some(first), Some(round)) = (parts.first_mut(), zero.rounds.last()) {
        *first = format!("round {}: {first}", round.round);
    }
    parts
}

/// Enough is soon enough where the worth is of second order: the word says so.
fn enough(found: Verdict, because: Option<Undecided>, level: Option<&Level>, units: Style) -> Sign {
    let parts = level.map_or_else(Vec::new, |level| {
        let most = small_worth(level.at_most_um, units);
        vec![
            format!("{most} on diameter at most"),
            "the residual's uncertainty counted in".to_owned(),
        ]
    });
    let sign = verdict::sign(found, because, parts);
    let word = match found {
        Verdict::In => "ENOUGH".to_owned(),
        Verdict::Out => "NOT ENOUGH".to_owned(),
        Verdict::Undecided => sign.word,
    };
    Sign { word, ..sign }
}

/// A worth, which may be too small for its decimals.
fn small_worth(worth_um: f64, units: Style) -> String {
    if worth_um.abs() < 0.005 {
        format!("under {}", units.um(0.01))
    } else {
        units.um(worth_um)
    }
}

fn level_worth(level: &Level, setup: Option<&Setup>, units: Style) -> Vec<String> {
    let mut parts = vec![format!(
        "{} on diameter",
        small_worth(level.worth_um, units)
    )];
    parts.extend(over_its_length(setup, units));
    parts.push(match level.angle_arcsec.abs() {
        least if least < 0.005 => "under 0.01 arcsec of half angle".to_owned(),
        arcsec => format!("{arcsec:.2} arcsec of half angle"),
    });
    let rise = units.um(level.rise_um);
    parts.push(format!("the axis rises {rise} over it"));
    parts
}

/// It goes on from the part before.
fn over_its_length(setup: Option<&Setup>, units: Style) -> Option<String> {
    let length = setup.and_then(Setup::taper_length)?;
    Some(format!(" over its {}", units.length(length)))
}

/// What the residual is worth: on this part, and between the stations.
fn worth(zero: &ZeroOutcome, setup: Option<&Setup>, units: Style) -> Vec<String> {
    let mut parts = Vec::new();
    let small = units.small_sign();
    if let Some(taper_um) = zero.over_taper_um {
        let u = expanded_worth_um(zero, setup)
            .map(|u| format!(" ± {}", units.small_plain(u)))
            .unwrap_or_default();
        let worth = units.small_signed(taper_um);
        parts.push(format!("{worth}{u} {small} on diameter"));
        parts.extend(over_its_length(setup, units));
    }
    let last = setup.and_then(|setup| setup.stations.iter().map(|s| s.position).max());
    if let (Some(span_um), Some(last)) = (zero.over_span_um, last) {
        let worth = units.small_signed(span_um);
        parts.push(format!("{worth} {small} over {}", units.length(last)));
    }
    parts
}

/// What the residual's expanded uncertainty is worth on diameter.
fn expanded_worth_um(zero: &ZeroOutcome, setup: Option<&Setup>) -> Option<f64> {
    let setup = setup?;
    let expanded = Angle::from_arcsec(zero.residual_expanded_arcsec?);
    let half = setup.taper.as_ref()?.half_angle;
    Some(error_on_diameter_mm(half, expanded, setup.taper_length()?) * 1e3)
}

fn residual(open: &Open<'_, ZeroPlan>) -> Value {
    let label = match open.found.and_then(|zero| zero.rounds.last()) {
        Some(round) if round.clamped => format!("RESIDUAL, round {}, tight", round.round),
        Some(round) => format!("RESIDUAL, round {}", round.round),
        None => "RESIDUAL".to_owned(),
    };
    let shown = open.found.and_then(|zero| zero.residual_arcsec).map(arcsec);
    let under = match (open.found, &shown) {
        (Some(zero), Some(shown)) => residual_state(
            shown,
            zero.cone,
            zero.residual_expanded_arcsec,
            zero.display_expanded_arcsec,
        ),
        (Some(zero), None) if zero.moved.is_some() => "the set-up was moved".to_owned(),
        _ => "no round yet".to_owned(),
    };
    Value::computed(open.seen, label, shown, under)
}

/// What is left to go while there is a count, else the next station.
fn third(open: &Open<'_, ZeroPlan>, screen: &Screen) -> Option<Value> {
    if let Some(count) = &screen.advice.count {
        return Some(Value::to_go(count));
    }
    let next = open.seen.next().filter(|next| is_short(next))?;
    let round = open.status.next_round;
    let round = round.map(|round| format!("round {round}"));
    Some(Value::next(&next, &round.unwrap_or_default()))
}

/// A round that is not closed yet, and already tells a slope, already tells a tap: tapping right after B is normal practice.
fn under_way(open: &Open<'_, ZeroPlan>, next: &str) -> Advice {
    let of_this_round = |zero: &&ZeroOutcome| {
        let last = zero.rounds.last().map(|round| round.round);
        last == open.status.next_round && zero.verdict != Some(Verdict::In)
    };
    let loose = open.found.filter(|_| !open.status.clamped);
    let Some(target) = loose.filter(of_this_round).and_then(ZeroPlan::target) else {
        return Advice::say(format!("Round under way: go to {next} and mark it."));
    };
    let mut advice = target.advice(open.seen, &format!("go to {next} and mark it"));
    if advice.count.is_none() {
        advice.text = format!("{} Or close the round: mark {next}.", advice.text);
    }
    advice
}

fn pass(setup: Option<&Setup>) -> String {
    let names = setup.map(|setup| setup.pass.join(" ")).unwrap_or_default();
    if names.is_empty() {
        "A B A".to_owned()
    } else {
        names
    }
}

/// Between two rounds is the time to tap, to tighten, or to stop.
fn between_rounds(open: &Open<'_, ZeroPlan>, zero: &ZeroOutcome, next: &str) -> Advice {
    let clamped = open.status.clamped;
    let good = zero.verdict == Some(Verdict::In);
    let round_clamped = zero.rounds.last().is_some_and(|round| round.clamped);
    if clamped != round_clamped {
        // Loosened, the last round tells of another setting, and so does its tap.
        return Advice::say(if clamped {
            format!("Clamp tight: a round from {next} shows what tightening did.")
        } else {
            format!("Clamp loose: a round from {next} shows where it stands now.")
        });
    }
    let shift = zero.clamp_shift.as_ref();
    let aims_off = !round_clamped && shift.is_some_and(|shift| shift.agree);
    let word = match open.step.about {
        About::Level => "ENOUGH",
        About::Angle => "In tolerance",
    };
    if good && clamped {
        return Advice::say(format!(
            "{word} with the clamp tight: done. Next: sweep, or grind and size (key s)."
        ));
    }
    if clamped {
        return Advice::say("Loosen the clamp (key c) before the next tap.");
    }
    if good && !aims_off {
        return Advice::say(format!(
            "{word} while loose: tighten the clamp, key c, then mark a round."
        ));
    }
    if aims_off && stands_at_its_aim(zero) {
        return Advice::say(format!(
            "Aimed off as the clamp wants it: tighten it, key c, then mark a round, from {next}."
        ));
    }
    if zero.at_target {
        return Advice::say(format!(
            "At the target as near as the display shows: mark another round from {next}, or tighten the clamp, key c."
        ));
    }
    match ZeroPlan::target(zero) {
        Some(target) => target.advice(open.seen, &format!("mark a round, from {next}")),
        None => Advice::say(format!("Mark the next round, from {next}.")),
    }
}

/// Whether the last round lies where it is aimed, off by what the clamp is going to take back, as well as it can be told.
fn stands_at_its_aim(zero: &ZeroOutcome) -> bool {
    if zero.at_target {
        return true;
    }
    let aim = zero.tap.as_ref().and_then(|tap| tap.aim_arcsec);
    let expanded = zero.residual_expanded_arcsec;
    (zero.residual_arcsec.zip(aim).zip(expanded))
        .is_some_and(|((residual, aim), expanded)| (residual - aim).abs() <= expanded)
}

fn learned(screen: &mut Screen, zero: &ZeroOutcome, units: Style) {
    // Neither of these figures holds a moment.
    let text = |figure: Figure| figure.text(|_| String::new());
    if let Some(found) = &zero.pivot {
        screen.detail("TURNS", format!("about {}", text(pivot(found, units))));
    }
    if let Some(shift) = &zero.clamp_shift {
        screen.detail("CLAMP", format!("shifts by {}", text(clamp(shift, units))));
    }
    if let Some(level) = &zero.level {
        let apart = units.long_text(level.axes_mm, 1);
        let apart = format!("{apart} apart, part and wheel");
        screen.detail("AXES", apart);
    }
}

fn rounds(zero: &ZeroOutcome, setup: Option<&Setup>, units: Style) -> Table {
    let small = units.small_sign();
    let span = setup.and_then(|setup| setup.stations.iter().map(|s| s.position).max());
    // What is not known is left empty.
    let known = |um: Option<f64>| um.map(|um| units.small_signed(um)).unwrap_or_default();
    let row = |round: &Round| {
        let mut row = vec![
            round.round.to_string(),
            arcsec(round.residual_arcsec),
            units.cell(round.residual_u_arcsec, 2),
        ];
        row.extend(span.map(|span| units.small_signed(round.slope * span.um())));
        row.extend([known(round.drift_um_per_min), known(round.bow_um)]);
        row.push(if round.clamped { "TIGHT" } else { "loose" }.to_owned());
        row
    };
    let mut columns = vec![
        Column::right("round", 5),
        Column::right("arcsec", 10),
        Column::right("u", 7),
    ];
    columns.extend(
        span.map(|span| Column::right(format!("{small}/{}", units.long_text(span.mm(), 0)), 12)),
    );
    columns.extend([
        Column::right(format!("{small}/min"), 10).spare(),
        Column::right(format!("bow {small}"), 8).spare(),
        Column::left("clamp", 5),
    ]);
    Table::newest_last(columns, zero.rounds.iter().map(row))
}
