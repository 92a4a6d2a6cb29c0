//! A sweep's part of the page.

use super::Figures;
use super::words::{drawn, limits, plain_um, plus_minus};
use crate::document::page::Page;
use crate::document::plot::{Chart, Dot, Series, Stroke, reduced};
use crate::layout::um;
use metrology::setup::Setup;
use metrology::sweep::{PositionsFrom, Profile, SweepOutcome, profiled};
use metrology::zero::Sloping;
use protocol::fold::{Inputs, setup_for};
use protocol::plan::Work;
use protocol::record::StepRecord;

pub fn figures(outcome: &SweepOutcome) -> Figures {
    let cone = outcome.cone.map_or("", |cone| match cone {
        Sloping::Steeper => ", the cone steeper",
        Sloping::Shallower => ", the cone shallower",
    });
    let swept = outcome.to_mm - outcome.from_mm;
    vec![
        (
            "Residual angle",
            Some(
                plus_minus(
                    outcome.residual_arcsec,
                    outcome.residual_expanded_arcsec,
                    "″",
                ) + cone,
            ),
        ),
        (
            "Swept",
            Some(format!(
                "{swept:.2} mm, from {:.2} mm to {:.2} mm, {} points in the line",
                outcome.from_mm, outcome.to_mm, outcome.points
            )),
        ),
        ("Over the swept length", Some(um(outcome.over_span_um))),
        ("On diameter over the taper", outcome.over_taper_um.map(um)),
        (
            "Error of the half angle",
            outcome
                .half_angle_error_arcsec
                .map(|error| plus_minus(error, outcome.half_angle_expanded_arcsec, "″")),
        ),
        (
            "Limits of the half angle's error",
            outcome.limits_arcsec.map(limits),
        ),
        (
            "Straightness, minimum zone",
            Some(plain_um(outcome.straightness_mz_um)),
        ),
        (
            "Straightness, least squares",
            Some(plain_um(outcome.straightness_ls_um)),
        ),
        (
            "Bow",
            outcome.bow_um.map(|bow| {
                let way = if bow < 0.0 {
                    "the middle away from the indicator"
                } else {
                    "the middle toward the indicator"
                };
                format!("{}, {way}", um(bow))
            }),
        ),
        (
            "Scatter about the line",
            outcome.residual_sd_mm.map(|sd| plain_um(sd * 1e3)),
        ),
        (
            "Filter",
            Some(outcome.filtered.as_ref().map_or_else(
                || "none".to_owned(),
                |filtered| {
                    format!(
                        "{}, cut-off {} mm: for straightness and bow",
                        filtered.filter, filtered.cut_off_mm
                    )
                },
            )),
        ),
        ("Outliers", Some(outliers(outcome))),
    ]
}

/// How many outliers of how many, and what became of them.
fn outliers(outcome: &SweepOutcome) -> String {
    match (outcome.outliers, outcome.rejected) {
        (0, _) => "none".to_owned(),
        (found, 0) => format!("{found}, counted in"),
        (found, rejected) => format!("{found}, {rejected} left out as asked for"),
    }
}

/// More points than this are drawn small and not joined.
const MANY: usize = 60;

pub fn plots(page: &mut Page, setup: &Setup, step: &StepRecord, outcome: &SweepOutcome) {
    let Work::Sweep(options) = &step.plan.work else {
        return;
    };
    let Ok(Inputs::Sweep { points, .. }) = Inputs::of(&step.plan, setup, &step.evidence) else {
        return;
    };
    let shown = step.evidence.coarsest(step.plan.cable(setup));
    let setup = setup_for(&step.plan, setup, shown);
    let Ok(profile) = profiled(&setup, &options.sweep, &points) else {
        return;
    };
    let from = match options.sweep.positions {
        PositionsFrom::Stations => "places as marked",
        PositionsFrom::Cable => "places from the table's own cable",
        PositionsFrom::Feed => "places by a feed taken as steady",
    };
    let x_label = format!("along the travel, mm ({from})");
    let sorted = Sorted::of(&profile, outcome);
    page.subheading("Readings and their least squares line");
    page.svg(&sorted.readings(outcome, x_label.clone()).svg());
    page.subheading("Departure from the least squares line, with the minimum zone");
    page.svg(&sorted.departures(&profile, outcome, x_label).svg());
    page.source(drawn(
        profile.points.len(),
        sorted.points.len() + sorted.outliers.len(),
    ));
}

