//! Large digits that scale with the window, so that a value can be read from two metres.
//!
//! Each glyph is a few strokes on a grid of pixels, drawn anew for every size: nothing is magnified, so edges
//! stay sharp at any size. With half blocks a cell holds two square pixels, one above the other. A value that
//! is not current is drawn in a hatched form, so that it looks different without any colour.

/// What the strokes are made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// Half blocks: `█▀▄`.
    Blocks,
    /// `░`: a value that is not current.
    Hatched,
    /// `#`, for terminals without block characters.
    Ascii,
    /// `:`, the same for a value that is not current.
    AsciiHatched,
}

/// Size of one digit in cells; signs and points are narrower.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Size {
    /// Columns of a digit.
    pub width: u16,
    /// Rows.
    pub height: u16,
}

/// The narrowest digits that are still digits.
const NARROWEST: u16 = 3;
/// The lowest digits that are still digits, where a row is two pixels.
pub const LOWEST_OF_HALVES: u16 = 3;
/// The lowest digits that are still digits, where a row is one pixel.
pub const LOWEST_OF_CELLS: u16 = 5;
/// Beyond this they are no easier to read.
const LARGEST_HEIGHT: u16 = 24;

/// Whether every character of a text has a glyph.
#[must_use]
pub fn drawable(text: &str) -> bool {
    !text.is_empty()
        && text
            .chars()
            .all(|c| matches!(c, '0'..='9' | 'A'..='D' | '+' | '-' | '.' | ',' | ' '))
}

/// Columns between two glyphs.
const fn gap(size: Size) -> u16 {
    1 + size.width / 8
}

fn glyph_width(c: char, size: Size) -> Option<u16> {
    match c {
        '0'..='9' => Some(size.width),
        // Smaller letters look like digits.
        'A'..='D' if size.width > 4 && size.height > 3 => Some(size.width),
        '+' | '-' => Some((size.width * 4).div_ceil(5)),
        '.' | ',' => Some(stroke(size.width).max(1)),
        ' ' => Some(size.width / 2),
        _ => None,
    }
}

/// Columns that a text takes.
#[must_use]
pub fn width(text: &str, size: Size) -> u16 {
    let glyphs: u16 = text.chars().filter_map(|c| glyph_width(c, size)).sum();
    let gaps = u16::try_from(text.chars().count().saturating_sub(1)).unwrap_or(u16::MAX);
    glyphs.saturating_add(gaps.saturating_mul(gap(size)))
}

/// The largest size from `lowest` rows to `rows` of which `fits` says that it fits.
pub fn largest(lowest: u16, rows: u16, fits: impl Fn(Size) -> bool) -> Option<Size> {
    (lowest..=rows.min(LARGEST_HEIGHT))
        .rev()
        .flat_map(|height| {
            // A digit is about as many columns as rows: a cell is twice as high as wide. Small ones may be
            // narrower, since every row counts.
            let narrowest = if height > 6 {
                height - height / 4
            } else {
                height.div_ceil(2) + 1
            };
            [height + height / 5, height, height - height / 4, narrowest]
                .map(|width| Size { width, height })
        })
        .find(|&size| size.width >= NARROWEST && fits(size))
}

/// Thickness of a stroke for a digit of some columns.
#[must_use]
pub const fn stroke(width: u16) -> u16 {
    match width {
        0..=5 => 1,
        6..=9 => 2,
        _ => (width + 1) / 4,
    }
}

/// Draws a text; one line for each row. Characters without a glyph are left out.
#[must_use]
pub fn lines(text: &str, size: Size, form: Form) -> Vec<String> {
    let mut rows = vec![String::new(); usize::from(size.height)];
    let mut first = true;
    for c in text.chars() {
        let Some(columns) = glyph_width(c, size) else {
            continue;
        };
        for (y, row) in (0..size.height).zip(&mut rows) {
            if !first {
                row.extend(std::iter::repeat_n(' ', usize::from(gap(size))));
            }
            row.extend((0..columns).map(|x| cell(c, x, y, columns, size, form)));
        }
        first = false;
    }
    rows
}

