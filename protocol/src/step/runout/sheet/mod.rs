//! A run-out.

mod form;
mod harmonics;
mod reversal;

use crate::fold::setup_for;
use crate::record::StepRecord;
use crate::said;
use crate::sheet::compared::{Compare, Measured, Share, states};
use crate::sheet::plot::{Plot, Polar};
use crate::sheet::words::{self, direction};
use crate::sheet::{Amount, Column, Drawn, Figure, Headline, Interval, Part, Sheet, Table, Unit};
use crate::step::{RunoutInputs, RunoutPlan, Step, Work};
use crate::style::Style;
use form::Form;
use metrology::runout::{Axis, OwnAmount, RunoutOutcome, Section, Truing, profiles};
use metrology::setup::Setup;
use serde::Serialize;

impl Drawn for RunoutPlan {
    fn sheet(
        setup: &Setup,
        runout: &RunoutOutcome,
        step: Option<&StepRecord>,
        style: Style,
    ) -> Sheet {
        let section = &runout.section;
        let mut parts = planes(runout, style);
        if let Some(step) = step {
            parts.extend(
                forms(setup, step, runout)
                    .iter()
                    .map(|(section, form)| round_a_turn(runout, section, form, style)),
            );
        }
        parts.extend(of_harmonics(runout, style));
        if let Some(reversal) = &runout.reversal {
            parts.extend(reversal::parts(reversal, style));
        }
        Sheet {
            headlines: vec![Headline::of(
                section.verdict,
                section.undecided_because,
                &words::limits_missing(style),
                style,
            )],
            figures: figures(setup, runout, style),
            parts,
            ..Sheet::default()
        }
    }

    fn budget_of(_outcome: &RunoutOutcome, style: Style) -> Option<String> {
        Some(said!(style, "budget-of-eccentricity"))
    }

    /// The first plane.
    fn as_read(
        setup: &Setup,
        runout: &RunoutOutcome,
        step: &StepRecord,
        style: Style,
    ) -> Option<Polar> {
        let forms = forms(setup, step, runout);
        let (_, form) = forms.first()?;
        Some(form.as_read(said!(style, "runout-of-step", step = step.number)))
    }
}

/// A run-out, for a comparison of sessions; of the first plane.
#[derive(Debug, Serialize)]
struct Round {
    /// Total indicator reading.
    tir_um: f64,
    eccentricity_um: f64,
    /// By the minimum zone.
    #[serde(skip_serializing_if = "Option::is_none")]
    roundness_mz_um: Option<f64>,
}

