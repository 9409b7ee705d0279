//! Writes the connection diagram of each spec as SVG and PNG, and says what is in it:
//! `cargo run --example connection FOLDER SPEC…`.

use loomwright::catalogue::Catalogue;
use loomwright::draw::{audit, connection, png, svg};
use loomwright::{diagnostic, model, spec};
use std::path::{Path, PathBuf};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [folder, specs @ ..] = &arguments[..] else { return Err("connection FOLDER SPEC…".into()) };
    let folder = PathBuf::from(folder);
    std::fs::create_dir_all(&folder)?;
    let catalogue = Catalogue::builtin().map_err(|_| "the catalogue can't be read")?;
    for spec_path in specs {
        let model = model::resolve(spec::read(Path::new(spec_path)), &catalogue)
            .map_err(|u| diagnostic::problems(&u.sources, &u.problems, diagnostic::Style::Plain))?;
        let begun = std::time::Instant::now();
        let scene = connection::connection_diagram(&model);
        let spent = begun.elapsed();
        let written = svg::write(&scene);
        let stem = Path::new(spec_path).file_stem().unwrap_or_default();
        println!("{}: {}; {spent:.0?}; {}", stem.display(), scene.description, audit::audit(&written)?);
        std::fs::write(folder.join(stem).with_extension("svg"), written)?;
        std::fs::write(folder.join(stem).with_extension("png"), png::write(&scene, 4.0)?)?;
    }
    Ok(())
}
