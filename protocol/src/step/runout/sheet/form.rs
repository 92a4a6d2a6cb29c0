//! The polar plots of one plane: as it was read, and its form with the eccentricity taken out.

use crate::said;
use crate::sheet::plot::{Circle, Dot, Polar, Stroke, Trace, reduced};
use crate::style::Style;
use metrology::filter;
use metrology::runout::{Profile, RunoutOptions, Section};
use metrology::setup::Setup;
use std::f64::consts::TAU;

/// Up to so many turns are drawn one by one; more as the band that they fill, with their mean.
const FEW_TURNS: usize = 6;
/// Up to so many readings a turn each is marked: they were made by hand.
const MARKED: usize = 72;
/// Columns of a band.
const COLUMNS: usize = 720;

/// A plane, ready to be drawn: levels in micrometres from the least squares circle's.
pub(super) struct Form {
    angles: Vec<f64>,
    levels: Vec<f64>,
    turn: Vec<usize>,
    /// Of each reading, whether it is an outlier.
    outlier: Vec<bool>,
    /// Behind the filter that was asked for, at the angles of the readings that count.
    smooth: Vec<(f64, f64)>,
    circle: Circle,
    zone: Option<[Circle; 2]>,
    spot: f64,
}

impl Form {
    pub(super) fn of(
        setup: &Setup,
        options: &RunoutOptions,
        profile: &Profile,
        section: &Section,
    ) -> Self {
        let level_mm = setup.indicator.true_mm(section.mean_mm) * profile.factor;
        let levels: Vec<f64> = profile
            .radial_mm
            .iter()
            .map(|y| (y - level_mm) * 1e3)
            .collect();
        let mut outlier = vec![false; levels.len()];
        for row in &section.outlier_rows {
            if let Ok(index) = profile.rows.binary_search(row) {
                outlier[index] = true;
            }
        }
        let radius_um = options.radius.map(metrology::Length::um);
        let spot = section.high_spot_deg.to_radians();
        let circle = |centre_um: [f64; 2], level_um: f64, stroke| Circle {
            centre_um,
            level_um,
            radius_um: radius_um.map(|radius| radius + level_um),
            stroke,
        };
        let e = section.eccentricity_um;
        let zone = section.zone_centre_um.zip(section.zone_mm);
        let counts = |i: &usize| section.rejected == 0 || !outlier[*i];
        let smooth = options.filter_upr.map_or_else(Vec::new, |cut_off| {
            let kept: Vec<usize> = (0..levels.len()).filter(counts).collect();
            let angles: Vec<f64> = kept.iter().map(|i| profile.angles_rad[*i]).collect();
            let kept: Vec<f64> = kept.iter().map(|i| levels[*i]).collect();
            filter::closed(&angles, &kept, cut_off)
                .map(|smooth| angles.into_iter().zip(smooth).collect())
                .unwrap_or_default()
        });
        Self {
            circle: circle([e * spot.cos(), e * spot.sin()], 0.0, Stroke::Heavy),
            zone: zone.map(|(centre, levels)| {
                levels.map(|mm| circle(centre, (mm - level_mm) * 1e3, Stroke::Dashed(0)))
            }),
            angles: profile.angles_rad.clone(),
            turn: profile.turn.clone(),
            levels,
            outlier,
            smooth,
            spot,
        }
    }

    /// As it was read, about the axis of turning.
    pub(super) fn as_read(&self, title: String) -> Polar {
        let mut circles = vec![self.circle.clone()];
        circles.extend(self.zone.iter().flatten().cloned());
        self.polar(title, |_, level| level, circles, Some(self.spot))
    }

