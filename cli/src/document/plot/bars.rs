//! Bars from a base line.

use super::Px;
use super::axis::Axis;
use super::frame::{Frame, WIDTH};
use maud::{Markup, html};
use protocol::sheet::plot::Bars;

const FRAME: Frame = Frame::new(175.0, 18.0, 52.0);
/// No bar is wider, however few there are.
const WIDEST: f64 = 90.0;

/// The bars as one `<svg>` element.
pub fn svg(bars: &Bars) -> Markup {
    let Frame {
        left,
        right,
        top,
        base,
        height,
    } = FRAME;
    let largest = bars.bars.iter().map(|bar| bar.value).fold(0.0, f64::max);
    let highest = bars.highest.unwrap_or_else(|| (largest * 1.1).max(0.01));
    let y = Axis::between(0.0, highest, base, top);
    let pitch = (right - left) / bars.bars.len().max(1) as f64;
    let width = (pitch * 0.6).min(WIDEST);
    html! {
        svg viewBox={ "0 0 " (WIDTH) " " (height) } role="img" aria-label=(bars.title) {
            (FRAME.across(&y))
            @if let Some((level, name)) = &bars.level {
                @let at = y.place(*level);
                path.light.d1 d={ "M" (left) " " (Px(at)) "H" (right) } {}
                text.series.light x=(Px(right + 4.0)) y=(Px(at + 3.5)) { (name) }
            }
            @for (index, bar) in bars.bars.iter().enumerate() {
                @let middle = left + pitch * (index as f64 + 0.5);
                @let top = y.place(bar.value);
                rect.bar x=(Px(middle - width / 2.0)) y=(Px(top)) width=(Px(width)) height=(Px(base - top)) {}
                text.xtick x=(Px(middle)) y=(Px(top - 4.0)) { (format_args!("{:.*}", bars.places, bar.value)) }
                text.xtick x=(Px(middle)) y=(Px(base + 14.0)) { (bar.label) }
                text.xtick.small x=(Px(middle)) y=(Px(base + 26.0)) { (bar.note) }
            }
            (FRAME.axes(&bars.x_label, &bars.y_label))
        }
    }
}
