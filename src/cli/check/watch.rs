//! Checks again whenever a file is saved.

use super::{Checked, Detail, print};
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::{Duration, SystemTime};

/// Time between two looks at the files.
const PAUSE: Duration = Duration::from_millis(200);

/// A spec, and when its files were last changed as it was checked.
struct Watched {
    checked: Checked,
    changed: Vec<Option<SystemTime>>,
}

/// Checks specs now and after each save, until the program is interrupted.
pub fn watch(specs: &[PathBuf], detail: Detail) -> ! {
    let mut all: Vec<Watched> = specs.iter().map(|spec| Watched::new(spec, detail)).collect();
    all.iter().for_each(|one| print(&one.checked.report()));
    print("watching; Ctrl-C ends it\n");
    loop {
        sleep(PAUSE);
        for one in &mut all {
            if one.changed == times(&one.checked.files) {
                continue;
            }
            let new = Watched::new(&one.checked.path.clone(), detail);
            print(&difference(&one.checked, &new.checked));
            *one = new;
        }
    }
}

impl Watched {
    /// The times are taken before the check, so a save during it is not missed.
    fn new(spec: &Path, detail: Detail) -> Watched {
        let before = files::changed(spec);
        let checked = Checked::of(spec, detail);
        let time = |file: &PathBuf| if file == spec { before } else { files::changed(file) };
        Watched { changed: checked.files.iter().map(time).collect(), checked }
    }
}

fn times(files: &[PathBuf]) -> Vec<Option<SystemTime>> {
    files.iter().map(|file| files::changed(file)).collect()
}

impl Checked {
    /// The whole report.
    fn report(&self) -> String {
        let (Ok(text) | Err(text)) = self.found.as_ref().map(|found| &found.text);
        format!("{}\n{text}\n", self.path.display())
    }

    fn lines(&self) -> &[String] {
        self.found.as_ref().map_or(&[], |found| &found.lines)
    }
}

/// Findings that are gone, findings that are new, and how many are left.
fn difference(old: &Checked, new: &Checked) -> String {
    let path = new.path.display();
    let found = match &new.found {
        Err(problems) => return format!("{path} can't be read now\n{problems}\n"),
        Ok(_) if old.found.is_err() => return new.report(),
        Ok(found) => found,
    };
    let without = |some: &[String], others: &[String], sign: &str| -> String {
        let rest = some.iter().filter(|line| !others.contains(line));
        rest.map(|line| format!("{sign} {line}\n")).collect()
    };
    let gone = without(old.lines(), new.lines(), "gone:");
    let come = without(new.lines(), old.lines(), "new: ");
    let same = if gone.is_empty() && come.is_empty() { "the same findings as before\n" } else { "" };
    format!("{path} was saved\n{gone}{come}{same}now: {}\n", found.summary)
}
