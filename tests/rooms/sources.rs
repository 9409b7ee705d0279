//! The rooms as they stand on disk: their dependencies and their sources, tests left out.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// A crate under `src/`.
pub struct Room {
    /// The crate's name.
    pub name: String,
    /// Names under `[dependencies]`.
    pub dependencies: BTreeSet<String>,
    /// Its sources, without those that are compiled for tests alone.
    pub files: Vec<Source>,
}

/// A source file of a room.
pub struct Source {
    /// From the top of the repository.
    pub path: String,
    /// The module that it is: `["rules", "load"]` for `rules/load/mod.rs`, nothing for `lib.rs`.
    pub module: Vec<String>,
    /// Its text, up to its inline tests.
    pub text: String,
}

impl Room {
    /// Whether its sources name another crate. A module of the room's own of that name hides the crate.
    pub fn uses(&self, other: &str) -> bool {
        if self.files.iter().any(|file| file.module == [other]) {
            return self.dependencies.contains(other);
        }
        let path = format!("{other}::");
        self.files.iter().flat_map(|file| file.text.lines()).any(|line| {
            let code = line.split("//").next().unwrap_or_default();
            code.match_indices(&path).any(|(at, _)| {
                let before = code[..at].trim_end_matches("::");
                let word =
                    before.len() == at && before.ends_with(|c: char| c.is_alphanumeric() || c == '_' || c == '$');
                let inside = before.len() < at && !before.ends_with([' ', '(', '{', '&', '<']) && !before.is_empty();
                !word && !inside
            })
        })
    }
}

/// Every room, by name.
pub fn rooms() -> Vec<Room> {
    let mut found = Vec::new();
    look(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut found);
    let mut rooms: Vec<Room> = found.iter().map(|folder| room(folder, &found)).collect();
    rooms.sort_by(|a, b| a.name.cmp(&b.name));
    assert!(rooms.len() > 15, "{} rooms", rooms.len());
    rooms
}

/// Folders with a Cargo.toml.
fn look(folder: &Path, found: &mut Vec<PathBuf>) {
    if folder.join("Cargo.toml").exists() {
        found.push(folder.to_path_buf());
    }
    entries(folder).into_iter().filter(|path| path.is_dir()).for_each(|path| look(&path, found));
}

fn entries(folder: &Path) -> Vec<PathBuf> {
    let mut paths: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths
}

fn room(folder: &Path, rooms: &[PathBuf]) -> Room {
    let manifest = fs::read_to_string(folder.join("Cargo.toml")).unwrap();
    let name = manifest.lines().find_map(|line| line.strip_prefix("name = \"")?.strip_suffix('"')).unwrap();
    let section = manifest.split_once("\n[dependencies]\n").map_or("", |(_, rest)| rest);
    let lines = section.lines().take_while(|line| !line.starts_with('['));
    let names = lines.filter_map(|line| line.split(['.', ' ', '=']).next()).filter(|name| !name.is_empty());
    let mut files = Vec::new();
    sources(folder, folder, rooms, &mut files);
    Room { name: name.to_string(), dependencies: names.map(str::to_string).collect(), files }
}

/// Sources of a room in a folder, without those of a room within it.
fn sources(folder: &Path, top: &Path, rooms: &[PathBuf], found: &mut Vec<Source>) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for path in entries(folder) {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if path.is_dir() {
            if name != "tests" && !rooms.contains(&path) {
                sources(&path, top, rooms, found);
            }
        } else if name.ends_with(".rs") && !["tests.rs", "specimens.rs"].contains(&name.as_str()) {
            let inner = path.strip_prefix(top).unwrap().with_extension("");
            let mut module: Vec<String> = inner.iter().map(|part| part.to_string_lossy().into_owned()).collect();
            module.pop_if(|last| last == "mod" || last == "lib");
            let text = fs::read_to_string(&path).unwrap();
            let text = text.split("\n#[cfg(test)]\nmod tests {").next().unwrap_or_default().to_string();
            let path = path.strip_prefix(root).unwrap().display().to_string();
            found.push(Source { path, module, text });
        }
    }
}

/// Names of the types and traits that a file makes public.
pub fn public_types(file: &Source) -> Vec<String> {
    let declared = |line: &str| {
        let rest = line.strip_prefix("pub ")?;
        let rest = ["struct ", "enum ", "trait ", "type ", "union "].iter().find_map(|kind| rest.strip_prefix(kind))?;
        Some(rest.split(|c: char| !c.is_alphanumeric() && c != '_').next()?.to_string())
    };
    file.text.lines().filter_map(declared).collect()
}

/// For each type of a file: how many methods its inherent `impl` blocks have there, and how many fields it has.
pub fn sizes(file: &Source) -> Vec<(String, Size)> {
    let name = |rest: &str| {
        let rest = if rest.starts_with('<') { rest.split_once("> ").map_or("", |(_, after)| after) } else { rest };
        rest.trim_start().split(|c: char| !c.is_alphanumeric() && c != '_').next().unwrap_or_default().to_string()
    };
    let mut found = Vec::new();
    let mut within: Option<(String, bool)> = None;
    for line in file.text.lines() {
        let code = line.trim_start_matches("pub(super) ").trim_start_matches("pub(crate) ").trim_start_matches("pub ");
        if line.starts_with('}') {
            within = None;
        } else if let Some(rest) = code.strip_prefix("struct ").filter(|rest| rest.ends_with('{')) {
            within = Some((name(rest), false));
        } else if let Some(rest) = line.strip_prefix("impl").filter(|rest| !rest.contains(" for ")) {
            within = Some((name(rest.trim_start()), true));
        }
        let Some((of, methods)) = &within else { continue };
        let Some(inner) = line.strip_prefix("    ").filter(|inner| inner.starts_with(char::is_alphabetic)) else {
            continue;
        };
        let is_method =
            inner.split(['(', '<']).next().unwrap_or_default().contains("fn ") || inner.starts_with("pub(super) fn ");
        let is_field = inner.contains(": ") && inner.ends_with(',');
        let size = Size { methods: usize::from(*methods && is_method), fields: usize::from(!methods && is_field) };
        found.push((of.clone(), size));
    }
    found
}

/// How much a type holds.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Size {
    pub methods: usize,
    pub fields: usize,
}

#[test]
fn methods_and_fields_are_counted() {
    let text = "pub struct One<'a> {\n    a: u8,\n    pub b: &'a str,\n}\n\nimpl<'a> One<'a> {\n    /// Doc.\n    pub fn new() -> Self {\n        todo()\n    }\n    fn go(&self) {}\n}\n\nimpl Clone for One<'_> {\n    fn clone(&self) {}\n}\n";
    let file = Source { path: String::new(), module: Vec::new(), text: text.to_string() };
    let all = sizes(&file);
    assert!(all.iter().all(|(name, _)| name == "One"), "{all:?}");
    let sum = |f: fn(&Size) -> usize| all.iter().map(|(_, size)| f(size)).sum::<usize>();
    assert_eq!((sum(|size| size.methods), sum(|size| size.fields)), (2, 2));
}
