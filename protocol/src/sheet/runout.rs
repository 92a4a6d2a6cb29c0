//! A run-out.

use super::compared::{Compare, Measured, Share, states};
use super::form::Form;
use super::harmonics;
use super::plot::{Plot, Polar};
use super::reversal;
use super::words::{self, cell, direction, reading};
use super::{Amount, Drawn, Figure, Headline, Interval, Part, Sheet, Table, Unit};
use crate::fold::setup_for;
use crate::record::StepRecord;
use crate::step::{RunoutInputs, RunoutPlan, Step, Work};
use metrology::Counted;
use metrology::runout::{Axis, OwnAmount, RunoutOutcome, Section, Truing, profiles};
use metrology::setup::Setup;
use serde::Serialize;

impl Drawn for RunoutPlan {
    fn sheet(setup: &Setup, runout: &RunoutOutcome, step: Option<&StepRecord>) -> Sheet {
        let section = &runout.section;
        let mut parts = planes(runout);
        if let Some(step) = step {
            parts.extend(
                forms(setup, step, runout)
                    .iter()
                    .map(|(section, form)| round_a_turn(runout, section, form)),
            );
        }
        parts.extend(of_harmonics(runout));
        if let Some(reversal) = &runout.reversal {
            parts.extend(reversal::parts(reversal));
        }
        Sheet {
            headlines: vec![Headline::of(
                section.verdict,
                section.undecided_because,
                words::NO_LIMIT,
            )],
            figures: figures(setup, runout),
            parts,
            ..Sheet::default()
        }
    }

