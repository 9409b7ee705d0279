//! The only door to the file system.

#![allow(clippy::disallowed_methods)] // This is the door.

use form::file_kind::by_beginning;
use std::fs;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Held while something is being written.
static WRITING: Mutex<()> = Mutex::new(());

/// Waits until nothing is being written, and keeps anything from being begun while what it returns is held.
pub fn between_writes() -> MutexGuard<'static, ()> {
    WRITING.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Why a file can't be used as text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unusable {
    /// In words for people: not there, not a file, too large, not UTF-8 (with the line).
    Because(String),
    /// It begins as files do that are no text: what it seems to be.
    Seems(&'static str),
}

/// Reads a whole text file of at most `most` bytes.
///
/// # Errors
/// Why it can't be used.
pub fn read_text(path: &Path, most: usize) -> Result<String, Unusable> {
    let bytes = read(path, most).map_err(Unusable::Because)?;
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

/// A file's bytes, one more than `most` where there are more.
fn read(path: &Path, most: usize) -> Result<Vec<u8>, String> {
    let about = |e: io::Error| match e.kind() {
        io::ErrorKind::NotFound => "there is no such file".to_string(),
        io::ErrorKind::PermissionDenied => "permission to read it is denied".to_string(),
        _ => format!("it can't be read: {e}"),
    };
    let found = fs::metadata(path).map_err(about)?;
    if !found.is_file() {
        // A pipe or a device could keep us waiting for ever.
        return Err(if found.is_dir() { "it is a folder, not a file".into() } else { "it is not a plain file".into() });
    }
    let mut bytes = Vec::new();
    fs::File::open(path).map_err(about)?.take(most as u64 + 1).read_to_end(&mut bytes).map_err(about)?;
    Ok(bytes)
}

/// The path with links resolved, where that is possible, to tell whether two names are one file.
pub fn identity(path: &Path) -> PathBuf {
    fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf())
}

/// Writes a file whole or not at all: to a temporary name beside it, then renamed over what was there.
///
/// # Errors
/// What the system says; what was there before is still there then.
pub fn write(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let _held = between_writes();
    put(path, bytes)
}

/// Makes a folder and writes files into it, each whole or not at all. [`between_writes`] waits for the last of them.
///
/// # Errors
/// The path that can't be made or written, and what the system says.
pub fn write_into<'f>(
    folder: &Path,
    files: impl IntoIterator<Item = (&'f str, &'f [u8])>,
) -> Result<Vec<PathBuf>, (PathBuf, io::Error)> {
    let _held = between_writes();
    make_folder(folder).map_err(|e| (folder.to_path_buf(), e))?;
    let write = |(name, bytes)| {
        let path = folder.join(name);
        put(&path, bytes).map_err(|e| (path.clone(), e)).map(|()| path.clone())
    };
    files.into_iter().map(write).collect()
}

fn put(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let name = path.file_name().and_then(|n| n.to_str()).unwrap_or("file");
    let temporary = path.with_file_name(format!(".{name}.{}.part", std::process::id()));
    let written = (|| {
        let mut file = fs::OpenOptions::new().write(true).create(true).truncate(true).open(&temporary)?;
        file.write_all(bytes)?;
        file.sync_all()?;
        fs::rename(&temporary, path)
    })();
    if written.is_err() {
        // OK because: the first error is what matters to the caller.
        let _ = fs::remove_file(&temporary);
    }
    written
}

/// Makes a folder and those above it.
///
/// # Errors
/// What the system says.
pub fn make_folder(path: &Path) -> io::Result<()> {
    fs::create_dir_all(path)
}
