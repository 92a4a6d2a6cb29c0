//! Mean and spread of several values.

/// The mean; NaN without values.
pub(crate) fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// The sum of the squared deviations from the mean.
pub(crate) fn squares(values: &[f64]) -> f64 {
    let mean = mean(values);
    values.iter().map(|value| (value - mean).powi(2)).sum()
}

/// The smallest and the largest value; `[∞, −∞]` without values.
pub(crate) fn extremes(values: impl IntoIterator<Item = f64>) -> [f64; 2] {
    values
        .into_iter()
        .fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], value| {
            [low.min(value), high.max(value)]
        })
}

/// The largest minus the smallest value: peak to valley.
pub(crate) fn range(values: impl IntoIterator<Item = f64>) -> f64 {
    let [low, high] = extremes(values);
    high - low
}
