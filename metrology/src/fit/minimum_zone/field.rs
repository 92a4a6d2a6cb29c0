//! The points that can be outermost as long as the centre stays near a place.
//!
//! When the centre moves by m, no distance from it changes by more than m. So a point that lies further than 2 m within the
//! outermost ones is never outermost while the centre is that near, and need not be looked at again.

use super::level::Round;
use crate::fit::Circle;

/// Fewer points than this are looked at all, always.
const NARROWED_FROM: usize = 2_048;

/// All points, or those that can be outermost, as seen from a centre.
pub(super) struct Field<'a> {
    all: &'a [[f64; 2]],
    /// Those that are looked at, with their places among all; none of either when all are.
    points: Vec<[f64; 2]>,
    index: Vec<usize>,
    /// The place near which that holds, and how near.
    near: Option<([f64; 2], f64)>,
    cos: Vec<f64>,
    sin: Vec<f64>,
    distance: Vec<f64>,
}

impl<'a> Field<'a> {
    /// All points.
    pub(super) fn whole(points: &'a [[f64; 2]]) -> Self {
        let n = points.len();
        Self {
            all: points,
            points: Vec::new(),
            index: Vec::new(),
            near: None,
            cos: vec![0.0; n],
            sin: vec![0.0; n],
            distance: vec![0.0; n],
        }
    }

    /// How far the centre may still move from here; below zero when it is too far off already.
    pub(super) fn reach(&self, centre: [f64; 2]) -> f64 {
        self.near.map_or(f64::INFINITY, |(place, reach)| {
            reach - (centre[0] - place[0]).hypot(centre[1] - place[1])
        })
    }

    /// Finds distances and directions from a centre.
    pub(super) fn look_from(&mut self, centre: [f64; 2]) {
        let about = Circle {
            centre,
            radius: 0.0,
        };
        let points = match self.near {
            None => self.all,
            Some(_) => &self.points,
        };
        about.directions(points, &mut self.cos, &mut self.sin, &mut self.distance);
    }

    /// The points, as they were last looked at.
    pub(super) fn round(&self) -> Round<'_> {
        Round {
            cos: &self.cos,
            sin: &self.sin,
            y: &self.distance,
        }
    }

    /// The place among all points of one that is looked at.
    pub(super) fn index(&self, place: usize) -> usize {
        self.near.map_or(place, |_| self.index[place])
    }

    /// Where points are among those that are looked at; nothing when one is not.
    pub(super) fn places(&self, index: [usize; 4]) -> Option<[usize; 4]> {
        if self.near.is_none() {
            return Some(index);
        }
        let mut places = index;
        for place in &mut places {
            *place = self.index.binary_search(place).ok()?;
        }
        Some(places)
    }

    /// Leaves out what is not outermost while the centre stays within `reach` of where it is, given the extremes of the distances.
    pub(super) fn narrow(&mut self, centre: [f64; 2], reach: f64, [low, high]: [f64; 2]) {
        if self.near.is_some() || self.all.len() < NARROWED_FROM {
            return;
        }
        // Twice what the distances' own rounding can be, so that it never decides.
        let margin = 2.0 * reach + 16.0 * f64::EPSILON * high;
        let (inside, outside) = (low + margin, high - margin);
        let distances = self.distance.iter().enumerate();
        self.index = distances
            .filter(|(_, d)| **d <= inside || **d >= outside)
            .map(|(index, _)| index)
            .collect();
        self.points = self.index.iter().map(|index| self.all[*index]).collect();
        for column in [&mut self.cos, &mut self.sin, &mut self.distance] {
            column.truncate(self.index.len());
        }
        self.near = Some((centre, reach));
    }
}
