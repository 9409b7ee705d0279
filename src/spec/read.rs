//! Reads a spec and every parts file that it includes.

use super::forms::SpecForm;
use super::numbers;
use catalogue::part_form::{PartForm, PartsFile};
use form::file_kind;
use form::node::{self, LARGEST_FILE};
use form::place::nearest;
use form::texts::{Texts, Unusable, read_text};
use form::{Entries, Form, Kind as Shape, Node, Placed, Problem, Reader, Schemas, Sources, Text, UnreadNames};
use serde_json::Value;
use std::path::{Path, PathBuf};

/// Maximum number of files that one spec may include.
const MOST_FILES: usize = 60;

/// The part of a spec that could be read, and every problem found.
#[derive(Debug, Default)]
pub struct SpecRead {
    /// The spec; `None` where even its outline can't be read.
    pub form: Option<SpecForm>,
    /// Parts of the files that it includes.
    pub parts: PartsRead,
    /// The texts.
    pub sources: Sources,
    /// Every problem so far.
    pub problems: Vec<Problem>,
    /// Names whose entries could not be read. They count as known, so that no second error follows.
    pub unread: UnreadNames,
    /// Whether an included parts file could not be read.
    pub parts_missing: bool,
}

/// The parts of parts files, nearest first.
#[derive(Debug, Default)]
pub struct PartsRead(pub Vec<Entries<PartForm>>);

/// Reads the spec at `path` and the parts files that it includes, from where `texts` finds them. Collects problems
/// instead of returning an error: the next stage adds its own, so that one run reports them all.
pub fn read(texts: &dyn Texts, path: &Path) -> SpecRead {
    let mut out = SpecRead::default();
    let mut reader = Reader::new(catalogue::VOCABULARY);
    if let Some(mut root) = tree(texts, path, Kind::Spec, None, &mut out.sources, &mut reader)
        && right_version(&mut root, Kind::Spec, &mut reader)
    {
        out.form = SpecForm::read(&root, &mut reader);
        let includes = out.form.as_ref().map(|form| form.include.clone()).unwrap_or_default();
        out.parts_missing = listed(&root, "include") != Some(includes.len());
        let above = &mut vec![texts.identity(path)];
        Includer { texts, spec: path, out: &mut out, reader: &mut reader }.all(path, &includes, above);
    }
    if let Some(form) = &mut out.form {
        numbers::choose(form);
    }
    (out.problems, out.unread) = (reader.problems, reader.unread);
    out
}

/// The JSON Schema of a spec, from the same declarations that read it.
pub fn schema() -> Value {
    let mut schemas = Schemas::new(catalogue::VOCABULARY);
    let root = SpecForm::schema(&mut schemas);
    schemas.document("A harness spec", root)
}

/// Number of items in a key's list, 0 if the key is missing; `None` if it is no list or misspelt.
fn listed(root: &Node, key: &str) -> Option<usize> {
    let Shape::Map(entries) = &root.kind else { return Some(0) };
    match entries.iter().find(|(k, _)| k.value == key).map(|(_, node)| &node.kind) {
        None => entries.iter().all(|(k, _)| nearest(&k.value, [key]).is_none()).then_some(0),
        Some(Shape::Empty) => Some(0),
        Some(Shape::List(items)) => Some(items.len()),
        Some(_) => None,
    }
}

/// Size of all text read so far, in bytes.
fn together(sources: &Sources) -> usize {
    sources.files.iter().map(|file| file.text.len()).sum()
}

/// The JSON Schema of a parts file.
pub fn parts_schema() -> Value {
    let mut schemas = Schemas::new(catalogue::VOCABULARY);
    let root = PartsFile::schema(&mut schemas);
    schemas.document("A parts file", root)
}

/// The content of a file of `kind`. `from` is the place that includes it.
fn tree(
    texts: &dyn Texts,
    path: &Path,
    kind: Kind,
    from: Option<&Placed<Text>>,
    sources: &mut Sources,
    reader: &mut Reader,
) -> Option<Node> {
    let about_file = |message: String| match from {
        Some(include) => Problem::at(include.place, format!("{}: {message}", path.display())).label("included here"),
        None => Problem::whole(format!("{}: {message}", path.display())),
    };
    let other = |what: &str| about_file(format!("this seems to be {what}, not {}", kind.what())).hint(kind.wanted());
    match read_text(texts, path, LARGEST_FILE) {
        Ok(text) if text.len() + together(sources) > LARGEST_FILE => {
            reader.report(about_file(format!("with the files before it, it is more than {} MB", LARGEST_FILE >> 20)));
        }
        Ok(text) => {
            if let Some(what) = file_kind::by_text(&text) {
                reader.report(other(what));
                return None;
            }
            // Messages show lines of the file, so a file that is no parts file must not be read: it may be private.
            if kind == Kind::Parts && !has_key(&text, &[Kind::Parts, Kind::Spec]) {
                reader.report(
                    about_file(format!("`{}: 1` is missing, so it isn't read", kind.key())).hint(kind.wanted()),
                );
                return None;
            }
            let file = sources.add(path, text);
            match node::parse(file, &sources.files[file].text) {
                Ok(root) => return Some(root),
                Err(problems) => problems.into_iter().for_each(|problem| match problem.place {
                    Some(_) => reader.report(problem),
                    None => {
                        let hint = problem.hint.unwrap_or_else(|| kind.wanted());
                        reader.report(about_file(problem.message).hint(hint));
                    }
                }),
            }
        }
        Err(Unusable::Seems(what)) => reader.report(other(what)),
        Err(Unusable::Because(why)) => reader.report(about_file(why).hint(kind.wanted())),
    }
    None
}

