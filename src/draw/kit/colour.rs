//! Colours of ink and paper, and the contrast that keeps text and lines legible.

/// A screen colour, sRGB.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Rgb {
    /// Red, green and blue, 0 to 255.
    pub rgb: [u8; 3],
}

impl Rgb {
    /// From `0xRRGGBB`.
    pub const fn hex(rgb: u32) -> Self {
        Self { rgb: [(rgb >> 16) as u8, (rgb >> 8) as u8, rgb as u8] }
    }
    /// As `#rrggbb`.
    pub fn css(self) -> String {
        let [r, g, b] = self.rgb;
        format!("#{r:02x}{g:02x}{b:02x}")
    }
    /// Relative luminance, 0 (black) to 1 (white). W3C, Web Content Accessibility Guidelines 2.2, definition of
    /// 'relative luminance', with the sRGB threshold 0.04045.
    pub fn luminance(self) -> f64 {
        let linear = |channel: u8| {
            let c = f64::from(channel) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        };
        let [r, g, b] = self.rgb.map(linear);
        0.2126 * r + 0.7152 * g + 0.0722 * b
    }
    /// Contrast ratio of two colours, 1 to 21. W3C, Web Content Accessibility Guidelines 2.2, definition of
    /// 'contrast ratio'.
    pub fn contrast(self, other: Self) -> f64 {
        let (a, b) = (self.luminance(), other.luminance());
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }
    /// Ink or paper, whichever is the more legible on this.
    pub fn text(self) -> Self {
        if self.contrast(INK) >= self.contrast(PAPER) { INK } else { PAPER }
    }
}

/// Minimum contrast of text with what is behind it: WCAG 2.2, success criterion 1.4.3, level AA.
pub const TEXT_CONTRAST: f64 = 4.5;
/// Minimum contrast of lines and areas with what is beside them: WCAG 2.2, success criterion 1.4.11, level AA.
pub const LINE_CONTRAST: f64 = 3.0;

/// Lines and letters.
pub const INK: Rgb = Rgb::hex(0x1b1f24);
/// Secondary letters and lines: references, zone marks.
pub const SOFT_INK: Rgb = Rgb::hex(0x59616b);
/// Lines that carry no current, in live drawings.
pub const DEAD: Rgb = Rgb::hex(0x7d858e);
/// Thin helping lines that need not be read.
pub const FAINT: Rgb = Rgb::hex(0xc3c9d0);
/// The ground of boxes that should stand out a little from the sheet.
pub const TINT: Rgb = Rgb::hex(0xf3f5f7);
/// The sheet.
pub const PAPER: Rgb = Rgb::hex(0xffffff);
/// Cautions.
pub const ALERT: Rgb = Rgb::hex(0xa8201a);

#[cfg(test)]
mod tests {
    use super::*;

    /// W3C, Understanding WCAG 2.2: black on white is 21:1; #767676 on white is the lightest grey that passes 4.5:1
    /// (WebAIM's published example, 4.54:1).
    #[test]
    fn contrast_agrees_with_published_pairs() {
        let white = Rgb::hex(0xffffff);
        assert!((Rgb::hex(0).contrast(white) - 21.0).abs() < 1e-9);
        assert!((Rgb::hex(0x767676).contrast(white) - 4.54).abs() < 0.005);
        assert!(Rgb::hex(0x777777).contrast(white) < TEXT_CONTRAST);
    }

    #[test]
    fn letters_are_legible_on_every_ground() {
        for ground in [PAPER, TINT] {
            for letters in [INK, SOFT_INK, ALERT] {
                assert!(letters.contrast(ground) >= TEXT_CONTRAST, "{letters:?} on {ground:?}");
            }
        }
    }
}
