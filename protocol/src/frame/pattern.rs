//! A line of text described by named pieces, as a user writes it into the configuration.

use metrology::Unit;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// How one value is sent as text.
///
/// `line` is the whole, with pieces in braces and everything else as it is sent:
///
/// | piece | stands for |
/// |---|---|
/// | `{sign}` | the sign, as the key `sign` says |
/// | `{value}` | digits and point, as `whole`, `point` and `places` say |
/// | `{unit}` | the unit's sign, as `unit` and `units` say |
/// | `{status}` | one letter of `status` or `refuse`, or none |
/// | `{channel}` | the number of a channel, `channel_digits` long |
///
/// A line break in `line` stands for the terminator: the value is then spread over two lines. A blank
/// stands for one or more blanks; with `blanks = "exact"`, for exactly one.
///
/// ```
/// use conewright_protocol::frame::{Frame, Terminator, TextPattern};
/// let pattern = TextPattern {
///     line: "{channel}:{sign}{value} {unit}".to_owned(),
///     places: Some(3),
///     terminator: Terminator::CrLf,
///     ..TextPattern::default()
/// };
/// assert!(Frame::from_pattern(&pattern).is_ok());
/// let wrong = TextPattern { line: "{number}".to_owned(), ..TextPattern::default() };
/// assert!(Frame::from_pattern(&wrong).is_err());
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct TextPattern {
    /// The line, pieces in braces. Default: `{sign}{value}{unit}`.
    pub line: String,
    /// Whether the sign is always there. Default: optional.
    pub sign: Sign,
    /// The decimal point. Default: either.
    pub point: Point,
    /// Digits before the point, where their number is fixed.
    pub whole: Option<u8>,
    /// Digits after the point, where their number is fixed; with `point = "none"`, how many of the last
    /// digits stand behind the point that is not sent.
    pub places: Option<u8>,
    /// Whether the unit is always there. Default: optional.
    pub unit: Presence,
    /// The signs of units that are sent. Default: `mm`, `um`, `µm`, `in`, `inch`, `"`, large or small.
    pub units: BTreeMap<String, Unit>,
    /// The letters of the status, each one character; a frame may also have none.
    pub status: String,
    /// Status letters with which the value is no reading: over range, error, battery.
    pub refuse: String,
    /// Only this channel is read; without it any.
    pub channel: Option<u8>,
    /// Digits of the channel's number. Default: 1.
    pub channel_digits: u8,
    /// Characters of the (first) line without its terminator, where their number is fixed.
    pub width: Option<u8>,
    /// Where blanks may stand. Default: free.
    pub blanks: Blanks,
    /// What ends a line. Default: any.
    pub terminator: Terminator,
}

impl Default for TextPattern {
    fn default() -> Self {
        Self {
            line: "{sign}{value}{unit}".to_owned(),
            sign: Sign::default(),
            point: Point::default(),
            whole: None,
            places: None,
            unit: Presence::default(),
            units: BTreeMap::new(),
            status: String::new(),
            refuse: String::new(),
            channel: None,
            channel_digits: 1,
            width: None,
            blanks: Blanks::default(),
            terminator: Terminator::default(),
        }
    }
}

/// How the sign is sent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Sign {
    /// `+`, `-` or nothing.
    #[default]
    Optional,
    /// `+` or `-`. The only one that proves where a value starts even when it is positive.
    Always,
    /// `-`, or a blank in its place; with free blanks also nothing.
    Minus,
}

/// The decimal point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Point {
    /// A point or a comma.
    #[default]
    Either,
    /// A point.
    Point,
    /// A comma.
    Comma,
    /// None is sent: a whole number of steps, of which `places` gives the size.
    None,
}

/// Whether a piece is always there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Presence {
    /// It may be missing.
    #[default]
    Optional,
    /// A line without it is not this frame.
    Always,
}

/// Where blanks may stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Blanks {
    /// Between any two pieces, before the first and after the last; never within a number.
    #[default]
    Free,
    /// Only where `line` has one.
    Exact,
}

/// What ends a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Terminator {
    /// CR, LF, or both in any order.
    #[default]
    Any,
    /// CR alone.
    Cr,
    /// LF alone.
    Lf,
    /// CR and LF.
    CrLf,
}

