//! The zero step: the residual, what to tap to which reading, and when enough is enough.

use super::sheet::{clamp, pivot};
use crate::api::Status;
use crate::said;
use crate::screen::parts::{Advice, Column, Listing, Screen, Sign, Strip, Table, Value};
use crate::screen::plot::{Line, Plot};
use crate::screen::shown::{Open, Shown};
use crate::screen::target::Target;
use crate::screen::units::arcsec;
use crate::screen::value::{is_short, reading};
use crate::screen::verdict;
use crate::screen::words::{residual_state, round_under_way};
use crate::sheet::Figure;
use crate::sheet::words::tolerance_missing;
use crate::step::{About, ZeroPlan};
use crate::style::Style;
use metrology::Angle;
use metrology::setup::Setup;
use metrology::taper::error_on_diameter_mm;
use metrology::uncertainty::{Undecided, Verdict};
use metrology::zero::level::Level;
use metrology::zero::{Round, ZeroOutcome};

impl Shown for ZeroPlan {
    fn target(zero: &ZeroOutcome, style: Style) -> Option<Target> {
        zero.tap.as_ref().map(|tap| Target::tap(tap, style))
    }

    /// A round that is under way has an outcome, if the ones before it have one.
    fn is_under_way(_status: &Status) -> bool {
        false
    }

