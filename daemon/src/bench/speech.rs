//! How an instrument speaks.

use config::model::SerialSettings;
use metrology::Unit;
use protocol::capture::Chunk;
use protocol::frame::Frame;
use std::path::PathBuf;

/// When the instrument speaks.
#[derive(Debug, Clone, PartialEq)]
pub enum Manner {
    /// By itself, without end.
    Streams {
        /// Readings a second; above 0 and at most 10 000.
        rate_hz: f64,
    },
    /// When these bytes arrive.
    Polled {
        /// The request.
        request: Vec<u8>,
    },
    /// When its key is pressed ([`super::VirtualCable::press`]).
    Press,
    /// As it was captured, from the moment on that somebody listens, and then never again.
    Replays {
        /// What it says, in order of time.
        chunks: Vec<Chunk>,
    },
}

/// How the instrument speaks.
#[derive(Debug, Clone)]
pub struct Speech {
    /// The form of its frames.
    pub frame: Frame,
    /// The unit that it shows.
    pub unit: Unit,
    /// When it speaks.
    pub manner: Manner,
    /// How it is set. A port with another speed hears garbage; absent, every speed is right. A pty knows no
    /// parity: of 7 bits with parity it hears the parity as the eighth bit, as a port set to `8N1` does.
    pub line: Option<SerialSettings>,
    /// A symbolic link that is kept pointing at the pty while it is plugged, so that its name outlives an unplug.
    pub link: Option<PathBuf>,
}

impl Speech {
    /// A stream in millimetres that every speed understands.
    #[must_use]
    pub const fn streams(frame: Frame, rate_hz: f64) -> Self {
        Self {
            frame,
            unit: Unit::Mm,
            manner: Manner::Streams { rate_hz },
            line: None,
            link: None,
        }
    }
}