/// One piece of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Piece {
    /// Bytes as they are, none of them a blank.
    Literal(Vec<u8>),
    Blank,
    Channel,
    Sign,
    Value,
    Unit,
    Status,
}

const KNOWN: &str = "{sign}, {value}, {unit}, {status}, {channel}";

/// The lines of a pattern, each in its pieces.
pub(super) fn pieces(line: &str) -> Result<Vec<Vec<Piece>>, PatternError> {
    let mut lines = Vec::new();
    let mut seen: Vec<&str> = Vec::new();
    for text in line.split('\n') {
        let mut pieces = Vec::new();
        let mut rest = text;
        while let Some(first) = rest.chars().next() {
            if let Some(after) = rest.strip_prefix('{') {
                let Some((name, after)) = after.split_once('}') else {
                    return Err(PatternError::Unclosed {
                        rest: rest.to_owned(),
                    });
                };
                if seen.contains(&name) {
                    return Err(PatternError::Twice {
                        piece: name.to_owned(),
                    });
                }
                seen.push(name);
                pieces.push(match name {
                    "sign" => Piece::Sign,
                    "value" => Piece::Value,
                    "unit" => Piece::Unit,
                    "status" => Piece::Status,
                    "channel" => Piece::Channel,
                    _ => {
                        return Err(PatternError::UnknownPiece {
                            piece: name.to_owned(),
                        });
                    }
                });
                rest = after;
            } else if first == ' ' || first == '\t' {
                pieces.push(Piece::Blank);
                rest = &rest[1..];
            } else if first == '}' || first == '\r' {
                return Err(PatternError::Unclosed {
                    rest: rest.to_owned(),
                });
            } else {
                let end = rest.find(['{', '}', ' ', '\t', '\r']).unwrap_or(rest.len());
                pieces.push(Piece::Literal(rest.as_bytes()[..end].to_vec()));
                rest = &rest[end..];
            }
        }
        if pieces.is_empty() {
            return Err(PatternError::EmptyLine);
        }
        lines.push(pieces);
    }
    if lines.len() > 2 {
        return Err(PatternError::TooManyLines { lines: lines.len() });
    }
    if !seen.contains(&"value") {
        return Err(PatternError::NoValue);
    }
    Ok(lines)
}

/// Why a description is not a frame.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PatternError {
    /// A piece that is not known.
    #[error("`{{{piece}}}` is not a piece of a line; known are {KNOWN}")]
    UnknownPiece {
        /// Its name as written.
        piece: String,
    },
    /// A brace without its partner, or a terminator that belongs into `terminator`.
    #[error(
        "`{}`: a piece is a name in braces, such as {{value}}, and the end of the line is said by `terminator`",
        rest.escape_debug()
    )]
    Unclosed {
        /// The line from there on.
        rest: String,
    },
    /// A piece that is there twice.
    #[error("`{{{piece}}}` is there twice; once is enough")]
    Twice {
        /// Its name.
        piece: String,
    },
    /// No `{value}`.
    #[error("the line has no {{value}}: the simplest is `{{sign}}{{value}}`")]
    NoValue,
    /// Nothing in the line, or in one of two.
    #[error("a line of the pattern is empty: the simplest is `{{sign}}{{value}}`")]
    EmptyLine,
    /// More than two lines.
    #[error("the pattern has {lines} lines; a value is on one or spread over two")]
    TooManyLines {
        /// How many.
        lines: usize,
    },
    /// A key whose value cannot be.
    #[error("`{key} = {value}` cannot be: {domain}")]
    OutOfDomain {
        /// The key.
        key: &'static str,
        /// Its value as written.
        value: String,
        /// What can be.
        domain: &'static str,
    },
    /// A key that has no effect, since the line does not have its piece; or a piece without its key.
    #[error("`{key}` and `{piece}` belong together: give both, or neither")]
    Unpaired {
        /// The key.
        key: &'static str,
        /// The piece that belongs to it.
        piece: &'static str,
    },
    /// The pattern does not fit the line that it describes itself: it can never match.
    #[error(
        "the pattern can never match: the line that it describes is `{}`, and it does not fit; fix the number of digits \
         (`whole`, `places`) or put a blank or letter between the pieces",
        example.escape_debug()
    )]
    NeverFits {
        /// The line.
        example: String,
    },
}
