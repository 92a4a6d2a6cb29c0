//! Keys of a pedal by name: the kernel's names in small letters, without `KEY_`; a button keeps its `btn_`.
//!
//! Source: the kernel's table of key codes, `include/uapi/linux/input-event-codes.h`. Those that keypads, foot switches
//! and keyboards have are here; any other is written as its number.

/// The highest code of a key (`KEY_MAX`).
pub const HIGHEST: u16 = 0x2ff;

#[rustfmt::skip]
const KEYS: [(u16, &str); 151] = [
    (1, "esc"),
    (2, "1"),
    (3, "2"),
    (4, "3"),
    (5, "4"),
    (6, "5"),
    (7, "6"),
    (8, "7"),
    (9, "8"),
    (10, "9"),
    (11, "0"),
    (12, "minus"),
    (13, "equal"),
    (14, "backspace"),
    (15, "tab"),
    (16, "q"),
    (17, "w"),
    (18, "e"),
    (19, "r"),
    (20, "t"),
    (21, "y"),
    (22, "u"),
    (23, "i"),
    (24, "o"),
    (25, "p"),
    (26, "leftbrace"),
    (27, "rightbrace"),
    (28, "enter"),
    (29, "leftctrl"),
    (30, "a"),
    (31, "s"),
    (32, "d"),
    (33, "f"),
    (34, "g"),
    (35, "h"),
    (36, "j"),
    (37, "k"),
    (38, "l"),
    (39, "semicolon"),
    (40, "apostrophe"),
    (41, "grave"),
    (42, "leftshift"),
    (43, "backslash"),
    (44, "z"),
    (45, "x"),
    (46, "c"),
    (47, "v"),
    (48, "b"),
    (49, "n"),
    (50, "m"),
    (51, "comma"),
    (52, "dot"),
    (53, "slash"),
    (54, "rightshift"),
    (55, "kpasterisk"),
    (56, "leftalt"),
    (57, "space"),
    (58, "capslock"),
    (59, "f1"),
    (60, "f2"),
    (61, "f3"),
    (62, "f4"),
    (63, "f5"),
    (64, "f6"),
    (65, "f7"),
    (66, "f8"),
    (67, "f9"),
    (68, "f10"),
    (69, "numlock"),
    (70, "scrolllock"),
    (71, "kp7"),
    (72, "kp8"),
    (73, "kp9"),
    (74, "kpminus"),
    (75, "kp4"),
    (76, "kp5"),
    (77, "kp6"),
    (78, "kpplus"),
    (79, "kp1"),
    (80, "kp2"),
    (81, "kp3"),
    (82, "kp0"),
    (83, "kpdot"),
    (86, "102nd"),
    (87, "f11"),
    (88, "f12"),
    (96, "kpenter"),
    (97, "rightctrl"),
    (98, "kpslash"),
    (99, "sysrq"),
    (100, "rightalt"),
    (102, "home"),
    (103, "up"),
    (104, "pageup"),
    (105, "left"),
    (106, "right"),
    (107, "end"),
    (108, "down"),
    (109, "pagedown"),
    (110, "insert"),
    (111, "delete"),
    (113, "mute"),
    (114, "volumedown"),
    (115, "volumeup"),
    (116, "power"),
    (117, "kpequal"),
    (119, "pause"),
    (121, "kpcomma"),
    (125, "leftmeta"),
    (126, "rightmeta"),
    (127, "compose"),
    (158, "back"),
    (159, "forward"),
    (163, "nextsong"),
    (164, "playpause"),
    (165, "previoussong"),
    (183, "f13"),
    (184, "f14"),
    (185, "f15"),
    (186, "f16"),
    (187, "f17"),
    (188, "f18"),
    (189, "f19"),
    (190, "f20"),
    (191, "f21"),
    (192, "f22"),
    (193, "f23"),
    (194, "f24"),
    (256, "btn_0"),
    (257, "btn_1"),
    (258, "btn_2"),
    (259, "btn_3"),
    (260, "btn_4"),
    (261, "btn_5"),
    (262, "btn_6"),
    (263, "btn_7"),
    (264, "btn_8"),
    (265, "btn_9"),
    (272, "btn_left"),
    (273, "btn_right"),
    (274, "btn_middle"),
    (275, "btn_side"),
    (276, "btn_extra"),
    (288, "btn_trigger"),
    (289, "btn_thumb"),
    (290, "btn_thumb2"),
    (291, "btn_top"),
    (292, "btn_top2"),
    (293, "btn_pinkie"),
    (294, "btn_base"),
    (295, "btn_base2"),
];

/// The code of a key, by its name or its number.
///
/// ```
/// use conewright_config::keys::{code_of, name_of};
/// assert_eq!(code_of("kpenter"), Some(96));
/// assert_eq!(code_of("KEY_ENTER"), Some(28));
/// assert_eq!(code_of("700"), Some(700));
/// assert_eq!(code_of("768"), None);
/// assert_eq!((name_of(28), name_of(700)), ("enter".to_owned(), "700".to_owned()));
/// ```
#[must_use]
pub fn code_of(name: &str) -> Option<u16> {
    let name = name.trim().to_ascii_lowercase();
    let bare = name.strip_prefix("key_").unwrap_or(&name);
    let known = KEYS.iter().find(|(_, known)| *known == bare);
    // The digits are names of keys of their own, so that numbers below ten are never codes.
    known
        .map(|(code, _)| *code)
        .or_else(|| bare.parse().ok().filter(|code| *code <= HIGHEST))
}

/// The name of a key; its number where it has none here.
#[must_use]
pub fn name_of(code: u16) -> String {
    let known = KEYS.binary_search_by_key(&code, |(code, _)| *code).ok();
    known.map_or_else(|| code.to_string(), |place| KEYS[place].1.to_owned())
}

/// Every name.
pub fn names() -> impl Iterator<Item = &'static str> {
    KEYS.iter().map(|(_, name)| *name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_and_codes_go_both_ways() {
        assert!(KEYS.is_sorted_by(|a, b| a.0 < b.0));
        for (code, name) in KEYS {
            assert_eq!(code_of(name), Some(code), "{name}");
            assert_eq!(name_of(code), name);
        }
        // From the kernel's table: the digit 1 is code 2.
        assert_eq!(code_of("1"), Some(2));
        assert_eq!(code_of("pedal"), None);
    }
}
