//! Colours of a wire's insulation, by the two-letter codes of IEC 60757 (from memory of the standard, not verified).
//! The shades shown for them on screen and paper are our own choice.

use super::colour::{INK, LINE_CONTRAST, PAPER, Rgb};
use super::path::{Dash, Path, Stroke};

const SHADES: [(&str, &str, Rgb); 12] = [
    ("BK", "black", Rgb::hex(0x23262a)),
    ("BN", "brown", Rgb::hex(0x7d4b26)),
    ("RD", "red", Rgb::hex(0xc9252c)),
    ("OG", "orange", Rgb::hex(0xee7f1a)),
    ("YE", "yellow", Rgb::hex(0xf4d03f)),
    ("GN", "green", Rgb::hex(0x1e8745)),
    ("BU", "blue", Rgb::hex(0x2463b4)),
    ("VT", "violet", Rgb::hex(0x7a4199)),
    ("GY", "grey", Rgb::hex(0x868c93)),
    ("WH", "white", Rgb::hex(0xfcfcfa)),
    ("PK", "pink", Rgb::hex(0xf2a3bd)),
    ("TQ", "turquoise", Rgb::hex(0x3fb8b0)),
];

/// The colours of a wire's insulation as they are shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Insulation {
    /// The code as written, `RD/WH`.
    pub code: String,
    /// The main colour.
    pub base: Rgb,
    /// The colour of the tracer, if there is one.
    pub tracer: Option<Rgb>,
    /// The colour names, `red with white tracer`.
    pub name: String,
}

impl Insulation {
    /// From an IEC 60757 code: `RD`, `RD/WH` with tracer, or the bicolour `GNYE`. `None` if a code is unknown.
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
    use crate::colour::{TEXT_CONTRAST, TINT};

    #[test]
    fn letters_are_legible_on_every_insulation() {
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