/// The points to draw, by rising place, as departures from the line in micrometres.
struct Sorted {
    points: Vec<(f64, f64)>,
    outliers: Vec<(f64, f64)>,
    slope: f64,
    intercept_mm: f64,
}

impl Sorted {
    fn of(profile: &Profile, outcome: &SweepOutcome) -> Self {
        let (slope, intercept_mm) = (outcome.slope, outcome.intercept_mm);
        let departure = |(x, y): (f64, f64)| (x, (y - intercept_mm - slope * x) * 1e3);
        let mut flagged = outcome.outlier_rows.iter().map(|row| row - 1).peekable();
        let (mut points, mut outliers) = (Vec::new(), Vec::new());
        for (index, point) in profile.points.iter().enumerate() {
            let into = match flagged.next_if_eq(&index) {
                Some(_) => &mut outliers,
                None => &mut points,
            };
            into.push(departure(*point));
        }
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        Self {
            points: reduced(&points),
            outliers,
            slope,
            intercept_mm,
        }
    }

    fn dot(&self) -> Dot {
        if self.points.len() > MANY {
            Dot::Fine
        } else {
            Dot::Open
        }
    }

    fn series(&self, place: impl Fn((f64, f64)) -> (f64, f64)) -> Vec<Series> {
        let mut series = vec![Series {
            label: "readings".into(),
            points: self.points.iter().map(|p| place(*p)).collect(),
            stroke: Stroke::None,
            dot: self.dot(),
        }];
        if !self.outliers.is_empty() {
            series.push(Series {
                label: "outliers".into(),
                points: self.outliers.iter().map(|p| place(*p)).collect(),
                stroke: Stroke::None,
                dot: Dot::Cross,
            });
        }
        series
    }

    /// The readings as they are, in true millimetres, with the line.
    fn readings(&self, outcome: &SweepOutcome, x_label: String) -> Chart {
        let line = |x: f64| self.intercept_mm + self.slope * x;
        let mut series = self.series(|(x, um)| (x, line(x) + um * 1e-3));
        series.push(Series {
            label: "least squares line".into(),
            points: [outcome.from_mm, outcome.to_mm]
                .map(|x| (x, line(x)))
                .to_vec(),
            stroke: Stroke::Heavy,
            dot: Dot::None,
        });
        Chart {
            title: "Readings and their least squares line".into(),
            x_label,
            y_label: "reading, mm".into(),
            series,
            flags: Vec::new(),
            legend: true,
            height: Chart::LOW,
        }
    }

    /// What the line leaves, where straightness can be seen.
    fn departures(&self, profile: &Profile, outcome: &SweepOutcome, x_label: String) -> Chart {
        let departure = |x: f64, y: f64| (x, (y - self.intercept_mm - self.slope * x) * 1e3);
        let ends = [outcome.from_mm, outcome.to_mm];
        let line = |label: &str, level: &dyn Fn(f64) -> f64, stroke: Stroke| Series {
            label: label.into(),
            points: ends.map(|x| departure(x, level(x))).to_vec(),
            stroke,
            dot: Dot::None,
        };
        let zone = &outcome.zone;
        let fitted = |x: f64| self.intercept_mm + self.slope * x;
        let low = |x: f64| zone.low_mm + zone.slope * x;
        let high = |x: f64| zone.high_mm + zone.slope * x;
        let mut series = self.series(|point| point);
        series.push(line("least squares", &fitted, Stroke::Light));
        series.push(line("minimum zone", &low, Stroke::Dashed(0)));
        series.push(line("", &high, Stroke::Dashed(0)));
        if !profile.filtered.is_empty() {
            let smooth: Vec<(f64, f64)> = profile
                .filtered
                .iter()
                .map(|(x, y)| departure(*x, *y))
                .collect();
            series.push(Series {
                label: "filtered profile".into(),
                points: reduced(&smooth),
                stroke: Stroke::Heavy,
                dot: Dot::None,
            });
        }
        Chart {
            title: "Departure from the least squares line, with the minimum zone".into(),
            x_label,
            y_label: "departure, µm".into(),
            series,
            flags: Vec::new(),
            legend: true,
            height: Chart::TALL,
        }
    }
}
