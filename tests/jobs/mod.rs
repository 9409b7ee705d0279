//! Specs as models, for tests from outside.
#![allow(dead_code)] // Each test takes what it needs.

use catalogue::Catalogue;
use model::{self, Model};
use std::path::{Path, PathBuf};

/// The model of a spec; panics with its mistakes.
pub fn model_of(path: &Path) -> Model {
    size::model_of(spec::read(path), &Catalogue::builtin().unwrap_or_default())
        .map_err(|u| diagnostic::problems(&u.sources, &u.problems, diagnostic::Style::Plain))
        .unwrap_or_else(|problems| panic!("{}: {problems}", path.display()))
}

/// The model of a spec's text.
pub fn model_of_text(text: &str) -> Model {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("made-up.yaml");
    std::fs::write(&path, text).unwrap();
    model_of(&path)
}

/// The model of a demonstration job.
pub fn demo(name: &str) -> Model {
    model_of(&root().join("harness-specs").join(name).with_extension("yaml"))
}

/// Every spec in these folders of the project, by path.
pub fn specs_in(folders: &[&str]) -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = folders
        .iter()
        .flat_map(|folder| std::fs::read_dir(root().join(folder)).unwrap())
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "yaml"))
        .collect();
    found.sort();
    found
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}
