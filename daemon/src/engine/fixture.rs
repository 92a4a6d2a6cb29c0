//! What earlier sessions found about the fixture of a set-up.

use crate::store::Learned;
use metrology::setup::{IndicatorSide, Setup};
use std::collections::BTreeMap;

/// Clamp shifts of earlier sessions that are remembered.
const SHIFTS_REMEMBERED: usize = 20;

/// Gives the fixture of a set-up what earlier sessions found: the pivot where its owner states none, and the clamp's
/// shifts beside those that the owner states.
pub(crate) fn remember(setup: &mut Setup, learned: &BTreeMap<String, BTreeMap<i64, Learned>>) {
    let Some(fixture) = &mut setup.fixture else {
        return;
    };
    let side = setup.sense.map(|sense| sense.indicator);
    // The owner states them as they read on the wheel's side.
    if side == Some(IndicatorSide::Opposite) {
        fixture
            .clamp_shifts
            .iter_mut()
            .for_each(|shift| *shift = -*shift);
    }
    let Some(steps) = learned.get(&fixture.name) else {
        return;
    };
    if fixture.learned_pivot.is_none() {
        fixture.learned_pivot = steps.values().rev().find_map(|step| step.pivot);
    }
    // The shifts that the owner states come first, as the oldest; those of earlier sessions follow.
    // Where only one of the two says on which side the indicator stands, nobody knows which way it would read now.
    let sided = |step: &'_ Learned| match (step.side, side) {
        (Some(then), Some(now)) if then != now => Some(-1.0),
        (then, now) => (then == now).then_some(1.0),
    };
    let seen = steps
        .values()
        .filter_map(|step| Some((step, sided(step)?)))
        .flat_map(|(step, sign)| step.clamp_shifts.iter().map(move |shift| sign * shift));
    fixture.clamp_shifts.extend(seen);
    let surplus = fixture.clamp_shifts.len().saturating_sub(SHIFTS_REMEMBERED);
    fixture.clamp_shifts.drain(..surplus);
}

#[cfg(test)]
mod tests {
    use super::*;
    use metrology::setup::{BigEnd, Fixture, Sense};

    /// A turn of the set-up that reads one way on the wheel's side reads the other way on the opposite one.
    #[test]
    fn clamp_shifts_are_remembered_with_the_indicators_side() {
        use IndicatorSide::{Opposite, Wheel};
        let learned = |side| Learned {
            clamp_shifts: vec![-1e-4],
            side,
            ..Learned::default()
        };
        let now = |then, now| {
            let mut setup = Setup {
                sense: (now as Option<_>).map(|indicator| Sense {
                    big_end: BigEnd::A,
                    indicator,
                }),
                fixture: Some(Fixture {
                    name: "plate".to_owned(),
                    pivot: None,
                    learned_pivot: None,
                    clamp_shifts: vec![-3e-4],
                }),
                ..Setup::default()
            };
            let steps = BTreeMap::from([(1, learned(then))]);
            remember(&mut setup, &BTreeMap::from([("plate".to_owned(), steps)]));
            setup.fixture.unwrap().clamp_shifts
        };
        // The owner's own first, as they read on the wheel's side.
        assert_eq!(now(Some(Wheel), Some(Wheel)), [-3e-4, -1e-4]);
        assert_eq!(now(Some(Wheel), Some(Opposite)), [3e-4, 1e-4]);
        assert_eq!(now(Some(Opposite), Some(Opposite)), [3e-4, -1e-4]);
        assert_eq!(now(None, None), [-3e-4, -1e-4], "as it always stands");
        assert_eq!(now(None, Some(Wheel)), [-3e-4], "nobody knows");
        assert_eq!(now(Some(Wheel), None), [-3e-4], "nobody knows");
    }
}
