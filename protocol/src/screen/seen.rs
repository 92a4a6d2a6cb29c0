//! What a live view knows of a moment. Times are ages: there is no clock here.

use super::words;
use crate::api::{CableState, CableStatus, MarkLine, SoFar, Status};
use crate::style::Style;
use metrology::Length;
use std::collections::BTreeMap;

/// A value that streams is current only this long, s, whatever is said of its cable: eye and ear are told of a lost cable
/// within 2 s, and a quarter of a second may go by until the next look, another until it sounds.
const CURRENT_S: f64 = 1.5;

/// What a live view knows.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Seen<'a> {
    /// The last snapshot.
    pub status: Option<&'a Status>,
    /// Whether snapshots and readings keep coming.
    pub connected: bool,
    /// The last reading of each cable.
    pub readings: BTreeMap<&'a str, LastReading>,
    /// What the readings that are being recorded tell so far.
    pub so_far: Option<SoFar>,
    /// How much longer a mark waits for rest, s.
    pub waits_s: Option<f64>,
    /// Bytes that were no reading have come lately.
    pub skips: bool,
    /// What the user has said or begun.
    pub user: User<'a>,
    /// The units of what is shown.
    pub units: Style,
}

/// What the user has said or begun, and the background process does not know yet.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct User<'a> {
    /// Where the next mark is.
    pub place: Option<&'a str>,
    /// The next mark begins a new round.
    pub new_round: bool,
    /// The place that the indicator was taken to without a mark there.
    pub went_to: Option<&'a str>,
    /// A value for the next mark, as far as it is typed.
    pub typing: Option<&'a str>,
}

/// The last reading of a cable.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LastReading {
    /// Its value.
    pub value: Length,
    /// One step of the display.
    pub resolution: Length,
    /// Whether a mark made now would be accepted, as far as it is known.
    pub settled: bool,
    /// Its age, s.
    pub age_s: f64,
}

/// The indicator as it may be shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Indicator<'a> {
    /// Its cable.
    pub cable: &'a CableStatus,
    /// Its last reading.
    pub last: Option<LastReading>,
    /// Whether that is its reading of now.
    pub current: bool,
}

impl Indicator<'_> {
    /// Whether a mark made now would be accepted.
    #[must_use]
    pub fn settled(&self) -> bool {
        self.current && self.last.is_some_and(|last| last.settled)
    }

    /// Its reading, when that is the one of now.
    #[must_use]
    pub fn now(&self) -> Option<LastReading> {
        self.last.filter(|_| self.current)
    }

    /// Its cable's state and age, in words.
    #[must_use]
    pub fn state(&self, style: Style) -> String {
        let age_s = self.last.map(|last| last.age_s);
        words::cable_state(self.cable, age_s, self.current, style)
    }
}

impl<'a> Seen<'a> {
    /// The indicator, and whether its value is that of now.
    #[must_use]
    pub fn indicator(&self) -> Option<Indicator<'a>> {
        let status = self.status?;
        let name = status.indicator.as_ref()?;
        let cable = status.cables.iter().find(|cable| &cable.name == name)?;
        Some(self.of(cable))
    }

    /// A cable as it may be shown.
    pub(super) fn of(&self, cable: &'a CableStatus) -> Indicator<'a> {
        let last = self.readings.get(&*cable.name).copied();
        let fresh = last.is_some_and(|last| last.age_s < CURRENT_S);
        Indicator {
            cable,
            last,
            current: self.connected && cable.state == CableState::Live && fresh,
        }
    }

    /// The last mark that counts.
    #[must_use]
    pub fn last_mark(&self) -> Option<&'a MarkLine> {
        self.status?.marks.last()
    }

    /// The place that the indicator stands at, as far as the user has said.
    #[must_use]
    pub fn stands_at(&self) -> Option<&'a str> {
        let marked = || self.last_mark()?.station.as_deref();
        self.user.went_to.or_else(marked)
    }

    /// What the next mark is about, in words, for sentences.
    #[must_use]
    pub fn next(&self) -> Option<String> {
        self.user.next(self.status, self.units)
    }
}

impl User<'_> {
    /// What the next mark is about, in words, for sentences.
    #[must_use]
    pub fn next(self, status: Option<&Status>, units: Style) -> Option<String> {
        if let Some(place) = self.place {
            return Some(place.to_owned());
        }
        let status = status?;
        let place = status.next_place.as_ref();
        let place = place.map(|place| words::place(place, units));
        place
            .or_else(|| status.next_mark.clone())
            .or_else(|| status.next_station.clone())
    }
}
