//! A line of text on a page, and the grey that it is filled with.

use super::font::{self, Lettering};
use super::pages::BLACK;
use krilla::color::luma;
use krilla::geom::Point;
use krilla::paint::Fill;
use krilla::surface::Surface;
use krilla::text::Font;

/// A grey, from black, 0, to white, 255.
pub fn fill(lightness: u8) -> Fill {
    Fill {
        paint: luma::Color::new(lightness).into(),
        ..Fill::default()
    }
}

/// A printable line of text, at the left end of its base line.
pub fn write_line(
    surface: &mut Surface<'_>,
    fonts: &[Font; 2],
    [x, y]: [f32; 2],
    line: &str,
    style: Lettering,
) {
    let font = &fonts[usize::from(style.bold)];
    surface.set_stroke(None);
    surface.set_fill(Some(fill(if style.grey { 85 } else { BLACK })));
    let mut left = x;
    for run in font::runs(line, style) {
        let at = Point::from_xy(left, y);
        surface.draw_glyphs(at, &run.glyphs, font.clone(), run.text, style.size, false);
        left += run.width;
    }
}
