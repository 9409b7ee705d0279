//! Where the texts of a spec come from: a disk, an editor, a web page, a test.

use super::file_kind::by_beginning;
use std::collections::BTreeMap;
use std::path::{Component, Path, PathBuf};

/// Gives the contents of a spec and of the parts files that it includes, by name.
pub trait Texts {
    /// The contents of a text; where it has more than `most` bytes, any number above `most` of them.
    ///
    /// # Errors
    /// Why it can't be read, as a clause for people.
    fn contents(&self, path: &Path, most: usize) -> Result<Vec<u8>, String>;

    /// A name that two paths share exactly if they lead to the same text.
    fn identity(&self, path: &Path) -> PathBuf;

    /// Whether the spec may include a text. A file system keeps a spec from a stranger out of its reader's other files.
    fn may_include(&self, _spec: &Path, _include: &Path) -> bool {
        true
    }
}

/// Texts in memory, by name. Includes are looked up beside the text that includes them, as on a disk.
#[derive(Debug, Clone, Default)]
pub struct TextMap(BTreeMap<PathBuf, Vec<u8>>);

impl TextMap {
    /// Names and contents.
    pub fn new<N: AsRef<Path>, C: Into<Vec<u8>>>(texts: impl IntoIterator<Item = (N, C)>) -> TextMap {
        TextMap(texts.into_iter().map(|(name, contents)| (plain(name.as_ref()), contents.into())).collect())
    }
}

impl Texts for TextMap {
    fn contents(&self, path: &Path, _: usize) -> Result<Vec<u8>, String> {
        self.0.get(&plain(path)).cloned().ok_or_else(|| "there is no such file".to_string())
    }

    fn identity(&self, path: &Path) -> PathBuf {
        plain(path)
    }
}

/// A path without `.`, and without `..` where a folder stands before it.
fn plain(path: &Path) -> PathBuf {
    let mut out = PathBuf::new();
    for component in path.components() {
        match component {
            Component::CurDir => {}
            Component::ParentDir if matches!(out.components().next_back(), Some(Component::Normal(_))) => {
                out.pop();
            }
            other => out.push(other),
        }
    }
    out
}

/// Why contents can't be used as a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unusable {
    /// A clause for people: not there, not a file, too large, not UTF-8 (with the line).
    Because(String),
    /// It begins like a file that is not a text: what it seems to be.
    Seems(&'static str),
}

/// Reads a text of at most `most` bytes.
///
/// # Errors
/// Why it can't be used.
pub fn read_text(texts: &dyn Texts, path: &Path, most: usize) -> Result<String, Unusable> {
    let bytes = texts.contents(path, most).map_err(Unusable::Because)?;
    if let Some(what) = by_beginning(&bytes) {
        return Err(Unusable::Seems(what));
    }
    if bytes.len() > most {
        let message = format!("it is larger than {} MB; a spec of a real vehicle has some tens of kB", most >> 20);
        return Err(Unusable::Because(message));
    }
    String::from_utf8(bytes).map_err(|e| {
        let good = &e.as_bytes()[..e.utf8_error().valid_up_to()];
        let line = good.iter().filter(|&&b| b == b'\n').count() + 1;
        Unusable::Because(format!("it is not UTF-8 text: the first bad byte is in line {line}; save it as UTF-8"))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_in_memory_are_looked_up_as_on_a_disk() {
        let texts = TextMap::new([("jobs/van.yaml", "a"), ("parts.yaml", "b")]);
        let read = |path: &str| read_text(&texts, Path::new(path), 10);
        assert_eq!(read("jobs/../parts.yaml"), Ok("b".into()));
        assert_eq!(read("./jobs/./van.yaml"), Ok("a".into()));
        assert_eq!(read("../parts.yaml"), Err(Unusable::Because("there is no such file".into())));
        assert_eq!(texts.identity(Path::new("jobs/../parts.yaml")), texts.identity(Path::new("parts.yaml")));
        assert_eq!(plain(Path::new("/../../x")), Path::new("/../../x"));
    }

    #[test]
    fn what_is_no_text_is_refused_with_its_reason() {
        let texts = TextMap::new([("a", b"%PDF-1.7".to_vec()), ("b", b"fine\n\xff".to_vec()), ("c", vec![b' '; 11])]);
        let read = |path: &str| read_text(&texts, Path::new(path), 10).unwrap_err();
        assert_eq!(read("a"), Unusable::Seems("a document (PDF)"));
        assert!(matches!(read("b"), Unusable::Because(why) if why.contains("in line 2")));
        assert!(matches!(read("c"), Unusable::Because(why) if why.contains("larger than 0 MB")));
    }
}
