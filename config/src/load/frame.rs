//! `frame = …`: a shipped frame by name, or a table that describes one.

use super::mistake::Problem;
use super::section::{Section, Value, kind_of};
use super::value::{boolean, choice, positive, text, whole};
use crate::frame::{DESCRIBED, FrameTable};
use crate::near::nearest;
use metrology::Unit;
use protocol::frame::{
    Blanks, Frame, Modbus, PatternError, Point, Presence, Registers, Sign, Terminator, TextPattern,
    Width, WordOrder,
};

/// Reads the frame of a cable: its name, and its description where it has one.
pub(super) fn read(section: &Section<'_>) -> Option<(String, Option<FrameTable>)> {
    let expected = || {
        format!(
            "one of {}; or a table that describes one",
            Frame::names().join(", ")
        )
    };
    if let Some(table) = section.subtable("frame") {
        return described(&table).map(|table| (DESCRIBED.to_owned(), Some(table)));
    }
    let name = section.required("frame", &expected(), |value| {
        let name = text(value)
            .map_err(|_| Problem::new(format!("found {}", kind_of(value))).expected(expected()))?
            .trim();
        if Frame::shipped(name).is_some() {
            return Ok(name.to_owned());
        }
        Err(Problem::new(format!("there is no frame `{name}`"))
            .expected(expected())
            .near(nearest(name, Frame::names().iter().copied())))
    })?;
    Some((name, None))
}

#[derive(Clone, Copy)]
enum Form {
    Text,
    Modbus,
}

fn described(table: &Section<'_>) -> Option<FrameTable> {
    let form = table.optional(
        "form",
        choice(&[("text", Form::Text), ("modbus", Form::Modbus)]),
    );
    if form.is_none() && table.has("form") {
        return None;
    }
    let described = match form.unwrap_or(Form::Text) {
        Form::Text => FrameTable::Text(pattern(table)),
        Form::Modbus => FrameTable::Modbus(modbus(table)),
    };
    if let Err(error) = described.frame() {
        table.wrong_key(key_of(&error), Problem::new(error.to_string()));
    }
    Some(described)
}

/// The key that a fault of a description belongs to.
fn key_of(error: &PatternError) -> &'static str {
    match error {
        PatternError::OutOfDomain { key, .. } | PatternError::Unpaired { key, .. } => key,
        _ => "line",
    }
}

const SIGNS: [(&str, Sign); 3] = [
    ("optional", Sign::Optional),
    ("always", Sign::Always),
    ("minus", Sign::Minus),
];
const POINTS: [(&str, Point); 4] = [
    ("either", Point::Either),
    ("point", Point::Point),
    ("comma", Point::Comma),
    ("none", Point::None),
];
const PRESENCES: [(&str, Presence); 2] = [
    ("optional", Presence::Optional),
    ("always", Presence::Always),
];
const BLANKS: [(&str, Blanks); 2] = [("free", Blanks::Free), ("exact", Blanks::Exact)];
const TERMINATORS: [(&str, Terminator); 4] = [
    ("any", Terminator::Any),
    ("cr", Terminator::Cr),
    ("lf", Terminator::Lf),
    ("crlf", Terminator::CrLf),
];

fn pattern(table: &Section<'_>) -> TextPattern {
    table.only(&[
        "form",
        "line",
        "sign",
        "point",
        "whole",
        "places",
        "unit",
        "units",
        "status",
        "refuse",
        "channel",
        "channel_digits",
        "width",
        "blanks",
        "terminator",
    ]);
    let usual = TextPattern::default();
    let line = table.required(
        "line",
        "the line with its pieces: \"{sign}{value} {unit}\"",
        text,
    );
    TextPattern {
        line: line.map_or(usual.line, str::to_owned),
        sign: table.optional("sign", choice(&SIGNS)).unwrap_or(usual.sign),
        point: table
            .optional("point", choice(&POINTS))
            .unwrap_or(usual.point),
        whole: table.optional("whole", byte),
        places: table.optional("places", byte),
        unit: table
            .optional("unit", choice(&PRESENCES))
            .unwrap_or(usual.unit),
        units: table.section("units").map_or(usual.units, |units| {
            let unit = choice(&[("mm", Unit::Mm), ("um", Unit::Um), ("in", Unit::In)]);
            let all = units.every(unit).into_iter();
            all.filter_map(|(sign, unit)| Some((sign, unit?))).collect()
        }),
        status: table
            .optional("status", text)
            .map_or(usual.status, str::to_owned),
        refuse: table
            .optional("refuse", text)
            .map_or(usual.refuse, str::to_owned),
        channel: table.optional("channel", byte),
        channel_digits: table
            .optional("channel_digits", byte)
            .unwrap_or(usual.channel_digits),
        width: table.optional("width", byte),
        blanks: table
            .optional("blanks", choice(&BLANKS))
            .unwrap_or(usual.blanks),
        terminator: table
            .optional("terminator", choice(&TERMINATORS))
            .unwrap_or(usual.terminator),
    }
}

fn byte(value: &Value<'_>) -> Result<u8, Problem> {
    whole(0, 255)(value).map(|number| u8::try_from(number).unwrap_or(u8::MAX))
}

fn modbus(table: &Section<'_>) -> Modbus {
    table.only(&[
        "form",
        "address",
        "registers",
        "register",
        "bits",
        "words",
        "signed",
        "step",
    ]);
    let usual = Modbus::default();
    Modbus {
        address: table.optional("address", byte).unwrap_or(usual.address),
        registers: table
            .optional(
                "registers",
                choice(&[("holding", Registers::Holding), ("input", Registers::Input)]),
            )
            .unwrap_or(usual.registers),
        register: table
            .optional("register", whole(0, 65_535))
            .and_then(|number| u16::try_from(number).ok())
            .unwrap_or(usual.register),
        width: table
            .optional(
                "bits",
                choice(&[("16", Width::Bits16), ("32", Width::Bits32)]),
            )
            .unwrap_or(usual.width),
        words: table
            .optional(
                "words",
                choice(&[("high", WordOrder::High), ("low", WordOrder::Low)]),
            )
            .unwrap_or(usual.words),
        signed: table.optional("signed", boolean).unwrap_or(usual.signed),
        step: table.optional("step", positive).unwrap_or(usual.step),
    }
}