    fn budget_of(_outcome: &RunoutOutcome) -> Option<&'static str> {
        Some("the eccentricity")
    }

    /// The first plane.
    fn as_read(setup: &Setup, runout: &RunoutOutcome, step: &StepRecord) -> Option<Polar> {
        let forms = forms(setup, step, runout);
        let (_, form) = forms.first()?;
        Some(form.as_read(format!("Run-out of step {}", step.number)))
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
    fn compare(steps: &[Measured<'_, RunoutOutcome>]) -> Share {
        let round = states(steps, |runout| Round {
            tir_um: runout.section.tir_um,
            eccentricity_um: runout.section.eccentricity_um,
            roundness_mz_um: runout.section.roundness_mz_um,
        });
        let round = round.as_ref();
        let um = |name, um| Some(Figure::amount(name, Amount::plain(um, Unit::Um)));
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
fn own(name: &'static str, part: Option<OwnAmount>) -> Option<Figure> {
    let part = part?;
    let amount = between(part.um, Unit::Um, Some(part.interval_um));
    Some(Figure::amount(name, amount))
}

fn figures(setup: &Setup, runout: &RunoutOutcome) -> Vec<Figure> {
    let section = &runout.section;
    let um = |name, value: Option<f64>| Some(Figure::amount(name, Amount::plain(value?, Unit::Um)));
    let plane = section.plane_mm.map(|plane| {
        let of = match runout.planes.len() {
            0 | 1 => String::new(),
            planes => format!(", the first of {planes}"),
        };
        Figure::amount("plane", Amount::plain(plane, Unit::Mm).places(3)).more(of)
    });
    let filtered = match runout.filter_upr {
        Some(upr) => format!(", behind a filter of {upr} undulations a turn"),
        None => String::new(),
    };
    let part_roundness = match runout.filter_upr {
        // What a filter leaves is another quantity than what the limits are for.
        Some(_) => None,
        None => own("roundness, the part's own", section.part_roundness),
    };
    let figures = [
        runout.truing.as_ref().map(|t| truing(t, setup)),
        plane,
        um("run-out, total indicator reading", Some(section.tir_um)),
        own("run-out, the part's own", section.part_runout),
        Some(Figure::amount(
            "eccentricity",
            between(
                section.eccentricity_um,
                Unit::Um,
                section.eccentricity_interval_um,
            ),
        )),
        Some(high_spot(section)),
        um("roundness, minimum zone", section.roundness_mz_um).map(|f| f.more(filtered.clone())),
        part_roundness,
        um("roundness, least squares", section.roundness_ls_um)
            .map(|f| f.more(filtered.clone()).aside()),
        um("repeats turn by turn", section.synchronous_um)
            .map(|f| f.more(" (synchronous, without the eccentricity)")),
        um("does not repeat", section.asynchronous_um).map(|f| f.more(" (asynchronous)")),
        Some(Figure::words("read", read(section)).aside()),
        Some(
            Figure::words(
                "outliers",
                words::outliers(section.outliers, section.rejected),
            )
            .aside(),
        ),
    ];
    let axis = runout.axis.as_ref().map(axis);
    figures
        .into_iter()
        .flatten()
        .chain(axis.into_iter().flatten())
        .collect()
}

fn high_spot(section: &Section) -> Figure {
    let good_to = match section.high_spot_expanded_deg {
        Some(deg) if deg >= 180.0 => ", which may be anywhere".to_owned(),
        Some(deg) => format!(" ± {deg:.1}° (95 %)"),
        None => String::new(),
    };
    Figure::words("high spot", direction(section.high_spot_deg)).more(good_to)
}

fn truing(truing: &Truing, setup: &Setup) -> Figure {
    let by = Amount::plain(truing.move_um, Unit::Um);
    Figure::words("true it", format!("at {}", direction(truing.at_deg)))
        .more(format!(
            ", {by} away from the indicator, to {}\nor at {} as far toward it",
            reading(truing.target_mm, setup.indicator.resolution),
            direction(truing.opposite_deg)
        ))
        .aside()
}

fn axis(axis: &Axis) -> [Figure; 2] {
    [
        Figure::amount(
            "the axis is off by",
            Amount::plain(axis.offset_um, Unit::Um),
        )
        .more(format!(
            " toward {} at plane {:.3} mm",
            direction(axis.offset_direction_deg),
            axis.plane_mm
        )),
        Figure::amount(
            "tilt",
            between(axis.tilt_urad, Unit::Urad, axis.tilt_interval_urad),
        )
        .more(format!(" toward {}", direction(axis.direction_deg))),
    ]
}

fn read(section: &Section) -> String {
    let found = section.period.as_ref().map(|period| {
        format!(
            " of {:.4} s, u {:.4} s, found from the readings",
            period.turn_s, period.turn_u_s
        )
    });
    let turn = found.or_else(|| section.turn_s.map(|turn| format!(" of {turn:.3} s")));
    format!(
        "{}, {}{}",
        Counted(section.points, "reading"),
        Counted(section.turns, "turn"),
        turn.unwrap_or_default()
    )
}

/// ` in plane 5.000 mm`, where the plane has a place.
fn in_plane(section: &Section) -> String {
    section
        .plane_mm
        .map_or_else(String::new, |plane| format!(" in plane {plane:.3} mm"))
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

fn round_a_turn(runout: &RunoutOutcome, section: &Section, form: &Form) -> Part {
    let plane = in_plane(section);
    let pair = Box::new([
        (
            "as read, with the high spot",
            form.as_read(format!("Readings round a turn{plane}")),
        ),
        (
            "form, the eccentricity taken out",
            form.form(format!("Form{plane}")),
        ),
    ]);
    let turns = match form.turns() {
        0 | 1 => "",
        _ => " Turns after the first are dashed.",
    };
    let smooth = runout.filter_upr.map_or(
        "",
        |_| " The heavy line within the readings is the filtered profile.",
    );
    let note = form.thinned().unwrap_or_else(|| {
        format!(
            "Solid circle: least squares. Dashed circles: minimum zone. Crosses: outliers. Outward is toward the \
             indicator.{turns}{smooth}"
        )
    });
    let one_scale = false;
    Part::plot(
        format!("Round a turn{plane}"),
        Plot::Polars { pair, one_scale },
    )
    .note(note)
}

fn planes(runout: &RunoutOutcome) -> Vec<Part> {
    let mut parts = Vec::new();
    if runout.planes.len() > 1 {
        let rows = runout.planes.iter().map(|section| {
            let verdict = section.verdict;
            vec![
                cell(section.plane_mm, 3),
                cell(Some(section.tir_um), 2),
                cell(Some(section.eccentricity_um), 2),
                cell(Some(section.high_spot_deg), 0),
                cell(section.roundness_mz_um, 2),
                section.points.to_string(),
                verdict.map_or_else(String::new, |v| {
                    words::verdict(v, section.undecided_because)
                }),
            ]
        });
        let table = Table::new(
            &[
                "#plane, mm",
                "#run-out, µm",
                "#eccentricity, µm",
                "#high spot, °",
                "#roundness, µm",
                "#readings",
                "verdict",
            ],
            rows,
        );
        parts.push(Part::table("Planes", table));
    }
    if !runout.elsewhere.is_empty() {
        let rows = runout.elsewhere.iter().map(|there| {
            vec![
                cell(Some(there.plane_mm), 3),
                cell(Some(there.runout_um), 2),
                cell(Some(there.high_spot_deg), 0),
            ]
        });
        let table = Table::new(&["#plane, mm", "#run-out, µm", "#high spot, °"], rows);
        parts.push(Part::table("Run-out that the axis gives elsewhere", table));
    }
    parts
}

fn of_harmonics(runout: &RunoutOutcome) -> Vec<Part> {
    let with = sections(runout)
        .iter()
        .filter(|section| !section.harmonics_um.is_empty());
    with.map(|section| Part {
        heading: format!("Harmonics{}", in_plane(section)),
        plot: Some(harmonics::bars(section)),
        // Of a reversal those of part and spindle apart are in tables.
        table: match runout.reversal {
            Some(_) => None,
            None => harmonics::table(&section.harmonics_um, &section.proved_orders),
        },
        note: String::new(),
    })
    .collect()
}
