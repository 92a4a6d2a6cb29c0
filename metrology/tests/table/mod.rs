//! Published tables: comma separated, a heading, and in every row the source that it is from.

use std::collections::HashMap;

/// One row, by the names of its columns.
pub struct Row(HashMap<String, String>);

/// The rows of a table. Each must name its source: a value without one proves nothing.
pub fn rows(text: &str) -> Vec<Row> {
    let rows: Vec<Row> = csv::Reader::from_reader(text.as_bytes())
        .deserialize()
        .map(|row| Row(row.unwrap()))
        .collect();
    assert!(!rows.is_empty());
    assert!(rows.iter().all(|row| !row.text("source").is_empty()));
    rows
}

impl Row {
    pub fn text(&self, column: &str) -> &str {
        &self.0[column]
    }

    /// The number in a column; none where nothing is printed.
    pub fn number(&self, column: &str) -> Option<f64> {
        let text = self.text(column);
        (!text.is_empty()).then(|| text.parse().unwrap())
    }

    /// The number and half a unit of its last printed place, which is all that a printed value claims.
    pub fn printed(&self, column: &str) -> Option<(f64, f64)> {
        let places = self
            .text(column)
            .split_once('.')
            .map_or(0, |(_, d)| d.len());
        let half_a_unit = 0.5 * 10_f64.powi(-(places as i32));
        // A hair of room for the conversion of decimals.
        Some((self.number(column)?, half_a_unit * (1.0 + 1e-6)))
    }
}
