//! The folder of a job's documents. A list in it says which files the program wrote there, so that the next build removes
//! what it no longer writes, and touches nothing else.
//!
//! A build stages every file under a temporary name first. Only when all are on the disk does it rename them. A full disk
//! therefore changes nothing. A build that is killed leaves at most temporary files and a mix of old and new documents; the
//! list then names both contents of each file, and the next build puts everything right.

use crate::{between_writes, fill, final_name, put, stage, temporary};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io;
use std::path::{Component, Path, PathBuf};

/// Name of the list.
pub const LIST: &str = "contents.json";

/// Version of the list's form.
const VERSION: u32 = 1;

/// A list has at most this many bytes; a longer one is not ours.
const LONGEST_LIST: u64 = 1 << 20;

/// Which job a folder belongs to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Origin {
    /// Title of the job.
    pub job: String,
    /// File name of its spec.
    pub spec: String,
}

/// What a build may replace.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Replace {
    /// Its own documents only, as it wrote them.
    Own,
    /// Any file of the documents' names, even if another job wrote it or a person changed it.
    Anything,
}

/// The result of a build.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Written {
    /// The documents, in their order, then the list.
    pub written: Vec<PathBuf>,
    /// Documents of the former build that this build no longer has.
    pub removed: Vec<PathBuf>,
    /// Such documents that a person changed: they stay.
    pub kept: Vec<PathBuf>,
}

/// Why nothing was written.
#[derive(Debug)]
pub enum Unwritten {
    /// The folder holds the documents of another job.
    OtherJob(Origin),
    /// These files are not as the program wrote them: a person changed them, or another program wrote them.
    Changed(Vec<PathBuf>),
    /// A folder or file can't be read or written, and what the system says.
    System(PathBuf, io::Error),
}

/// The list in a folder.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct List {
    version: u32,
    #[serde(flatten)]
    origin: Origin,
    /// By file name, what its contents may be: one unless a build was interrupted.
    files: BTreeMap<String, Vec<Print>>,
}

/// Enough of a file's contents to see that they changed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct Print {
    bytes: u64,
    crc32: String,
}

impl Print {
    fn of(bytes: &[u8]) -> Print {
        Print { bytes: bytes.len() as u64, crc32: format!("{:08x}", crc32fast::hash(bytes)) }
    }
}

/// Makes a folder and writes a job's documents into it, all or none. Removes documents of the former build that are not
/// among them, and temporary files of a build that was killed.
///
/// # Errors
/// [`Unwritten`]; the folder is then as it was, but for an error of the system while files are renamed.
pub fn write_folder(
    folder: &Path,
    origin: &Origin,
    documents: &[(&str, &[u8])],
    replace: Replace,
) -> Result<Written, Unwritten> {
    fs::create_dir_all(folder).map_err(|e| Unwritten::System(folder.to_path_buf(), e))?;
    let _alone = alone_in(folder);
    let _held = between_writes();
    let former = List::read(folder);
    if replace == Replace::Own {
        may_replace(folder, origin, documents, former.as_ref())?;
    }
    let former = former.map(|list| list.files).unwrap_or_default();
    clean(folder, &former, documents);
    let now: BTreeMap<String, Vec<Print>> =
        documents.iter().map(|(name, bytes)| (name.to_string(), vec![Print::of(bytes)])).collect();
    let staged = stage_all(folder, documents)?;
    let both = List { version: VERSION, origin: origin.clone(), files: merged(&former, &now) };
    if let Err(e) = both.write(folder) {
        staged.iter().for_each(|(temporary, _)| drop(fs::remove_file(temporary)));
        return Err(e);
    }
    let mut out = Written::default();
    for (temporary, path) in staged {
        put(&temporary, &path).map_err(|e| Unwritten::System(path.clone(), e))?;
        out.written.push(path);
    }
    for (name, prints) in former.iter().filter(|(name, _)| !now.contains_key(*name)) {
        remove(&folder.join(name), prints, &mut out)?;
    }
    out.written.push(List { version: VERSION, origin: origin.clone(), files: now }.write(folder)?);
    Ok(out)
}

