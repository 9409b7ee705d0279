//! The only door to the file system.

#![expect(clippy::disallowed_methods, clippy::disallowed_types, reason = "this is the door")]

mod folder;

pub use folder::{LIST, Origin, Replace, Unwritten, Written, write_folder};

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

/// The path that means standard input.
pub const PIPE: &str = "-";

/// The texts of the file system. Relative names start at the current directory; [`PIPE`] is standard input.
#[derive(Debug, Clone, Copy, Default)]
pub struct Disk {
    /// Whether a spec may include files from outside its own folder.
    pub outside: bool,
}

impl Texts for Disk {
    fn contents(&self, path: &Path, most: usize) -> Result<Vec<u8>, String> {
        if path == Path::new(PIPE) {
            let mut bytes = Vec::new();
            let read = io::stdin().lock().take(most as u64 + 1).read_to_end(&mut bytes);
            return read.map(|_| bytes).map_err(|e| format!("standard input can't be read: {e}"));
        }
        read(path, most)
    }

    /// Links count as what they lead to. A file that isn't there may be included: reading it then says so.
    fn may_include(&self, spec: &Path, include: &Path) -> bool {
        let Ok(include) = fs::canonicalize(include) else { return true };
        self.outside || fs::canonicalize(folder_of(spec)).is_ok_and(|folder| include.starts_with(folder))
    }

    /// The path with links resolved, where that is possible.
    fn identity(&self, path: &Path) -> PathBuf {
        fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf())
    }
}

/// The folder that a file is in.
fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
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

/// Whether there is anything at a path.
pub fn is_there(path: &Path) -> bool {
    path.exists()
}

/// Writes a file whole or not at all: to a temporary name beside it, then renamed over the old one.
///
/// # Errors
/// What the system says; the old file is still there then.
pub fn write(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let _alone = folder::alone_in(folder_of(path));
    let _held = between_writes();
    let temporary = stage(path, bytes)?;
    put(&temporary, path)
}

/// Writes `bytes` to a temporary file beside `path`, down to the disk.
fn stage(path: &Path, bytes: &[u8]) -> io::Result<PathBuf> {
    let temporary = temporary(path);
    let written = fill(&temporary, bytes).and_then(|file| file.sync_all());
    written.map(|()| temporary.clone()).inspect_err(|_| {
        // OK because the first error is the one to report.
        let _ = fs::remove_file(&temporary);
    })
}

/// Writes `bytes` to a new file; they may not be on the disk yet.
fn fill(path: &Path, bytes: &[u8]) -> io::Result<fs::File> {
    let mut file = fs::OpenOptions::new().write(true).create(true).truncate(true).open(path)?;
    file.write_all(bytes)?;
    Ok(file)
}

/// Renames a temporary file to its final name; removes it where that fails.
fn put(temporary: &Path, path: &Path) -> io::Result<()> {
    fs::rename(temporary, path).inspect_err(|_| {
        // OK because the first error is the one to report.
        let _ = fs::remove_file(temporary);
    })
}

/// The temporary name beside a file, for this process.
fn temporary(path: &Path) -> PathBuf {
    let name = path.file_name().and_then(|n| n.to_str()).unwrap_or("file");
    path.with_file_name(format!(".{name}.{}.part", std::process::id()))
}

/// The final name of a temporary file of any process.
fn final_name(temporary: &str) -> Option<&str> {
    let (name, process) = temporary.strip_prefix('.')?.strip_suffix(".part")?.rsplit_once('.')?;
    (!name.is_empty() && !process.is_empty() && process.bytes().all(|b| b.is_ascii_digit())).then_some(name)
}

/// Every plain file below a folder whose name has one of the endings, in the order of their paths. Hidden files and folders are
/// left out, and so are links to folders.
///
/// # Errors
/// The folder that can't be read, and what the system says.
pub fn below(folder: &Path, endings: &[&str]) -> Result<Vec<PathBuf>, (PathBuf, io::Error)> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(folder) = folders.pop() {
        let about = |e| (folder.clone(), e);
        for entry in fs::read_dir(&folder).map_err(about)? {
            let entry = entry.map_err(about)?;
            let name = entry.file_name();
            let name = name.to_string_lossy();
            match entry.file_type().map_err(about)? {
                _ if name.starts_with('.') => {}
                kind if kind.is_dir() => folders.push(entry.path()),
                _ if endings.iter().any(|ending| name.ends_with(ending)) && entry.path().is_file() => {
                    found.push(entry.path())
                }
                _ => {}
            }
        }
    }
    found.sort();
    Ok(found)
}

/// Whether a path leads to a folder.
pub fn is_folder(path: &Path) -> bool {
    path.is_dir()
}

/// When a file was last changed, in the file system's clock; `None` where there is none.
pub fn changed(path: &Path) -> Option<std::time::SystemTime> {
    fs::metadata(path).and_then(|found| found.modified()).ok()
}

/// Makes a folder and those above it.
///
/// # Errors
/// What the system says.
pub fn make_folder(path: &Path) -> io::Result<()> {
    fs::create_dir_all(path)
}
