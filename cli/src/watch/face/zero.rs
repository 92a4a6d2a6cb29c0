//! The zero step: the residual, what to tap to which reading, and when enough is enough.

use super::value::reading;
use super::{Face, Sign, Strip, Table, Value, um, verdict, worth};
use crate::watch::advice::{self, Advice, next};
use crate::watch::digits;
use crate::watch::figures::{Units, arcsec};
use crate::watch::state::Watch;
use crate::watch::target::Target;
use crate::watch::words;
use metrology::setup::Setup;
use metrology::uncertainty::{Undecided, Verdict};
use metrology::zero::ZeroOutcome;
use metrology::zero::level::Level;
use metrology::{Angle, Unit};
use protocol::api::Status;
use protocol::fold::Outcome;
use protocol::plan::{About, ZeroPlan};

fn zero(status: &Status) -> Option<&ZeroOutcome> {
    let Outcome::Zero(zero) = status.outcome.as_ref()? else {
        return None;
    };
    Some(zero)
}

pub fn face(watch: &Watch, status: &Status, plan: &ZeroPlan, now_s: f64) -> Face {
    let units = watch.look.units;
    let zero = zero(status);
    let rounds = zero.is_some_and(|zero| !zero.rounds.is_empty());
    let mut face = Face {
        must: vec![reading(watch, now_s), residual(watch, zero)],
        may: third(watch, status, now_s),
        strip: Strip::Count,
        rounds: true,
        ..Face::idle(watch, now_s)
    };
    let Some(zero) = zero else { return face };
    if rounds {
        "no tolerance was stated, so there is no verdict".clone_into(&mut face.undecided);
    }
    face.learned = learned(zero);
    let setup = status.setup.as_ref();
    if plan.about == About::Level {
        face.sign = zero
            .verdict
            .map(|found| enough(found, zero.undecided_because, zero.level.as_ref(), units));
        if let Some(level) = &zero.level {
            face.fact("WORTH", level_worth(level, setup, units));
        }
        return face;
    }
    face.sign = zero
        .verdict
        .map(|found| verdict(found, zero.undecided_because, words::verdict_parts(zero)));
    face.fact("WORTH", words::worth(zero, setup, units));
    face
}

/// Enough is soon enough where the worth is of second order: the word says so.
fn enough(found: Verdict, because: Option<Undecided>, level: Option<&Level>, units: Units) -> Sign {
    let parts = level.map_or_else(Vec::new, |level| {
        let most = worth(level.at_most_um, units);
        vec![
            format!("{most} on diameter at most"),
            "the residual's uncertainty counted in".to_owned(),
        ]
    });
    let mut sign = verdict(found, because, parts);
    match found {
        Verdict::In => "ENOUGH",
        Verdict::Out => "NOT ENOUGH",
        Verdict::Undecided => "UNDECIDED",
    }
    .clone_into(&mut sign.word);
    sign
}

fn level_worth(level: &Level, setup: Option<&Setup>, units: Units) -> Vec<String> {
    let mut parts = vec![format!("{} on diameter", worth(level.worth_um, units))];
    if let Some(length) = setup.and_then(words::length) {
        parts.push(format!(" over its {} mm", length.decimal(Unit::Mm)));
    }
    parts.push(match level.angle_arcsec.abs() {
        least if least < 0.005 => "under 0.01 arcsec of half angle".to_owned(),
        arcsec => format!("{arcsec:.2} arcsec of half angle"),
    });
    parts.push(format!(
        "the axis rises {} over it",
        um(level.rise_um, units)
    ));
    parts
}

fn residual(watch: &Watch, zero: Option<&ZeroOutcome>) -> Value {
    let label = match zero.and_then(|zero| zero.rounds.last()) {
        Some(round) if round.clamped => format!("RESIDUAL, round {}, tight", round.round),
        Some(round) => format!("RESIDUAL, round {}", round.round),
        None => "RESIDUAL".to_owned(),
    };
    let under = match zero {
        Some(zero) if zero.residual_arcsec.is_some() => words::residual_state(
            zero.cone,
            zero.residual_expanded_arcsec,
            zero.display_expanded_arcsec,
        ),
        Some(zero) if zero.moved.is_some() => "the set-up was moved".to_owned(),
        _ => "no round yet".to_owned(),
    };
    let value = zero.and_then(|zero| zero.residual_arcsec).map(arcsec);
    Value::computed(watch, label, value, under)
}

/// What is left to go while there is a count, else the next station.
fn third(watch: &Watch, status: &Status, now_s: f64) -> Option<Value> {
    if let Some(count) = advice::advice(watch, now_s).count {
        return Some(Value::to_go(watch.look, count));
    }
    let next = next(watch, status).filter(|s| digits::drawable(s))?;
    let round = status.next_round.map(|round| format!("round {round}"));
    let mut value = Value::of(watch.look, "NEXT", next, round.unwrap_or_default());
    value.widest.clear();
    Some(value)
}

