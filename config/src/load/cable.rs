//! `[cable.NAME]`: which port, how it is set, and how its readings come and are to be understood.

use super::frame;
use super::mistake::Problem;
use super::section::{Section, Value};
use super::value::{
    UNITS, angle, boolean, choice, factor, list, mismatch, positive, seconds, text, whole,
};
use crate::model::{Cable, Cadence, Flow, Measures, Parity, PortSelector, SerialSettings};
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

/// The name under which typed readings are known: no cable can have it.
pub const TYPED: &str = "typed";

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
    let port = port(section);
    only_with_usb(section);
    let lines = (
        section.optional("dtr", boolean),
        section.optional("rts", boolean),
    );
    let settings = section.optional("settings", settings);
    let frame = frame::read(section);
    let decoder = frame
        .as_ref()
        .and_then(|(name, described)| match described {
            Some(table) => table.frame().ok(),
            None => Frame::shipped(name),
        });
    let measures = section.optional("measures", choice(&MEASURES));
    if let Some(settings) = &settings {
        check_settings(section, settings, decoder.as_ref());
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

const USB: &str = "vendor and product in four hexadecimal digits each, and the serial number where there is \
     one: \"0403:6001:SERIAL\"";

fn port(section: &Section<'_>) -> Option<PortSelector> {
    match (section.has("port"), section.has("usb")) {
        (true, true) => {
            section.wrong_key(
                "usb",
                Problem::new("`port` and `usb` both name the port").expected("only one of them"),
            );
            None
        }
        (false, false) => {
            section.wrong(
                Problem::new("neither `port` nor `usb` says which port this is")
                    .expected("port = \"/dev/ttyUSB0\", or usb = \"0403:6001:SERIAL\""),
            );
            None
        }
        (true, false) => section.optional("port", |value| match text(value)? {
            path if path.starts_with('/') && !path.contains('\0') => {
                Ok(PortSelector::Path(path.into()))
            }
            path => Err(Problem::new(format!("`{path}` is no path of a port"))
                .expected("a path from the root such as \"/dev/ttyUSB0\"")),
        }),
        (false, true) => {
            let narrowed = (
                section.optional("interface", |value| {
                    let number = whole(0, 255)(value)?;
                    Ok(u8::try_from(number).unwrap_or(u8::MAX))
                }),
                section.optional("socket", |value| socket(text(value)?)),
            );
            let mut port = section.optional("usb", |value| usb(text(value)?))?;
            if let PortSelector::Usb {
                interface, socket, ..
            } = &mut port
            {
                (*interface, *socket) = narrowed;
            }
            Some(port)
        }
    }
}

/// Keys that tell adapters of one kind apart mean nothing beside a path.
fn only_with_usb(section: &Section<'_>) {
    for key in ["interface", "socket"] {
        if section.has(key) && !section.has("usb") {
            section.wrong_key(
                key,
                Problem::new(format!("`{key}` tells adapters apart that `usb` names"))
                    .expected("`usb` beside it, or a port without it"),
            );
        }
    }
}

/// `1-4.2`: the bus, and the chain of sockets from it.
pub(super) fn socket(place: &str) -> Result<String, Problem> {
    let number = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    match place.split_once('-') {
        Some((bus, chain)) if number(bus) && chain.split('.').all(number) => Ok(place.to_owned()),
        _ => Err(
            Problem::new(format!("`{place}` is no place of a USB socket")).expected(
                "bus and chain of sockets such as \"1-4.2\", as `conewright cable list` shows them",
            ),
        ),
    }
}

/// `0403:6001` or `0403:6001:SERIAL`. A serial number may hold anything, colons too.
pub(super) fn usb(identity: &str) -> Result<PortSelector, Problem> {
    let wrong = || Problem::new(format!("`{identity}` is no USB identity")).expected(USB);
    let mut parts = identity.splitn(3, ':');
    let mut id = || {
        let digits = parts
            .next()
            .filter(|p| p.len() == 4 && p.bytes().all(|b| b.is_ascii_hexdigit()));
        u16::from_str_radix(digits?, 16).ok()
    };
    let (vendor, product) = (id().ok_or_else(wrong)?, id().ok_or_else(wrong)?);
    match parts.next() {
        Some("") => Err(wrong()),
        serial => Ok(PortSelector::Usb {
            vendor,
            product,
            serial: serial.map(str::to_owned),
            interface: None,
            socket: None,
        }),
    }
}

/// The slowest speed taken; anything below is a slip of the pen.
const SLOWEST: u32 = 50;
/// The fastest speed that common adapters set; beyond it some keep an older speed in silence.
const FASTEST: u32 = 3_000_000;
const SETTINGS: &str = "speed, then data bits (7 or 8), parity (N, E or O) and stop bits (1 or 2), and flow control \
     where there is any (xon/xoff or rts/cts): \"9600 8N1\"";

fn settings(value: &Value<'_>) -> Result<SerialSettings, Problem> {
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
fn check_settings(section: &Section<'_>, settings: &SerialSettings, frame: Option<&Frame>) {
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

/// Refuses a cable on the port of another.
pub(super) fn check_ports(cables: &[(Cable, &Section<'_>)]) {
    for (i, (cable, section)) in cables.iter().enumerate() {
        if let Some((other, _)) = cables[..i]
            .iter()
            .find(|(other, _)| same(&other.port, &cable.port))
        {
            let key = match cable.port {
                PortSelector::Path(_) => "port",
                PortSelector::Usb { .. } => "usb",
            };
            section.wrong_key(
                key,
                Problem::new(format!(
                    "the cable `{}` is on this port already",
                    other.name
                ))
                .expected("a port of its own for each cable"),
            );
        }
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

/// Whether two selectors can mean one port: nothing that both of them say tells them apart.
fn same(a: &PortSelector, b: &PortSelector) -> bool {
    fn alike<T: PartialEq>(a: &Option<T>, b: &Option<T>) -> bool {
        a.is_none() || b.is_none() || a == b
    }
    match (a, b) {
        (PortSelector::Path(a), PortSelector::Path(b)) => a == b,
        (
            PortSelector::Usb {
                vendor: v1,
                product: p1,
                serial: s1,
                interface: i1,
                socket: k1,
            },
            PortSelector::Usb {
                vendor: v2,
                product: p2,
                serial: s2,
                interface: i2,
                socket: k2,
            },
        ) => (v1, p1) == (v2, p2) && alike(s1, s2) && alike(i1, i2) && alike(k1, k2),
        _ => false,
    }
}
