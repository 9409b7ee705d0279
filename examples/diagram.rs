//! Writes the drawings of a spec as SVG, PNG and PDF, and audits them: `cargo run --example diagram SPEC FOLDER [WIDTHxHEIGHT]`.

use loomwright::catalogue::Catalogue;
use loomwright::draw::{audit, connector_face, current_path, pdf, png, scene::Size, svg};
use loomwright::{diagnostic, model, spec};
use std::path::{Path, PathBuf};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [spec, folder, rest @ ..] = &arguments[..] else { return Err("diagram SPEC FOLDER [WIDTHxHEIGHT]".into()) };
    let size = rest.first().and_then(|text| {
        let (width, height) = text.split_once('x')?;
        Some(Size::new(width.parse().ok()?, height.parse().ok()?))
    });
    let catalogue = Catalogue::builtin().map_err(|_| "the catalogue can't be read")?;
    let model = model::resolve(spec::read(Path::new(spec)), &catalogue)
        .map_err(|u| diagnostic::problems(&u.sources, &u.problems, diagnostic::Style::Plain))?;
    let folder = PathBuf::from(folder);
    std::fs::create_dir_all(&folder)?;
    let drawings = [
        ("current-path", "Current-path diagram", current_path::draw(&model, size)),
        ("connector-faces", "Connector faces", connector_face::sheets(&model, size)),
    ];
    for (file, title, sheets) in drawings {
        for (i, scene) in sheets.iter().enumerate() {
            let written = svg::write(scene);
            println!("{}: {}", scene.title, audit::audit(&written)?);
            std::fs::write(folder.join(format!("{file}-{}.svg", i + 1)), written)?;
            std::fs::write(folder.join(format!("{file}-{}.png", i + 1)), png::write(scene, 6.0)?)?;
        }
        std::fs::write(folder.join(format!("{file}.pdf")), pdf::write(title, &sheets))?;
    }
    Ok(())
}
