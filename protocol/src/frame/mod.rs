//! Frames of instruments: bytes to readings, and back for the virtual bench and the tests.
//!
//! A [`Frame`] is the form in which an instrument or the bridge behind it sends one value. A [`Sniffer`]
//! finds frames in whatever a port delivers. Both are pure: bytes in, values out.

mod bcd13;
mod bits24;
mod hex;
mod line;
mod matcher;
mod modbus;
mod pattern;
mod pattern_check;
mod quick;
mod shipped;
mod sniffer;
mod text;
mod text_writer;
mod typed;

pub use modbus::{Modbus, Registers, Width, WordOrder};
pub use pattern::{Blanks, PatternError, Point, Presence, Sign, Terminator, TextPattern};
pub use sniffer::Sniffer;

use bcd13::Bcd13;
use bits24::Bits24;
use line::{Step, View};
use metrology::{Length, Unit};
use text::TextFrame;
use typed::Typed;

/// A value that a frame held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Decoded {
    /// The exact value as shown, in length.
    pub value: Length,
    /// One step of the last place shown.
    pub resolution: Length,
    /// The unit, when the frame itself stated it: it wins over the configuration.
    pub unit: Option<Unit>,
    /// The status letter, when the frame had one.
    pub status: Option<char>,
    /// The channel number, when the frame had one.
    pub channel: Option<u8>,
}

impl Decoded {
    /// A value with nothing else said.
    #[must_use]
    pub const fn bare(value: Length, resolution: Length) -> Self {
        Self {
            value,
            resolution,
            unit: None,
            status: None,
            channel: None,
        }
    }
}

/// The form in which one value is sent, ready to use.
///
/// ```
/// use metrology::{Length, Unit};
/// use conewright_protocol::frame::{Frame, Sniffer};
/// let frame = Frame::shipped("text").ok_or("no such frame")?;
/// let mut sniffer = Sniffer::new(frame, Unit::Mm);
/// let mut values = Vec::new();
/// sniffer.push(b"garbage\r\n-0.0120 mm\r\n+0.01", &mut |d| values.push(d.value));
/// assert_eq!(values, [Length::from_um(-12)]);
/// assert_eq!(sniffer.skipped_bytes(), 8);
/// # Ok::<(), &str>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Frame(Kind);

#[derive(Debug, Clone, PartialEq, Eq)]
enum Kind {
    /// Boxed, since a pattern is much larger than the others.
    Text(Box<TextFrame>),
    Bcd13(Bcd13),
    Bits24(Bits24),
    Modbus(Modbus),
    Typed(Typed),
}

impl Frame {
    /// A frame that is shipped, by its name.
    #[must_use]
    pub fn shipped(name: &str) -> Option<Self> {
        shipped::find(name)
    }

    /// The names of all shipped frames.
    #[must_use]
    pub fn names() -> &'static [&'static str] {
        shipped::NAMES
    }

    /// One line about a shipped frame: its form, with an example.
    #[must_use]
    pub fn legend(name: &str) -> Option<&'static str> {
        shipped::legend(name)
    }

    /// A frame of text lines from its description.
    ///
    /// # Errors
    /// What in the description cannot be, and what can.
    pub fn from_pattern(pattern: &TextPattern) -> Result<Self, PatternError> {
        TextFrame::new(pattern).map(|text| Self(Kind::Text(Box::new(text))))
    }

    /// Registers read over Modbus RTU.
    ///
    /// # Errors
    /// What in the description cannot be, and what can.
    pub fn from_modbus(modbus: Modbus) -> Result<Self, PatternError> {
        modbus.checked().map(|modbus| Self(Kind::Modbus(modbus)))
    }

    /// What a user types: a length with or without its unit, or divisions where their size is given.
    #[must_use]
    pub const fn typed(division: Option<Length>) -> Self {
        Self(Kind::Typed(Typed { division }))
    }

    /// The request that makes the instrument answer, for a frame that has one of its own.
    #[must_use]
    pub fn request(&self) -> Option<Vec<u8>> {
        match &self.0 {
            Kind::Modbus(modbus) => Some(modbus.request()),
            _ => None,
        }
    }

    /// How long a line has to be silent, in seconds, before [`Sniffer::pause`] is told so.
    ///
    /// It is longer than the holes that adapters make in a frame (an adapter that collects bytes for
    /// 16 ms is *common practice*), longer than five characters at the given speed, and shorter than
    /// the time between two presses of a key.
    #[must_use]
    pub fn pause_s(&self, bits_per_second: u32) -> f64 {
        let least = match &self.0 {
            Kind::Bits24(bits) if bits.is_raw() => 0.03,
            _ => 0.3,
        };
        // A character is at most 12 bits: start, eight data, parity, two stop.
        let characters = 5.0 * 12.0 / f64::from(bits_per_second.max(1));
        f64::max(least, characters)
    }

    /// The bytes with which an instrument sends `value`, to the nearest step of `resolution`, in `unit`.
    ///
    /// `None` when the frame cannot hold it: too large, a unit that it cannot state, a resolution that
    /// it does not have.
    #[must_use]
    pub fn encode(&self, value: Length, resolution: Length, unit: Unit) -> Option<Vec<u8>> {
        if value.abs() > Length::LIMIT {
            return None;
        }
        match &self.0 {
            Kind::Text(text) => text.encode(value, resolution, unit),
            Kind::Bcd13(bcd) => bcd.encode(value, resolution, unit),
            Kind::Bits24(bits) => bits.encode(value, unit),
            Kind::Modbus(modbus) => modbus.encode(value),
            Kind::Typed(_) => typed::encode(value, resolution, unit),
        }
    }

    /// What the head of the bytes is; `None` while it may still become a frame.
    fn scan(&self, view: View, bare: Unit) -> Option<Step> {
        match &self.0 {
            Kind::Text(text) => text.general(view, bare),
            Kind::Bcd13(bcd) => bcd.scan(view),
            Kind::Bits24(bits) => bits.scan(view),
            Kind::Modbus(modbus) => modbus.scan(view),
            Kind::Typed(typed) => typed.scan(view, bare),
        }
    }

    /// How many bytes the frame at the head of these takes, which begin at a known edge, and its value, where it is one that can
    /// be read the short way.
    #[inline]
    fn quick(&self, bytes: &[u8], bare: Unit) -> Option<(usize, Decoded)> {
        match &self.0 {
            Kind::Text(text) => text.quick(bytes, bare),
            _ => None,
        }
    }

    /// Whether what waits in the buffer is still good after a silence.
    fn outlasts_pause(&self, waiting: &[u8]) -> bool {
        match &self.0 {
            Kind::Text(text) => text.outlasts_pause(waiting),
            Kind::Typed(_) => true,
            _ => false,
        }
    }

    /// Whether its bytes can be any, and not only text: nothing on the way may take some of them for its own.
    #[must_use]
    pub const fn has_any_byte(&self) -> bool {
        match &self.0 {
            Kind::Text(_) | Kind::Typed(_) => false,
            Kind::Bcd13(bcd) => matches!(bcd, Bcd13::Raw),
            Kind::Bits24(bits) => bits.is_raw(),
            Kind::Modbus(_) => true,
        }
    }

    /// Whether a stream of this form starts with a frame, and never in the middle of one.
    const fn starts_whole(&self) -> bool {
        matches!(self.0, Kind::Typed(_))
    }
}

