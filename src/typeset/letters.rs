//! Lettering and colours of the printed book.

use kit::colour::{INK, Rgb};

/// Headings, rules and marks.
pub const DEEP: Rgb = Rgb::hex(0x0f4c52);
/// The ground of table headings.
pub const TINT: Rgb = Rgb::hex(0xeef4f3);
/// Lines between rows.
pub const RULE: Rgb = Rgb::hex(0xc8d2d2);
/// The ground of cautions.
pub const ALERT_TINT: Rgb = Rgb::hex(0xfdf2f0);
/// Warnings.
pub const WARNING: Rgb = Rgb::hex(0x7a4a00);
/// Chains that carry voltage.
pub const LIVE: Rgb = Rgb::hex(0x1a6331);
/// Chains that carry pictures.
pub const PICTURE: Rgb = Rgb::hex(0x5b2a86);

/// The colours that paper shares with the page on a screen, by the names of the page's style sheet.
pub const PAGE_COLOURS: [(&str, Rgb); 7] = [
    ("deep", DEEP),
    ("tint", TINT),
    ("rule", RULE),
    ("alert-tint", ALERT_TINT),
    ("warning", WARNING),
    ("live", LIVE),
    ("picture", PICTURE),
];

/// How letters look.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Letters {
    /// Font size, millimetres.
    pub size: f64,
    /// In the bold weight.
    pub bold: bool,
    /// Their colour.
    pub colour: Rgb,
}

/// Text outside tables.
pub const BODY: Letters = Letters { size: 3.0, bold: false, colour: INK };
/// Text in tables: the smallest lettering of the drawings.
pub const CELL: Letters = Letters { size: kit::lines::LEAST_TEXT, bold: false, colour: INK };

/// From one line to the next, as a share of the font size.
pub const LEADING: f64 = 1.34;
/// Top of a line to its base line, as a share of the font size.
pub const BASE: f64 = 0.95;

impl Letters {
    /// The same in bold.
    pub const fn bold(self) -> Self {
        Self { bold: true, ..self }
    }
    /// The same in another colour.
    pub const fn coloured(self, colour: Rgb) -> Self {
        Self { colour, ..self }
    }
    /// The same in another size.
    pub const fn sized(self, size: f64) -> Self {
        Self { size, ..self }
    }
}
