//! Pages become a PDF that is made to be kept (PDF/A-2u, by the library's own check).

use super::font::{self, Lettering, width};
use super::line::{fill, write_line};
use super::pages::{BLACK, Item, MARGIN, Page, Pages, Paper};
use super::plot;
use super::text::{cut, one_line};
use jiff::Timestamp;
use krilla::color::luma;
use krilla::configure::{Archival, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::geom::{Path, PathBuilder, Point, Rect, Transform};
use krilla::metadata::{DateTime, Metadata};
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::Stroke;
use krilla::surface::Surface;
use krilla::text::Font;
use krilla::{Document, SerializeSettings};
use protocol::evidence::Time;
use protocol::said;
use protocol::style::Style;
use qrcode::{Color, EcLevel, QrCode};

/// What stands at the foot of every page, and what the file says of itself.
pub struct Imprint {
    /// The document's title.
    pub title: String,
    /// Below it at the foot; may be empty.
    pub below: String,
    /// The moment that it is of. It is not the moment of writing, so that the same record makes the same file.
    pub of: Time,
    /// Which program wrote it.
    pub program: String,
    /// In which language.
    pub style: Style,
}

/// Why there is no PDF.
#[derive(Debug, thiserror::Error)]
pub enum Unwritten {
    /// The library does not accept the document.
    #[error("the document cannot be made: {0}")]
    Document(String),
}

/// The kept form limits how long a title may be.
const LONGEST_TITLE: usize = 200;
const FOOT: Lettering = Lettering::grey(7.5);

/// The file.
///
/// # Errors
/// The library does not accept the document.
pub fn write(pages: Pages, imprint: &Imprint) -> Result<Vec<u8>, Unwritten> {
    let unaccepted = |error: &dyn std::fmt::Debug| Unwritten::Document(format!("{error:?}"));
    let configuration = ConfigurationBuilder::new()
        .with_archival_validator(Archival::A2_U)
        .finish()
        .map_err(|e| unaccepted(&e))?;
    let mut document = Document::new_with(SerializeSettings {
        configuration,
        ..SerializeSettings::default()
    });
    document.set_metadata(metadata(imprint));
    let fonts = font::weights();
    let count = pages.pages.len();
    let paper = pages.sheet;
    document.set_outline(outline(&pages));
    for (index, Page { scale, mut items }) in pages.pages.into_iter().enumerate() {
        foot(
            &mut items,
            paper.seen_at(scale),
            imprint,
            &said!(imprint.style, "page-of", page = index + 1, pages = count),
        );
        let settings = PageSettings::from_wh(paper.width, paper.height);
        let mut page = document.start_page_with(settings.unwrap_or_default());
        let mut surface = page.surface();
        surface.push_transform(&Transform::from_scale(scale, scale));
        for item in &items {
            draw(&mut surface, &fonts, item)?;
        }
        surface.pop();
    }
    document.finish().map_err(|e| unaccepted(&e))
}

fn metadata(imprint: &Imprint) -> Metadata {
    let metadata = Metadata::new()
        .title(cut(&imprint.title, LONGEST_TITLE))
        .language(imprint.style.language.tag().to_owned())
        .creator(imprint.program.clone());
    match Timestamp::from_nanosecond(i128::from(imprint.of.0)) {
        Ok(at) => metadata.creation_date(date(at)),
        Err(_) => metadata,
    }
}

fn date(at: Timestamp) -> DateTime {
    let at = jiff::tz::Offset::UTC.to_datetime(at);
    let part = |number: i8| u8::try_from(number).unwrap_or_default();
    DateTime::new(u16::try_from(at.year()).unwrap_or_default())
        .month(part(at.month()))
        .day(part(at.day()))
        .hour(part(at.hour()))
        .minute(part(at.minute()))
        .second(part(at.second()))
        .utc_offset_hour(0)
        .utc_offset_minute(0)
}

fn outline(pages: &Pages) -> Outline {
    let mut outline = Outline::new();
    for mark in &pages.bookmarks {
        let y = mark.y * pages.pages[mark.page].scale;
        let place = XyzDestination::new(mark.page, Point::from_xy(0.0, y));
        outline.push_child(OutlineNode::new(mark.text.clone(), place));
    }
    outline
}

fn foot(items: &mut Vec<Item>, paper: Paper, imprint: &Imprint, number: &str) {
    let right = paper.width - MARGIN;
    let top = paper.height - 46.0;
    let wide = width(number, FOOT);
    let title = one_line(&imprint.title, FOOT, right - MARGIN - wide - 20.0);
    let below = one_line(&imprint.below, FOOT, right - MARGIN);
    items.push(Item::Rule([MARGIN, top], [right, top], 0.5, BLACK));
    items.push(Item::Text([MARGIN, top + 11.0], title, FOOT));
    items.push(Item::Text(
        [right - wide, top + 11.0],
        number.to_owned(),
        FOOT,
    ));
    items.push(Item::Text([MARGIN, top + 21.5], below, FOOT));
}

fn draw(surface: &mut Surface<'_>, fonts: &[Font; 2], item: &Item) -> Result<(), Unwritten> {
    match item {
        Item::Text(at, line, style) => write_line(surface, fonts, *at, line, *style),
        Item::Rule([x, y], [to_x, to_y], width, light) => {
            let mut path = PathBuilder::new();
            path.move_to(*x, *y);
            path.line_to(*to_x, *to_y);
            stroke(surface, path.finish(), *width, *light);
        }
        Item::Frame([x, y], [wide, high], width) => {
            let mut path = PathBuilder::new();
            rectangle(&mut path, [*x, *y], [*wide, *high]);
            stroke(surface, path.finish(), *width, BLACK);
        }
        Item::Plot([x, y], scale, shapes) => {
            surface.push_transform(&Transform::from_row(*scale, 0.0, 0.0, *scale, *x, *y));
            plot::paint(surface, fonts, shapes);
            surface.pop();
        }
        Item::Code(corner, side, says) => code(surface, *corner, *side, says)?,
    }
    Ok(())
}

fn rectangle(path: &mut PathBuilder, [x, y]: [f32; 2], [wide, high]: [f32; 2]) {
    if let Some(rect) = Rect::from_xywh(x, y, wide, high) {
        path.push_rect(rect);
    }
}

fn stroke(surface: &mut Surface<'_>, path: Option<Path>, width: f32, light: u8) {
    let Some(path) = path else { return };
    surface.set_fill(None);
    surface.set_stroke(Some(Stroke {
        paint: luma::Color::new(light).into(),
        width,
        ..Stroke::default()
    }));
    surface.draw_path(&path);
}

/// The code as one path of black squares; the white border that a reader needs is within its side.
fn code(
    surface: &mut Surface<'_>,
    corner: [f32; 2],
    side: f32,
    says: &str,
) -> Result<(), Unwritten> {
    let code = QrCode::with_error_correction_level(says, EcLevel::M)
        .map_err(|error| Unwritten::Document(error.to_string()))?;
    let across = code.width();
    let square = side / (across + 8) as f32;
    let mut path = PathBuilder::new();
    for (index, color) in code.to_colors().into_iter().enumerate() {
        if color == Color::Dark {
            let place = [index % across, index / across].map(|at| (at + 4) as f32 * square);
            rectangle(
                &mut path,
                [corner[0] + place[0], corner[1] + place[1]],
                [square; 2],
            );
        }
    }
    surface.set_stroke(None);
    surface.set_fill(Some(fill(0)));
    if let Some(path) = path.finish() {
        surface.draw_path(&path);
    }
    Ok(())
}
