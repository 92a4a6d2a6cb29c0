//! A sweep.

use crate::fold::setup_for;
use crate::record::StepRecord;
use crate::said;
use crate::sheet::compared::{Compare, Measured, Share, states};
use crate::sheet::plot::{Chart, Dot, Plot, Series, Stroke, reduced};
use crate::sheet::{Amount, Drawn, Figure, Headline, Part, Sheet, Unit, words};
use crate::step::{Step, SweepInputs, SweepPlan, Work};
use crate::style::Style;
use metrology::setup::Setup;
use metrology::sweep::{Filtered, PositionsFrom, Profile, SweepOutcome, profiled};
use serde::Serialize;

impl Drawn for SweepPlan {
    fn sheet(
        setup: &Setup,
        sweep: &SweepOutcome,
        step: Option<&StepRecord>,
        style: Style,
    ) -> Sheet {
        Sheet {
            headlines: vec![Headline::of(
                sweep.verdict,
                sweep.undecided_because,
                &words::tolerance_missing(style),
                style,
            )],
            figures: figures(setup, sweep, style),
            parts: step.map_or_else(Vec::new, |step| parts(setup, sweep, step, style)),
            ..Sheet::default()
        }
    }

    fn budget_of(outcome: &SweepOutcome, style: Style) -> Option<String> {
        Some(match outcome.half_angle_error_arcsec {
            Some(_) => said!(style, "budget-of-half-angle"),
            None => said!(style, "budget-of-residual"),
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
    fn compare(steps: &[Measured<'_, SweepOutcome>], style: Style) -> Share {
        let swept = states(steps, |sweep| Swept {
            residual_arcsec: sweep.residual_arcsec,
            straightness_mz_um: sweep.straightness_mz_um,
            bow_um: sweep.bow_um,
        });
        let swept = swept.as_ref();
        let amount = |name: &str, amount| Some(Figure::amount(name.to_owned(), amount, style));
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

fn figures(setup: &Setup, sweep: &SweepOutcome, style: Style) -> Vec<Figure> {
    let amount = |name: String, amount: Amount| Figure::amount(name, amount, style);
    let um = |name: String, value| amount(name, Amount::plain(value, Unit::Um));
    let swept = Amount::plain(sweep.to_mm - sweep.from_mm, Unit::Mm);
    let over_span = Amount::signed(sweep.over_span_um, Unit::Um);
    let filtered = sweep.filtered.as_ref();
    let filtered = filtered.map_or_else(
        || said!(style, "no-filter"),
        |filtered| filter(filtered, style),
    );
    let outliers = words::outliers(sweep.outliers, sweep.rejected, style);
    let figures = [
        Some(Figure::residual(
            sweep.residual_arcsec,
            sweep.residual_expanded_arcsec,
            sweep.cone,
            style,
        )),
        Some(amount(said!(style, "over-swept-length"), over_span).aside()),
        sweep
            .over_taper_um
            .map(|worth| Figure::over_taper(worth, setup, style)),
        Figure::half_angle_error(
            said!(style, "half-angle-error"),
            sweep.half_angle_error_arcsec,
            sweep.half_angle_expanded_arcsec,
            style,
        ),
        Figure::limits(sweep.limits_arcsec, style),
        sweep.tap.as_ref().map(|tap| Figure::tap(tap, setup, style)),
        Some(um(
            said!(style, "straightness-mz"),
            sweep.straightness_mz_um,
        )),
        Some(um(said!(style, "straightness-ls"), sweep.straightness_ls_um).aside()),
        sweep.bow_um.map(|um| bow(um, style)),
        sweep.residual_sd_mm.map(|sd| {
            um(said!(style, "scatter-about-line"), sd * 1e3)
                .more(said!(style, "standard-deviation"))
                .aside()
        }),
        Some(
            amount(said!(style, "swept"), swept)
                .more(said!(
                    style,
                    "swept-from-to",
                    from = style.long_text(sweep.from_mm, 2),
                    to = style.long_text(sweep.to_mm, 2),
                    points = sweep.points
                ))
                .aside(),
        ),
        Some(Figure::words(said!(style, "filter"), filtered).aside()),
        Some(Figure::words(said!(style, "outliers"), outliers).aside()),
    ];
    figures.into_iter().flatten().collect()
}

fn bow(bow_um: f64, style: Style) -> Figure {
    let way = if bow_um > 0.0 {
        said!(style, "middle-nearer")
    } else if bow_um < 0.0 {
        said!(style, "ends-nearer")
    } else {
        String::new()
    };
    let amount = Amount::signed(bow_um, Unit::Um);
    Figure::amount(said!(style, "bow"), amount, style).more(way)
}

/// The filter that straightness and bow were taken behind.
pub(crate) fn filter(filtered: &Filtered, style: Style) -> String {
    let mm = |mm: f64| match style.inches() {
        true => style.long_text(mm, 3),
        false => format!("{} mm", style.exact(mm)),
    };
    let left_out = filtered.left_out_mm.map_or_else(String::new, |left_out| {
        said!(style, "filter-left-out", length = mm(left_out))
    });
    said!(
        style,
        "filter-cut-off",
        filter = style.term("filter", &filtered.filter.to_string()),
        cut_off = mm(filtered.cut_off_mm)
    ) + &left_out
}

/// How many of so many readings were drawn.
fn drawn(readings: usize, points: usize, style: Style) -> String {
    if points < readings {
        said!(style, "drawn-of", readings = readings, points = points)
    } else {
        said!(style, "drawn-all", readings = readings)
    }
}

/// More points than this are drawn small and not joined.
const MANY: usize = 60;

/// The plots; none when the readings can no longer be placed.
fn parts(setup: &Setup, sweep: &SweepOutcome, step: &StepRecord, style: Style) -> Vec<Part> {
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
        PositionsFrom::Stations => said!(style, "places-as-marked"),
        PositionsFrom::Cable => said!(style, "places-from-cable"),
        PositionsFrom::Feed => said!(style, "places-by-feed"),
    };
    let x_label = said!(
        style,
        "along-the-travel",
        unit = style.long_sign(),
        how = from
    );
    let sorted = Sorted::of(&profile, sweep, style);
    let readings = sorted.readings(sweep, x_label.clone());
    let departures = sorted.departures(&profile, sweep, x_label);
    let note = drawn(
        profile.points.len(),
        sorted.points.len() + sorted.outliers.len(),
        style,
    );
    vec![
        Part::plot(said!(style, "readings-and-line"), readings),
        Part::plot(said!(style, "departure-from-line"), departures).note(note),
    ]
}

/// The points to draw, by rising place, as departures from the line in micrometres.
struct Sorted {
    points: Vec<(f64, f64)>,
    outliers: Vec<(f64, f64)>,
    slope: f64,
    intercept_mm: f64,
    style: Style,
}

impl Sorted {
    fn of(profile: &Profile, outcome: &SweepOutcome, style: Style) -> Self {
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
            style,
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
            label: said!(self.style, "series-readings"),
            points: self.points.iter().map(|p| place(*p)).collect(),
            stroke: Stroke::None,
            dot: self.dot(),
        }];
        if !self.outliers.is_empty() {
            series.push(Series {
                label: said!(self.style, "outliers"),
                points: self.outliers.iter().map(|p| place(*p)).collect(),
                stroke: Stroke::None,
                dot: Dot::Cross,
            });
        }
        series
    }

    /// The readings as they are, as true lengths, with the line.
    fn readings(&self, outcome: &SweepOutcome, x_label: String) -> Plot {
        let style = self.style;
        let line = |x: f64| self.intercept_mm + self.slope * x;
        let drawn = |x: f64, y: f64| (style.long(x), style.long(y));
        let mut series = self.series(|(x, um)| drawn(x, line(x) + um * 1e-3));
        series.push(Series {
            label: said!(style, "least-squares-line"),
            points: [outcome.from_mm, outcome.to_mm]
                .map(|x| drawn(x, line(x)))
                .to_vec(),
            stroke: Stroke::Heavy,
            dot: Dot::None,
        });
        Plot::Chart(Chart {
            title: said!(style, "readings-and-line"),
            x_label,
            y_label: said!(style, "reading-axis", unit = style.long_sign()),
            series,
            flags: Vec::new(),
            legend: true,
            low: true,
        })
    }

    /// What the line leaves, where straightness can be seen.
    fn departures(&self, profile: &Profile, outcome: &SweepOutcome, x_label: String) -> Plot {
        let style = self.style;
        let drawn = |x: f64, um: f64| (style.long(x), style.small(um));
        let departure = |x: f64, y: f64| drawn(x, (y - self.intercept_mm - self.slope * x) * 1e3);
        let ends = [outcome.from_mm, outcome.to_mm];
        let line = |label: String, level: &dyn Fn(f64) -> f64, stroke: Stroke| Series {
            label,
            points: ends.map(|x| departure(x, level(x))).to_vec(),
            stroke,
            dot: Dot::None,
        };
        let zone = &outcome.zone;
        let fitted = |x: f64| self.intercept_mm + self.slope * x;
        let low = |x: f64| zone.low_mm + zone.slope * x;
        let high = |x: f64| zone.high_mm + zone.slope * x;
        let mut series = self.series(|(x, um)| drawn(x, um));
        let squares = said!(style, "least-squares");
        series.push(line(squares, &fitted, Stroke::Light));
        let zone = said!(style, "minimum-zone");
        series.push(line(zone, &low, Stroke::Dashed(0)));
        series.push(line(String::new(), &high, Stroke::Dashed(0)));
        if !profile.filtered.is_empty() {
            let smooth: Vec<(f64, f64)> = profile
                .filtered
                .iter()
                .map(|(x, y)| departure(*x, *y))
                .collect();
            series.push(Series {
                label: said!(style, "filtered-profile"),
                points: reduced(&smooth),
                stroke: Stroke::Heavy,
                dot: Dot::None,
            });
        }
        Plot::Chart(Chart {
            title: said!(style, "departure-from-line"),
            x_label,
            y_label: said!(style, "departure-axis", unit = style.small_sign()),
            series,
            flags: Vec::new(),
            legend: true,
            low: false,
        })
    }
}