    /// About the least squares circle, whose eccentricity is taken out.
    pub(super) fn form(&self, title: String) -> Polar {
        let [a, b] = self.circle.centre_um;
        let about = |zone: &Circle| Circle {
            centre_um: [zone.centre_um[0] - a, zone.centre_um[1] - b],
            // What the radius is worth went with the eccentricity.
            radius_um: None,
            ..zone.clone()
        };
        let least_squares = Circle {
            centre_um: [0.0; 2],
            radius_um: None,
            ..self.circle.clone()
        };
        let mut circles = vec![least_squares];
        circles.extend(self.zone.iter().flatten().map(about));
        self.polar(
            title,
            |angle, level| level - self.circle.at(angle),
            circles,
            None,
        )
    }

    /// How many turns there are.
    pub(super) fn turns(&self) -> usize {
        self.turn.iter().max().map_or(0, |last| last + 1)
    }

    /// What is not drawn one by one, in a sentence.
    pub(super) fn thinned(&self, style: Style) -> Option<String> {
        let (readings, turns) = (self.levels.len(), self.turns());
        (turns > FEW_TURNS)
            .then(|| said!(style, "band-holds-all", readings = readings, turns = turns))
    }

    fn polar(
        &self,
        title: String,
        place: impl Fn(f64, f64) -> f64,
        circles: Vec<Circle>,
        spot: Option<f64>,
    ) -> Polar {
        let at = |i: usize| (self.angles[i], place(self.angles[i], self.levels[i]));
        let mut traces = Vec::new();
        let mut band = Vec::new();
        if self.turns() > FEW_TURNS {
            let mean = self.banded(&place, &mut band);
            traces.push(Trace {
                points: mean,
                stroke: Stroke::Light,
                dot: Dot::None,
                closed: true,
            });
        } else {
            let mut by_turn = vec![Vec::new(); self.turns()];
            for i in (0..self.angles.len()).filter(|i| !self.outlier[*i]) {
                by_turn[self.turn[i]].push(at(i));
            }
            let by_hand = self.angles.len() <= MARKED * by_turn.len();
            for (index, points) in by_turn.iter().enumerate() {
                traces.push(Trace {
                    points: reduced(points),
                    stroke: match index {
                        0 => Stroke::Light,
                        later => Stroke::Dashed(later),
                    },
                    dot: match (by_hand, index) {
                        (false, _) => Dot::None,
                        (true, 0) => Dot::Full,
                        (true, _) => Dot::Open,
                    },
                    closed: by_hand,
                });
            }
            traces.push(Trace {
                points: (0..self.angles.len())
                    .filter(|i| self.outlier[*i])
                    .map(at)
                    .collect(),
                stroke: Stroke::None,
                dot: Dot::Cross,
                closed: false,
            });
        }
        if !self.smooth.is_empty() {
            let points: Vec<(f64, f64)> = self
                .smooth
                .iter()
                .map(|(angle, level)| (*angle, place(*angle, *level)))
                .collect();
            traces.push(Trace {
                points: reduced(&points),
                stroke: Stroke::Heavy,
                dot: Dot::None,
                closed: false,
            });
        }
        Polar {
            title,
            traces,
            circles,
            band,
            spot,
        }
    }

    /// Fills the band of all turns, and gives their mean.
    fn banded(
        &self,
        place: &impl Fn(f64, f64) -> f64,
        band: &mut Vec<(f64, [f64; 2])>,
    ) -> Vec<(f64, f64)> {
        let mut columns = vec![(f64::INFINITY, f64::NEG_INFINITY, 0.0, 0_usize); COLUMNS];
        for (angle, level) in self.angles.iter().zip(&self.levels) {
            let share = angle.rem_euclid(TAU) / TAU;
            let column = ((share * COLUMNS as f64) as usize).min(COLUMNS - 1);
            let level = place(*angle, *level);
            let (low, high, sum, n) = columns[column];
            columns[column] = (low.min(level), high.max(level), sum + level, n + 1);
        }
        let filled = columns.iter().enumerate().filter(|(_, c)| c.3 > 0);
        filled
            .map(|(i, (low, high, sum, n))| {
                let angle = TAU * (i as f64 + 0.5) / COLUMNS as f64;
                band.push((angle, [*low, *high]));
                (angle, sum / *n as f64)
            })
            .collect()
    }
}