impl Compare for RunoutPlan {
    fn compare(steps: &[Measured<'_, RunoutOutcome>], style: Style) -> Share {
        let round = states(steps, |runout| Round {
            tir_um: runout.section.tir_um,
            eccentricity_um: runout.section.eccentricity_um,
            roundness_mz_um: runout.section.roundness_mz_um,
        });
        let round = round.as_ref();
        let um = |name: &str, um| {
            let amount = Amount::plain(um, Unit::Um);
            Some(Figure::amount(name.to_owned(), amount, style))
        };
        Share::default()
            .field("runout", round)
            .lines(
                ["run-out as found", "run-out as left"],
                round,
                |name, of| um(name, of.tir_um),
            )
            .lines(
                ["eccentricity as found", "eccentricity as left"],
                round,
                |name, of| um(name, of.eccentricity_um),
            )
            .lines(
                ["roundness as found", "roundness as left"],
                round,
                |name, of| um(name, of.roundness_mz_um?),
            )
    }
}

fn between(um: f64, unit: Unit, limits: Option<[f64; 2]>) -> Amount {
    Amount {
        interval: limits.map_or(Interval::None, Interval::Between),
        ..Amount::plain(um, unit)
    }
}

/// What the part itself does, without the scatter of the readings and between them too: a high place between two readings
/// counts, so that it may be more than was read.
fn own(name: String, part: Option<OwnAmount>, style: Style) -> Option<Figure> {
    let part = part?;
    let amount = between(part.um, Unit::Um, Some(part.interval_um));
    Some(Figure::amount(name, amount, style))
}

fn figures(setup: &Setup, runout: &RunoutOutcome, style: Style) -> Vec<Figure> {
    let section = &runout.section;
    let um = |name: String, value: Option<f64>| {
        Some(Figure::amount(name, Amount::plain(value?, Unit::Um), style))
    };
    let plane = section.plane_mm.map(|plane| {
        let of = match runout.planes.len() {
            0 | 1 => String::new(),
            planes => said!(style, "first-of-planes", planes = planes),
        };
        let amount = Amount::plain(plane, Unit::Mm).places(3);
        Figure::amount(said!(style, "plane"), amount, style).more(of)
    });
    let filtered = match runout.filter_upr {
        Some(upr) => said!(style, "behind-filter", upr = upr),
        None => String::new(),
    };
    let part_roundness = match runout.filter_upr {
        // What a filter leaves is another quantity than what the limits are for.
        Some(_) => None,
        None => own(said!(style, "roundness-own"), section.part_roundness, style),
    };
    let eccentricity = between(
        section.eccentricity_um,
        Unit::Um,
        section.eccentricity_interval_um,
    );
    let figures = [
        runout.truing.as_ref().map(|t| truing(t, setup, style)),
        plane,
        um(said!(style, "runout-tir"), Some(section.tir_um)),
        own(said!(style, "runout-own"), section.part_runout, style),
        Some(Figure::amount(
            said!(style, "eccentricity"),
            eccentricity,
            style,
        )),
        Some(high_spot(section, style)),
        um(said!(style, "roundness-mz"), section.roundness_mz_um).map(|f| f.more(filtered.clone())),
        part_roundness,
        um(said!(style, "roundness-ls"), section.roundness_ls_um)
            .map(|f| f.more(filtered.clone()).aside()),
        um(said!(style, "repeats-turn-by-turn"), section.synchronous_um)
            .map(|f| f.more(said!(style, "synchronous"))),
        um(said!(style, "does-not-repeat"), section.asynchronous_um)
            .map(|f| f.more(said!(style, "asynchronous"))),
        Some(Figure::words(said!(style, "read"), read(section, style)).aside()),
        Some(
            Figure::words(
                said!(style, "outliers"),
                words::outliers(section.outliers, section.rejected, style),
            )
            .aside(),
        ),
    ];
    let axis = runout.axis.as_ref().map(|found| axis(found, style));
    figures
        .into_iter()
        .flatten()
        .chain(axis.into_iter().flatten())
        .collect()
}

fn high_spot(section: &Section, style: Style) -> Figure {
    let good_to = match section.high_spot_expanded_deg {
        Some(deg) if deg >= 180.0 => said!(style, "may-be-anywhere"),
        Some(deg) => format!(" ± {}° (95 %)", style.number(deg, 1)),
        None => String::new(),
    };
    let at = direction(section.high_spot_deg, style);
    Figure::words(said!(style, "high-spot"), at).more(good_to)
}

fn truing(truing: &Truing, setup: &Setup, style: Style) -> Figure {
    let at = said!(style, "at-place", place = direction(truing.at_deg, style));
    Figure::words(said!(style, "true-it"), at)
        .more(said!(
            style,
            "true-it-by",
            by = style.micro(truing.move_um),
            target = style.read(truing.target_mm, setup.indicator.resolution),
            opposite = direction(truing.opposite_deg, style)
        ))
        .aside()
}

fn axis(axis: &Axis, style: Style) -> [Figure; 2] {
    let tilt = between(axis.tilt_urad, Unit::Urad, axis.tilt_interval_urad);
    [
        Figure::amount(
            said!(style, "axis-off-by"),
            Amount::plain(axis.offset_um, Unit::Um),
            style,
        )
        .more(said!(
            style,
            "axis-toward-at",
            direction = direction(axis.offset_direction_deg, style),
            plane = style.long_text(axis.plane_mm, 3)
        )),
        Figure::amount(said!(style, "tilt"), tilt, style).more(said!(
            style,
            "axis-toward",
            direction = direction(axis.direction_deg, style)
        )),
    ]
}

fn read(section: &Section, style: Style) -> String {
    let found = section.period.as_ref().map(|period| {
        said!(
            style,
            "turn-found",
            turn = style.number(period.turn_s, 4),
            u = style.number(period.turn_u_s, 4)
        )
    });
    let of = |turn: f64| said!(style, "turn-of", turn = style.number(turn, 3));
    let turn = found.or_else(|| section.turn_s.map(of));
    format!(
        "{}, {}{}",
        said!(style, "readings", count = section.points),
        said!(style, "turns", count = section.turns),
        turn.unwrap_or_default()
    )
}

/// ` in plane 5.000 mm`, where the plane has a place.
fn in_plane(section: &Section, style: Style) -> String {
    section.plane_mm.map_or_else(String::new, |plane| {
        said!(style, "in-plane", plane = style.long_text(plane, 3))
    })
}

/// Every section of an outcome, in order of place.
fn sections(outcome: &RunoutOutcome) -> &[Section] {
    if outcome.planes.is_empty() {
        std::slice::from_ref(&outcome.section)
    } else {
        &outcome.planes
    }
}

/// Each plane with its form; nothing when the readings can no longer be placed.
fn forms<'a>(
    setup: &Setup,
    step: &StepRecord,
    outcome: &'a RunoutOutcome,
) -> Vec<(&'a Section, Form)> {
    let Work::Runout(options) = &step.plan.work else {
        return Vec::new();
    };
    let Ok(RunoutInputs { first, .. }) = options.inputs(&step.evidence) else {
        return Vec::new();
    };
    let shown = step.evidence.coarsest(step.plan.cable(setup));
    let setup = setup_for(&step.plan, setup, shown);
    let planes = profiles(&setup, &options.runout, first.readings(), outcome).unwrap_or_default();
    sections(outcome)
        .iter()
        .zip(&planes)
        .map(|(section, profile)| {
            let form = Form::of(&setup, &options.runout, profile, section);
            (section, form)
        })
        .collect()
}

