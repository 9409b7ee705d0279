//! Colours of ink and insulation, and the rule that keeps text legible on them.
//!
//! Insulation colours go by the two-letter codes of IEC 60757 (from memory of the standard, not verified); the shades
//! that stand for them on screen and paper are our own choice.

use super::scene::{Dash, Path, Stroke};

/// A screen colour, sRGB.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Colour {
    /// Red, green and blue, 0 to 255.
    pub rgb: [u8; 3],
}

impl Colour {
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

/// Least contrast of text with what is behind it: WCAG 2.2, success criterion 1.4.3, level AA.
pub const TEXT_CONTRAST: f64 = 4.5;
/// Least contrast of lines and areas with what is beside them: WCAG 2.2, success criterion 1.4.11, level AA.
pub const LINE_CONTRAST: f64 = 3.0;

/// Lines and letters.
pub const INK: Colour = Colour::hex(0x1b1f24);
/// Letters and lines that stand back: references, zone marks.
pub const SOFT_INK: Colour = Colour::hex(0x59616b);
/// Lines of what carries no current, in the drawing of a live harness.
pub const DEAD: Colour = Colour::hex(0x7d858e);
/// Thin helping lines that need not be read.
pub const FAINT: Colour = Colour::hex(0xc3c9d0);
/// The ground of boxes that should stand out a little from the sheet.
pub const TINT: Colour = Colour::hex(0xf3f5f7);
/// The sheet.
pub const PAPER: Colour = Colour::hex(0xffffff);
/// Cautions.
pub const ALERT: Colour = Colour::hex(0xa8201a);

const SHADES: [(&str, &str, Colour); 12] = [
    ("BK", "black", Colour::hex(0x23262a)),
    ("BN", "brown", Colour::hex(0x7d4b26)),
    ("RD", "red", Colour::hex(0xc9252c)),
    ("OG", "orange", Colour::hex(0xee7f1a)),
    ("YE", "yellow", Colour::hex(0xf4d03f)),
    ("GN", "green", Colour::hex(0x1e8745)),
    ("BU", "blue", Colour::hex(0x2463b4)),
    ("VT", "violet", Colour::hex(0x7a4199)),
    ("GY", "grey", Colour::hex(0x868c93)),
    ("WH", "white", Colour::hex(0xfcfcfa)),
    ("PK", "pink", Colour::hex(0xf2a3bd)),
    ("TQ", "turquoise", Colour::hex(0x3fb8b0)),
];

/// The colours of a wire's insulation as they are shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Insulation {
    /// The code as written, `RD/WH`.
    pub code: String,
    /// The main colour.
    pub base: Colour,
    /// The colour of the tracer, if there is one.
    pub tracer: Option<Colour>,
    /// The colour names, `red with white tracer`.
    pub name: String,
}

impl Insulation {
    /// From an IEC 60757 code: `RD`, `RD/WH` with tracer, or the bicolour `GNYE`. None where a code is unknown.
    pub fn of(code: &str) -> Option<Self> {
        let shade = |code: &str| SHADES.iter().find(|(c, _, _)| *c == code).map(|&(_, name, colour)| (name, colour));
        let pair = match code {
            "GNYE" | "YEGN" => Some(("GN", "YE")),
            _ => code.split_once('/'),
        };
        let Some((first, second)) = pair else {
            let (name, base) = shade(code)?;
            return Some(Self { code: code.into(), base, tracer: None, name: name.into() });
        };
        let ((name, base), (second_name, tracer)) = (shade(first)?, shade(second)?);
        let name =
            if code.len() == 4 { format!("{name} and {second_name}") } else { format!("{name}, {second_name} tracer") };
        Some(Self { code: code.into(), base, tracer: Some(tracer), name })
    }

    /// Whether the main colour needs a dark edge to be seen on paper.
    pub fn edged(&self) -> bool {
        self.base.contrast(PAPER) < LINE_CONTRAST
    }

    /// The strokes that show this insulation along a line, lowest first: a dark edge where the colour is too light to
    /// be seen on paper, the main colour, and dashes of the tracer. `width` is the whole width in millimetres, edge
    /// included, so that wires of all colours are equally wide.
    pub fn strokes(&self, width: f64) -> Vec<Stroke> {
        let edge = self.edged() || self.tracer.is_some_and(|t| t.contrast(PAPER) < LINE_CONTRAST);
        let inner = if edge { width - 2.0 * EDGE.min(width / 4.0) } else { width };
        let mut strokes = Vec::with_capacity(3);
        if edge {
            strokes.push(Stroke::solid(if self.edged() { INK } else { self.base }, width));
        }
        strokes.push(Stroke::solid(self.base, inner));
        if let Some(tracer) = self.tracer {
            strokes.push(Stroke::dashed(tracer, inner, Dash::even(TRACER_DASH, TRACER_GAP)));
        }
        strokes
    }

    /// The line painted in this insulation, lowest path first.
    pub fn paint(&self, line: &Path, width: f64) -> Vec<Path> {
        self.strokes(width).into_iter().map(|stroke| line.clone().stroked(stroke)).collect()
    }
}

/// Width of the dark edge of light insulation, millimetres.
const EDGE: f64 = 0.2;
/// Length of a tracer's dash, millimetres.
const TRACER_DASH: f64 = 1.6;
/// Length of the main colour between two dashes, millimetres.
const TRACER_GAP: f64 = 2.4;

#[cfg(test)]
mod tests {
    use super::*;

    /// W3C, Understanding WCAG 2.2: black on white is 21:1; #767676 on white is the lightest grey that passes 4.5:1
    /// (WebAIM's published example, 4.54:1).
    #[test]
    fn contrast_agrees_with_published_pairs() {
        let white = Colour::hex(0xffffff);
        assert!((Colour::hex(0).contrast(white) - 21.0).abs() < 1e-9);
        assert!((Colour::hex(0x767676).contrast(white) - 4.54).abs() < 0.005);
        assert!(Colour::hex(0x777777).contrast(white) < TEXT_CONTRAST);
    }

    #[test]
    fn letters_are_legible_on_every_ground() {
        for ground in [PAPER, TINT] {
            for letters in [INK, SOFT_INK, ALERT] {
                assert!(letters.contrast(ground) >= TEXT_CONTRAST, "{letters:?} on {ground:?}");
            }
        }
        for (code, _, colour) in SHADES {
            assert!(colour.text().contrast(colour) >= TEXT_CONTRAST, "text on {code}");
        }
    }

    #[test]
    fn every_wire_stands_out_from_paper_and_from_the_ground_of_places() {
        for (code, _, _) in SHADES {
            let lowest = Insulation::of(code).unwrap().strokes(1.0)[0];
            for ground in [PAPER, TINT] {
                assert!(lowest.colour.contrast(ground) >= LINE_CONTRAST, "{code} on {ground:?}");
            }
        }
        assert!(Insulation::of("WH").unwrap().edged() && !Insulation::of("BU").unwrap().edged());
    }

    #[test]
    fn codes_are_read_with_their_tracer() {
        let wire = Insulation::of("RD/WH").unwrap();
        assert_eq!((wire.name.as_str(), wire.strokes(0.7).len()), ("red, white tracer", 3));
        assert_eq!(Insulation::of("GNYE").unwrap().name, "green and yellow");
        for bad in ["", "XX", "RD/", "/RD", "rd", "RD/WH/BK"] {
            assert_eq!(Insulation::of(bad), None, "{bad}");
        }
    }
}
