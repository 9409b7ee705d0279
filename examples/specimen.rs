//! Writes the specimen sheet of symbols and colours as SVG, PNG and PDF: `cargo run --example specimen FOLDER`.

use loomwright::draw::{pdf, png, svg, symbols::specimen};
use std::path::PathBuf;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = PathBuf::from(std::env::args().nth(1).unwrap_or_else(|| "out".into()));
    let scene = specimen::sheet();
    std::fs::create_dir_all(&folder)?;
    std::fs::write(folder.join("specimen.svg"), svg::write(&scene))?;
    std::fs::write(folder.join("specimen.png"), png::write(&scene, 6.0)?)?;
    std::fs::write(folder.join("specimen.pdf"), pdf::write("Specimen", &[scene]))?;
    Ok(())
}
