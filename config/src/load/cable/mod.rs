//! `[cable.NAME]`: which port, how it is set, and how its readings come and are to be understood.

mod port;
mod settings;

pub(super) use port::{check_ports, socket, usb};

use super::frame;
use super::mistake::Problem;
use super::section::{Section, Value};
use super::value::{
    UNITS, angle, boolean, choice, factor, list, mismatch, positive, seconds, whole,
};
use crate::model::{Cable, Cadence, Measures, SerialSettings, TYPED};
use metrology::{Angle, Unit};
use protocol::frame::Frame;
use std::f64::consts::FRAC_PI_2;
use toml::de::DeValue;

const KEYS: [&str; 21] = [
    "port",
    "usb",
    "interface",
    "socket",
    "settings",
    "dtr",
    "rts",
    "measures",
    "cadence",
    "stale_after",
    "request",
    "interval",
    "timeout",
    "frame",
    "unit",
    "resolution",
    "invert",
    "scale",
    "error_limit",
    "repeatability",
    "lever_angle",
];

const STALE_AFTER_S: f64 = 2.0;
const INTERVAL_S: f64 = 0.1;
const TIMEOUT_S: f64 = 0.5;
/// The longest request, as long as the longest frame of Modbus RTU.
const MAX_REQUEST: usize = 256;

#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Streams,
    Polled,
    Press,
}

const KINDS: [(&str, Kind); 3] = [
    ("streams", Kind::Streams),
    ("polled", Kind::Polled),
    ("press", Kind::Press),
];

const MEASURES: [(&str, Measures); 2] = [
    (Measures::Part.name(), Measures::Part),
    (Measures::Position.name(), Measures::Position),
];

/// The keys that belong to one cadence only.
const OF_CADENCE: [(&str, Kind, &str); 4] = [
    ("stale_after", Kind::Streams, "streams"),
    ("request", Kind::Polled, "polled"),
    ("interval", Kind::Polled, "polled"),
    ("timeout", Kind::Polled, "polled"),
];

/// Reads a cable. What is wrong with it is among the findings when there is none.
pub(super) fn read(name: String, section: &Section<'_>) -> Option<Cable> {
    section.only(&KEYS);
    if name.eq_ignore_ascii_case(TYPED) {
        section.wrong(
            Problem::new("`typed` is the name of readings that are typed").expected("another name"),
        );
    }
    let port = port::read(section);
    port::only_with_usb(section);
    let lines = (
        section.optional("dtr", boolean),
        section.optional("rts", boolean),
    );
    let settings = section.optional("settings", settings::read);
    let frame = frame::read(section);
    let decoder = frame
        .as_ref()
        .and_then(|(name, described)| match described {
            Some(table) => table.frame().ok(),
            None => Frame::shipped(name),
        });
    let measures = section.optional("measures", choice(&MEASURES));
    if let Some(settings) = &settings {
        settings::check(section, settings, decoder.as_ref());
    }
    let cadence = cadence(section, decoder.as_ref());
    let unit = section.optional("unit", choice(&UNITS));
    let resolution = section.optional("resolution", positive);
    let invert = section.optional("invert", boolean);
    let scale = section.optional("scale", factor);
    let error_limit = section.optional("error_limit", positive);
    let repeatability = section.optional("repeatability", positive);
    let lever_angle = section.optional("lever_angle", lever_angle);
    let (frame, described) = frame?;
    Some(Cable {
        name,
        port: port?,
        settings: SerialSettings {
            dtr: lines.0,
            rts: lines.1,
            ..settings.unwrap_or_default()
        },
        measures: measures.unwrap_or_default(),
        cadence: cadence?,
        frame,
        described,
        unit: unit.unwrap_or(Unit::Mm),
        resolution,
        invert: invert.unwrap_or(false),
        scale: scale.unwrap_or(1.0),
        error_limit,
        repeatability,
        lever_angle,
    })
}

/// The cadence. Some frames know their own request; whether this one does is not known when it is broken.
fn cadence(section: &Section<'_>, frame: Option<&Frame>) -> Option<Cadence> {
    let kind = section.required("cadence", "one of streams, polled, press", choice(&KINDS));
    // The keys are read even where they do not belong, so that their own mistakes are told as well.
    let stale_after_s = section.optional("stale_after", seconds(0.05, 3600.0));
    let request = section.optional("request", request);
    let interval_s = section.optional("interval", seconds(0.005, 3600.0));
    let timeout_s = section.optional("timeout", seconds(0.005, 60.0));
    let kind = kind?;
    for (key, owner, cadence) in OF_CADENCE {
        if kind != owner && section.has(key) {
            let problem = Problem::new(format!("this belongs to cadence = \"{cadence}\""))
                .expected("this key left out, or that cadence");
            section.wrong_key(key, problem);
        }
    }
    match kind {
        Kind::Streams => Some(Cadence::Streams {
            stale_after_s: stale_after_s.unwrap_or(STALE_AFTER_S),
        }),
        Kind::Polled => {
            let own_request = frame.and_then(Frame::request);
            if !section.has("request") && own_request.is_none() && frame.is_some() {
                section.wrong(Problem::new("`request` is missing").expected(REQUEST));
            }
            Some(Cadence::Polled {
                request: request.or(own_request)?,
                interval_s: interval_s.unwrap_or(INTERVAL_S),
                timeout_s: timeout_s.unwrap_or(TIMEOUT_S),
            })
        }
        Kind::Press => Some(Cadence::Press),
    }
}

const REQUEST: &str =
    "the bytes that ask for a reading: a text such as \"?\\r\", or numbers such as [1, 3, 0, 0]";

fn request<'a>(value: &'a Value<'a>) -> Result<Vec<u8>, Problem> {
    let bytes = match value.get_ref() {
        DeValue::String(text) => text.as_bytes().to_vec(),
        DeValue::Array(_) => list(REQUEST, whole(0, 255))(value)?
            .into_iter()
            .filter_map(|byte| u8::try_from(byte).ok())
            .collect(),
        _ => return Err(mismatch(value, REQUEST)),
    };
    if (1..=MAX_REQUEST).contains(&bytes.len()) {
        Ok(bytes)
    } else {
        Err(Problem::new(format!("a request of {} bytes", bytes.len()))
            .expected(format!("1 to {MAX_REQUEST} bytes")))
    }
}

/// A lever that stands square to the surface shows nothing.
fn lever_angle(value: &Value<'_>) -> Result<Angle, Problem> {
    match angle(value)? {
        lever if lever >= Angle::ZERO && lever.rad() < FRAC_PI_2 => Ok(lever),
        lever => Err(Problem::new(format!(
            "no lever stands at {}° to the surface",
            lever.deg()
        ))
        .expected("an angle from 0° to below 90°")),
    }
}

/// Refuses a second cable that measures the table's position: which of them a sweep means could not be told.
pub(super) fn check_position(cables: &[(Cable, &Section<'_>)]) {
    let mut of_position = cables
        .iter()
        .filter(|(cable, _)| cable.measures == Measures::Position);
    let Some((first, _)) = of_position.next() else {
        return;
    };
    for (_, section) in of_position {
        section.wrong_key(
            "measures",
            Problem::new(format!(
                "the cable `{}` measures the table's position already",
                first.name
            ))
            .expected("one cable at most that measures the position"),
        );
    }
}
