//! What a device, a driver or another program says of itself, fit to be shown.

/// The text with a mark in place of every character that would steer a terminal or turn the direction of what follows: names
/// come from whatever is plugged in.
pub(crate) fn plain(text: &str) -> String {
    let steers =
        |c: char| c.is_control() || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    text.chars()
        .map(|c| {
            if steers(c) {
                char::REPLACEMENT_CHARACTER
            } else {
                c
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_would_steer_a_terminal_is_marked() {
        assert_eq!(plain("Fußschalter µ 3"), "Fußschalter µ 3");
        assert_eq!(
            plain("a\u{1b}[2J\r\u{9b}b\u{202e}c"),
            "a\u{fffd}[2J\u{fffd}\u{fffd}b\u{fffd}c"
        );
    }
}
