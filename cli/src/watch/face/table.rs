//! A step's table: what was found, row by row.

/// Rows under a head. Where there is no room for all, those at one end are left out.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Table {
    /// Names and units of the columns.
    pub head: String,
    /// The rows.
    pub rows: Vec<String>,
    /// The newest stand last and are kept; otherwise the first are.
    pub newest_last: bool,
}

impl Table {
    /// The rows to show where there is room for some.
    #[must_use]
    pub fn shown(&self, room: usize) -> &[String] {
        let count = self.rows.len();
        if self.newest_last {
            &self.rows[count.saturating_sub(room)..]
        } else {
            &self.rows[..room.min(count)]
        }
    }
}