fn cell(c: char, x: u16, y: u16, columns: u16, size: Size, form: Form) -> char {
    let across = stroke(size.width);
    match form {
        // Too low for one pixel a row, what is not current is only drawn faint; words say the rest.
        Form::Blocks | Form::Hatched if form == Form::Blocks || size.height < LOWEST_OF_CELLS => {
            let grid = Grid {
                w: i32::from(columns),
                h: i32::from(size.height) * 2,
                across: i32::from(across),
                along: i32::from(across),
            };
            let (x, y) = (i32::from(x), i32::from(y) * 2);
            match (grid.lit(c, x, y), grid.lit(c, x, y + 1)) {
                (true, true) => '█',
                (true, false) => '▀',
                (false, true) => '▄',
                (false, false) => ' ',
            }
        }
        Form::Blocks | Form::Hatched | Form::Ascii | Form::AsciiHatched => {
            let grid = Grid {
                w: i32::from(columns),
                h: i32::from(size.height),
                across: i32::from(across),
                along: i32::from(across.div_ceil(2)),
            };
            let ink = match form {
                Form::Hatched => '░',
                Form::Ascii => '#',
                _ => ':',
            };
            if grid.lit(c, i32::from(x), i32::from(y)) {
                ink
            } else {
                ' '
            }
        }
    }
}

/// The pixels that a glyph is drawn on.
struct Grid {
    w: i32,
    h: i32,
    /// Thickness of an upright stroke.
    across: i32,
    /// Thickness of a level stroke.
    along: i32,
}

/// Strokes of a glyph, as bits: level ones, then upright ones.
const TOP: u8 = 1;
const MIDDLE: u8 = 1 << 1;
const BOTTOM: u8 = 1 << 2;
const UPPER_LEFT: u8 = 1 << 3;
const UPPER_RIGHT: u8 = 1 << 4;
const LOWER_LEFT: u8 = 1 << 5;
const LOWER_RIGHT: u8 = 1 << 6;
const LEFT: u8 = UPPER_LEFT | LOWER_LEFT;
const RIGHT: u8 = UPPER_RIGHT | LOWER_RIGHT;

const fn strokes(c: char) -> u8 {
    match c {
        '0' => TOP | BOTTOM | LEFT | RIGHT,
        '2' => TOP | MIDDLE | BOTTOM | UPPER_RIGHT | LOWER_LEFT,
        '3' => TOP | MIDDLE | BOTTOM | RIGHT,
        '4' => MIDDLE | UPPER_LEFT | RIGHT,
        '5' => TOP | MIDDLE | BOTTOM | UPPER_LEFT | LOWER_RIGHT,
        '6' => TOP | MIDDLE | BOTTOM | LEFT | LOWER_RIGHT,
        '7' => TOP | RIGHT,
        '8' | 'B' => TOP | MIDDLE | BOTTOM | LEFT | RIGHT,
        '9' => TOP | MIDDLE | BOTTOM | UPPER_LEFT | RIGHT,
        'A' => TOP | MIDDLE | LEFT | RIGHT,
        'C' => TOP | BOTTOM | LEFT,
        'D' => TOP | BOTTOM | LEFT | RIGHT,
        '-' => MIDDLE,
        _ => 0,
    }
}

impl Grid {
    fn lit(&self, c: char, x: i32, y: i32) -> bool {
        match c {
            '1' => self.one(x, y),
            '+' => self.plus(x, y),
            '.' => y >= self.h - self.along.max(1),
            // A point with a tail, which is half as wide.
            ',' => {
                let point = y < self.h - self.along;
                y >= self.h - 2 * self.along && (point || x < (self.w + 1) / 2)
            }
            ' ' => false,
            _ => self.stroked(strokes(c), x, y) && !self.cut(c, x, y),
        }
    }

    /// The first row of the middle stroke.
    const fn waist(&self) -> i32 {
        (self.h - self.along) / 2
    }

    fn stroked(&self, set: u8, x: i32, y: i32) -> bool {
        let upper = y < self.waist() + self.along;
        let lower = y >= self.waist();
        let left = x < self.across;
        let right = x >= self.w - self.across;
        let on = |stroke: u8, here: bool| here && set & stroke != 0;
        on(TOP, y < self.along)
            || on(BOTTOM, y >= self.h - self.along)
            || on(MIDDLE, upper && lower)
            || on(UPPER_LEFT, upper && left)
            || on(UPPER_RIGHT, upper && right)
            || on(LOWER_LEFT, lower && left)
            || on(LOWER_RIGHT, lower && right)
    }

