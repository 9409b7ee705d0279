//! A spec's file and all that it includes, read in one go.

use super::forms::SpecForm;
use crate::catalogue::form::{PartForm, PartsFile};
use crate::files;
use crate::form::node::{self, LARGEST_FILE};
use crate::form::{Entries, Form, Kind, Node, Placed, Problem, Reader, Schemas, Sources, Text};
use serde_json::Value;
use std::path::{Path, PathBuf};

/// Most files that one spec may draw in.
const MOST_FILES: usize = 60;

/// What was read: as much of the form as could be, and every problem on the way.
#[derive(Debug, Default)]
pub struct SpecRead {
    /// The spec; `None` where even its outline can't be read.
    pub form: Option<SpecForm>,
    /// Parts of the files that it includes.
    pub parts: PartsRead,
    /// The texts.
    pub sources: Sources,
    /// All that is wrong so far.
    pub problems: Vec<Problem>,
}

/// The parts of parts files, nearest first.
#[derive(Debug, Default)]
pub struct PartsRead(pub Vec<Entries<PartForm>>);

/// Reads a spec and the parts files that it includes. Problems are collected, not returned as an error: the next stage
/// adds its own, so that one run tells them all.
pub fn read(path: &Path) -> SpecRead {
    let mut out = SpecRead::default();
    let mut reader = Reader::default();
    if let Some(root) = tree(path, None, &mut out.sources, &mut reader)
        && right_version(&root, "harness", &mut reader)
    {
        out.form = SpecForm::read(&root, &mut reader);
        let includes = out.form.as_ref().map(|form| form.include.clone()).unwrap_or_default();
        let mut includer = Includer { sources: &mut out.sources, reader: &mut reader, parts: &mut out.parts };
        includer.all(path, &includes, &mut vec![files::identity(path)]);
    }
    out.problems = reader.problems;
    out
}

/// Reads a parts file and those that it includes.
pub fn read_parts(path: &Path) -> SpecRead {
    let mut out = SpecRead::default();
    let mut reader = Reader::default();
    let here = [Placed { value: Text(path.display().to_string()), place: Default::default() }];
    Includer { sources: &mut out.sources, reader: &mut reader, parts: &mut out.parts }.all(
        Path::new(""),
        &here,
        &mut Vec::new(),
    );
    out.problems = reader.problems;
    out
}

/// The JSON Schema of a spec, from the same declarations that read it.
pub fn schema() -> Value {
    let mut schemas = Schemas::default();
    let root = SpecForm::schema(&mut schemas);
    schemas.document("A harness spec", root)
}

/// Size of all that was read so far.
fn together(sources: &Sources) -> usize {
    sources.files.iter().map(|file| file.text.len()).sum()
}

/// The JSON Schema of a parts file.
pub fn parts_schema() -> Value {
    let mut schemas = Schemas::default();
    let root = PartsFile::schema(&mut schemas);
    schemas.document("A parts file", root)
}

fn tree(path: &Path, from: Option<&Placed<Text>>, sources: &mut Sources, reader: &mut Reader) -> Option<Node> {
    match files::read_text(path, LARGEST_FILE) {
        Ok(text) if text.len() + together(sources) > LARGEST_FILE => {
            let message =
                format!("{}: with the files before it, it is more than {} MB", path.display(), LARGEST_FILE >> 20);
            reader.tell(Problem { place: from.map(|include| include.place), ..Problem::whole(message) });
            None
        }
        Ok(text) => {
            let file = sources.add(path, text);
            match node::parse(file, &sources.files[file].text) {
                Ok(root) => Some(root),
                Err(problems) => {
                    for problem in problems {
                        let message = match problem.place {
                            Some(_) => problem.message,
                            None => format!("{}: {}", path.display(), problem.message),
                        };
                        reader.tell(Problem { message, ..problem });
                    }
                    None
                }
            }
        }
        Err(why) => {
            let message = format!("{}: {why}", path.display());
            reader.tell(match from {
                Some(include) => Problem::at(include.place, message).label("included here"),
                None => Problem::whole(message)
                    .hint("give the path of a spec, for example harness-specs/first-harness.yaml"),
            });
            None
        }
    }
}

/// Looks at the version before anything else, so that a file of another kind or time gets one clear word.
fn right_version(root: &Node, key: &str, reader: &mut Reader) -> bool {
    let Kind::Map(entries) = &root.kind else {
        reader.tell(
            Problem::at(root.place, format!("a file of this kind is a map that starts with `{key}: 1`"))
                .label(format!("this is {}", root.shape())),
        );
        return false;
    };
    match entries.iter().find(|(k, _)| k.value == key) {
        None => {
            reader.tell(
                Problem::at(root.place, format!("`{key}: 1` is missing, the version of this form"))
                    .hint(format!("put `{key}: 1` in the first line")),
            );
            false
        }
        Some((_, Node { kind: Kind::Scalar(text), .. })) if text == "1" => true,
        Some((_, node)) => {
            reader.tell(
                Problem::at(node.place, "this version of the form is not known to this program")
                    .label("only version 1 is")
                    .hint("if the file is newer than the program, get a newer program"),
            );
            false
        }
    }
}

struct Includer<'a> {
    sources: &'a mut Sources,
    reader: &'a mut Reader,
    parts: &'a mut PartsRead,
}

impl Includer<'_> {
    /// Reads what `from` includes; `above` are the files on the way here.
    fn all(&mut self, from: &Path, includes: &[Placed<Text>], above: &mut Vec<PathBuf>) {
        for (i, include) in includes.iter().enumerate() {
            if i >= MOST_FILES || self.sources.files.len() >= MOST_FILES {
                self.reader.tell(Problem::at(include.place, format!("more than {MOST_FILES} files are included")));
                return;
            }
            let path = from.parent().unwrap_or(Path::new("")).join(include.value.0.as_str());
            let identity = files::identity(&path);
            if above.contains(&identity) {
                self.reader.tell(
                    Problem::at(include.place, format!("`{}` includes itself", include.value.0.as_str()))
                        .hint("files may not include each other in a ring: remove one of the includes"),
                );
                continue;
            }
            if self.sources.files.iter().any(|f| files::identity(&f.path) == identity) {
                continue;
            }
            let from_file = if from.as_os_str().is_empty() { None } else { Some(include) };
            let Some(root) = tree(&path, from_file, self.sources, self.reader) else { continue };
            if !right_version(&root, "parts-file", self.reader) {
                continue;
            }
            if let Some(file) = PartsFile::read(&root, self.reader) {
                self.parts.0.push(file.parts);
                above.push(identity);
                self.all(&path, &file.include, above);
                above.pop();
            }
        }
    }
}
