//! The bar that runs to zero as the set-up is tapped.
//!
//! Its scale is a square root: the first hundreds of micrometres and the last one are both seen to move. Left
//! of the zero post is room for a tap that went too far.

/// The bar and the scale under it, each as wide as asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bar {
    /// What is left to go, from the zero post to the right; what is past it, to the left.
    pub bar: String,
    /// Zero and round numbers of micrometres.
    pub scale: String,
}

/// Below this a bar tells nothing.
pub const LEAST_WIDTH: u16 = 16;

/// Draws the bar. `to_go_um` is positive while there is some left and negative when the tap went past;
/// `full_um` is where the bar begins, the whole of the tap.
#[must_use]
pub fn draw(to_go_um: f64, full_um: f64, width: u16, blocks: bool) -> Bar {
    let width = usize::from(width.max(LEAST_WIDTH));
    let post = width / 5;
    let room = width - post - 1;
    // A tap of nothing would make every move infinite: a micrometre is the least scale.
    let full = full_um.abs().max(1.0);
    let cells = |um: f64| (um.abs() / full).sqrt() * room as f64;

    let mut bar = vec![' '; width];
    bar[post] = if blocks { '┃' } else { '|' };
    let length = cells(to_go_um);
    if to_go_um >= 0.0 {
        fill_right(&mut bar[post + 1..], length, blocks);
        if length > room as f64 + 0.5 {
            bar[width - 1] = '>';
        }
    } else {
        let whole = (length.round() as usize).max(1);
        let ink = if blocks { '▒' } else { '=' };
        for cell in bar[..post].iter_mut().rev().take(whole) {
            *cell = ink;
        }
        if whole > post {
            bar[0] = '<';
        }
    }
    Bar {
        bar: bar.into_iter().collect(),
        scale: scale(full, post, width, cells),
    }
}

/// Fills some cells from the left, the last one by eighths where there are blocks.
fn fill_right(cells: &mut [char], length: f64, blocks: bool) {
    const EIGHTHS: [char; 8] = [' ', '▏', '▎', '▍', '▌', '▋', '▊', '▉'];
    for (i, cell) in cells.iter_mut().enumerate() {
        let part = length - i as f64;
        *cell = match (blocks, part) {
            (true, part) if part >= 1.0 => '█',
            (true, part) if part > 0.0 => EIGHTHS[((part * 8.0) as usize).min(7)],
            (false, part) if part >= 0.5 => '#',
            _ => ' ',
        };
    }
}

/// Writes 0 and the decades' 1, 2 and 5 where they have room, from the largest down.
fn scale(full: f64, post: usize, width: usize, cells: impl Fn(f64) -> f64) -> String {
    let mut line = vec![' '; width];
    let mut put = |column: usize, label: &str| {
        let from = column.saturating_sub(label.len() / 2);
        let to = from + label.len();
        // A blank to each side keeps labels apart.
        let free = to <= width
            && line[from.saturating_sub(1)..(to + 1).min(width)]
                .iter()
                .all(|&c| c == ' ');
        if free {
            line[from..to].copy_from_slice(&label.chars().collect::<Vec<_>>());
        }
    };
    put(post, "0");
    for decade in (-1..=4).rev() {
        for step in [5.0, 2.0, 1.0] {
            let um = step * 10_f64.powi(decade);
            let column = post as f64 + cells(um);
            if um <= full && column < width as f64 {
                let label = if decade < 0 {
                    format!("{um:.1}")
                } else {
                    format!("{um:.0}")
                };
                put(column as usize, &label);
            }
        }
    }
    line.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn filled(to_go: f64) -> usize {
        let bar = draw(to_go, 300.0, 60, true).bar;
        let post = bar.chars().position(|c| c == '┃').unwrap();
        bar.chars().skip(post + 1).filter(|&c| c != ' ').count()
    }

    #[test]
    fn it_runs_to_zero() {
        let lengths: Vec<_> = [300.0, 200.0, 100.0, 30.0, 10.0, 3.0, 1.0, 0.0]
            .map(filled)
            .to_vec();
        assert!(lengths.windows(2).all(|w| w[0] > w[1]), "{lengths:?}");
        assert_eq!((lengths[0], lengths[7]), (47, 0));
    }

    #[test]
    fn past_zero_it_goes_the_other_way() {
        let past = draw(-3.0, 300.0, 60, true).bar;
        let post = past.chars().position(|c| c == '┃').unwrap();
        assert!(past.chars().skip(post + 1).all(|c| c == ' '));
        assert_eq!(past.chars().filter(|&c| c == '▒').count(), 5);
    }

    #[test]
    fn beyond_its_ends_it_says_so() {
        assert!(draw(500.0, 300.0, 40, false).bar.ends_with('>'));
        assert!(draw(-299.0, 300.0, 40, false).bar.starts_with('<'));
    }

    #[test]
    fn it_is_as_wide_as_asked_and_plain_where_asked() {
        for width in LEAST_WIDTH..200 {
            for to_go in [-1e9, -0.1, 0.0, 0.4, 12.3, f64::MAX] {
                for full in [0.0, 0.3, 12.0, 1e6] {
                    let plain = draw(to_go, full, width, false);
                    assert!(plain.bar.is_ascii() && plain.scale.is_ascii());
                    assert_eq!(plain.bar.len(), usize::from(width));
                    assert_eq!(plain.scale.len(), usize::from(width));
                    let blocks = draw(to_go, full, width, true);
                    assert_eq!(blocks.bar.chars().count(), usize::from(width));
                }
            }
        }
    }
}
