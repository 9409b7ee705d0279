//! Specs as jobs, for tests and benches. The harness that they look at is the sized one.
#![allow(dead_code)] // Each test takes what it needs.

use diagnostic::Style;
use files::Disk;
use form::{TextMap, Texts};
use job::Job;
use model::Model;
use std::path::{Path, PathBuf};

/// One lamp that works: the smallest job.
pub const LAMP: &str = "\
harness: 1
job: {title: One lamp, nominal: 12 V}
places: [front]
supplies: {battery: {terminal: \"30\", at: front, volts: [11.8 V, 12.6 V, 14.6 V]}}
grounds: {G1: {at: front}}
parts: {F1: {use: fuse-blade, rating: 5 A, at: front}, L1: {use: led-marker-12v, at: front}}
wires:
  - {id: 1, from: battery, to: F1.1, gauge: 1 mm², colour: RD}
  - {id: 2, from: F1.2, to: L1.power, gauge: 1 mm², colour: RD}
  - {id: 3, from: L1.ground, to: G1, gauge: 1 mm², colour: BK}
";

/// The job of a spec; panics with its mistakes.
fn read<'j>(texts: &dyn Texts, path: &Path) -> Job<'j> {
    Job::read(texts, path).unwrap_or_else(|unreadable| {
        let problems = diagnostic::problems(&unreadable.sources, &unreadable.problems, Style::PLAIN);
        panic!("{}: {problems}", path.display())
    })
}

/// The job of a spec's file.
pub fn job_of<'j>(path: &Path) -> Job<'j> {
    read(&Disk::default(), path)
}

/// The job of a spec's text.
pub fn job_of_text<'j>(text: &str) -> Job<'j> {
    read(&TextMap::new([("spec.yaml", text)]), Path::new("spec.yaml"))
}

/// A demonstration job.
pub fn demo<'j>(name: &str) -> Job<'j> {
    job_of(&root().join("harness-specs").join(name).with_extension("yaml"))
}

/// The model of a spec's file.
pub fn model_of(path: &Path) -> Model {
    job_of(path).into_model().unwrap()
}

/// The model of a spec's text.
pub fn model_of_text(text: &str) -> Model {
    job_of_text(text).into_model().unwrap()
}

/// The model of a demonstration job.
pub fn demo_model(name: &str) -> Model {
    demo(name).into_model().unwrap()
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

/// The top of the project.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}
