//! The texts of a wish, with another text in its place: what is judged stands where the wish stands, so that its includes
//! are found.

use form::Texts;
use std::path::{Path, PathBuf};

/// Texts with another one in place of one of them.
pub struct Instead<'a> {
    /// The texts.
    pub texts: &'a dyn Texts,
    /// The path of the one that is replaced.
    pub path: &'a Path,
    /// What stands there.
    pub text: &'a str,
}

impl Texts for Instead<'_> {
    fn contents(&self, path: &Path, most: usize) -> Result<Vec<u8>, String> {
        if path == self.path { Ok(self.text.as_bytes().to_vec()) } else { self.texts.contents(path, most) }
    }
    fn identity(&self, path: &Path) -> PathBuf {
        self.texts.identity(path)
    }
    fn may_include(&self, spec: &Path, include: &Path) -> bool {
        self.texts.may_include(spec, include)
    }
}
