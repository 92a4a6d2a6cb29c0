//! How the port of a cable is set: `9600 8N1`.

use crate::load::mistake::Problem;
use crate::load::section::{Section, Value};
use crate::load::value::{mismatch, text};
use crate::model::{Flow, Parity, SerialSettings};
use protocol::frame::Frame;

/// The slowest speed taken; anything below is a slip of the pen.
const SLOWEST: u32 = 50;
/// The fastest speed that common adapters set; beyond it some keep an older speed in silence.
const FASTEST: u32 = 3_000_000;
const SETTINGS: &str = "speed, then data bits (7 or 8), parity (N, E or O) and stop bits (1 or 2), and flow control \
     where there is any (xon/xoff or rts/cts): \"9600 8N1\"";

/// Reads speed, format and flow control.
pub(super) fn read(value: &Value<'_>) -> Result<SerialSettings, Problem> {
    let written = text(value).map_err(|_| mismatch(value, SETTINGS))?;
    let wrong = |what: String| Problem::new(what).expected(SETTINGS);
    let mut words = written.split_whitespace();
    let (Some(speed), Some(format), flow, None) =
        (words.next(), words.next(), words.next(), words.next())
    else {
        return Err(wrong(format!("`{written}` is not a speed and a format")));
    };
    let flow = match flow {
        None => Flow::None,
        Some(word) => Flow::ALL
            .into_iter()
            .find(|flow| flow.name().eq_ignore_ascii_case(word))
            .ok_or_else(|| wrong(format!("`{word}` is no flow control")))?,
    };
    let baud = speed
        .parse::<u32>()
        .map_err(|_| wrong(format!("`{speed}` is no speed")))
        .and_then(|baud| match baud {
            SLOWEST..=FASTEST => Ok(baud),
            _ => Err(wrong(format!(
                "the speed {baud} is not from {SLOWEST} to {FASTEST}"
            ))),
        })?;
    let [data, parity, stop] = format.as_bytes() else {
        return Err(wrong(format!("`{format}` is no format")));
    };
    let data_bits = match data {
        b'7' => 7,
        b'8' => 8,
        _ => {
            return Err(wrong(format!(
                "`{format}` does not begin with 7 or 8 data bits"
            )));
        }
    };
    let parity = match parity.to_ascii_uppercase() {
        b'N' => Parity::None,
        b'E' => Parity::Even,
        b'O' => Parity::Odd,
        _ => {
            return Err(wrong(format!(
                "the parity of `{format}` is none of N, E and O"
            )));
        }
    };
    let stop_bits = match stop {
        b'1' => 1,
        b'2' => 2,
        _ => {
            return Err(wrong(format!(
                "`{format}` does not end with 1 or 2 stop bits"
            )));
        }
    };
    Ok(SerialSettings {
        baud,
        data_bits,
        parity,
        stop_bits,
        flow,
        dtr: None,
        rts: None,
    })
}

/// Settings under which a line cannot be held at its level, or bytes of a value would be lost.
pub(super) fn check(section: &Section<'_>, settings: &SerialSettings, frame: Option<&Frame>) {
    if settings.flow == Flow::RtsCts && section.has("rts") {
        section.wrong_key(
            "rts",
            Problem::new("rts/cts flow control moves this line, and it cannot be held as well")
                .expected("this key left out, or settings without rts/cts"),
        );
    }
    if settings.data_bits == 7 && frame.is_some_and(Frame::has_any_byte) {
        section.wrong_key(
            "settings",
            Problem::new("the bytes of this frame have eight bits").expected("8 data bits"),
        );
    }
    if settings.flow == Flow::XonXoff && frame.is_some_and(Frame::has_any_byte) {
        section.wrong_key(
            "settings",
            Problem::new(
                "the values of this frame can hold the bytes 11h and 13h, which xon/xoff flow control takes out",
            )
            .expected("rts/cts, or no flow control"),
        );
    }
}
