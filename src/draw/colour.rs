//! Colours of ink and insulation.

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
}

/// Lines and letters.
pub const INK: Colour = Colour::hex(0x1b1f24);
/// The sheet.
pub const PAPER: Colour = Colour::hex(0xffffff);
