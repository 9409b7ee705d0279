//! The only door to the file system.

#![expect(clippy::disallowed_methods, clippy::disallowed_types, reason = "this is the door")]

use form::Texts;
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

/// The texts of the file system. Relative names start at the current directory.
#[derive(Debug, Clone, Copy, Default)]
pub struct Disk;

impl Texts for Disk {
    fn contents(&self, path: &Path, most: usize) -> Result<Vec<u8>, String> {
        read(path, most)
    }

    /// The path with links resolved, where that is possible.
    fn identity(&self, path: &Path) -> PathBuf {
        fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf())
    }
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
        // A pipe or a device could keep us waiting without end.
        return Err(if found.is_dir() { "it is a folder, not a file".into() } else { "it is not a plain file".into() });
    }
    let mut bytes = Vec::new();
    fs::File::open(path).map_err(about)?.take(most as u64 + 1).read_to_end(&mut bytes).map_err(about)?;
    Ok(bytes)
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
