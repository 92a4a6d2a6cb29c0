//! The frames that the program ships, each with its name and its form.

use super::bcd13::Bcd13;
use super::bits24::Bits24;
use super::{Blanks, Frame, Kind, Modbus, Point, Presence, Sign, TextPattern};
use metrology::Length;

/// All names, the general before the special.
pub(super) const NAMES: &[&str] = &[
    "text",
    "text-signed",
    "text-unit",
    "text-fixed",
    "text-counts",
    "text-status",
    "text-channel",
    "text-two-lines",
    "bcd13",
    "bcd13-hex",
    "bits24",
    "bits24-hex",
    "modbus",
    "typed",
];

pub(super) fn legend(name: &str) -> Option<&'static str> {
    Some(match name {
        "text" => "a line with a decimal, sign and unit or not: `-0.0120`, `0,012 mm`",
        "text-signed" => "a line with a decimal that always has its sign: `+0.0120`",
        "text-unit" => "a line with a decimal and always its unit: `0.0120 mm`, `-.00045in`",
        "text-fixed" => "a line of always eight characters, sign and zeros written out: `+000.012`",
        "text-counts" => {
            "a line with a sign and six digits without a point, in steps of 0.001: `+000012`"
        }
        "text-status" => {
            "a line with a decimal and a letter of status, L low, O good, H high; E is no reading: `+0.012H`"
        }
        "text-channel" => {
            "a line with the channel, a blank and a decimal with its sign: `1 +0.012`"
        }
        "text-two-lines" => {
            "a decimal with its sign on one line, its unit on the next: `+0.012`, `mm`"
        }
        "bcd13" => "13 digits low bit first, four of F in front, packed into seven bytes",
        "bcd13-hex" => "the 13 digits as a line of hexadecimal digits: `FFFF000001230`",
        "bits24" => "24 bits low bit first, in three bytes between silences",
        "bits24-hex" => "the 24 bits as three bytes in hexadecimal: `D20400`",
        "modbus" => {
            "Modbus RTU: 32 bits in holding registers 0 and 1 of address 1, in steps of 0.001 mm"
        }
        "typed" => "what a user types: `12.5`, `2.5um`, `0.0001in`",
        _ => return None,
    })
}

/// A shipped text pattern.
pub(super) fn pattern(name: &str) -> Option<TextPattern> {
    let line = |line: &str| TextPattern {
        line: line.to_owned(),
        ..TextPattern::default()
    };
    let signed = |text: &str| TextPattern {
        sign: Sign::Always,
        ..line(text)
    };
    Some(match name {
        "text" => line("{sign}{value}{unit}"),
        "text-signed" => signed("{sign}{value}{unit}"),
        "text-unit" => TextPattern {
            unit: Presence::Always,
            ..line("{sign}{value}{unit}")
        },
        "text-fixed" => TextPattern {
            whole: Some(3),
            places: Some(3),
            blanks: Blanks::Exact,
            ..signed("{sign}{value}")
        },
        "text-counts" => TextPattern {
            point: Point::None,
            whole: Some(3),
            places: Some(3),
            ..signed("{sign}{value}")
        },
        "text-status" => TextPattern {
            status: "LOH".to_owned(),
            refuse: "E".to_owned(),
            ..line("{sign}{value}{unit}{status}")
        },
        "text-channel" => signed("{channel} {sign}{value}{unit}"),
        "text-two-lines" => TextPattern {
            unit: Presence::Always,
            ..signed("{sign}{value}\n{unit}")
        },
        _ => return None,
    })
}

pub(super) fn find(name: &str) -> Option<Frame> {
    if let Some(pattern) = pattern(name) {
        return Frame::from_pattern(&pattern).ok();
    }
    Some(Frame(match name {
        "bcd13" => Kind::Bcd13(Bcd13::Raw),
        "bcd13-hex" => Kind::Bcd13(Bcd13::Hex),
        "bits24" => Kind::Bits24(Bits24::Raw),
        "bits24-hex" => Kind::Bits24(Bits24::Hex),
        "modbus" => Kind::Modbus(Modbus::default()),
        "typed" => return Some(Frame::typed(None::<Length>)),
        _ => return None,
    }))
}
