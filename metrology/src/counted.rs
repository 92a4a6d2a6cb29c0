//! Counts: with their noun (`1 reading`, `2 readings`), and zero.

use std::fmt;

/// A count and the noun of one of them, whose plural ends in *s*.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Counted<N>(pub N, pub &'static str);

impl<N: fmt::Display + PartialEq + From<u8>> fmt::Display for Counted<N> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self(count, noun) = self;
        let s = if *count == N::from(1) { "" } else { "s" };
        write!(f, "{count} {noun}{s}")
    }
}

/// Whether a count is zero, so that it is not written.
#[allow(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde passes a reference"
)]
pub(crate) const fn is_zero(count: &usize) -> bool {
    *count == 0
}

#[cfg(test)]
mod tests {
    use super::Counted;

    #[test]
    fn one_is_no_plural() {
        let told = [0_u64, 1, 2].map(|n| Counted(n, "reading").to_string());
        assert_eq!(told, ["0 readings", "1 reading", "2 readings"]);
    }
}
