//! Readings that do not belong: chatter, grit, a knock against the stand. They are flagged and counted, never dropped.

/// The median absolute deviation of normal noise times this is its standard deviation.
/// Source: P. J. Rousseeuw and C. Croux, Journal of the American Statistical Association 88 (1993), 1273–1283.
const TO_SD: f64 = 1.482_602_218_505_602;

/// The least distance from the median, in standard deviations, at which a value is flagged. Source: B. Iglewicz and D. C.
/// Hoaglin, *How to Detect and Handle Outliers*, ASQC 1993.
pub const LEAST_DISTANCE: f64 = 3.5;

/// Fewer values than this have no outlier: there is no telling which of them is off.
pub const LEAST_VALUES: usize = 5;

/// The median of some finite values, found without sorting them all.
fn median(mut values: Vec<f64>) -> Option<f64> {
    let middle = values.len() / 2;
    if values.is_empty() {
        return None;
    }
    let even = values.len().is_multiple_of(2);
    let (below, upper, _) = values.select_nth_unstable_by(middle, f64::total_cmp);
    let upper = *upper;
    let lower = below
        .iter()
        .copied()
        .max_by(f64::total_cmp)
        .filter(|_| even);
    Some(lower.map_or(upper, |lower| lower.midpoint(upper)))
}

/// The indices, in order, of values that lie too far from the median.
///
/// Too far is 3.5 standard deviations, told by the median absolute deviation; for many values it is √(2 ln n) of them,
/// the distance to which the farthest of n normal values comes, so that a long sweep does not flag its own noise.
/// `step` is one step of the display: values that differ by one step only are never flagged, whatever the rest does.
///
/// ```
/// use conewright_metrology::outliers::flagged;
/// let quiet = [0.0, 0.1, -0.1, 0.2, 0.0, -0.2, 0.1];
/// assert!(flagged(&quiet, 0.1).is_empty());
/// let mut knocked = quiet;
/// knocked[4] = 3.0;
/// assert_eq!(flagged(&knocked, 0.1), [4]);
/// // A display that mostly shows one value: a single step is no outlier.
/// assert!(flagged(&[0.0, 0.0, 0.0, 0.0, 0.001], 0.001).is_empty());
/// ```
#[must_use]
pub fn flagged(values: &[f64], step: f64) -> Vec<usize> {
    if values.len() < LEAST_VALUES {
        return Vec::new();
    }
    let Some(middle) = median(values.to_vec()) else {
        return Vec::new();
    };
    let off = |v: &f64| (v - middle).abs();
    let Some(deviation) = median(values.iter().map(off).collect()) else {
        return Vec::new();
    };
    let sd = (deviation * TO_SD).max(step / 12.0_f64.sqrt());
    let distance = LEAST_DISTANCE.max((2.0 * (values.len() as f64).ln()).sqrt());
    let limit = (sd * distance).max(step * (1.0 + 1e-9));
    values
        .iter()
        .enumerate()
        .filter(|(_, v)| off(v) > limit)
        .map(|(index, _)| index)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn medians() {
        assert_eq!(median(vec![]), None);
        assert_eq!(median(vec![3.0]), Some(3.0));
        assert_eq!(median(vec![5.0, 1.0]), Some(3.0));
        assert_eq!(median(vec![9.0, 1.0, 4.0]), Some(4.0));
        assert_eq!(median(vec![4.0, 1.0, 3.0, 100.0]), Some(3.5));
    }

    #[test]
    fn few_values_have_no_outlier() {
        assert!(flagged(&[0.0, 0.0, 0.0, 9.0], 0.0).is_empty());
        assert_eq!(flagged(&[0.0, 0.0, 0.0, 9.0, 0.0], 0.0), [3]);
    }

    #[test]
    fn values_that_are_all_equal_have_no_outlier() {
        assert!(flagged(&[1.0; 9], 0.0).is_empty());
        // Without a display's step the least difference from a constant is one.
        assert_eq!(flagged(&[1.0, 1.0, 1.0, 1.0, 1.001], 0.0), [4]);
    }

    /// Half of what is sound hides nothing, and up to half may be wrong.
    #[test]
    fn several_outliers_do_not_hide_each_other() {
        let values: Vec<f64> = (0..60)
            .map(|i| {
                if i % 5 == 0 {
                    50.0 + f64::from(i)
                } else {
                    f64::from(i % 7)
                }
            })
            .collect();
        assert_eq!(flagged(&values, 0.0).len(), 12);
    }
}
