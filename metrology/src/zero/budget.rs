//! The budget of a round's residual, and of the half angle that the whole set-up gives.

use super::pivot::{self, Change};
use super::round::RoundLine;
use super::scatter::Scatter;
use super::told::Told;
use super::{Known, Pivot, Round};
use crate::setup::Setup;
use crate::uncertainty::{Budget, COVERAGE, Component, rectangular, t_factor};
use crate::{Angle, Length};

/// Scatter of a mark that is taken for the pivot where nothing tells it, mm: *common practice* for a reading by eye.
const USUAL_SCATTER_MM: f64 = 0.5e-3;

/// Largest error of a station's place where none is stated: *common practice* for an indicator set by hand along a scale.
/// What it is worth goes with the slope, and vanishes as the set-up comes true.
const USUAL_STATION_ERROR: Length = Length::from_um(500);

/// What the residual means for the half angle once stack and bar are counted.
pub(crate) struct HalfAngle {
    pub error_arcsec: f64,
    pub expanded_arcsec: f64,
    pub components: Vec<Component>,
}

impl HalfAngle {
    /// The half angle's error with the stack's known error, and its uncertainty with stack and bar; `None` without a
    /// stack in the plan.
    pub(super) fn with_stack(setup: &Setup, residual: Angle, budget: &Budget) -> Option<Self> {
        let stack_error = setup.stack.as_ref()?.angle_error_arcsec?;
        let mut whole = budget.clone();
        Self::add_stack(setup, &mut whole);
        Some(Self {
            error_arcsec: residual.arcsec() + stack_error,
            expanded_arcsec: whole.expanded(COVERAGE),
            components: whole.components(),
        })
    }

    /// Adds what stack and bar contribute to the half angle, where they are planned.
    pub(super) fn add_stack(setup: &Setup, whole: &mut Budget) {
        if let (Some(stack), Some(bar), Some(taper)) = (&setup.stack, &setup.bar, &setup.taper)
            && let Ok(sensitivity) = bar.sensitivity(taper.half_angle)
        {
            let arcsec = |per_mm: f64, u_mm: f64| Angle::from_rad(per_mm * u_mm).arcsec();
            if let Some(u_um) = stack.u_um {
                let u = arcsec(sensitivity.stack_rad_per_mm, u_um * 1e-3);
                whole.add("height of the stack", u, None);
            }
            if let (Some(u), Some(per_mm)) = (bar.centre_distance_u, sensitivity.centre_rad_per_mm)
            {
                let u = arcsec(per_mm, u.mm());
                whole.add("centre distance of the bar", u, None);
            }
        }
    }
}

