//! A dwell: the readings before a mark that agree, or what moved.
//!
//! The user holds the indicator at a station and marks it. What counts is the stretch of readings that ends at
//! the mark and stays within a narrow band. A mark made while the set-up still moves would be believed later, so
//! it is refused, with how far the readings went.

use crate::evidence::{Reading, Time};
use crate::rest;
use metrology::Length;
use metrology::setup::SettleRule;

/// A settled dwell: the range of readings that agree.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dwell {
    /// First reading that counts.
    pub first_seq: u64,
    /// Last reading that counts.
    pub last_seq: u64,
}

/// Why a dwell has not settled.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NotSettled {
    /// The readings moved within the time that they should have held.
    #[error(
        "the readings have not settled: they moved by {:.1} µm in the last {over_s:.1} s (from {:+.4} to {:+.4} mm; {:.1} µm is \
         allowed)",
        spread.um(),
        from.mm(),
        to.mm(),
        band.um()
    )]
    Moved {
        /// First reading of that time.
        from: Length,
        /// Last reading.
        to: Length,
        /// Largest minus smallest.
        spread: Length,
        /// The band that they should have kept.
        band: Length,
        /// Over this long, s.
        over_s: f64,
    },
    /// They agree, but there are not enough of them yet, or not for long enough.
    #[error(
        "the readings have not settled: {readings} of at least {needed} readings, steady for {held_s:.1} of {hold_s:.1} s"
    )]
    TooShort {
        /// How many there are.
        readings: usize,
        /// How many are needed.
        needed: usize,
        /// For how long they have held, s.
        held_s: f64,
        /// For how long they must, s.
        hold_s: f64,
    },
    /// No reading has come within the time looked at.
    #[error("no reading has come lately")]
    NoReading,
}

/// How far back a change is sought, in the longest time that a dwell reaches back.
const LOOK_BACK: f64 = 1.5;

/// The settled stretch that ends with the last of `readings` (in order of arrival), as seen at `now`.
///
/// It reaches back at most `longest_s`, must reach back `hold_s` before `now` and hold `least_readings`. What agrees is what
/// lies within the stated band; where none is stated, the noise of `readings` tells it, so they are best all that belong
/// together.
///
/// # Errors
/// What moved and by how much, or what is still missing.
pub fn settle(readings: &[Reading], now: Time, rule: &SettleRule) -> Result<Dwell, NotSettled> {
    let last = readings.last().ok_or(NotSettled::NoReading)?;
    if now.since_s(last.t) > rule.longest_s {
        return Err(NotSettled::NoReading);
    }
    let longest = readings.partition_point(|r| now.since_s(r.t) > rule.longest_s);
    let (start, moved) = match rule.band {
        Some(band) => within(band, readings, longest, now, rule),
        None => at_rest(readings, longest, now, rule),
    };
    let held = &readings[start..];
    let held_s = now.since_s(held[0].t);
    match moved {
        Some(moved) => Err(moved),
        None if held_s >= rule.hold_s && held.len() >= rule.least_readings => Ok(Dwell {
            first_seq: held[0].seq,
            last_seq: last.seq,
        }),
        None => Err(NotSettled::TooShort {
            readings: held.len(),
            needed: rule.least_readings,
            held_s,
            hold_s: rule.hold_s,
        }),
    }
}

/// By the indicator's noise: the first reading that agrees with all after it, and what moved before it when that is not long
/// enough ago.
fn at_rest(
    readings: &[Reading],
    longest: usize,
    now: Time,
    rule: &SettleRule,
) -> (usize, Option<NotSettled>) {
    // A slow creep shows only over longer; what counts of it does not begin before its time.
    let back = readings.partition_point(|r| now.since_s(r.t) > LOOK_BACK * rule.longest_s);
    let rest = rest::look(readings, back);
    let start = rest.start.max(longest);
    let held_s = now.since_s(readings[start].t);
    let moved = rest.moved.and_then(|moved| {
        if held_s < rule.hold_s {
            return Some(moved_in_hold(readings, start, now, rule, moved.allowed));
        }
        rest.goes_on.then(|| NotSettled::Moved {
            from: moved.from,
            to: moved.to,
            spread: Length::from_pm((moved.to - moved.from).pm().abs()),
            band: moved.allowed,
            over_s: now.since_s(readings[moved.since].t),
        })
    });
    (start, moved)
}

/// By a stated band: the same.
fn within(
    band: Length,
    readings: &[Reading],
    longest: usize,
    now: Time,
    rule: &SettleRule,
) -> (usize, Option<NotSettled>) {
    let last = &readings[readings.len() - 1];
    let (mut low, mut high) = (last.value, last.value);
    let mut start = readings.len() - 1;
    let mut broke = false;
    for (i, reading) in readings.iter().enumerate().skip(longest).rev() {
        let age_s = now.since_s(reading.t);
        let long_enough = age_s > rule.hold_s && readings.len() - i > rule.least_readings;
        if long_enough {
            // What must hold has held. Older readings only add to the mean, and only where they bring nothing new: a
            // tap smaller than the band must not leak into what is read after it.
            if reading.value < low || reading.value > high {
                break;
            }
        } else if low.min(reading.value) + band < high.max(reading.value) {
            broke = true;
            break;
        }
        low = low.min(reading.value);
        high = high.max(reading.value);
        start = i;
    }
    if !broke || now.since_s(readings[start].t) >= rule.hold_s {
        return (start, None);
    }
    (start, Some(moved_in_hold(readings, start, now, rule, band)))
}

