//! The narrowest strip that holds a profile: the width of its convex hull.

use super::hull::{Chains, Corner};
use super::ordered::chains;
use crate::fit::FitError;

/// Two parallel lines `y = low + slope·x` and `y = high + slope·x` with all points between them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strip {
    /// Rise of both lines.
    pub slope: f64,
    /// The lower line's y at x = 0.
    pub low: f64,
    /// The upper line's y at x = 0.
    pub high: f64,
    /// Distance of the lines, square to them.
    pub width: f64,
    /// The points that it hangs on, by index: two on one line, and between them one on the other.
    pub contacts: [usize; 3],
}

/// The narrowest strip with one line along an edge of `edges` and the other through a corner of `others`.
///
/// `others` is walked once, from the right: as the edges turn one way, the farthest corner opposite moves left.
fn along_edges(edges: &[Corner], others: &[Corner], side: f64) -> Option<Strip> {
    let mut best: Option<Strip> = None;
    let mut opposite = others.len().saturating_sub(1);
    for pair in edges.windows(2) {
        let slope = (pair[1].y - pair[0].y) / (pair[1].x - pair[0].x);
        let out = |corner: &Corner| corner.at(slope) * side;
        while opposite > 0 && out(&others[opposite - 1]) <= out(&others[opposite]) {
            opposite -= 1;
        }
        let far = others[opposite];
        let (edge, other) = (pair[0].at(slope), far.at(slope));
        let width = (edge - other) * side / (1.0 + slope * slope).sqrt();
        if best.is_none_or(|best| width < best.width) {
            best = Some(Strip {
                slope,
                low: edge.min(other),
                high: edge.max(other),
                width,
                contacts: [pair[0].index, pair[1].index, far.index],
            });
        }
    }
    best
}

/// The minimum zone line of points `(x[i], y[i])`, exact.
///
/// The narrowest strip that holds a set of points lies along an edge of its convex hull. The cost is O(n) for a
/// noisy profile in any order; upright strips are no reference for a profile and are not considered. Source: ISO 12780-1, minimum zone
/// reference lines; M. E. Houle and G. T. Toussaint, *Computing the width of a set*, 1988, for the edge.
///
/// # Errors
/// Fewer than two points, all at one x, or a value that is not a number.
///
/// ```
/// use conewright_metrology::fit::{FitError, minimum_zone};
/// // A bow: two ends on one line, the middle on the other.
/// let strip = minimum_zone::line(&[0.0, 30.0, 60.0], &[0.0, 0.003, 0.0])?;
/// assert!((strip.width - 0.003).abs() < 1e-15 && strip.slope == 0.0);
/// assert_eq!(minimum_zone::line(&[5.0, 5.0], &[0.0, 1.0]), Err(FitError::Degenerate));
/// # Ok::<(), FitError>(())
/// ```
pub fn line(x: &[f64], y: &[f64]) -> Result<Strip, FitError> {
    let points = x.len().min(y.len());
    let (x, y) = (&x[..points], &y[..points]);
    FitError::check(points, 2, |i| (x[i] + y[i]).is_finite())?;
    let Chains { upper, lower } = chains(x, y);
    along_edges(&upper, &lower, 1.0)
        .into_iter()
        .chain(along_edges(&lower, &upper, -1.0))
        .min_by(|a, b| a.width.total_cmp(&b.width))
        .ok_or(FitError::Degenerate)
}