impl Known<'_> {
    /// Arc-seconds of residual per unit of shown slope.
    fn arcsec_per_slope(&self, round: &RoundLine<'_>) -> f64 {
        let slope = self.lever * round.slope;
        Angle::from_rad(self.lever / (1.0 + slope * slope)).arcsec()
    }

    /// One step of the display, mm: as stated, else the finest that the marks show: a typed `0` is no step of a millimetre.
    pub(super) fn step_mm(&self, round: &RoundLine<'_>) -> f64 {
        let shown = round.marks.iter().map(|mark| mark.resolution).min();
        self.setup
            .indicator
            .resolution
            .or(shown)
            .unwrap_or(Length::ZERO)
            .mm()
    }

    /// Errors that all marks of a station share, and stations do not: name and standard uncertainty, mm.
    fn by_station(&self, told: &Told, round: &RoundLine<'_>) -> [Option<(&'static str, f64)>; 4] {
        let error = self.setup.indicator.error();
        let place = self.setup.station_error.unwrap_or(USUAL_STATION_ERROR);
        [
            Some(("resolution of the indicator", told.rounding_mm)),
            error.map(|error| (error.component, error.u_mm)),
            self.setup.straightness.map(|straightness| {
                // Peak to valley: each place lies within half of it to either side.
                let u_mm = rectangular(straightness.mm() / 2.0);
                ("straightness of the travel", u_mm)
            }),
            Some((
                "places of the stations",
                rectangular(place.mm()) * round.slope.abs(),
            )),
        ]
    }

    /// The budget of a round's residual, arc-seconds. What is not known is not in it.
    pub(super) fn residual_budget(&self, told: &Told, round: &RoundLine<'_>) -> Budget {
        let mut budget = Budget::new("arcsec");
        let arcsec = self.arcsec_per_slope(round);
        if let Some((u, dof, component)) = told.slope_u {
            budget.add(
                component,
                u * arcsec,
                Some(dof).filter(|dof| dof.is_finite()),
            );
        }
        let mut stations = Vec::new();
        round.station_influence(&mut stations);
        for (component, u_mm) in self.by_station(told, round).into_iter().flatten() {
            let parts: Vec<f64> = stations
                .iter()
                .map(|(_, influence)| influence * u_mm * arcsec)
                .collect();
            budget.add_rectangular(component, &parts);
        }
        budget
    }

    /// What that budget combines to, arc-seconds, where nothing else of it is asked for. `stations` is memory to write over.
    fn residual_u_arcsec(
        &self,
        told: &Told,
        round: &RoundLine<'_>,
        stations: &mut Vec<(f64, f64)>,
    ) -> f64 {
        let arcsec = self.arcsec_per_slope(round);
        round.station_influence(stations);
        let by_station = |(_, u_mm): (&str, f64)| {
            let parts = stations.iter().map(|(_, influence)| {
                let part = influence * u_mm * arcsec;
                part * part
            });
            parts.sum::<f64>().sqrt()
        };
        let scattered = told.slope_u.map(|(u, ..)| (u * arcsec).abs());
        let errors = self.by_station(told, round).into_iter().flatten();
        // As in the budget, one of exactly zero says nothing.
        let components = scattered.into_iter().chain(errors.map(by_station));
        components
            .filter(|u| *u > 0.0)
            .map(|u| u * u)
            .sum::<f64>()
            .sqrt()
    }

    /// What the indicator shows where the line has this corrected reading, mm.
    fn as_shown_mm(&self, corrected_mm: f64) -> f64 {
        let check = self.setup.indicator.check.as_ref();
        check.map_or(corrected_mm, |check| check.uncorrected_mm(corrected_mm))
    }

    /// A round as it is reported. It has no uncertainty where nothing tells how the marks repeat, and where a move ended it
    /// before it was closed: the set-up may have been moved between its first two marks as well. `stations` is memory to
    /// write over.
    pub(super) fn reported(
        &self,
        line: &RoundLine<'_>,
        told: &Told,
        a_mm: f64,
        stations: &mut Vec<(f64, f64)>,
    ) -> Round {
        let slope = self.lever * line.slope;
        let known = told.scatter != Scatter::Unknown && !line.ended_by_a_move;
        let u_arcsec = known.then(|| self.residual_u_arcsec(told, line, stations));
        Round {
            round: line.round,
            slope,
            slope_u: u_arcsec.map(|u| u / self.arcsec_per_slope(line) * self.lever),
            residual_arcsec: Angle::from_rad(slope.atan()).arcsec(),
            residual_u_arcsec: u_arcsec,
            at_a_mm: self.as_shown_mm(line.reading_at(a_mm)),
            drift_um_per_min: line.drift_um_per_min().map(|drift| self.lever * drift),
            bow_um: line.bow_mm.map(|bow| self.lever * bow * 1e3),
            clamped: line.last().clamped,
        }
    }

    /// Where the set-up turns, by the best that is known, with what there is to say about it.
    ///
    /// Stated by the user, else learned from the rounds since clamp or part were last changed, else from an earlier
    /// setting of this step, else remembered with the fixture.
    pub(super) fn pivot(
        &self,
        lines: &[RoundLine<'_>],
        told: &[Told],
        span: [f64; 2],
    ) -> (Option<Pivot>, Vec<String>) {
        let rounds: Vec<(&RoundLine<'_>, &Told)> = lines.iter().zip(told).collect();
        let mut few = Few::default();
        let learned = rounds
            .chunk_by(|a, b| a.0.last().setting == b.0.last().setting)
            .rev()
            .find_map(|setting| {
                let changes: Vec<Change> = setting
                    .windows(2)
                    .map(|pair| {
                        let [(before, _), (after, told)] = [pair[0], pair[1]];
                        Change::between(before, after, span, line_u_mm(told, span, &mut few))
                    })
                    .collect();
                pivot::learn(&changes, span)
            });
        let fixture = self.setup.fixture.as_ref();
        let Some(stated) = fixture.and_then(|f| f.pivot) else {
            return (learned.or_else(|| Pivot::known(self.setup)), Vec::new());
        };
        let mut remarks = Vec::new();
        if let Some(Pivot {
            position_mm,
            u_mm: Some(u),
            ..
        }) = &learned
            && (position_mm - stated.mm()).abs() > 3.0 * u
        {
            remarks.push(format!(
                "the rounds say that the set-up turns at {position_mm:.1} mm (± {:.1} mm), not at the stated {:.1} mm",
                2.0 * u,
                stated.mm()
            ));
        }
        (Pivot::known(self.setup), remarks)
    }
}

/// By how much few degrees of freedom widen an interval, with the number that it was asked for last: most rounds of a step
/// have the same.
#[derive(Default)]
struct Few(Option<(f64, f64)>);

impl Few {
    fn factor(&mut self, dof: f64) -> f64 {
        if let Some((_, factor)) = self.0.filter(|(asked, _)| *asked == dof) {
            return factor;
        }
        let factor = t_factor(COVERAGE, dof) / t_factor(COVERAGE, f64::INFINITY);
        self.0 = Some((dof, factor));
        factor
    }
}

/// Standard uncertainty of the line's reading at an end of the span, mm, as far as the pivot needs it.
///
/// A pivot is advice, and trial taps move far more than marks scatter: where nothing tells the scatter, or few marks do,
/// the usual one is taken.
fn line_u_mm(told: &Told, span: [f64; 2], few: &mut Few) -> f64 {
    // The slope's uncertainty over the span is that of two ends.
    let scattered = match told.slope_u {
        Some((u, dof, _)) => {
            let few = few.factor(dof);
            let usual = USUAL_SCATTER_MM.max(u * (span[1] - span[0]) / 2.0_f64.sqrt());
            (few * u * (span[1] - span[0]) / 2.0_f64.sqrt()).min(4.0 * usual)
        }
        None => USUAL_SCATTER_MM,
    };
    told.rounding_mm.hypot(scattered)
}

impl Pivot {
    /// The pivot before anything is learned: the one that the user stated, else the one remembered with the fixture.
    pub(crate) fn known(setup: &Setup) -> Option<Self> {
        let fixture = setup.fixture.as_ref()?;
        let stated = fixture.pivot.map(|pivot| (pivot.mm(), None));
        let (position_mm, u_mm) =
            stated.or_else(|| fixture.learned_pivot.map(|p| (p.position_mm, Some(p.u_mm))))?;
        Some(Self {
            position_mm,
            u_mm,
            from_rounds: Vec::new(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_degrees_of_freedom_widen_by_what_was_asked_for() {
        let mut few = Few::default();
        // Student's factors at 95 %, from table G.2 of JCGM 100:2008.
        for (dof, t) in [
            (1.0, 12.71),
            (1.0, 12.71),
            (5.0, 2.57),
            (f64::INFINITY, 1.96),
        ] {
            let want = t / 1.96;
            assert!((few.factor(dof) - want).abs() < 0.01, "{dof}");
        }
    }
}