    /// Corners are rounded, on both sides for digits and on the right for letters: that tells 8 from B and
    /// 0 from D.
    fn cut(&self, c: char, x: i32, y: i32) -> bool {
        if matches!(c, '-' | '4') || self.w < 4 {
            return false;
        }
        let from_left = x;
        let from_right = self.w - 1 - x;
        let from_top = y;
        let from_bottom = self.h - 1 - y;
        let reach = (self.across + 1) / 2;
        let near = |a: i32, b: i32| a + b < reach;
        let right = near(from_right, from_top)
            || (c != 'A' && near(from_right, from_bottom))
            || (c == 'B'
                && from_right < reach
                && y >= self.waist()
                && y < self.waist() + self.along);
        let left = match c {
            'B' | 'D' | 'A' => c == 'A' && near(from_left, from_top),
            '7' | '1' => false,
            // The square corners of 5 and 2 are what they are told by.
            '5' => near(from_left, from_bottom),
            '2' => near(from_left, from_top),
            _ => near(from_left, from_top) || near(from_left, from_bottom),
        };
        let right = match c {
            '7' => near(from_right, from_top),
            '5' => near(from_right, from_bottom),
            '2' => near(from_right, from_top),
            _ => right,
        };
        left || right
    }

    /// A stem with a flag and a foot.
    fn one(&self, x: i32, y: i32) -> bool {
        let stem = (self.w - self.across) / 2;
        let on_stem = x >= stem && x < stem + self.across;
        let foot = y >= self.h - self.along
            && x >= stem - self.w / 4
            && x < stem + self.across + self.w / 4;
        let flag = x < stem && x >= stem - self.w / 4 && {
            let down = stem - x;
            y >= down && y < down + self.along.max(1)
        };
        on_stem || foot || flag
    }

    fn plus(&self, x: i32, y: i32) -> bool {
        let level = y >= self.waist() && y < self.waist() + self.along;
        // The arms are equally long where pixels are square, and look so where they are not.
        let reach = (self.w * self.along / self.across.max(1))
            .max(self.along + 2)
            .min(self.h);
        let first = self.waist() + self.along / 2 - reach / 2;
        let stem = (self.w - self.across) / 2;
        let upright = x >= stem
            && x < stem + self.across
            && y >= first
            && y <= first + reach - 1 + (self.along + reach) % 2;
        level || upright
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    const ALL: &str = "0123456789ABCD+-";

    #[test]
    fn every_glyph_differs_from_every_other_at_every_size() {
        for height in LOWEST_OF_HALVES..=LARGEST_HEIGHT {
            for width in [height.div_ceil(2) + 1, height, height + height / 5] {
                // Letters are drawn only where their rounding can be seen.
                let glyphs = if width < 5 || height < 4 {
                    "0123456789+-"
                } else {
                    ALL
                };
                let size = Size {
                    width: width.max(3),
                    height,
                };
                for form in [Form::Blocks, Form::Hatched, Form::Ascii] {
                    if form == Form::Ascii && height < LOWEST_OF_CELLS {
                        continue;
                    }
                    let drawn: BTreeSet<_> = glyphs
                        .chars()
                        .map(|c| lines(&c.to_string(), size, form))
                        .collect();
                    assert_eq!(drawn.len(), glyphs.len(), "{size:?} {form:?}");
                }
            }
        }
    }

    #[test]
    fn a_text_is_as_wide_as_said() {
        for height in 3..=LARGEST_HEIGHT {
            let size = Size {
                width: height,
                height,
            };
            for text in ["+0.0042", "-12.345", "1", "B"] {
                for line in lines(text, size, Form::Blocks) {
                    assert_eq!(line.chars().count(), usize::from(width(text, size)));
                }
            }
        }
    }

    #[test]
    fn the_largest_that_fits_is_chosen_and_none_when_none_does() {
        let size = largest(3, 30, |size| width("+0.0042", size) <= 70).unwrap();
        assert!(width("+0.0042", size) <= 70 && size.height > 6);
        assert_eq!(largest(3, 2, |_| true), None);
        assert_eq!(largest(3, 10, |_| false), None);
    }

    #[test]
    fn digits_look_like_digits() {
        let size = Size {
            width: 6,
            height: 5,
        };
        let show = |text, form| lines(text, size, form).join("\n");
        insta::assert_snapshot!("digits_blocks", show("+0123456789.-", Form::Blocks));
        insta::assert_snapshot!("digits_ascii", show("+0123456789.-", Form::Ascii));
        insta::assert_snapshot!("letters_blocks", show("ABCD", Form::Blocks));
    }
}
