//! Files of this repository that the program can make itself: compared with what it makes today, or rewritten.

use std::fs;
use std::path::{Path, PathBuf};

/// Set to anything, it rewrites the kept files instead of comparing them.
pub const SWITCH: &str = "REWRITE";

/// The top of the repository.
pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Whether this run rewrites.
pub fn rewriting() -> bool {
    std::env::var_os(SWITCH).is_some()
}

/// Compares a kept file with its fresh content, or rewrites it; `test` names the test file for the way out.
pub fn hold(path: &Path, fresh: &[u8], test: &str) {
    let file = root().join(path);
    let kept = fs::read(&file).unwrap_or_default();
    if kept == fresh {
        return;
    }
    if rewriting() {
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(&file, fresh).unwrap();
        return;
    }
    let (kept, fresh) = (String::from_utf8_lossy(&kept), String::from_utf8_lossy(fresh));
    let line = kept.lines().zip(fresh.lines()).take_while(|(a, b)| a == b).count();
    let at = |text: &str| text.lines().nth(line).unwrap_or("(the file ends)").chars().take(200).collect::<String>();
    panic!(
        "{} is not what the program makes today; from line {}:\n  kept:  {}\n  today: {}\n\
         If today's is right: {SWITCH}=1 cargo test --test {test}",
        path.display(),
        line + 1,
        at(&kept),
        at(&fresh)
    );
}
