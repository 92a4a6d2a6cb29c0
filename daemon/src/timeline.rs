//! The daemon's timeline: the steady clock, laid so that it never goes back from one run to the next.

use crate::clock::Clock;
use crate::store::{Anchor, Restored};
use protocol::evidence::Time;

/// A step of UTC against the steady clock beyond this is reported: the clock was set. Slewing stays far below it.
const CLOCK_SET_NS: i64 = 50_000_000;
/// A difference of the clock that counts sleep and the one that does not beyond this is reported as a sleep.
const SLEPT_NS: i64 = 1_000_000_000;

/// One moment on the timeline and by the system's clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Moment {
    /// On the timeline.
    pub t: Time,
    /// By the system's clock.
    pub utc: Time,
}

/// Lays times of the steady clock onto the timeline.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Timeline {
    offset_ns: i64,
}

impl Timeline {
    /// Goes on from what the store holds. After a restart of the daemon alone the steady clock has run on, and
    /// the timeline with it; after a start of the computer it begins at UTC. Either way nothing new comes to
    /// lie before anything stored, even when UTC was set back in between.
    pub fn begin(clock: &dyn Clock, boot_id: &str, restored: &Restored) -> (Self, Anchor) {
        let (steady_ns, utc_ns) = (clock.steady_ns(), clock.utc_ns());
        let ran_on = restored
            .run
            .as_ref()
            .filter(|run| run.boot_id == boot_id)
            .map(|run| run.offset_ns);
        let wished = ran_on.unwrap_or_else(|| utc_ns.saturating_sub(steady_ns));
        let least = restored.last.map_or(i64::MIN, |last| {
            last.0.saturating_add(1).saturating_sub(steady_ns)
        });
        let timeline = Self {
            offset_ns: wished.max(least),
        };
        let anchor = Anchor {
            boot_id: boot_id.to_owned(),
            steady_ns,
            utc_ns,
            t: timeline.at(steady_ns),
        };
        (timeline, anchor)
    }

    /// The place of a time of the steady clock.
    pub fn at(self, steady_ns: i64) -> Time {
        Time(steady_ns.saturating_add(self.offset_ns))
    }

    /// Now.
    pub fn now(self, clock: &dyn Clock) -> Moment {
        Moment {
            t: self.at(clock.steady_ns()),
            utc: Time(clock.utc_ns()),
        }
    }
}

/// What a look at the clocks has shown.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Irregular {
    /// The computer slept for so long, ns.
    pub slept_ns: Option<i64>,
    /// And what the steady clock shows below this was before it woke.
    pub woke_ns: Option<i64>,
    /// The system's clock was set by so much, ns; forward is positive.
    pub set_ns: Option<i64>,
}

/// Compares the clocks from look to look.
#[derive(Debug)]
pub(crate) struct ClockWatch {
    steady_ns: i64,
    utc_ns: i64,
    awake_ns: i64,
}

impl ClockWatch {
    pub fn begin(clock: &dyn Clock) -> Self {
        Self {
            steady_ns: clock.steady_ns(),
            utc_ns: clock.utc_ns(),
            awake_ns: clock.awake_ns(),
        }
    }

    /// Whether the computer has slept since the last look.
    pub fn has_slept(&self, clock: &dyn Clock) -> bool {
        let steady = clock.steady_ns() - self.steady_ns;
        let awake = clock.awake_ns() - self.awake_ns;
        steady - awake > SLEPT_NS
    }

    /// What has happened to the clocks since the last look.
    pub fn look(&mut self, clock: &dyn Clock) -> Irregular {
        let now = Self::begin(clock);
        let steady = now.steady_ns - self.steady_ns;
        let utc = now.utc_ns - self.utc_ns;
        let awake = now.awake_ns - self.awake_ns;
        let slept_ns = Some(steady - awake).filter(|slept| *slept > SLEPT_NS);
        // It fell asleep within the time awake since the last look, so that it woke no earlier than this; and looks
        // are closer together than what is reported as a sleep.
        let woke_ns = slept_ns.map(|slept| self.steady_ns + slept);
        *self = now;
        Irregular {
            slept_ns,
            woke_ns,
            set_ns: Some(utc - steady).filter(|set| set.abs() > CLOCK_SET_NS),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::LastRun;

    /// Steady, UTC, awake.
    struct At(i64, i64, i64);

    impl Clock for At {
        fn steady_ns(&self) -> i64 {
            self.0
        }
        fn utc_ns(&self) -> i64 {
            self.1
        }
        fn awake_ns(&self) -> i64 {
            self.2
        }
    }

    fn restored(last: i64, boot_id: &str, offset_ns: i64) -> Restored {
        Restored {
            last: Some(Time(last)),
            run: Some(LastRun {
                boot_id: boot_id.to_owned(),
                offset_ns,
                ended: None,
            }),
            ..Default::default()
        }
    }

    #[test]
    fn the_timeline_begins_where_it_should() {
        for (legend, found, clock, expected) in [
            (
                "an empty store: UTC",
                Restored::default(),
                At(5, 1_000, 0),
                1_000,
            ),
            (
                "the daemon alone was restarted: durations go on, though UTC was set",
                restored(1_010, "this", 995),
                At(25, 9_000, 0),
                1_020,
            ),
            (
                "the computer was started anew: UTC",
                restored(1_010, "other", 995),
                At(2, 5_000, 0),
                5_000,
            ),
            (
                "started anew with its clock set back: after all that is stored",
                restored(1_010, "other", 995),
                At(2, 300, 0),
                1_011,
            ),
        ] {
            let (timeline, anchor) = Timeline::begin(&clock, "this", &found);
            assert_eq!(anchor.t, Time(expected), "{legend}");
            assert_eq!(timeline.at(clock.0 + 7), Time(expected + 7), "{legend}");
        }
    }

    #[test]
    fn sleep_and_a_clock_that_was_set_are_told_apart() {
        const S: i64 = 1_000_000_000;
        let mut watch = ClockWatch::begin(&At(0, 100 * S, 0));
        let mut look = |steady, utc, awake| watch.look(&At(steady, utc, awake));
        let slewed = look(S, 101 * S + 40_000_000, S);
        assert_eq!(slewed, Irregular::default(), "slewing is no setting");
        let set_back = look(2 * S, 42 * S + 40_000_000, 2 * S);
        assert_eq!(set_back.set_ns, Some(-60 * S));
        assert_eq!(set_back.slept_ns, None);
        let slept = look(3_603 * S, 3_643 * S + 40_000_000, 3 * S);
        assert_eq!(slept.slept_ns, Some(3_600 * S));
        assert_eq!(slept.woke_ns, Some(3_602 * S));
        assert_eq!(slept.set_ns, None, "both clocks went on alike");
        let busy = look(3_663 * S, 3_703 * S + 40_000_000, 63 * S);
        assert_eq!(busy, Irregular::default(), "a late look is no sleep");
    }
}