/// Whether a text means to be a spec: it has the version of its form.
pub fn is_spec(text: &str) -> bool {
    has_key(text, &[Kind::Spec])
}

/// Whether a text has a line that begins with the version of a form, perhaps in braces or quotes.
fn has_key(text: &str, kinds: &[Kind]) -> bool {
    let key = |line: &str| {
        let line = line.trim_start_matches(['\u{feff}', ' ', '{', '"', '\'']);
        kinds.iter().any(|kind| {
            let rest = line.strip_prefix(kind.key()).map(|rest| rest.trim_start_matches(['"', '\'', ' ']));
            rest.is_some_and(|rest| rest.starts_with(':'))
        })
    };
    text.lines().any(key)
}

/// The two kinds of file that are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Spec,
    Parts,
}

impl Kind {
    /// The key that holds the version of its form.
    fn key(self) -> &'static str {
        match self {
            Kind::Spec => "harness",
            Kind::Parts => "parts-file",
        }
    }

    fn what(self) -> &'static str {
        match self {
            Kind::Spec => "a spec",
            Kind::Parts => "a parts file",
        }
    }

    fn wanted(self) -> String {
        let example = match self {
            Kind::Spec => "; for example harness-specs/first-harness.yaml",
            Kind::Parts => "",
        };
        format!("give the path of {}, a YAML text that starts with `{}: 1`{example}", self.what(), self.key())
    }
}

/// Checks the version first, so that a file of another kind or version gets one clear message.
fn right_version(root: &mut Node, kind: Kind, reader: &mut Reader) -> bool {
    let key = kind.key();
    let (whole, shape) = (root.place, root.shape());
    let Shape::Map(entries) = &mut root.kind else {
        reader.report(
            Problem::at(whole, format!("{} is a map that starts with `{key}: 1`", kind.what()))
                .label(format!("this is {shape}"))
                .hint(kind.wanted()),
        );
        return false;
    };
    let value = |key: &str| entries.iter().find(|(k, _)| k.value == key);
    match (value(key), kind) {
        (None, Kind::Spec) if value(Kind::Parts.key()).is_some() => {
            reader.report(
                Problem::at(whole, "this is a parts file, not a spec").hint("give the path of a spec that includes it"),
            );
            false
        }
        (None, Kind::Parts) if value(Kind::Spec.key()).is_some() => {
            reader.report(
                Problem::at(whole, "this is a spec, not a parts file: `parts-file: 1` is missing")
                    .hint("a spec includes files of parts alone, each with `parts-file: 1` in its first line"),
            );
            false
        }
        (None, _) => {
            reader.report(
                Problem::at(whole, format!("`{key}: 1` is missing, the version of this form"))
                    .hint(format!("put `{key}: 1` in the first line")),
            );
            // A version line stands in for the missing one, so that the other problems are reported too.
            let stead = Node { kind: Shape::Scalar("1".to_string()), place: whole };
            entries.push((Placed { value: key.to_string(), place: whole }, stead));
            true
        }
        (Some((_, Node { kind: Shape::Scalar(text), .. })), _) if text == "1" => true,
        (Some((_, node)), _) => {
            reader.report(
                Problem::at(node.place, "this program can't read this version of the form")
                    .label("it reads version 1")
                    .hint("if the file is newer than the program, get a newer program"),
            );
            false
        }
    }
}

struct Includer<'a> {
    texts: &'a dyn Texts,
    spec: &'a Path,
    out: &'a mut SpecRead,
    reader: &'a mut Reader,
}

impl Includer<'_> {
    /// Reads the files that `from` includes; `above` are the files that include it.
    fn all(&mut self, from: &Path, includes: &[Placed<Text>], above: &mut Vec<PathBuf>) {
        for (i, include) in includes.iter().enumerate() {
            if i >= MOST_FILES || self.out.sources.files.len() >= MOST_FILES {
                self.reader.report(Problem::at(include.place, format!("more than {MOST_FILES} files are included")));
                return;
            }
            let path = from.parent().unwrap_or(Path::new("")).join(include.value.0.as_str());
            let identity = self.texts.identity(&path);
            if above.contains(&identity) {
                self.reader.report(
                    Problem::at(include.place, format!("`{}` includes itself", include.value.0.as_str()))
                        .hint("files may not include each other in a circle: remove one of the includes"),
                );
                continue;
            }
            if self.out.sources.files.iter().any(|f| self.texts.identity(&f.path) == identity) {
                continue;
            }
            if !self.texts.may_include(self.spec, &path) {
                let name = include.value.0.as_str();
                self.reader.report(
                    Problem::at(include.place, format!("`{name}` is outside the folder of the spec, so it isn't read"))
                        .hint("if you trust the spec, add --outside; or move the file into the folder of the spec"),
                );
                self.out.parts_missing = true;
                continue;
            }
            let root = tree(self.texts, &path, Kind::Parts, Some(include), &mut self.out.sources, self.reader)
                .and_then(|mut root| right_version(&mut root, Kind::Parts, self.reader).then_some(root));
            let file = root.as_ref().and_then(|root| PartsFile::read(root, self.reader));
            let includes = root.as_ref().and_then(|root| listed(root, "include"));
            self.out.parts_missing |= includes.is_none() || includes != file.as_ref().map(|file| file.include.len());
            if let Some(file) = file {
                self.out.parts.0.push(file.parts);
                above.push(identity);
                self.all(&path, &file.include, above);
                above.pop();
            }
        }
    }
}
