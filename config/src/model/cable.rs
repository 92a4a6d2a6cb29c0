//! A cable: which port it is, how the port is set, and how its readings come and are to be understood.

use crate::frame::FrameTable;
use metrology::{Angle, Length, Unit};
use std::fmt;
use std::path::PathBuf;

/// The name under which typed readings are known: no cable can have it.
pub const TYPED: &str = "typed";

/// One configured way for readings to arrive through a port.
#[derive(Debug, Clone, PartialEq)]
pub struct Cable {
    /// Its name: the table's key.
    pub name: String,
    /// Which port.
    pub port: PortSelector,
    /// Speed, format and lines.
    pub settings: SerialSettings,
    /// What its readings are about.
    pub measures: Measures,
    /// How its readings come.
    pub cadence: Cadence,
    /// The frame, by the name it is shipped under, or [`crate::frame::DESCRIBED`].
    pub frame: String,
    /// The frame as the cable's own table describes it.
    pub described: Option<FrameTable>,
    /// The unit when the frame does not say.
    pub unit: Unit,
    /// One step of the display, where it is coarser than the digits sent, or the frame does not show it.
    pub resolution: Option<Length>,
    /// Readings are taken with the other sign.
    pub invert: bool,
    /// Readings are multiplied by this.
    pub scale: f64,
    /// Largest error of indication over the span used, to either side.
    pub error_limit: Option<Length>,
    /// How readings at one place repeat: the standard deviation of a single reading that is come to anew.
    pub repeatability: Option<Length>,
    /// Angle of a lever-type indicator's lever to the surface.
    pub lever_angle: Option<Angle>,
}

impl Cable {
    /// A cable of which only what must be stated is stated.
    #[must_use]
    pub fn new(name: &str, port: PortSelector, cadence: Cadence, frame: &str) -> Self {
        Self {
            name: name.to_owned(),
            port,
            settings: SerialSettings::default(),
            measures: Measures::Part,
            cadence,
            frame: frame.to_owned(),
            described: None,
            unit: Unit::Mm,
            resolution: None,
            invert: false,
            scale: 1.0,
            error_limit: None,
            repeatability: None,
            lever_angle: None,
        }
    }
}

/// What a cable's readings are about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Measures {
    /// The part: it is an indicator or another instrument whose readings are marked.
    #[default]
    Part,
    /// Where the table stands on its travel: its readings are the places of a sweep, and never a mark.
    Position,
}

impl Measures {
    /// Its name in the configuration.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Part => "part",
            Self::Position => "position",
        }
    }
}

/// Which port a cable is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PortSelector {
    /// By path, `/dev/ttyUSB0` or a pty.
    Path(PathBuf),
    /// By what the adapter is: vendor and product, and what tells it from others of its kind.
    Usb {
        /// Vendor id.
        vendor: u16,
        /// Product id.
        product: u16,
        /// Serial number, where it has one and needs it.
        serial: Option<String>,
        /// The interface, where one adapter has several ports.
        interface: Option<u8>,
        /// Where it is plugged, as bus and chain of sockets (`1-4.2`), where serial numbers repeat or are missing.
        socket: Option<String>,
    },
}

impl fmt::Display for PortSelector {
    /// As the configuration has it: `/dev/ttyUSB0`, `0403:6001:SERIAL`, `0403:6010 interface 1 at 1-4.2`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Path(path) => write!(f, "{}", path.display()),
            Self::Usb {
                vendor,
                product,
                serial,
                interface,
                socket,
            } => {
                write!(f, "{vendor:04x}:{product:04x}")?;
                serial.iter().try_for_each(|s| write!(f, ":{s}"))?;
                interface
                    .iter()
                    .try_for_each(|i| write!(f, " interface {i}"))?;
                socket.iter().try_for_each(|s| write!(f, " at {s}"))
            }
        }
    }
}

/// How the port is set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SerialSettings {
    /// Bits per second.
    pub baud: u32,
    /// 7 or 8.
    pub data_bits: u8,
    /// `N`, `E` or `O`.
    pub parity: Parity,
    /// 1 or 2.
    pub stop_bits: u8,
    /// How sender and receiver hold each other back.
    pub flow: Flow,
    /// Level of DTR, when it has to be set.
    pub dtr: Option<bool>,
    /// Level of RTS, when it has to be set.
    pub rts: Option<bool>,
}

impl Default for SerialSettings {
    /// `9600 8N1`, which most adapters start with.
    fn default() -> Self {
        Self {
            baud: 9_600,
            data_bits: 8,
            parity: Parity::None,
            stop_bits: 1,
            flow: Flow::None,
            dtr: None,
            rts: None,
        }
    }
}

impl fmt::Display for SerialSettings {
    /// As the configuration has it: `9600 8N1`, `19200 7E1 rts/cts`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let parity = match self.parity {
            Parity::None => 'N',
            Parity::Even => 'E',
            Parity::Odd => 'O',
        };
        write!(
            f,
            "{} {}{parity}{}",
            self.baud, self.data_bits, self.stop_bits
        )?;
        match self.flow {
            Flow::None => Ok(()),
            flow => write!(f, " {}", flow.name()),
        }
    }
}

/// How sender and receiver hold each other back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Flow {
    /// Not at all.
    #[default]
    None,
    /// By the bytes XON (11h) and XOFF (13h) between the others.
    XonXoff,
    /// By the lines RTS and CTS.
    RtsCts,
}

impl Flow {
    /// Every one, in the order of messages.
    pub const ALL: [Self; 3] = [Self::None, Self::XonXoff, Self::RtsCts];

    /// Its name in the configuration.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::None => "none",
            Self::XonXoff => "xon/xoff",
            Self::RtsCts => "rts/cts",
        }
    }
}

/// The parity bit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Parity {
    /// None.
    None,
    /// Even.
    Even,
    /// Odd.
    Odd,
}

/// How a cable's readings come.
#[derive(Debug, Clone, PartialEq)]
pub enum Cadence {
    /// By themselves, without end; older than this the last one is stale.
    Streams {
        /// Seconds without a reading after which the cable is stale.
        stale_after_s: f64,
    },
    /// When asked.
    Polled {
        /// The request.
        request: Vec<u8>,
        /// Seconds from one request to the next.
        interval_s: f64,
        /// Seconds to wait for an answer; three misses make the cable stale.
        timeout_s: f64,
    },
    /// When the user presses the instrument's key: each reading is itself a mark.
    Press,
}

impl Cadence {
    /// Its name in the configuration.
    #[must_use]
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Streams { .. } => "streams",
            Self::Polled { .. } => "polled",
            Self::Press => "press",
        }
    }
}
