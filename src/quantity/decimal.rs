//! Decimal numbers as drawings, documents and messages print them: rounded, without trailing zeros, never `-0`.

use std::fmt::Write as _;

/// A number rounded to at most `decimals` places. What is not finite is written as 0, so that a document stays well
/// formed.
///
/// ```
/// use quantity::decimal::fixed;
/// assert_eq!(fixed(2.5, 2), "2.5");
/// assert_eq!(fixed(-0.001, 2), "0");
/// assert_eq!(fixed(10.0 / 3.0, 2), "3.33");
/// ```
pub fn fixed(value: f64, decimals: usize) -> String {
    let mut text = String::new();
    push_fixed(&mut text, value, decimals);
    text
}

/// Appends what [`fixed`] gives to a text.
pub fn push_fixed(out: &mut String, value: f64, decimals: usize) {
    if !value.is_finite() {
        out.push('0');
        return;
    }
    match scaled(value, decimals) {
        Some(whole) => push_scaled(out, whole, decimals),
        // Slower, and exact close to a half.
        None => push_exact(out, value, decimals),
    }
}

fn push_exact(out: &mut String, value: f64, decimals: usize) {
    let mut text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    out.push_str(if text == "-0" { "0" } else { &text });
}

/// The value in units of its last place; `None` so close to a half that the multiplication may round it the wrong way.
fn scaled(value: f64, decimals: usize) -> Option<i64> {
    let factor = [1.0, 10.0, 100.0, 1e3, 1e4, 1e5].get(decimals)?;
    let scaled = value * factor;
    let near_half = ((scaled - scaled.floor()) - 0.5).abs() < 1e-5;
    (scaled.abs() < 1e9 && !near_half).then(|| scaled.round() as i64)
}

fn push_scaled(out: &mut String, whole: i64, mut decimals: usize) {
    let factor = 10u64.pow(decimals as u32);
    let (integer, mut fraction) = (whole.unsigned_abs() / factor, whole.unsigned_abs() % factor);
    while decimals > 0 && fraction.is_multiple_of(10) {
        fraction /= 10;
        decimals -= 1;
    }
    let sign = if whole < 0 { "-" } else { "" };
    // Writing to a text can't fail.
    let _ = match decimals {
        0 => write!(out, "{sign}{integer}"),
        _ => write!(out, "{sign}{integer}.{fraction:0decimals$}"),
    };
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn no_minus_zero_and_no_trailing_zeros() {
        for (value, text) in [(0.0, "0"), (-0.0, "0"), (-0.004, "0"), (1.0, "1"), (-1.10, "-1.1"), (100.0, "100")] {
            assert_eq!(fixed(value, 2), text);
        }
        assert_eq!(fixed(0.00275, 5), "0.00275");
        assert_eq!(fixed(f64::NAN, 2), "0");
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn quick_and_exact_writing_agree(
            value in prop_oneof![-1e4..1e4f64, -1.0..1.0f64, any::<f64>(), (-100_000..100_000i64).prop_map(|n| n as f64 / 1000.0)],
            decimals in 0..8usize,
        ) {
            prop_assume!(value.is_finite());
            let mut exact = String::new();
            push_exact(&mut exact, value, decimals);
            prop_assert_eq!(fixed(value, decimals), exact);
        }
    }
}
