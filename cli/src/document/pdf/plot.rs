//! The plots, as the page has them.

use super::font::width;
use super::font::{FAMILY, FILES, printable};
use super::pages::{Item, MARGIN, Pages, SMALL};
use crate::document::plot::{self, Drawing};
use protocol::sheet::plot::Plot;
use std::sync::{Arc, LazyLock};
use usvg::fontdb::{Database, Source};

/// Between two beside each other.
const BETWEEN: f32 = 14.0;
/// A plot round a turn is no wider.
const WIDEST_OF_TWO: f32 = 225.0;

static FONTS: LazyLock<Arc<Database>> = LazyLock::new(|| {
    let mut fonts = Database::new();
    for file in FILES {
        fonts.load_font_source(Source::Binary(Arc::new(file)));
    }
    Arc::new(fonts)
});

/// A plot that has its size.
pub struct Placed {
    drawings: Vec<(Option<&'static str>, usvg::Tree)>,
    wide: f32,
    /// How high it is with all that stands above and below it.
    pub height: f32,
}

/// A drawing as the library takes it: with the name space that a page does not need, and with what the font can show.
fn tree(drawing: &Drawing) -> Result<usvg::Tree, usvg::Error> {
    let svg = printable(&drawing.svg.0);
    let svg = svg.replacen("<svg ", "<svg xmlns=\"http://www.w3.org/2000/svg\" ", 1);
    let options = usvg::Options {
        font_family: FAMILY.to_owned(),
        fontdb: FONTS.clone(),
        style_sheet: Some(plot::STYLE.to_owned()),
        ..usvg::Options::default()
    };
    usvg::Tree::from_str(&svg, &options)
}

/// The plot in so much room across.
///
/// # Errors
/// The library cannot read a drawing.
pub fn placed(plot: &Plot, room: f32) -> Result<Placed, usvg::Error> {
    let drawings = plot::drawings(plot);
    let drawings = drawings.iter().map(|d| Ok((d.caption, tree(d)?)));
    let drawings: Vec<(Option<&'static str>, usvg::Tree)> =
        drawings.collect::<Result<_, usvg::Error>>()?;
    let count = drawings.len() as f32;
    let wide = (room - BETWEEN * (count - 1.0)) / count;
    let wide = if drawings.len() > 1 {
        wide.min(WIDEST_OF_TWO)
    } else {
        wide
    };
    let high = drawings.iter().map(|(_, tree)| high(tree, wide));
    let caption = if drawings.iter().any(|(caption, _)| caption.is_some()) {
        SMALL.line() + 2.0
    } else {
        0.0
    };
    Ok(Placed {
        height: high.fold(0.0, f32::max) + caption + 5.0,
        drawings,
        wide,
    })
}

fn high(tree: &usvg::Tree, wide: f32) -> f32 {
    wide * tree.size().height() / tree.size().width()
}

/// Draws it where the page stands; it is never broken.
pub fn draw(pages: &mut Pages, placed: Placed) {
    pages.keep(placed.height);
    let top = pages.y;
    let mut left = MARGIN;
    for (caption, tree) in placed.drawings {
        pages.y = top;
        if let Some(caption) = caption {
            let caption = printable(caption);
            let x = left + (placed.wide - width(&caption, SMALL)) / 2.0;
            pages.line(x, caption, SMALL);
            pages.y += 2.0;
        }
        let size = [placed.wide, high(&tree, placed.wide)];
        pages.put(Item::Plot([left, pages.y], size, Box::new(tree)));
        left += placed.wide + BETWEEN;
    }
    pages.y = top + placed.height;
}
