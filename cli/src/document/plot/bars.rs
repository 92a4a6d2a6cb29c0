//! Bars from a base line.

use super::axis::Axis;
use super::escaped;
use protocol::sheet::plot::Bars;
use std::fmt::Write;

const WIDTH: f64 = 680.0;
const HEIGHT: f64 = 175.0;
const LEFT: f64 = 62.0;
const RIGHT: f64 = 56.0;
const TOP: f64 = 18.0;
const BOTTOM: f64 = 52.0;
/// No bar is wider, however few there are.
const WIDEST: f64 = 90.0;

/// The bars as one `<svg>` element.
pub fn svg(bars: &Bars) -> String {
    let (base, right) = (HEIGHT - BOTTOM, WIDTH - RIGHT);
    let largest = bars.bars.iter().map(|bar| bar.value).fold(0.0, f64::max);
    let highest = bars.highest.unwrap_or_else(|| (largest * 1.1).max(0.01));
    let y = Axis::between(0.0, highest, base, TOP);
    let mut out = format!(
        "<svg viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" aria-label=\"{}\">",
        escaped(&bars.title)
    );
    for tick in y.ticks() {
        let at = y.place(tick);
        let _ = write!(
            out,
            "<path class=\"grid\" d=\"M{LEFT} {at:.1}H{right}\"/>\
             <text class=\"ytick\" x=\"{:.1}\" y=\"{:.1}\">{}</text>",
            LEFT - 5.0,
            at + 3.5,
            y.tick_text(tick)
        );
    }
    if let Some((level, name)) = &bars.level {
        let at = y.place(*level);
        let _ = write!(
            out,
            "<path class=\"light d1\" d=\"M{LEFT} {at:.1}H{right}\"/>\
             <text class=\"series light\" x=\"{:.1}\" y=\"{:.1}\">{}</text>",
            right + 4.0,
            at + 3.5,
            escaped(name)
        );
    }
    let pitch = (right - LEFT) / bars.bars.len().max(1) as f64;
    let width = (pitch * 0.6).min(WIDEST);
    for (index, bar) in bars.bars.iter().enumerate() {
        let middle = LEFT + pitch * (index as f64 + 0.5);
        let top = y.place(bar.value);
        let _ = write!(
            out,
            "<rect class=\"bar\" x=\"{:.1}\" y=\"{top:.1}\" width=\"{width:.1}\" height=\"{:.1}\"/>\
             <text class=\"xtick\" x=\"{middle:.1}\" y=\"{:.1}\">{:.*}</text>\
             <text class=\"xtick\" x=\"{middle:.1}\" y=\"{:.1}\">{}</text>\
             <text class=\"xtick small\" x=\"{middle:.1}\" y=\"{:.1}\">{}</text>",
            middle - width / 2.0,
            base - top,
            top - 4.0,
            bars.places,
            bar.value,
            base + 14.0,
            escaped(&bar.label),
            base + 26.0,
            escaped(&bar.note)
        );
    }
    let _ = write!(
        out,
        "<path class=\"axis\" d=\"M{LEFT} {TOP}V{base}H{right}\"/>\
         <text class=\"xtick\" x=\"{:.1}\" y=\"{:.1}\">{}</text>\
         <text class=\"xtick\" transform=\"translate(13 {:.1}) rotate(-90)\">{}</text></svg>",
        LEFT.midpoint(right),
        HEIGHT - 6.0,
        escaped(&bars.x_label),
        TOP.midpoint(base),
        escaped(&bars.y_label)
    );
    out
}