/// What moved within the time that must hold, where the readings agree only from `start` on.
fn moved_in_hold(
    readings: &[Reading],
    start: usize,
    now: Time,
    rule: &SettleRule,
    band: Length,
) -> NotSettled {
    let last = &readings[readings.len() - 1];
    // The reading that broke the band may be the one just before that time.
    let recent = readings.partition_point(|r| now.since_s(r.t) > rule.hold_s);
    let window = &readings[recent.min(start.saturating_sub(1))..];
    let lowest = window.iter().map(|r| r.value).min().unwrap_or(last.value);
    let highest = window.iter().map(|r| r.value).max().unwrap_or(last.value);
    NotSettled::Moved {
        from: window[0].value,
        to: last.value,
        spread: highest - lowest,
        band,
        over_s: rule.hold_s,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Readings 50 ms apart, in micrometres, resolution 1 µm; the last one at 10 s.
    fn readings(um: &[i64]) -> Vec<Reading> {
        let count = um.len() as i64;
        um.iter()
            .enumerate()
            .map(|(i, um)| Reading {
                seq: i as u64,
                t: Time(10_000_000_000 - (count - 1 - i as i64) * 50_000_000),
                value: Length::from_um(*um),
                resolution: Length::from_um(1),
            })
            .collect()
    }

    const NOW: Time = Time(10_010_000_000);

    #[test]
    fn the_settled_end_counts_and_what_came_before_does_not() {
        let mut um = vec![300, 200, 100];
        um.extend([7; 11]);
        um[9] = 8;
        let dwell = settle(&readings(&um), NOW, &SettleRule::default()).unwrap();
        assert_eq!((dwell.first_seq, dwell.last_seq), (3, 13));
    }

    #[test]
    fn a_long_dwell_is_cut_at_its_longest() {
        let dwell = settle(&readings(&[5; 100]), NOW, &SettleRule::default()).unwrap();
        // Readings within 2 s of 10.01 s: those from 8.01 s on, 50 ms apart.
        assert_eq!((dwell.first_seq, dwell.last_seq), (60, 99));
    }

    /// A tap of 2 µm: what was read before it is not averaged into what is read after it, which has to show first that it
    /// does not go on.
    #[test]
    fn a_small_tap_does_not_leak_into_the_mark_after_it() {
        let mut um = vec![10; 30];
        um.extend([12; 12]);
        let soon = settle(&readings(&um), NOW, &SettleRule::default());
        assert!(matches!(soon, Err(NotSettled::Moved { .. })), "{soon:?}");
        um.extend([12; 8]);
        let dwell = settle(&readings(&um), NOW, &SettleRule::default()).unwrap();
        assert_eq!((dwell.first_seq, dwell.last_seq), (30, 49));
    }

    #[test]
    fn what_moved_is_told() {
        let mut um = vec![12; 10];
        um.extend([24; 5]);
        let Err(NotSettled::Moved {
            from,
            to,
            spread,
            band,
            ..
        }) = settle(&readings(&um), NOW, &SettleRule::default())
        else {
            panic!("moved");
        };
        assert_eq!([from, to, spread].map(Length::um), [12.0, 24.0, 12.0]);
        // A display that shows no scatter may still flicker by a step.
        assert!((1.0..2.0).contains(&band.um()), "{band:?}");
    }

    #[test]
    fn a_stated_band_holds_at_its_limit_and_not_a_picometre_past_it() {
        let mut um = vec![0; 6];
        um.extend([4; 6]);
        let mut at = readings(&um);
        let rule = SettleRule {
            band: Some(Length::from_um(4)),
            ..SettleRule::default()
        };
        assert!(settle(&at, NOW, &rule).is_ok());
        for reading in &mut at[6..] {
            reading.value += Length::from_pm(1);
        }
        assert!(matches!(
            settle(&at, NOW, &rule),
            Err(NotSettled::Moved { .. })
        ));
    }

    /// A cable may send so fast that a hold is many hundreds of readings.
    #[test]
    fn a_fast_cable_settles_as_a_slow_one_does() {
        for per_s in [20_u32, 200, 1_000] {
            let every_ns = i64::from(1_000_000_000 / per_s);
            let count = i64::from(4 * per_s);
            let reading = |i: i64| Reading {
                seq: i as u64,
                t: Time(NOW.0 - (count - 1 - i) * every_ns),
                // A display that flickers between two values.
                value: Length::from_um(12 + i64::from(i % 7 == 0)),
                resolution: Length::from_um(1),
            };
            let readings: Vec<Reading> = (0..count).map(reading).collect();
            let rule = SettleRule {
                hold_s: 2.0,
                longest_s: 3.0,
                ..SettleRule::default()
            };
            let dwell = settle(&readings, NOW, &rule).unwrap();
            let used = dwell.last_seq - dwell.first_seq;
            assert!(used >= u64::from(2 * per_s), "{per_s}: {used}");
        }
    }

    #[test]
    fn too_few_too_short_and_none() {
        let rule = SettleRule::default();
        assert!(matches!(
            settle(&[], NOW, &rule),
            Err(NotSettled::NoReading)
        ));
        assert!(matches!(
            settle(&readings(&[1; 4]), NOW, &rule),
            Err(NotSettled::TooShort { readings: 4, .. })
        ));
        let late = NOW.plus_s(5.0);
        assert!(matches!(
            settle(&readings(&[1; 40]), late, &rule),
            Err(NotSettled::NoReading)
        ));
        let sparse = [
            Reading {
                t: Time(9_000_000_000),
                ..readings(&[1])[0]
            },
            readings(&[1])[0],
        ];
        assert!(matches!(
            settle(&sparse, NOW, &rule),
            Err(NotSettled::TooShort {
                readings: 2,
                needed: 3,
                ..
            })
        ));
    }
}
