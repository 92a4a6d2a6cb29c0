//! `[settle]`, `[tolerance]`, `[indicator]`, `[screen]`, `[document]`, `[sign]` and `[log]`: habits that hold unless a session says
//! otherwise.

use super::mistake::Problem;
use super::section::{Section, Value};
use super::value::{UNITS, boolean, choice, positive, seconds, text, unread, whole};
use crate::model::{Colour, Document, Log, LogLevel, PaperSize, Screen, Sign};
use metrology::setup::{Indicator, SettleRule};
use metrology::tolerance::Tolerance;
use protocol::style::{Decimal, Language};
use std::path::PathBuf;

/// The ring of readings holds 30 s: nothing older can be part of a dwell.
const LONGEST_S: f64 = 30.0;

pub(super) fn settle(section: &Section<'_>) -> SettleRule {
    section.only(&["hold", "longest", "least_readings", "band"]);
    let usual = SettleRule::default();
    let hold_s = section
        .optional("hold", seconds(0.0, LONGEST_S))
        .unwrap_or(usual.hold_s);
    let longest_s = section
        .optional("longest", seconds(0.05, LONGEST_S))
        .unwrap_or_else(|| usual.longest_s.max(hold_s));
    if hold_s > longest_s {
        section.wrong_key(
            if section.has("longest") {
                "longest"
            } else {
                "hold"
            },
            Problem::new(format!(
                "a dwell of {longest_s} s cannot hold for {hold_s} s"
            ))
            .expected("`longest` at least as long as `hold`"),
        );
    }
    SettleRule {
        hold_s,
        longest_s,
        least_readings: section
            .optional("least_readings", whole(1, 10_000))
            .and_then(|n| usize::try_from(n).ok())
            .unwrap_or(usual.least_readings),
        band: section.optional("band", positive),
    }
}

pub(super) fn tolerance(section: &Section<'_>) -> Option<Tolerance> {
    section.only(&["default"]);
    section.optional("default", |value: &Value<'_>| {
        text(value)?
            .parse()
            .map_err(|e| unread(&e).expected("AT1 to AT12, +AT4, -AT4, 5arcsec, 2um or 1um/60mm"))
    })
}

pub(super) fn indicator(section: &Section<'_>) -> Indicator {
    section.only(&["resolution", "error_limit", "repeatability", "division"]);
    Indicator {
        cable: None,
        resolution: section.optional("resolution", positive),
        error_limit: section.optional("error_limit", positive),
        repeatability: section.optional("repeatability", positive),
        division: section.optional("division", positive),
        lever_angle: None,
        check: None,
    }
}

const COLOURS: [(&str, Colour); 3] = [
    ("auto", Colour::Auto),
    ("always", Colour::Always),
    ("never", Colour::Never),
];

pub(super) fn screen(section: &Section<'_>) -> Screen {
    section.only(&["unit", "colour", "sound"]);
    let usual = Screen::default();
    Screen {
        unit: section.optional("unit", choice(&UNITS)),
        colour: section
            .optional("colour", choice(&COLOURS))
            .unwrap_or(usual.colour),
        sound: section.optional("sound", boolean).unwrap_or(usual.sound),
    }
}

const PAPERS: [(&str, PaperSize); 2] = [("a4", PaperSize::A4), ("letter", PaperSize::Letter)];

pub(super) fn document(section: &Section<'_>) -> Document {
    section.only(&["unit", "decimal", "language", "paper"]);
    let usual = Document::default();
    Document {
        unit: section.optional("unit", choice(&UNITS)),
        decimal: section.optional("decimal", choice(&Decimal::NAMED)),
        language: section
            .optional("language", choice(&Language::NAMED))
            .unwrap_or(usual.language),
        paper: section
            .optional("paper", choice(&PAPERS))
            .unwrap_or(usual.paper),
    }
}

pub(super) fn sign(section: &Section<'_>) -> Sign {
    section.only(&["always", "key", "known"]);
    let usual = Sign::default();
    Sign {
        always: section.optional("always", boolean).unwrap_or(usual.always),
        key: section.optional("key", |value| {
            path(value, "a file", "/home/toolroom/keys/private.json")
        }),
        known: section.optional("known", |value| {
            path(value, "a directory", "/srv/toolroom/keys")
        }),
    }
}

/// A path from the root, which is the same whoever reads the configuration.
fn path(value: &Value<'_>, of: &str, example: &str) -> Result<PathBuf, Problem> {
    match text(value)? {
        path if path.starts_with('/') && !path.ends_with('/') => Ok(path.into()),
        path => Err(Problem::new(format!("`{path}` is not the path of {of}"))
            .expected(format!("a path from the root such as \"{example}\""))),
    }
}

const LEVELS: [(&str, LogLevel); 5] = [
    ("error", LogLevel::Error),
    ("warn", LogLevel::Warn),
    ("info", LogLevel::Info),
    ("debug", LogLevel::Debug),
    ("trace", LogLevel::Trace),
];

pub(super) fn log(section: &Section<'_>) -> Log {
    section.only(&["level", "file", "keep"]);
    let usual = Log::default();
    Log {
        level: section
            .optional("level", choice(&LEVELS))
            .unwrap_or(usual.level),
        file: section.optional("file", |value| {
            path(value, "a file", "/var/log/conewright.log")
        }),
        keep: section
            .optional("keep", whole(1, 1_000))
            .and_then(|n| usize::try_from(n).ok())
            .unwrap_or(usual.keep),
    }
}
