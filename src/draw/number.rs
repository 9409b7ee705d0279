//! The one way numbers are written into drawings and documents: rounded, without trailing zeros, never `-0`.

/// A length or coordinate in millimetres, rounded to 0.01.
///
/// ```
/// use loomwright::draw::number::mm;
/// assert_eq!(mm(2.5), "2.5");
/// assert_eq!(mm(-0.001), "0");
/// assert_eq!(mm(10.0 / 3.0), "3.33");
/// ```
pub fn mm(value: f64) -> String {
    fixed(value, 2)
}

/// Rounded to at most `decimals` places. What is not finite is written as 0, so that a document stays well formed.
pub fn fixed(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "0".into();
    }
    let mut text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    if text == "-0" { "0".into() } else { text }
}

/// Rounded to 0.01 as a number, for formats that write their own.
pub fn rounded(value: f64) -> f32 {
    if value.is_finite() { ((value * 100.0).round() / 100.0 + 0.0) as f32 } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_minus_nought_and_no_trailing_zeros() {
        for (value, text) in [(0.0, "0"), (-0.0, "0"), (-0.004, "0"), (1.0, "1"), (-1.10, "-1.1"), (100.0, "100")] {
            assert_eq!(mm(value), text);
        }
        assert_eq!(fixed(0.00275, 5), "0.00275");
        assert_eq!(mm(f64::NAN), "0");
        assert!(rounded(-0.001).is_sign_positive());
    }
}
