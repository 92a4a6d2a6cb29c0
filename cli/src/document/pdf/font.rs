//! The font: what it can show, how wide a text is, and its glyphs.

use krilla::text::{Font, GlyphId, KrillaGlyph};
use rustybuzz::{Direction, Feature, UnicodeBuffer, shape};
use std::ops::Range;
use std::sync::LazyLock;
use unicode_bidi::{BidiInfo, Level};

/// The files, as they are embedded.
pub const FILES: [&[u8]; 2] = [
    include_bytes!("font/DejaVuSans.ttf"),
    include_bytes!("font/DejaVuSans-Bold.ttf"),
];

static FACES: LazyLock<[rustybuzz::Face<'static>; 2]> = LazyLock::new(|| {
    FILES.map(|file| rustybuzz::Face::from_slice(file, 0).expect("the embedded font is whole"))
});

/// The two weights, as a document embeds them.
pub fn weights() -> [Font; 2] {
    FILES.map(|file| Font::new(file.into(), 0).expect("the embedded font is whole"))
}

/// How a text looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lettering {
    /// Of the font, in points.
    pub size: f32,
    /// Whether it is heavy.
    pub bold: bool,
    /// Whether it is grey and not black.
    pub grey: bool,
}

impl Lettering {
    /// Black, of the usual weight.
    pub const fn plain(size: f32) -> Self {
        Self {
            size,
            bold: false,
            grey: false,
        }
    }

    /// Black and heavy.
    pub const fn bold(size: f32) -> Self {
        Self {
            bold: true,
            ..Self::plain(size)
        }
    }

    /// Grey, of the usual weight.
    pub const fn grey(size: f32) -> Self {
        Self {
            grey: true,
            ..Self::plain(size)
        }
    }

    /// From one line to the next.
    pub fn line(self) -> f32 {
        self.size * 1.28
    }
}

/// What changes the text around it and is not seen itself: direction marks, joiners, variation selectors, tags, and the like.
const fn is_unseen(c: char) -> bool {
    matches!(
        c,
        '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}' | '\u{1160}' | '\u{17b4}' | '\u{17b5}' | '\u{180b}'..='\u{180f}'
            | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{3164}'
            | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{ffa0}' | '\u{fff0}'..='\u{fff8}' | '\u{e0000}'..='\u{e0fff}'
    )
}

fn is_shown(c: char) -> bool {
    let private = matches!(c, '\u{e000}'..='\u{f8ff}' | '\u{f0000}'..='\u{10ffff}');
    let has = |face: &rustybuzz::Face<'_>| face.glyph_index(c).is_some_and(|glyph| glyph.0 != 0);
    !(c.is_control() || is_unseen(c) || private) && FACES.iter().all(has)
}

/// The text with the code point in place of each character that the font has not or that would not be seen: nothing is lost,
/// and nothing turns the text around it. Line breaks stay.
pub fn printable(text: &str) -> String {
    let mut printed = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\n' => printed.push('\n'),
            '\t' | '\u{a0}' | '\u{202f}' => printed.push(' '),
            c if is_shown(c) => printed.push(c),
            c => printed.push_str(&format!("[U+{:04X}]", u32::from(c))),
        }
    }
    printed
}

/// How wide a printable text is.
pub fn width(text: &str, style: Lettering) -> f32 {
    text.chars().map(|c| char_width(c, style)).sum()
}

/// How wide a printable character is.
pub fn char_width(c: char, style: Lettering) -> f32 {
    let face = &FACES[usize::from(style.bold)];
    let units = face
        .glyph_index(c)
        .and_then(|glyph| face.glyph_hor_advance(glyph));
    f32::from(units.unwrap_or_default()) / face.units_per_em() as f32 * style.size
}

/// A part of a line that runs in one direction.
pub struct Run<'a> {
    /// Its text.
    pub text: &'a str,
    /// Its glyphs, from the left.
    pub glyphs: Vec<KrillaGlyph>,
    /// How wide it is.
    pub width: f32,
}

/// A printable line in runs, from the left.
pub fn runs(line: &str, style: Lettering) -> Vec<Run<'_>> {
    let bidi = BidiInfo::new(line, Some(Level::ltr()));
    let Some(paragraph) = bidi.paragraphs.first() else {
        return Vec::new();
    };
    let (levels, ranges) = bidi.visual_runs(paragraph, paragraph.range.clone());
    let ranges = ranges.into_iter();
    ranges
        .map(|range| run(&line[range.clone()], levels[range.start].is_rtl(), style))
        .collect()
}

fn run(text: &str, backward: bool, style: Lettering) -> Run<'_> {
    let face = &FACES[usize::from(style.bold)];
    let mut buffer = UnicodeBuffer::new();
    buffer.push_str(text);
    buffer.set_direction(if backward {
        Direction::RightToLeft
    } else {
        Direction::LeftToRight
    });
    buffer.guess_segment_properties();
    // Without them a text is as wide as its characters, which is how its lines were broken.
    let plain = [*b"kern", *b"liga"].map(|tag| {
        let tag = rustybuzz::ttf_parser::Tag::from_bytes(&tag);
        Feature::new(tag, 0, ..)
    });
    let shaped = shape(face, &plain, buffer);
    let em = face.units_per_em() as f32;
    let mut clusters: Vec<usize> = shaped
        .glyph_infos()
        .iter()
        .map(|g| g.cluster as usize)
        .collect();
    clusters.sort_unstable();
    clusters.dedup();
    let range = |from: usize| -> Range<usize> {
        let after = clusters.partition_point(|cluster| *cluster <= from);
        from..clusters.get(after).copied().unwrap_or(text.len())
    };
    let placed = shaped.glyph_infos().iter().zip(shaped.glyph_positions());
    let glyphs: Vec<KrillaGlyph> = placed
        .map(|(info, at)| {
            KrillaGlyph::new(
                GlyphId::new(info.glyph_id),
                at.x_advance as f32 / em,
                at.x_offset as f32 / em,
                at.y_offset as f32 / em,
                at.y_advance as f32 / em,
                range(info.cluster as usize),
                None,
            )
        })
        .collect();
    let advances = shaped
        .glyph_positions()
        .iter()
        .map(|at| at.x_advance as f32);
    let width = advances.sum::<f32>() / em * style.size;
    Run {
        text,
        glyphs,
        width,
    }
}
