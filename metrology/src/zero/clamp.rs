//! What tightening the clamp does, and whether it does so regularly enough to aim off by it.

use super::ClampShift;

/// Shifts that must be known before they are believed.
const LEAST: usize = 3;

/// From a median absolute deviation to a standard deviation of normal scatter.
const MAD_TO_SD: f64 = 1.4826;

fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted.len() / 2;
    if sorted.len() % 2 == 1 {
        sorted[middle]
    } else {
        sorted[middle - 1].midpoint(sorted[middle])
    }
}

/// Joins the shifts that the fixture remembers with those of this step; `None` when there are none.
///
/// They agree when there are three or more and their median is larger than their scatter.
pub(super) fn shift(remembered: &[f64], seen: Vec<f64>) -> Option<ClampShift> {
    let all: Vec<f64> = remembered
        .iter()
        .copied()
        .chain(seen.iter().copied())
        .collect();
    if all.is_empty() {
        return None;
    }
    let slope = median(&all);
    let deviations: Vec<f64> = all.iter().map(|shift| (shift - slope).abs()).collect();
    let scatter = MAD_TO_SD * median(&deviations);
    Some(ClampShift {
        slope,
        count: u32::try_from(all.len()).unwrap_or(u32::MAX),
        agree: all.len() >= LEAST && slope.abs() > scatter,
        seen,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_that_agree_are_believed_and_two_are_not() {
        assert_eq!(shift(&[], vec![]), None);
        let two = shift(&[-4e-5], vec![-4.2e-5]).unwrap();
        assert_eq!((two.count, two.agree), (2, false));
        let three = shift(&[-4e-5, -3.8e-5], vec![-4.2e-5]).unwrap();
        assert_eq!((three.count, three.agree, three.slope), (3, true, -4e-5));
    }

    #[test]
    fn shifts_that_go_both_ways_are_not_believed() {
        let shift = shift(&[-4e-5, 3e-5, 1e-5, -2e-5], vec![5e-6]).unwrap();
        assert!(!shift.agree, "{shift:?}");
    }
}