pub fn advice(watch: &Watch, status: &Status, plan: &ZeroPlan, now_s: f64) -> Advice {
    let next = next(watch, status).unwrap_or_else(|| "A".to_owned());
    if words::round_under_way(status) {
        return under_way(watch, status, &next, now_s);
    }
    let rounds = zero(status).is_some_and(|zero| !zero.rounds.is_empty());
    if !rounds {
        let pass = pass(status.setup.as_ref());
        return Advice::say(format!(
            "First round: go to {next}, let it settle, mark. The pass is {pass}."
        ));
    }
    between_rounds(watch, status, plan, &next, now_s)
}

/// A round that is not closed yet, and already tells a slope, already tells a tap: tapping right after B is normal practice.
fn under_way(watch: &Watch, status: &Status, next: &str, now_s: f64) -> Advice {
    let of_this_round = |zero: &&ZeroOutcome| {
        let last = zero.rounds.last().map(|round| round.round);
        last == status.next_round && zero.verdict != Some(Verdict::In)
    };
    let loose = !status.clamped && zero(status).filter(of_this_round).is_some();
    match Target::of(status).filter(|_| loose) {
        Some(target) => {
            let then = format!("go to {next} and mark it");
            let mut advice = Advice::toward(&target, watch, &then, now_s);
            if advice.count.is_none() {
                advice.text = format!("{} Or close the round: mark {next}.", advice.text);
            }
            advice
        }
        None => Advice::say(format!("Round under way: go to {next} and mark it.")),
    }
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
fn between_rounds(
    watch: &Watch,
    status: &Status,
    plan: &ZeroPlan,
    next: &str,
    now_s: f64,
) -> Advice {
    let zero = zero(status);
    let good = zero.and_then(|zero| zero.verdict) == Some(Verdict::In);
    let round_clamped = zero
        .and_then(|zero| zero.rounds.last())
        .is_some_and(|round| round.clamped);
    if status.clamped != round_clamped {
        // Loosened, the last round tells of another setting, and so does its tap.
        return Advice::say(if status.clamped {
            format!("Clamp tight: a round from {next} shows what tightening did.")
        } else {
            format!("Clamp loose: a round from {next} shows where it stands now.")
        });
    }
    let target = Target::of(status);
    let shift = zero.and_then(|zero| zero.clamp_shift.as_ref());
    let aims_off = !round_clamped && shift.is_some_and(|shift| shift.agree);
    let word = if plan.about == About::Level {
        "ENOUGH"
    } else {
        "In tolerance"
    };
    if good && status.clamped {
        return Advice::say(format!("{word} with the clamp tight: nothing more to tap."));
    }
    if status.clamped {
        return Advice::say("Loosen the clamp (key c) before the next tap.");
    }
    if good && !aims_off {
        return Advice::say(format!(
            "{word} while loose: tighten the clamp, key c, then mark a round."
        ));
    }
    if aims_off && zero.is_some_and(stands_at_its_aim) {
        return Advice::say(format!(
            "Aimed off as the clamp wants it: tighten it, key c, then mark a round, from {next}."
        ));
    }
    if zero.is_some_and(|zero| zero.at_target) {
        return Advice::say(format!(
            "At the target as near as the display shows: mark another round from {next}, or tighten the clamp, key c."
        ));
    }
    let Some(target) = target else {
        return Advice::say(format!("Mark the next round, from {next}."));
    };
    let then = format!("mark a round, from {next}");
    Advice::toward(&target, watch, &then, now_s)
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

fn learned(zero: &ZeroOutcome) -> Vec<(&'static str, String)> {
    let mut entries = Vec::new();
    if let Some(pivot) = &zero.pivot {
        let rounds: Vec<_> = pivot.from_rounds.iter().map(u32::to_string).collect();
        let from = if rounds.is_empty() {
            ", given".to_owned()
        } else {
            format!(", from rounds {}", rounds.join(" "))
        };
        let u = pivot.u_mm.map(|u| format!(" ± {u:.1}")).unwrap_or_default();
        entries.push((
            "TURNS",
            format!("about {:.1}{u} mm from A{from}", pivot.position_mm),
        ));
    }
    if let Some(shift) = &zero.clamp_shift {
        let agree = if shift.agree {
            "they agree"
        } else {
            "not yet enough to aim off"
        };
        entries.push((
            "CLAMP",
            format!(
                "tightening turns it by {} arcsec ({} seen, {agree})",
                arcsec(Angle::from_rad(shift.slope.atan()).arcsec()),
                shift.count
            ),
        ));
    }
    if let Some(level) = &zero.level {
        entries.push((
            "AXES",
            format!("{:.1} mm apart, part and wheel", level.axes_mm),
        ));
    }
    entries
}

/// The rounds, the newest last.
pub fn table(status: &Status, units: Units, width: u16) -> Option<Table> {
    let zero = zero(status)?;
    let small = units.small_sign();
    let span = status
        .setup
        .as_ref()
        .and_then(|setup| setup.stations.iter().map(|s| s.position).max());
    let wide = width >= 60;
    let mut head = format!("{:>5} {:>10} {:>7}", "round", "arcsec", "u");
    if let Some(span) = span {
        head.push_str(&format!(" {:>12}", format!("{small}/{:.0} mm", span.mm())));
    }
    if wide {
        head.push_str(&format!(
            " {:>10} {:>8}",
            format!("{small}/min"),
            format!("bow {small}")
        ));
    }
    head.push_str("  clamp");
    let row = |round: &metrology::zero::Round| {
        let mut line = format!(
            "{:>5} {:>10} {:>7}",
            round.round,
            arcsec(round.residual_arcsec),
            round
                .residual_u_arcsec
                .map_or(String::new(), |u| format!("{u:.2}"))
        );
        if let Some(span) = span {
            let over = units.small_signed(round.slope * span.um());
            line.push_str(&format!(" {over:>12}"));
        }
        if wide {
            // What is not known is left empty.
            let known = |um: Option<f64>| um.map(|um| units.small_signed(um)).unwrap_or_default();
            let (drift, bow) = (known(round.drift_um_per_min), known(round.bow_um));
            line.push_str(&format!(" {drift:>10} {bow:>8}"));
        }
        line.push_str(if round.clamped { "  TIGHT" } else { "  loose" });
        line
    };
    Some(Table {
        head,
        rows: zero.rounds.iter().map(row).collect(),
        newest_last: true,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::watch::look::Look;
    use metrology::Length;
    use metrology::setup::{BigEnd, Fixture, IndicatorSide, Sense};
    use metrology::zero::{ZeroMark, outcome};
    use protocol::api::Live;
    use protocol::plan::{Plan, Work};

    fn setup(indicator: IndicatorSide) -> Setup {
        Setup {
            taper: metrology::taper::Taper::from_half_angle(
                "1:12",
                "1:12".parse().unwrap(),
                "ISO 1119",
            )
            .ok(),
            length: Some("30mm".parse().unwrap()),
            tolerance: Some("5arcsec".parse().unwrap()),
            sense: Some(Sense {
                big_end: BigEnd::A,
                indicator,
            }),
            ..Setup::default()
        }
    }

    /// A round over 80 mm whose reading rises by so much.
    fn round(setup: &Setup, rise_mm: f64) -> ZeroOutcome {
        let mark = |station: &str, position_mm, value_mm| ZeroMark {
            round: 1,
            station: station.to_owned(),
            position_mm,
            value_mm,
            sd_mm: Some(1e-4),
            readings: 20,
            resolution: Length::from_pm(100_000),
            time_s: None,
            clamped: false,
            setting: 0,
        };
        let marks = [
            mark("A", 0.0, 0.0),
            mark("B", 80.0, rise_mm),
            mark("A", 0.0, 0.0),
        ];
        outcome(setup, &marks).unwrap()
    }

    /// What the clamp takes back is 1e-4, three times alike: aimed off by it the round is out of tolerance, as it should be,
    /// and the next thing to do is to tighten.
    #[test]
    fn aimed_off_as_wanted_it_says_to_tighten() {
        let mut setup = setup(IndicatorSide::Wheel);
        setup.fixture = Some(Fixture {
            name: "plate".to_owned(),
            pivot: Some("10mm".parse().unwrap()),
            learned_pivot: None,
            clamp_shifts: vec![-1e-4; 3],
        });
        let said = |rise_mm| {
            let zero = round(&setup, rise_mm);
            assert_eq!(zero.verdict, Some(Verdict::Out));
            let status = Status {
                outcome: Some(Outcome::Zero(zero)),
                setup: Some(setup.clone()),
                plan: Some(Plan::of(Work::Zero(ZeroPlan::default()))),
                next_mark: Some("A".to_owned()),
                ..Status::default()
            };
            let mut watch = Watch::new(Look::of(None, None));
            watch.on_live(Live::Snapshot(Box::new(status.clone())), 0.0);
            advice(&watch, &status, &ZeroPlan::default(), 0.0).text
        };
        assert!(said(0.008).contains("tighten it, key c"), "{}", said(0.008));
        assert!(!said(0.012).contains("tighten it"), "{}", said(0.012));
    }

    /// On the opposite side a falling reading is a steeper cone: the verdict's number is that of the cone.
    #[test]
    fn the_number_beside_the_verdict_has_the_verdict_s_sign() {
        let mut setup = setup(IndicatorSide::Opposite);
        setup.tolerance = Some("+AT4".parse().unwrap());
        // 30 µrad, 6.2″.
        let zero = round(&setup, -0.0024);
        assert_eq!(zero.verdict, Some(Verdict::In));
        assert_eq!(zero.cone, Some(metrology::zero::Sloping::Steeper));
        let parts = words::verdict_parts(&zero).concat();
        assert!(parts.contains("+6.2"), "{parts}");
    }
}
