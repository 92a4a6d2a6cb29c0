//! What one cable measures with, what was found in its place, and whether its reading has jumped while it was out.

use metrology::Length;
use protocol::api::CableState;
use protocol::evidence::Reading;

/// Pulling a cable and putting it back moves an indicator by some micrometres (common practice). A mark that differs by more
/// from the reading before is asked about, mm.
const REPLUGGED_MM: f64 = 0.010;
/// And by more than so many steps of the display.
const REPLUGGED_STEPS: f64 = 10.0;
/// An instrument with a key shows nothing between two presses, and the place may have changed. Its press is asked about when it
/// lies this far outside of all that was marked, or farther than these lie apart, mm.
const PRESSED_ELSEWHERE_MM: f64 = 0.100;

/// What a cable measures with, and what was found in its place.
#[derive(Debug, Default)]
pub(crate) struct Fitted {
    /// What it was opened with: none before the first opening, and none within where it is no USB adapter.
    pub own: Option<Option<String>>,
    /// What has taken its place.
    pub other: Option<Option<String>>,
    /// The state that the cable's task has reported last.
    pub beneath: Option<(CableState, Option<String>)>,
    /// The last reading before the cable left, until a mark after that.
    pub before_leaving: Option<Reading>,
}

/// What an instrument is called where its adapter does not say it.
pub(super) fn name_of(known_as: Option<&str>) -> &str {
    known_as.unwrap_or("a port without a USB adapter")
}

impl Fitted {
    /// The cable goes on with what was accepted before the daemon started.
    pub fn expect(&mut self, known_as: Option<String>) {
        self.own = known_as.map(Some);
    }

    pub fn known_as(&self) -> Option<String> {
        self.own.clone().flatten()
    }

    /// What has taken its place, in words.
    pub fn other(&self) -> Option<String> {
        let other = self.other.as_ref()?;
        Some(name_of(other.as_deref()).to_owned())
    }

    /// Both in words: the other one and the own.
    pub fn difference(&self) -> Option<String> {
        let other = self.other()?;
        let own = self.known_as();
        Some(format!("{other} in place of {}", name_of(own.as_deref())))
    }

    /// The state that is shown and acted on: that of the port, unless it belongs to another instrument.
    pub fn state(
        &mut self,
        cable: &str,
        state: CableState,
        detail: Option<String>,
        is_away: bool,
    ) -> (CableState, Option<String>) {
        self.beneath = Some((state, detail.clone()));
        if is_away {
            return (state, detail);
        }
        // A port that was opened and has not named an adapter is none of USB.
        self.own.get_or_insert(None);
        match self.difference() {
            None => (state, detail),
            Some(difference) => {
                let words = format!(
                    "{difference}; its readings are not used until `conewright cable accept {cable}`"
                );
                (CableState::Denied, Some(words))
            }
        }
    }

    /// The cable leaves; this is its last reading.
    pub fn left(&mut self, last: Option<Reading>) {
        self.before_leaving = self.before_leaving.or(last);
    }

    /// A reading of a cable that streams. What reads as before it left has kept its zero, wherever it is moved from there.
    pub fn reads(&mut self, reading: &Reading) {
        self.before_leaving = self
            .before_leaving
            .filter(|before| jumped(before, reading.value.mm(), reading.resolution, None));
    }

    /// What is there now is the cable's own. False when it was.
    pub fn accept(&mut self) -> bool {
        let other = self.other.take();
        let asked = self.before_leaving.take();
        let changed = other.is_some() || asked.is_some();
        if other.is_some() {
            self.own = other;
        }
        changed
    }
}

/// Whether a value differs by more from what was there before than a plug explains.
pub(super) fn jumped(
    before: &Reading,
    now_mm: f64,
    resolution: Length,
    marked_mm: Option<&[f64]>,
) -> bool {
    let before_mm = before.value.mm();
    let Some(marked_mm) = marked_mm else {
        let room = REPLUGGED_MM.max(REPLUGGED_STEPS * resolution.mm());
        return (now_mm - before_mm).abs() > room;
    };
    let all = || marked_mm.iter().copied().chain([before_mm]);
    let low = all().fold(f64::INFINITY, f64::min);
    let high = all().fold(f64::NEG_INFINITY, f64::max);
    let room = PRESSED_ELSEWHERE_MM.max(high - low);
    now_mm < low - room || now_mm > high + room
}

#[cfg(test)]
mod tests {
    use super::*;
    use protocol::evidence::Time;

    fn reading(um: i64) -> Reading {
        Reading {
            seq: 1,
            t: Time(0),
            value: Length::from_um(um),
            resolution: Length::from_um(1),
        }
    }

    #[test]
    fn a_replugged_indicator_is_not_asked_about_and_a_jump_is() {
        let fine = Length::from_um(1);
        for (before, now_mm, asked) in [
            (12, 0.012, false),
            (12, 0.022, false),
            (12, 0.0221, true),
            (12, 77.0, true),
            (110, 0.0, true),
        ] {
            assert_eq!(
                jumped(&reading(before), now_mm, fine, None),
                asked,
                "{now_mm}"
            );
        }
        // Ten steps of a coarse display are no jump.
        let coarse = Length::from_um(10);
        assert!(!jumped(&reading(0), 0.1, coarse, None));
        assert!(jumped(&reading(0), 0.11, coarse, None));
    }

    #[test]
    fn what_reads_as_before_it_left_may_be_moved_on() {
        let mut fitted = Fitted::default();
        fitted.left(Some(reading(12)));
        fitted.reads(&reading(312));
        assert!(fitted.before_leaving.is_some());
        fitted.reads(&reading(15));
        assert_eq!(fitted.before_leaving, None);
    }

    #[test]
    fn a_press_at_another_place_is_not_asked_about() {
        let fine = Length::from_um(1);
        let marked = [0.010, 0.310];
        for (now_mm, asked) in [(0.31, false), (0.609, false), (0.611, true), (-0.291, true)] {
            assert_eq!(
                jumped(&reading(10), now_mm, fine, Some(&marked)),
                asked,
                "{now_mm}"
            );
        }
    }
}