    fn loses(&self, status: &Status, style: Style) -> Option<String> {
        let round = status.next_round.filter(|_| round_under_way(status))?;
        Some(said!(style, "live-loses-round", round = round))
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
                let style = open.seen.units;
                let text = said!(style, "live-first-round", place = next, pass = pass);
                Advice::say(style, text)
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
            screen.undecided = tolerance_missing(units);
        }
        learned(screen, zero, units);
        let setup = open.status.setup.as_ref();
        if open.step.about == About::Level {
            let level = zero.level.as_ref();
            screen.sign = zero
                .verdict
                .map(|found| enough(found, zero.undecided_because, level, units));
            if let Some(level) = level {
                let worth = level_worth(level, setup, units);
                screen.fact(said!(units, "live-label-worth"), worth);
            }
        } else {
            screen.sign = zero.verdict.map(|found| {
                verdict::sign(found, zero.undecided_because, rests_on(zero, units), units)
            });
            screen.fact(said!(units, "live-label-worth"), worth(zero, setup, units));
        }
    }

    /// The residual of each round.
    fn plot(open: &Open<'_, Self>) -> Option<Plot> {
        let style = open.seen.units;
        let zero = open.found?;
        let rounds = zero.rounds.iter();
        let points = rounds.map(|round| [f64::from(round.round), round.residual_arcsec]);
        let axes = [said!(style, "column-round"), "arcsec".to_owned()];
        let title = said!(style, "live-residuals");
        let mut line = Line::of(title, axes, points.collect())?;
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
fn rests_on(zero: &ZeroOutcome, style: Style) -> Vec<String> {
    let mut parts = verdict::of_zero(zero, style);
    if let (Some(first), Some(round)) = (parts.first_mut(), zero.rounds.last()) {
        *first = said!(style, "live-of-round", round = round.round, what = &**first);
    }
    parts
}

/// Enough is soon enough where the worth is of second order: the word says so.
fn enough(found: Verdict, because: Option<Undecided>, level: Option<&Level>, units: Style) -> Sign {
    let parts = level.map_or_else(Vec::new, |level| {
        let most = small_worth(level.at_most_um, units);
        vec![
            said!(units, "live-at-most", worth = most),
            said!(units, "live-counted-in"),
        ]
    });
    let sign = verdict::sign(found, because, parts, units);
    let word = match found {
        Verdict::In => said!(units, "live-enough"),
        Verdict::Out => said!(units, "live-not-enough"),
        Verdict::Undecided => sign.word,
    };
    Sign { word, ..sign }
}

/// A worth, which may be too small for its decimals.
fn small_worth(worth_um: f64, units: Style) -> String {
    if worth_um.abs() < 0.005 {
        said!(units, "live-under", least = units.um(0.01))
    } else {
        units.um(worth_um)
    }
}

fn level_worth(level: &Level, setup: Option<&Setup>, units: Style) -> Vec<String> {
    let mut parts = vec![said!(
        units,
        "live-on-diameter",
        worth = small_worth(level.worth_um, units)
    )];
    parts.extend(over_its_length(setup, units));
    let angle = match level.angle_arcsec.abs() {
        least if least < 0.005 => said!(units, "live-under", least = units.number(0.01, 2)),
        arcsec => units.number(arcsec, 2),
    };
    parts.push(said!(units, "live-of-half-angle", angle = angle));
    let rise = units.um(level.rise_um);
    parts.push(said!(units, "live-axis-rises", rise = rise));
    parts
}

/// It goes on from the part before.
fn over_its_length(setup: Option<&Setup>, units: Style) -> Option<String> {
    let length = setup.and_then(Setup::taper_length)?;
    Some(said!(units, "live-over-its", length = units.length(length)))
}

/// What the residual is worth: on this part, and between the stations.
fn worth(zero: &ZeroOutcome, setup: Option<&Setup>, units: Style) -> Vec<String> {
    let mut parts = Vec::new();
    let small = units.small_sign();
    if let Some(taper_um) = zero.over_taper_um {
        let u = expanded_worth_um(zero, setup)
            .map(|u| format!(" ± {}", units.small_plain(u)))
            .unwrap_or_default();
        let worth = format!("{}{u} {small}", units.small_signed(taper_um));
        parts.push(said!(units, "live-on-diameter", worth = worth));
        parts.extend(over_its_length(setup, units));
    }
    let last = setup.and_then(|setup| setup.stations.iter().map(|s| s.position).max());
    if let (Some(span_um), Some(last)) = (zero.over_span_um, last) {
        parts.push(said!(
            units,
            "live-over",
            worth = units.signed_um(span_um),
            length = units.length(last)
        ));
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
    let style = open.seen.units;
    let label = match open.found.and_then(|zero| zero.rounds.last()) {
        Some(round) if round.clamped => {
            said!(style, "live-label-residual-tight", round = round.round)
        }
        Some(round) => said!(style, "live-label-residual-round", round = round.round),
        None => said!(style, "live-label-residual"),
    };
    let shown = open.found.and_then(|zero| zero.residual_arcsec);
    let shown = shown.map(|residual| arcsec(residual, style));
    let under = match (open.found, &shown) {
        (Some(zero), Some(shown)) => residual_state(
            shown,
            zero.cone,
            zero.residual_expanded_arcsec,
            zero.display_expanded_arcsec,
            style,
        ),
        (Some(zero), None) if zero.moved.is_some() => said!(style, "was-moved"),
        _ => said!(style, "live-no-round-yet"),
    };
    Value::computed(open.seen, label, shown, under)
}

/// What is left to go while there is a count, else the next station.
fn third(open: &Open<'_, ZeroPlan>, screen: &Screen) -> Option<Value> {
    let style = open.seen.units;
    if let Some(count) = &screen.advice.count {
        return Some(Value::to_go(count, style));
    }
    let next = open.seen.next().filter(|next| is_short(next))?;
    let round = open.status.next_round;
    let round = round.map(|round| said!(style, "round-number", round = round));
    Some(Value::next(&next, &round.unwrap_or_default(), style))
}

/// A round that is not closed yet, and already tells a slope, already tells a tap: tapping right after B is normal practice.
fn under_way(open: &Open<'_, ZeroPlan>, next: &str) -> Advice {
    let of_this_round = |zero: &&ZeroOutcome| {
        let last = zero.rounds.last().map(|round| round.round);
        last == open.status.next_round && zero.verdict != Some(Verdict::In)
    };
    let style = open.seen.units;
    let loose = open.found.filter(|_| !open.status.clamped);
    let target = loose
        .filter(of_this_round)
        .and_then(|zero| ZeroPlan::target(zero, style));
    let Some(target) = target else {
        return Advice::say(style, said!(style, "live-round-under-way", place = next));
    };
    let mut advice = target.advice(open.seen, &said!(style, "live-then-mark-at", place = next));
    if advice.count.is_none() {
        let or = said!(style, "live-or-close-round", place = next);
        advice.text = format!("{} {or}", advice.text);
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
    let style = open.seen.units;
    let say = |text: String| Advice::say(style, text);
    let clamped = open.status.clamped;
    let good = zero.verdict == Some(Verdict::In);
    let round_clamped = zero.rounds.last().is_some_and(|round| round.clamped);
    if clamped != round_clamped {
        // Loosened, the last round tells of another setting, and so does its tap.
        return say(if clamped {
            said!(style, "live-clamped-now", place = next)
        } else {
            said!(style, "live-loosened-now", place = next)
        });
    }
    let shift = zero.clamp_shift.as_ref();
    let aims_off = !round_clamped && shift.is_some_and(|shift| shift.agree);
    let word = match open.step.about {
        About::Level => said!(style, "live-enough"),
        About::Angle => said!(style, "live-in-tolerance"),
    };
    if good && clamped {
        return say(said!(style, "live-done-tight", word = word));
    }
    if clamped {
        return say(said!(style, "live-loosen-first"));
    }
    if good && !aims_off {
        return say(said!(style, "live-tighten-now", word = word));
    }
    if aims_off && stands_at_its_aim(zero) {
        return say(said!(style, "live-aimed-off", place = next));
    }
    if zero.at_target {
        return say(said!(style, "live-at-target", place = next));
    }
    match ZeroPlan::target(zero, style) {
        Some(target) => target.advice(
            open.seen,
            &said!(style, "live-then-round-from", place = next),
        ),
        None => say(said!(style, "live-mark-next-round", place = next)),
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
        let about = said!(units, "live-about", pivot = text(pivot(found, units)));
        screen.detail(said!(units, "live-label-pivot"), about);
    }
    if let Some(shift) = &zero.clamp_shift {
        let shifts = said!(units, "live-shifts-by", shift = text(clamp(shift, units)));
        screen.detail(said!(units, "live-label-clamp"), shifts);
    }
    if let Some(level) = &zero.level {
        let apart = units.long_text(level.axes_mm, 1);
        let apart = said!(units, "live-axes-apart", apart = apart);
        screen.detail(said!(units, "live-label-axes"), apart);
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
            arcsec(round.residual_arcsec, units),
            units.cell(round.residual_u_arcsec, 2),
        ];
        row.extend(span.map(|span| units.small_signed(round.slope * span.um())));
        row.extend([known(round.drift_um_per_min), known(round.bow_um)]);
        row.push(match round.clamped {
            true => said!(units, "live-tight"),
            false => said!(units, "live-loose"),
        });
        row
    };
    let mut columns = vec![
        Column::right(said!(units, "live-column-round"), 5),
        Column::right("arcsec", 10),
        Column::right("u", 7),
    ];
    columns.extend(
        span.map(|span| Column::right(format!("{small}/{}", units.long_text(span.mm(), 0)), 12)),
    );
    columns.extend([
        Column::right(format!("{small}/min"), 10).spare(),
        Column::right(said!(units, "live-column-bow", unit = small), 8).spare(),
        Column::left(said!(units, "live-column-clamp"), 5),
    ]);
    Table::newest_last(columns, zero.rounds.iter().map(row))
}
