//! The drawing kit: a [`scene::Scene`] of placed items, the sheet that it stands on, symbols, lettering, and the writers
//! ([`svg`], [`pdf`], [`png`]). The kit knows no drawing and no circuit.

pub mod colour;
pub mod flow;
pub mod font;
mod font_subset;
pub mod geometry;
pub mod insulation;
pub mod lines;
pub mod number;
mod outline;
pub mod page_styles;
pub mod path;
pub mod pdf;
mod pdf_refs;
pub mod png;
pub mod qr;
mod relative;
pub mod scene;
mod sfnt;
pub mod sheet;
pub mod svg;
pub mod symbols;
pub mod tag;
pub mod text;
mod woff;
pub mod xml;
