//! A sweep.

use super::compared::{Compare, Measured, Share, states};
use super::plot::{Chart, Dot, Plot, Series, Stroke, reduced};
use super::{Amount, Drawn, Figure, Headline, Part, Sheet, Unit, words};
use crate::fold::setup_for;
use crate::record::StepRecord;
use crate::step::{Step, SweepInputs, SweepPlan, Work};
use metrology::setup::Setup;
use metrology::sweep::{Filtered, PositionsFrom, Profile, SweepOutcome, profiled};
use serde::Serialize;

impl Drawn for SweepPlan {
    fn sheet(setup: &Setup, sweep: &SweepOutcome, step: Option<&StepRecord>) -> Sheet {
        let um = |name, value| Figure::amount(name, Amount::plain(value, Unit::Um));
        let swept = Amount::plain(sweep.to_mm - sweep.from_mm, Unit::Mm);
        let over_span = Amount::signed(sweep.over_span_um, Unit::Um);
        let figures = [
            Some(Figure::residual(
                sweep.residual_arcsec,
                sweep.residual_expanded_arcsec,
                sweep.cone,
            )),
            Some(Figure::amount("over the swept length", over_span).aside()),
            sweep
                .over_taper_um
                .map(|worth| Figure::over_taper(worth, setup)),
            Figure::half_angle_error(
                "error of the half angle",
                sweep.half_angle_error_arcsec,
                sweep.half_angle_expanded_arcsec,
            ),
            Figure::limits(sweep.limits_arcsec),
            sweep.tap.as_ref().map(|tap| Figure::tap(tap, setup)),
            Some(um("straightness, minimum zone", sweep.straightness_mz_um)),
            Some(um("straightness, least squares", sweep.straightness_ls_um).aside()),
            sweep.bow_um.map(bow),
            sweep.residual_sd_mm.map(|sd| {
                um("scatter about the line", sd * 1e3)
                    .more(", standard deviation")
                    .aside()
            }),
            Some(
                Figure::amount("swept", swept)
                    .more(format!(
                        ", from {:.2} mm to {:.2} mm, {} points in the line",
                        sweep.from_mm, sweep.to_mm, sweep.points
                    ))
                    .aside(),
            ),
            Some(
                Figure::words(
                    "filter",
                    sweep
                        .filtered
                        .as_ref()
                        .map_or_else(|| "none".to_owned(), filter),
                )
                .aside(),
            ),
            Some(
                Figure::words("outliers", words::outliers(sweep.outliers, sweep.rejected)).aside(),
            ),
        ];
        Sheet {
            headlines: vec![Headline::of(
                sweep.verdict,
                sweep.undecided_because,
                words::NO_TOLERANCE,
            )],
            figures: figures.into_iter().flatten().collect(),
            parts: step.map_or_else(Vec::new, |step| parts(setup, sweep, step)),
            ..Sheet::default()
        }
    }

    fn budget_of(outcome: &SweepOutcome) -> Option<&'static str> {
        Some(match outcome.half_angle_error_arcsec {
            Some(_) => "the half angle",
            None => "the residual angle",
        })
    }
}

/// A sweep, for a comparison of sessions.
#[derive(Debug, Serialize)]
struct Swept {
    residual_arcsec: f64,
    /// By the minimum zone.
    straightness_mz_um: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    bow_um: Option<f64>,
}

impl Compare for SweepPlan {
    fn compare(steps: &[Measured<'_, SweepOutcome>]) -> Share {
        let swept = states(steps, |sweep| Swept {
            residual_arcsec: sweep.residual_arcsec,
            straightness_mz_um: sweep.straightness_mz_um,
            bow_um: sweep.bow_um,
        });
        let swept = swept.as_ref();
        let amount = |name, amount| Some(Figure::amount(name, amount));
        Share::default()
            .field("sweep", swept)
            .lines(
                ["swept angle as found", "swept angle as left"],
                swept,
                |name, of| amount(name, Amount::signed(of.residual_arcsec, Unit::Arcsec)),
            )
            .lines(
                ["straightness as found", "straightness as left"],
                swept,
                |name, of| amount(name, Amount::plain(of.straightness_mz_um, Unit::Um)),
            )
            .lines(["bow as found", "bow as left"], swept, |name, of| {
                amount(name, Amount::signed(of.bow_um?, Unit::Um))
            })
    }
}

fn bow(bow_um: f64) -> Figure {
    let way = if bow_um > 0.0 {
        ", the middle nearer to the indicator"
    } else if bow_um < 0.0 {
        ", the ends nearer to the indicator"
    } else {
        ""
    };
    Figure::amount("bow", Amount::signed(bow_um, Unit::Um)).more(way)
}

/// The filter that straightness and bow were taken behind.
pub(crate) fn filter(filtered: &Filtered) -> String {
    let left_out = filtered
        .left_out_mm
        .map_or_else(String::new, |mm| format!(", without {mm} mm at each end"));
    format!(
        "{}, cut-off {} mm: for straightness and bow{left_out}",
        filtered.filter, filtered.cut_off_mm
    )
}

/// How many of so many readings were drawn.
fn drawn(readings: usize, points: usize) -> String {
    if points < readings {
        format!(
            "Of {readings} readings {points} are drawn: the smallest and the largest of each column, so that nothing that \
             stands out is lost."
        )
    } else {
        format!("All {readings} readings are drawn.")
    }
}

/// More points than this are drawn small and not joined.
const MANY: usize = 60;

/// The plots; none when the readings can no longer be placed.
fn parts(setup: &Setup, sweep: &SweepOutcome, step: &StepRecord) -> Vec<Part> {
    let Work::Sweep(options) = &step.plan.work else {
        return Vec::new();
    };
    let Ok(SweepInputs { points, .. }) = options.inputs(&step.evidence) else {
        return Vec::new();
    };
    let shown = step.evidence.coarsest(step.plan.cable(setup));
    let setup = setup_for(&step.plan, setup, shown);
    let Ok(profile) = profiled(&setup, &options.sweep, &points) else {
        return Vec::new();
    };
    let from = match options.sweep.positions {
        PositionsFrom::Stations => "places as marked",
        PositionsFrom::Cable => "places from the table's own cable",
        PositionsFrom::Feed => "places by a feed taken as steady",
    };
    let x_label = format!("along the travel, mm ({from})");
    let sorted = Sorted::of(&profile, sweep);
    let readings = sorted.readings(sweep, x_label.clone());
    let departures = sorted.departures(&profile, sweep, x_label);
    let note = drawn(
        profile.points.len(),
        sorted.points.len() + sorted.outliers.len(),
    );
    vec![
        Part::plot("Readings and their least squares line", readings),
        Part::plot(
            "Departure from the least squares line, with the minimum zone",
            departures,
        )
        .note(note),
    ]
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
    fn readings(&self, outcome: &SweepOutcome, x_label: String) -> Plot {
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
        Plot::Chart(Chart {
            title: "Readings and their least squares line".into(),
            x_label,
            y_label: "reading, mm".into(),
            series,
            flags: Vec::new(),
            legend: true,
            low: true,
        })
    }

    /// What the line leaves, where straightness can be seen.
    fn departures(&self, profile: &Profile, outcome: &SweepOutcome, x_label: String) -> Plot {
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
        Plot::Chart(Chart {
            title: "Departure from the least squares line, with the minimum zone".into(),
            x_label,
            y_label: "departure, µm".into(),
            series,
            flags: Vec::new(),
            legend: true,
            low: false,
        })
    }
}
