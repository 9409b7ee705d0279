//! Lengths on paper as text and as numbers, rounded to 0.01 mm.

use quantity::decimal::{fixed, push_fixed};

/// A length or coordinate in millimetres, rounded to 0.01.
///
/// ```
/// use kit::number::mm;
/// assert_eq!(mm(2.5), "2.5");
/// assert_eq!(mm(-0.001), "0");
/// ```
pub fn mm(value: f64) -> String {
    fixed(value, 2)
}

/// Appends what [`mm`] gives to a text.
pub(crate) fn push_mm(out: &mut String, value: f64) {
    push_fixed(out, value, 2);
}

/// Rounded to 0.01 as a number, for formats that write their own; 0 for what is not finite.
pub fn rounded(value: f64) -> f32 {
    if value.is_finite() { ((value * 100.0).round() / 100.0 + 0.0) as f32 } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_have_no_minus_zero() {
        assert_eq!(mm(-0.001), "0");
        assert!(rounded(-0.001).is_sign_positive());
    }
}