fn round_a_turn(runout: &RunoutOutcome, section: &Section, form: &Form, style: Style) -> Part {
    let plane = in_plane(section, style);
    let pair = Box::new([
        (
            said!(style, "as-read-with-spot"),
            form.as_read(said!(style, "readings-round-a-turn") + &plane),
        ),
        (
            said!(style, "form-without-eccentricity"),
            form.form(said!(style, "form") + &plane),
        ),
    ]);
    let turns = match form.turns() {
        0 | 1 => String::new(),
        _ => said!(style, "later-turns-dashed"),
    };
    let smooth = match runout.filter_upr {
        Some(_) => said!(style, "heavy-is-filtered"),
        None => String::new(),
    };
    let note = form
        .thinned(style)
        .unwrap_or_else(|| said!(style, "how-to-read-polar") + &turns + &smooth);
    let one_scale = false;
    Part::plot(
        said!(style, "round-a-turn") + &plane,
        Plot::Polars { pair, one_scale },
    )
    .note(note)
}

fn planes(runout: &RunoutOutcome, style: Style) -> Vec<Part> {
    let mut parts = Vec::new();
    let [long, small] = [style.long_sign(), style.small_sign()];
    let plane = || Column::number(said!(style, "column-plane", unit = long));
    let off = || Column::number(said!(style, "column-runout", unit = small));
    let spot = || Column::number(said!(style, "column-high-spot"));
    if runout.planes.len() > 1 {
        let rows = runout.planes.iter().map(|section| {
            let verdict = section.verdict;
            vec![
                section
                    .plane_mm
                    .map_or_else(String::new, |plane| style.long_number(plane, 3)),
                style.micro_number(section.tir_um, 2),
                style.micro_number(section.eccentricity_um, 2),
                style.number(section.high_spot_deg, 0),
                style.micro_cell(section.roundness_mz_um, 2),
                section.points.to_string(),
                verdict.map_or_else(String::new, |v| {
                    words::verdict(v, section.undecided_because, style)
                }),
            ]
        });
        let columns = [
            plane(),
            off(),
            Column::number(said!(style, "column-eccentricity", unit = small)),
            spot(),
            Column::number(said!(style, "column-roundness", unit = small)),
            Column::number(said!(style, "column-readings")),
            Column::text(said!(style, "verdict")),
        ];
        let table = Table::new(columns, rows);
        parts.push(Part::table(said!(style, "planes"), table));
    }
    if !runout.elsewhere.is_empty() {
        let rows = runout.elsewhere.iter().map(|there| {
            vec![
                style.long_number(there.plane_mm, 3),
                style.micro_number(there.runout_um, 2),
                style.number(there.high_spot_deg, 0),
            ]
        });
        let table = Table::new([plane(), off(), spot()], rows);
        parts.push(Part::table(said!(style, "runout-elsewhere"), table));
    }
    parts
}

fn of_harmonics(runout: &RunoutOutcome, style: Style) -> Vec<Part> {
    let with = sections(runout)
        .iter()
        .filter(|section| !section.harmonics_um.is_empty());
    with.map(|section| Part {
        heading: said!(style, "harmonics") + &in_plane(section, style),
        plot: Some(harmonics::bars(section, style)),
        // Of a reversal those of part and spindle apart are in tables.
        table: match runout.reversal {
            Some(_) => None,
            None => harmonics::table(&section.harmonics_um, &section.proved_orders, style),
        },
        note: String::new(),
    })
    .collect()
}
