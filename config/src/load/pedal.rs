//! `[pedal]`: a key, keypad or foot switch that marks whatever window has the focus.

use super::cable::{socket, usb};
use super::mistake::Problem;
use super::section::Section;
use super::value::{choice, text, whole};
use crate::keys::{HIGHEST, code_of, names};
use crate::model::{Pedal, PedalAction, PedalSelector, PortSelector};
use crate::near::nearest;

const WHICH: &str = "usb = \"1a2c:0027\", name = \"the name of the device\", or device = \"/dev/input/by-id/…\": \
     `conewright cable pedal list` prints them";

const ACTIONS: [(&str, PedalAction); 4] = [
    ("mark", PedalAction::Mark),
    ("new-round", PedalAction::NewRound),
    ("undo", PedalAction::Undo),
    ("clamp", PedalAction::Clamp),
];

pub(super) fn read(section: &Section<'_>) -> Option<Pedal> {
    section.only(&["device", "usb", "interface", "socket", "name", "keys"]);
    let path = section.optional("device", |value| match text(value)? {
        path if path.starts_with('/') && !path.contains('\0') => Ok(path.into()),
        path => Err(
            Problem::new(format!("`{path}` is not the path of a device"))
                .expected("a path from the root such as \"/dev/input/by-id/usb-foot-switch\""),
        ),
    });
    let identity = section.optional("usb", |value| usb(text(value)?));
    let (ids, serial) = match identity {
        Some(PortSelector::Usb {
            vendor,
            product,
            serial,
            ..
        }) => (Some((vendor, product)), serial),
        _ => (None, None),
    };
    let device = PedalSelector {
        path,
        usb: ids,
        serial,
        interface: section.optional("interface", |value| {
            let number = whole(0, 255)(value)?;
            Ok(u8::try_from(number).unwrap_or(u8::MAX))
        }),
        socket: section.optional("socket", |value| socket(text(value)?)),
        name: section.optional("name", |value| match text(value)? {
            name if !name.trim().is_empty() => Ok(name.to_owned()),
            _ => Err(Problem::new("a name without letters").expected("the name of the device")),
        }),
    };
    let said = ["device", "usb", "name"].map(|key| section.has(key));
    if !said.contains(&true) {
        section.wrong(
            Problem::new("neither `usb` nor `name` nor `device` says which device this is")
                .expected(WHICH),
        );
        return None;
    }
    if said[0] && (said[1] || said[2]) {
        section.wrong_key(
            "device",
            Problem::new("a path needs nothing beside it")
                .expected("either `device`, or `usb` and `name`"),
        );
    }
    Some(Pedal {
        device,
        keys: section.section("keys").map_or(Vec::new(), |s| keys(&s)),
    })
}

/// `{ kpenter = "mark", kpdot = "undo" }`.
fn keys(section: &Section<'_>) -> Vec<(u16, PedalAction)> {
    let mut keys: Vec<(u16, PedalAction)> = Vec::new();
    let said = section.every(choice(&ACTIONS));
    if said.is_empty() {
        section.wrong(
            Problem::new("no key does anything")
                .expected("`keys` left out, so that every key marks, or { enter = \"mark\" }"),
        );
    }
    for (name, action) in said {
        let Some(code) = code_of(&name) else {
            section.wrong_key(
                &name,
                Problem::new(format!("there is no key `{name}`"))
                    .expected(format!(
                        "the kernel's name of a key such as enter, kpenter, f13 or btn_left, or its number up to {HIGHEST}"
                    ))
                    .near(nearest(&name, names())),
            );
            continue;
        };
        if keys.iter().any(|(known, _)| *known == code) {
            section.wrong_key(
                &name,
                Problem::new(format!("`{name}` is a key that was named before"))
                    .expected("each key once"),
            );
        }
        keys.extend(action.map(|action| (code, action)));
    }
    keys
}
