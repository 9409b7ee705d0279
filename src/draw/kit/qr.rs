//! QR codes (ISO/IEC 18004), for links on labels.

use super::geometry::{Point, Rect, Size};
use super::path::Path;
use qrcode::{Color, EcLevel, QrCode};

/// Light modules around the code that the standard asks for.
const QUIET: usize = 4;

/// A code: dark and light modules, with the light border that a reader needs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QrSquare {
    /// Modules on a side, the border included.
    pub side: usize,
    dark: Vec<[usize; 2]>,
}

impl QrSquare {
    /// The code of a text; `None` if the text is too long for one. A sixth of the code may be soiled (level M).
    pub fn of(text: &str) -> Option<Self> {
        let code = QrCode::with_error_correction_level(text, EcLevel::M).ok()?;
        let width = code.width();
        let colours = code.to_colors();
        let dark = colours.iter().enumerate().filter(|(_, colour)| **colour == Color::Dark);
        let dark = dark.map(|(i, _)| [i % width + QUIET, i / width + QUIET]).collect();
        Some(Self { side: width + 2 * QUIET, dark })
    }

    /// Runs of dark modules side by side: column, row, and how many.
    fn runs(&self) -> Vec<[usize; 3]> {
        let mut runs: Vec<[usize; 3]> = Vec::new();
        for &[x, y] in &self.dark {
            match runs.last_mut() {
                Some([from, row, many]) if *row == y && *from + *many == x => *many += 1,
                _ => runs.push([x, y, 1]),
            }
        }
        runs
    }

    /// As the data of an SVG path, a unit for each module.
    pub fn svg_path(&self) -> String {
        self.runs().iter().map(|[x, y, many]| format!("M{x} {y}h{many}v1h-{many}z")).collect()
    }

    /// As one path, `edge` millimetres wide and high with its border, the top left corner at `at`.
    pub fn path(&self, at: Point, edge: f64) -> Path {
        let unit = edge / self.side as f64;
        let run = |&[x, y, many]: &[usize; 3]| {
            let corner = at.by(x as f64 * unit, y as f64 * unit);
            Path::rect(&Rect::sized(corner, Size::new(many as f64 * unit, unit))).segs
        };
        Path::new(self.runs().iter().flat_map(run).collect::<Vec<_>>())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO/IEC 18004: version 1 has 21 modules on a side; a finder pattern of 7 stands in three corners.
    #[test]
    fn a_short_text_is_a_code_of_version_one() {
        let code = QrSquare::of("K1").unwrap();
        assert_eq!(code.side, 21 + 2 * QUIET);
        for corner in [[QUIET, QUIET], [QUIET + 14, QUIET], [QUIET, QUIET + 14]] {
            assert!(code.runs().contains(&[corner[0], corner[1], 7]), "{corner:?}");
        }
        assert!(QrSquare::of(&"x".repeat(3000)).is_none());
    }
}
