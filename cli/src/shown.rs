//! Text as a person may be shown it.

use std::borrow::Cow;

/// The text with each character that is not seen, or that turns the direction of what follows, as its number: `\u{202e}`. A
/// name that a customer sends must not look like another one. The joiners of scripts that need them stay.
#[must_use]
pub fn shown(text: &str) -> Cow<'_, str> {
    if !text.contains(is_unseen) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        if is_unseen(c) {
            out.extend(c.escape_unicode());
        } else {
            out.push(c);
        }
    }
    Cow::Owned(out)
}

/// Controls of direction (Unicode Standard Annex 9), characters without width or ink, and tags.
const fn is_unseen(c: char) -> bool {
    matches!(
        c,
        '\u{61c}'
            | '\u{ad}'
            | '\u{180e}'
            | '\u{200b}'
            | '\u{200e}'
            | '\u{200f}'
            | '\u{202a}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}'
            | '\u{feff}'
            | '\u{e0000}'..='\u{e007f}'
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_seen_is_shown_by_its_number_and_nothing_else_changes() {
        for whole in ["Spindel 7 µm ±", "مثال", "می\u{200c}شود", "主軸 7"] {
            assert!(matches!(shown(whole), Cow::Borrowed(text) if text == whole));
        }
        assert_eq!(shown("seat\u{202e}7-A"), "seat\\u{202e}7-A");
        assert_eq!(shown("a\u{200b}b\u{feff}"), "a\\u{200b}b\\u{feff}");
    }
}
