//! Text in lines.

use super::font::{Lettering, char_width, printable, width};

/// The lines that a text takes in a width. A word that is longer than a line is broken.
pub fn lines(text: &str, style: Lettering, room: f32) -> Vec<String> {
    let text = printable(text);
    let lines: Vec<String> = text
        .split('\n')
        .flat_map(|line| broken(line, style, room))
        .collect();
    lines
}

fn broken(text: &str, style: Lettering, room: f32) -> Vec<String> {
    let space = char_width(' ', style);
    let (mut lines, mut line, mut used) = (Vec::new(), String::new(), 0.0);
    for word in text.split(' ') {
        let wide = width(word, style);
        if !line.is_empty() && used + space + wide > room {
            // The blank stays at the end of the line, so that text that is copied has its words apart.
            lines.push(std::mem::take(&mut line) + " ");
            used = 0.0;
        }
        if !line.is_empty() {
            line.push(' ');
            used += space;
        }
        if wide <= room {
            line.push_str(word);
            used += wide;
            continue;
        }
        for c in word.chars() {
            let wide = char_width(c, style);
            if !line.is_empty() && used + wide > room {
                lines.push(std::mem::take(&mut line));
                used = 0.0;
            }
            line.push(c);
            used += wide;
        }
    }
    lines.push(line);
    lines
}

/// The text in one line, cut where it would be wider, and then with an ellipsis.
pub fn one_line(text: &str, style: Lettering, room: f32) -> String {
    let text = printable(text).replace('\n', " ");
    if width(&text, style) <= room {
        return text;
    }
    let mut used = char_width('…', style);
    let fits = |c: &char| {
        used += char_width(*c, style);
        used <= room
    };
    text.chars().take_while(fits).chain(['…']).collect()
}

/// The text cut to so many characters, and then with an ellipsis.
pub fn cut(text: &str, most: usize) -> String {
    match text.char_indices().nth(most) {
        Some((at, _)) => format!("{}…", &text[..at]),
        None => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const STYLE: Lettering = Lettering::plain(10.0);

    #[test]
    fn lines_hold_their_width_and_every_character() {
        let text = "A seat with a taper of 1:12 and a name of αααααααααααααααααααααααααααααααααα in one word\nand a break";
        for room in [40.0, 100.0, 300.0] {
            let lines = lines(text, STYLE, room);
            assert!(
                lines
                    .iter()
                    .all(|line| width(line.trim_end(), STYLE) <= room)
            );
            let kept = |text: &str| text.replace(['\n', ' '], "");
            assert_eq!(kept(&lines.concat()), kept(text));
        }
        assert_eq!(lines("", STYLE, 100.0), [""]);
    }

    #[test]
    fn what_is_cut_ends_in_an_ellipsis() {
        assert_eq!(one_line("short", STYLE, 100.0), "short");
        let cut_line = one_line(&"long ".repeat(20), STYLE, 100.0);
        assert!(cut_line.ends_with('…') && width(&cut_line, STYLE) <= 100.0);
        assert_eq!(cut("äöü", 3), "äöü");
        assert_eq!(cut("äöü", 2), "äö…");
    }

    #[test]
    fn what_the_font_has_not_is_its_code_point() {
        let text = "µ ″ ° ± α Ø ≤ − × äöüÄÖÜß ∞ √ д ש";
        assert_eq!(printable(text), text);
        assert_eq!(
            printable("a\u{202e}b\u{200f}\u{1b}c 測\u{1f980}\u{e001}"),
            "a[U+202E]b[U+200F][U+001B]c [U+6E2C][U+1F980][U+E001]"
        );
    }
}
