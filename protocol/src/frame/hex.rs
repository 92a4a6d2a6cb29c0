//! Lines of hexadecimal digits, as bridges forward frames of bits.

use super::line::is_blank;

/// The last `N` digits of a line, blanks between them or not, and where the first of them stands.
pub(super) fn last<const N: usize>(line: &[u8]) -> Option<(usize, [u8; N])> {
    let mut digits = [0; N];
    let mut missing = N;
    for (at, byte) in line.iter().enumerate().rev() {
        if is_blank(*byte) {
            continue;
        }
        missing -= 1;
        digits[missing] = u8::try_from(char::from(*byte).to_digit(16)?).ok()?;
        if missing == 0 {
            return Some((at, digits));
        }
    }
    None
}
