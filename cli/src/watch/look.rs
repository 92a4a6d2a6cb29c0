//! What the terminal can show: block characters or plain ASCII, colours or none. The meaning never rests on
//! either: every colour stands beside a word.

use super::digits::{Form, LOWEST_OF_CELLS, LOWEST_OF_HALVES};
use crate::shown::shown;
use metrology::Unit;
use protocol::screen::Meaning;
use protocol::style::Style as Words;
use ratatui::style::{Color, Modifier, Style};
use ratatui::symbols::Marker;
use std::borrow::Cow;

/// How things look in this terminal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    /// Block characters and the letters beyond ASCII can be shown.
    pub blocks: bool,
    /// The letters have dots that are finer than blocks.
    pub fine: bool,
    /// Colours may be used.
    pub colour: bool,
    /// The unit of what is shown; where none is stated, that of the session's gauge blocks.
    pub unit: Option<Unit>,
    /// The language and the decimal sign.
    pub words: Words,
}

impl Look {
    /// From the environment's `NO_COLOR` (any text in it means none), the locale in force, the first of `LC_ALL`, `LC_CTYPE`,
    /// `LANG` that is not empty, and `TERM`.
    #[must_use]
    pub fn of(no_color: Option<&str>, locale: Option<&str>, term: Option<&str>) -> Self {
        let utf8 = |name: &str| {
            let name = name.to_ascii_lowercase();
            name.contains("utf-8") || name.contains("utf8")
        };
        Self {
            blocks: locale.is_some_and(utf8),
            fine: term != Some("linux"),
            colour: no_color.is_none_or(str::is_empty),
            unit: None,
            words: Words::default(),
        }
    }

    /// What plots are drawn with. Braille has the finest dots; a console without a window system has no letters for it.
    #[must_use]
    pub const fn ink_of_plots(self) -> Marker {
        match (self.blocks, self.fine) {
            (true, true) => Marker::Braille,
            (true, false) => Marker::HalfBlock,
            (false, _) => Marker::Custom('*'),
        }
    }

    /// A text in letters that the terminal has.
    #[must_use]
    pub fn text<'a>(self, text: &'a str) -> Cow<'a, str> {
        if self.blocks {
            return shown(text);
        }
        if text.is_ascii() {
            return Cow::Borrowed(text);
        }
        let mut plain = String::with_capacity(text.len());
        for c in text.chars() {
            match c {
                'µ' => plain.push('u'),
                '±' => plain.push_str("+/-"),
                '°' => plain.push_str(" deg "),
                '·' => plain.push('-'),
                '─' => plain.push('-'),
                '│' | '┃' => plain.push('|'),
                'α' => plain.push_str("alpha"),
                '¼' => plain.push_str(".25"),
                '½' => plain.push_str(".5"),
                '¾' => plain.push_str(".75"),
                'ä' => plain.push_str("ae"),
                'ö' => plain.push_str("oe"),
                'ü' => plain.push_str("ue"),
                'Ä' => plain.push_str("AE"),
                'Ö' => plain.push_str("OE"),
                'Ü' => plain.push_str("UE"),
                'ß' => plain.push_str("ss"),
                c if c.is_ascii() => plain.push(c),
                _ => plain.push('?'),
            }
        }
        Cow::Owned(plain)
    }

    /// The form of large digits.
    #[must_use]
    pub const fn digits(self, current: bool) -> Form {
        match (self.blocks, current) {
            (true, true) => Form::Blocks,
            (true, false) => Form::Hatched,
            (false, true) => Form::Ascii,
            (false, false) => Form::AsciiHatched,
        }
    }

    /// The lowest digits that can be read.
    #[must_use]
    pub const fn lowest_digits(self) -> u16 {
        if self.blocks {
            LOWEST_OF_HALVES
        } else {
            LOWEST_OF_CELLS
        }
    }

    /// A style with a colour where there are colours.
    #[must_use]
    pub fn ink(self, colour: Color) -> Style {
        if self.colour {
            Style::new().fg(colour)
        } else {
            Style::new()
        }
    }

    /// A large value.
    #[must_use]
    pub fn large(self, meaning: Meaning) -> Style {
        match meaning {
            Meaning::Old => self.faint(),
            meaning => self.meant(meaning).patch(self.strong()),
        }
    }

    /// What stands under a large value: what cannot be taken for something good stands on a plate.
    #[must_use]
    pub fn under(self, meaning: Meaning) -> Style {
        match meaning {
            Meaning::Old | Meaning::Bad => self.sign(meaning),
            meaning => self.meant(meaning),
        }
    }

    /// A word on a plate of this meaning.
    #[must_use]
    pub fn sign(self, meaning: Meaning) -> Style {
        plated(self.meant(meaning))
    }

    /// A meaning as a colour, where there are colours.
    #[must_use]
    pub fn meant(self, meaning: Meaning) -> Style {
        match meaning {
            Meaning::Plain => Style::new(),
            Meaning::Good => self.ink(Color::Green),
            Meaning::Doubtful | Meaning::Moving | Meaning::Old => self.ink(Color::Yellow),
            Meaning::Bad | Meaning::Recording => self.ink(Color::Red),
            Meaning::Counting => self.ink(Color::Cyan),
            Meaning::Past => self.ink(Color::Magenta),
        }
    }

    /// What the eye should find first.
    #[must_use]
    pub fn strong(self) -> Style {
        Style::new().add_modifier(Modifier::BOLD)
    }

    /// What is there for reference.
    #[must_use]
    pub fn faint(self) -> Style {
        Style::new().add_modifier(Modifier::DIM)
    }

    /// A word on a plate of its own: verdicts, refusals, a cable that is not live.
    #[must_use]
    pub fn plate(self, colour: Color) -> Style {
        plated(self.ink(colour))
    }
}

fn plated(style: Style) -> Style {
    style
        .add_modifier(Modifier::REVERSED)
        .add_modifier(Modifier::BOLD)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_environment_decides() {
        for (no_color, locale, term, blocks, fine, colour) in [
            (None, Some("de_DE.UTF-8"), Some("xterm"), true, true, true),
            (Some("1"), Some("C.utf8"), Some("linux"), true, false, false),
            // The convention: an empty NO_COLOR is none.
            (Some(""), Some("C"), None, false, true, true),
            (None, None, None, false, true, true),
        ] {
            assert_eq!(
                Look::of(no_color, locale, term),
                Look {
                    blocks,
                    fine,
                    colour,
                    unit: None,
                    words: Words::default(),
                },
                "{no_color:?} {locale:?}"
            );
        }
    }

    #[test]
    fn plain_text_is_ascii() {
        let plain = Look {
            blocks: false,
            fine: true,
            colour: false,
            unit: None,
            words: Words::default(),
        };
        assert_eq!(plain.text("2 µm ± 1"), "2 um +/- 1");
        assert_eq!(plain.text("Endmaß, kühl"), "Endmass, kuehl");
        assert!(plain.text("é─·±°").is_ascii());
    }
}
