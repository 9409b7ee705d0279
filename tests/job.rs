//! The front door: the same results from a disk and from memory, with threads and without; a watch can end a stage.

mod jobs;

use form::TextMap;
use job::{Job, Stop};
use jobs::{demo, job_of, root, specs_in};
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

/// The findings of a job, as `check` prints them.
fn findings<'j>(job: &'j Job<'j>) -> String {
    check::json(job.model().unwrap(), job.report().unwrap()).to_string()
}

/// The demos: all in a release build; in a debug build the two that take a second.
fn demos() -> Vec<PathBuf> {
    let quick = |path: &PathBuf| path.ends_with("first-harness.yaml") || path.ends_with("boat-tow-pickup.yaml");
    specs_in(&["harness-specs"]).into_iter().filter(|path| cfg!(not(debug_assertions)) || quick(path)).collect()
}

#[test]
fn threads_change_no_byte() {
    let demos = demos();
    assert!(demos.len() > 1);
    for path in demos {
        let with_threads = findings(&job_of(&path));
        assert!(threads::serially(|| findings(&job_of(&path))) == with_threads, "{}", path.display());
    }
    let documents = || demo("first-harness").documents(None).unwrap();
    assert!(threads::serially(documents) == documents());
}

/// The boat tow pickup includes a parts file.
#[test]
fn texts_in_memory_give_the_job_that_files_give() {
    let folder = root().join("harness-specs");
    let mut files = Vec::new();
    let mut folders = vec![folder.clone()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() { folders.push(path) } else { files.push(path) }
        }
    }
    let texts =
        TextMap::new(files.iter().map(|path| (path.strip_prefix(root()).unwrap(), std::fs::read(path).unwrap())));
    let spec = Path::new("harness-specs/boat-tow-pickup.yaml");
    let in_memory = Job::read(&texts, spec).unwrap_or_else(|unreadable| panic!("{:?}", unreadable.problems));
    assert!(in_memory.model().unwrap().sources.files.len() > 1, "nothing is included");
    let on_disk = demo("boat-tow-pickup");
    assert_eq!(
        findings(&in_memory).replace(&format!("{}/", root().display()), ""),
        findings(&on_disk).replace(&format!("{}/", root().display()), "")
    );
}

#[test]
fn a_spec_with_mistakes_gives_all_of_them() {
    let texts = TextMap::new([("spec.yaml", "harness: 1\nplaces: [dash]\nparts: {X: {use: nothing, at: roof}}\n")]);
    let Err(unreadable) = Job::read(&texts, Path::new("spec.yaml")) else { panic!("it has no job") };
    assert!(unreadable.problems.len() >= 3, "{:?}", unreadable.problems);
    let Err(unreadable) = Job::read(&texts, Path::new("other.yaml")) else { panic!("there is no such text") };
    assert!(unreadable.problems[0].message.contains("there is no such file"), "{:?}", unreadable.problems);
}

/// The refuse truck has more states than a search solves between two calls of its watch.
#[test]
fn a_watch_ends_a_stage() {
    let job = demo("refuse-truck").watched(&|_| ControlFlow::Break(()));
    assert_eq!(job.solved().err(), Some(Stop::Interrupted));
    assert_eq!(job.report().err(), Some(Stop::Interrupted));
}
