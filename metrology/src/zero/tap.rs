//! The advice: which station to stand at, and the reading to tap to.

use super::{Pivot, Tap};
use crate::setup::Station;

/// What the advice is made from.
pub(crate) struct Aim<'a> {
    /// The line that stands now, in the shown reading: at position 0, mm, and its rise per length.
    pub at_zero_mm: f64,
    pub slope_now: f64,
    /// Where the indicator stands, from A.
    pub standing_mm: f64,
    /// The stations of the round by position, at least two.
    pub stations: &'a [Station],
    pub pivot: Option<&'a Pivot>,
    /// The slope to be left, no unit, in the shown reading.
    pub slope: f64,
}

/// Two stations are equally far from the pivot when they differ by less than this share of the span.
const EQUALLY_FAR: f64 = 0.1;

/// The target reading `T(x) = r(x) − (m − m*)(x − p)` at the better station.
///
/// The better station is the one further from the pivot: there the same turn moves the reading most. Before anything is
/// known of the pivot the tap is a trial, at the station that the indicator stands at, for a pivot at the far one.
pub(crate) fn advise(aim: &Aim<'_>) -> Option<Tap> {
    let first = aim.stations.first()?;
    let last = aim.stations.last()?;
    let span = (last.position - first.position).mm();
    let standing = aim.standing_mm;
    let (station, pivot, trial) = match aim.pivot {
        Some(pivot) => {
            let distance = |s: &Station| (s.position.mm() - pivot.position_mm).abs();
            let far = if distance(first) > distance(last) {
                first
            } else {
                last
            };
            // Walking to the other end is worth it only for a clearly longer lever.
            let here = aim.stations.iter().find(|s| s.position.mm() == standing);
            let station = here
                .filter(|here| distance(far) - distance(here) < EQUALLY_FAR * span)
                .unwrap_or(far);
            (station, pivot.position_mm, false)
        }
        None => {
            let near_first = (standing - first.position.mm()).abs() <= span / 2.0;
            let (here, far) = if near_first {
                (first, last)
            } else {
                (last, first)
            };
            (here, far.position.mm(), true)
        }
    };
    let x = station.position.mm();
    let reading = aim.at_zero_mm + aim.slope_now * x;
    let change = -(aim.slope_now - aim.slope) * (x - pivot);
    Some(Tap {
        station: station.name.clone(),
        station_mm: x,
        target_mm: reading + change,
        move_um: change * 1e3,
        toward: change > 0.0,
        trial,
        aim_arcsec: None,
        wanted_arcsec: None,
    })
}