/// Whether a message of Modbus RTU has the right checksum.
pub(crate) fn is_checked(message: &[u8]) -> bool {
    modbus::crc_is_right(message)
}

/// The number of decimals that shows steps of `resolution` in `unit`.
fn places(resolution: Length, unit: Unit) -> u8 {
    let mut step = unit.pm();
    let mut places = 0;
    while step > resolution.pm() && step % 10 == 0 && places < 9 {
        step /= 10;
        places += 1;
    }
    places
}

/// `value` in whole steps of `step_pm`, to the nearest, halves away from zero.
fn steps(value: Length, step_pm: i64) -> i64 {
    let step_pm = step_pm.max(1);
    let (whole, rest) = (value.pm() / step_pm, value.pm() % step_pm);
    if rest.abs() * 2 >= step_pm {
        whole + rest.signum()
    } else {
        whole
    }
}

/// Powers of ten: as many as a number of 64 bits holds.
const POWERS: [i64; 19] = {
    let mut powers = [1; 19];
    let mut places = 1;
    while places < powers.len() {
        powers[places] = powers[places - 1] * 10;
        places += 1;
    }
    powers
};

/// One step of the last place by the number of places, pm; 0 where it is no whole number of them.
const fn last_places(unit: Unit) -> [i64; POWERS.len()] {
    let mut steps = [0; POWERS.len()];
    let mut places = 0;
    while places < steps.len() {
        if unit.pm() % POWERS[places] == 0 {
            steps[places] = unit.pm() / POWERS[places];
        }
        places += 1;
    }
    steps
}

/// Whole digits as a length: `digits · 10^-places` in `unit`, when that is in the domain.
fn decimal(negative: bool, digits: u64, places: u8, unit: Unit) -> Option<(Length, Length)> {
    const MM: [i64; POWERS.len()] = last_places(Unit::Mm);
    const UM: [i64; POWERS.len()] = last_places(Unit::Um);
    const IN: [i64; POWERS.len()] = last_places(Unit::In);
    let steps = match unit {
        Unit::Mm => &MM,
        Unit::Um => &UM,
        Unit::In => &IN,
    };
    // A metric display's last place is a whole number of picometres: then no division is needed.
    let step = *steps.get(usize::from(places))?;
    let digits = i64::try_from(digits).ok()?;
    let pm = if step > 0 {
        digits.checked_mul(step)
    } else {
        let scale = POWERS[usize::from(places)];
        let (product, scale) = (
            i128::from(digits) * i128::from(unit.pm()),
            i128::from(scale),
        );
        (product % scale == 0)
            .then(|| i64::try_from(product / scale).ok())
            .flatten()
    }
    .filter(|pm| *pm <= Length::LIMIT.pm())?;
    let value = Length::from_pm(if negative { -pm } else { pm });
    let step = if step > 0 {
        step
    } else {
        unit.pm() / POWERS[usize::from(places)]
    };
    Some((value, Length::from_pm(step.max(1))))
}

/// `count · 10^-places` with at least `whole` digits before the point.
fn written(count: u64, whole: u8, places: u8, point: &str) -> String {
    let mut text = format!(
        "{count:0width$}",
        width = usize::from(whole.max(1) + places)
    );
    if places > 0 {
        text.insert_str(text.len() - usize::from(places), point);
    }
    text
}