/// Keeps other builds out of a folder until what it returns is dropped. Where the system can't lock a folder, it keeps
/// nobody out.
pub(crate) fn alone_in(folder: &Path) -> Option<File> {
    let opened = File::open(folder).ok()?;
    opened.lock().ok()?;
    Some(opened)
}

/// Whether all that a build would replace is its own.
fn may_replace(
    folder: &Path,
    origin: &Origin,
    documents: &[(&str, &[u8])],
    former: Option<&List>,
) -> Result<(), Unwritten> {
    if let Some(list) = former.filter(|list| list.origin != *origin) {
        return Err(Unwritten::OtherJob(list.origin.clone()));
    }
    let known = |name: &str| former.and_then(|list| list.files.get(name)).map_or(&[][..], Vec::as_slice);
    let is_foreign = |(name, bytes): &&(&str, &[u8])| {
        let Ok(there) = fs::read(folder.join(name)) else { return false };
        there != *bytes && !known(name).contains(&Print::of(&there))
    };
    let changed: Vec<PathBuf> = documents.iter().filter(is_foreign).map(|(name, _)| folder.join(name)).collect();
    if changed.is_empty() { Ok(()) } else { Err(Unwritten::Changed(changed)) }
}

/// Removes temporary files of these documents that a killed build left.
fn clean(folder: &Path, former: &BTreeMap<String, Vec<Print>>, documents: &[(&str, &[u8])]) {
    let ours = |name: &str| name == LIST || former.contains_key(name) || documents.iter().any(|(d, _)| *d == name);
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name();
        if name.to_str().and_then(final_name).is_some_and(ours) {
            // OK because a temporary file that can't be removed harms nothing.
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// Writes every document to a temporary file, down to the disk; removes them all where one fails. Temporary and final
/// paths.
fn stage_all(folder: &Path, documents: &[(&str, &[u8])]) -> Result<Vec<(PathBuf, PathBuf)>, Unwritten> {
    let paths: Vec<(PathBuf, PathBuf)> =
        documents.iter().map(|(name, _)| folder.join(name)).map(|path| (temporary(&path), path)).collect();
    // A disk takes many files at once in the time of one, so they wait for it side by side.
    let pieces: Vec<usize> = (0..documents.len()).collect();
    let done = threads::each(&pieces, |i: &usize| {
        let (temporary, path) = &paths[*i];
        if path.is_dir() {
            return Err(io::ErrorKind::IsADirectory.into());
        }
        fill(temporary, documents[*i].1).and_then(|file| file.sync_all())
    });
    match done.into_iter().zip(&paths).find_map(|(done, (_, path))| Some((done.err()?, path.clone()))) {
        None => Ok(paths),
        Some((e, path)) => {
            paths.iter().for_each(|(temporary, _)| drop(fs::remove_file(temporary)));
            Err(Unwritten::System(path, e))
        }
    }
}

/// Removes a document that is no longer written, unless a person changed it.
fn remove(path: &Path, prints: &[Print], out: &mut Written) -> Result<(), Unwritten> {
    match fs::read(path) {
        Ok(there) if prints.contains(&Print::of(&there)) => {
            fs::remove_file(path).map_err(|e| Unwritten::System(path.to_path_buf(), e))?;
            out.removed.push(path.to_path_buf());
        }
        Ok(_) => out.kept.push(path.to_path_buf()),
        // OK because a file that is gone needs no removing.
        Err(_) => {}
    }
    Ok(())
}

/// Both sets of contents.
fn merged(former: &BTreeMap<String, Vec<Print>>, now: &BTreeMap<String, Vec<Print>>) -> BTreeMap<String, Vec<Print>> {
    let names: BTreeSet<&String> = former.keys().chain(now.keys()).collect();
    let all = |name: &String| {
        let mut prints: Vec<Print> = former.get(name).into_iter().chain(now.get(name)).flatten().cloned().collect();
        prints.dedup();
        (name.clone(), prints)
    };
    names.into_iter().map(all).collect()
}

impl List {
    /// The list of a folder; `None` where there is none that this program wrote. A name that leads elsewhere makes it
    /// none of ours.
    fn read(folder: &Path) -> Option<List> {
        let path = folder.join(LIST);
        if fs::metadata(&path).ok()?.len() > LONGEST_LIST {
            return None;
        }
        let list: List = serde_json::from_slice(&fs::read(path).ok()?).ok()?;
        let is_plain = |name: &String| {
            let mut parts = Path::new(name).components();
            matches!(parts.next(), Some(Component::Normal(only)) if only == name.as_str()) && parts.next().is_none()
        };
        (list.version == VERSION && list.files.keys().all(is_plain)).then_some(list)
    }

    fn write(&self, folder: &Path) -> Result<PathBuf, Unwritten> {
        let path = folder.join(LIST);
        let text = serde_json::to_string_pretty(self).map(|text| text + "\n").map_err(io::Error::from);
        let written = text.and_then(|text| stage(&path, text.as_bytes())).and_then(|temporary| put(&temporary, &path));
        written.map(|()| path.clone()).map_err(|e| Unwritten::System(path, e))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tempfile::TempDir;

    fn origin(job: &str) -> Origin {
        Origin { job: job.to_string(), spec: "van.yaml".to_string() }
    }

    fn build(folder: &TempDir, documents: &[(&str, &[u8])]) -> Result<Written, Unwritten> {
        write_folder(folder.path(), &origin("Van"), documents, Replace::Own)
    }

    fn names(folder: &TempDir) -> Vec<String> {
        let mut names: Vec<String> =
            fs::read_dir(folder.path()).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    #[test]
    fn a_build_removes_its_own_old_documents_and_nothing_else() {
        let folder = TempDir::new().unwrap();
        fs::write(folder.path().join("photo.jpg"), "mine").unwrap();
        build(&folder, &[("a.csv", b"1"), ("b-2.svg", b"2")]).unwrap();
        let second = build(&folder, &[("a.csv", b"3")]).unwrap();
        assert_eq!(second.removed, [folder.path().join("b-2.svg")]);
        assert_eq!(names(&folder), ["a.csv", LIST, "photo.jpg"]);
        assert_eq!(fs::read(folder.path().join("a.csv")).unwrap(), b"3");
    }

    #[test]
    fn a_document_that_a_person_changed_stops_a_build_or_stays() {
        let folder = TempDir::new().unwrap();
        build(&folder, &[("a.csv", b"1"), ("b.csv", b"2"), ("c.csv", b"3")]).unwrap();
        fs::write(folder.path().join("a.csv"), "filled in").unwrap();
        let stopped = build(&folder, &[("a.csv", b"4"), ("b.csv", b"5")]);
        assert!(matches!(stopped, Err(Unwritten::Changed(files)) if files == [folder.path().join("a.csv")]));
        assert_eq!(fs::read(folder.path().join("b.csv")).unwrap(), b"2", "nothing is written");
        let written = build(&folder, &[("b.csv", b"5")]).unwrap();
        assert_eq!(written.kept, [folder.path().join("a.csv")]);
        assert_eq!(written.removed, [folder.path().join("c.csv")]);
        assert_eq!(fs::read(folder.path().join("a.csv")).unwrap(), b"filled in");
    }

    #[test]
    fn a_folder_of_another_job_or_with_files_of_other_programs_is_left_alone() {
        let folder = TempDir::new().unwrap();
        build(&folder, &[("a.csv", b"1")]).unwrap();
        let other = write_folder(folder.path(), &origin("Truck"), &[("a.csv", b"2")], Replace::Own);
        assert!(matches!(other, Err(Unwritten::OtherJob(job)) if job == origin("Van")));
        let anyway = write_folder(folder.path(), &origin("Truck"), &[("b.csv", b"2")], Replace::Anything).unwrap();
        assert_eq!(anyway.removed, [folder.path().join("a.csv")]);

        let mine = TempDir::new().unwrap();
        fs::write(mine.path().join("parts.csv"), "my own list").unwrap();
        assert!(matches!(build(&mine, &[("parts.csv", b"2")]), Err(Unwritten::Changed(_))));
        assert_eq!(names(&mine), ["parts.csv"]);
        build(&mine, &[("parts.csv", b"my own list")]).expect("the same contents lose nothing");
    }

    /// As a build leaves it that is killed between two renames, after each number of them.
    #[test]
    fn the_build_after_a_killed_one_puts_everything_right() {
        let old: [(&str, &[u8]); 3] = [("a", b"1"), ("b", b"2"), ("gone", b"0")];
        let new: [(&str, &[u8]); 3] = [("a", b"3"), ("b", b"4"), ("c", b"5")];
        for renamed in 0..=new.len() {
            let folder = TempDir::new().unwrap();
            build(&folder, &old).unwrap();
            let former = List::read(folder.path()).unwrap().files;
            let now = new.iter().map(|(name, bytes)| (name.to_string(), vec![Print::of(bytes)])).collect();
            let both = List { version: VERSION, origin: origin("Van"), files: merged(&former, &now) };
            both.write(folder.path()).unwrap();
            for (i, (name, bytes)) in new.iter().enumerate() {
                let name = if i < renamed { name.to_string() } else { format!(".{name}.4711.part") };
                fs::write(folder.path().join(name), bytes).unwrap();
            }
            let third: [(&str, &[u8]); 2] = [("a", b"6"), ("b", b"7")];
            build(&folder, &third).unwrap();
            assert_eq!(names(&folder), ["a", "b", LIST], "killed after {renamed} renames");
            assert!(third.iter().all(|(name, bytes)| fs::read(folder.path().join(name)).unwrap() == *bytes));
        }
    }

    #[test]
    fn a_document_that_cannot_be_written_changes_nothing() {
        let folder = TempDir::new().unwrap();
        build(&folder, &[("a.csv", b"1")]).unwrap();
        fs::create_dir(folder.path().join("z.csv")).unwrap();
        let stopped = build(&folder, &[("a.csv", b"2"), ("z.csv", b"3")]);
        assert!(matches!(stopped, Err(Unwritten::System(path, _)) if path == folder.path().join("z.csv")));
        assert_eq!(names(&folder), ["a.csv", LIST, "z.csv"]);
        assert_eq!(fs::read(folder.path().join("a.csv")).unwrap(), b"1");
    }

    #[test]
    fn a_list_that_leads_out_of_the_folder_is_not_ours() {
        let outer = TempDir::new().unwrap();
        let folder = outer.path().join("job");
        fs::create_dir(&folder).unwrap();
        fs::write(outer.path().join("mine"), "1").unwrap();
        let print = |bytes: &[u8]| vec![Print::of(bytes)];
        for name in ["../mine", "/etc/hostname", "..", "a/b", "./x", ""] {
            let files = BTreeMap::from([(name.to_string(), print(b"1"))]);
            List { version: VERSION, origin: origin("Van"), files }.write(&folder).unwrap();
            assert!(List::read(&folder).is_none(), "{name:?}");
        }
        write_folder(&folder, &origin("Van"), &[("a", b"2")], Replace::Own).unwrap();
        assert!(outer.path().join("mine").exists());
    }

    #[test]
    fn builds_into_one_folder_take_turns() {
        let folder = TempDir::new().unwrap();
        let documents =
            |i: u8| -> Vec<(String, Vec<u8>)> { (0..20).map(|n| (format!("{n}.csv"), vec![i; 1000])).collect() };
        std::thread::scope(|scope| {
            for i in 0..8 {
                let path = folder.path();
                scope.spawn(move || {
                    let all = documents(i);
                    let all: Vec<(&str, &[u8])> = all.iter().map(|(n, b)| (n.as_str(), b.as_slice())).collect();
                    write_folder(path, &origin("Van"), &all, Replace::Own).unwrap();
                });
            }
        });
        let contents: BTreeSet<Vec<u8>> =
            (0..20).map(|n| fs::read(folder.path().join(format!("{n}.csv"))).unwrap()).collect();
        assert_eq!(contents.len(), 1, "documents of one build only");
    }
}
