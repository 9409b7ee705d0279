//! `build` from outside: what it writes, where, and what it leaves alone.

mod jobs;

use assert_cmd::cargo::cargo_bin_cmd;
use jobs::LAMP;
use std::fs;
use std::path::Path;
use std::process::Output;
use tempfile::TempDir;

const SPREADER: &str = include_str!("../src/book/tests/spreader.yaml");

const ALWAYS: [&str; 17] = [
    "bench-coverage.csv",
    "bench-test.csv",
    "build-book.html",
    "build-book.pdf",
    "connection-diagram.svg",
    "contents.json",
    "fuses.csv",
    "job.json",
    "labels.csv",
    "lists.xlsx",
    "parts.csv",
    "pin-list.csv",
    "service-sheet.csv",
    "signal-graph.dot",
    "splices.csv",
    "states.csv",
    "wire-list.csv",
];

fn build(folder: &Path, spec: &str, arguments: &[&str]) -> Output {
    fs::write(folder.join("spec.yaml"), spec).unwrap();
    let mut program = cargo_bin_cmd!("loomwright");
    program.current_dir(folder).args(["build", "spec.yaml"]).args(arguments).output().unwrap()
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> = entries.map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn a_job_gets_a_folder_of_its_own() {
    let folder = TempDir::new().unwrap();
    let output = build(folder.path(), SPREADER, &[]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    assert_eq!(names(folder.path()), ["out", "spec.yaml"]);
    assert_eq!(names(&folder.path().join("out")), ["towed-spreader"]);
    let written = names(&folder.path().join("out/towed-spreader"));
    assert!(ALWAYS.iter().all(|name| written.iter().any(|w| w == name)), "{written:?}");
    let said = String::from_utf8(output.stdout).unwrap();
    assert_eq!(said.lines().count(), written.len());
    for name in &written {
        assert!(said.contains(&format!("wrote out/towed-spreader/{name}\n")), "{name} is not named");
    }
}

#[test]
fn the_title_decides_nothing_beyond_that_folder() {
    for title in ["../../escape", "/tmp/escape", "..", "=cmd|' /C calc'!A0", "<script>alert(1)</script>"] {
        let outer = TempDir::new().unwrap();
        let folder = outer.path().join("in");
        fs::create_dir(&folder).unwrap();
        let spec = LAMP.replace("title: One lamp", &format!("title: \"{title}\""));
        assert_eq!(build(&folder, &spec, &[]).status.code(), Some(0), "{title}");
        assert_eq!(names(outer.path()), ["in"]);
        assert_eq!(names(&folder), ["out", "spec.yaml"]);
        assert_eq!(names(&folder.join("out")).len(), 1);
    }
}

#[test]
fn what_is_there_stays_there() {
    let folder = TempDir::new().unwrap();
    let out = folder.path().join("papers");
    fs::create_dir(&out).unwrap();
    fs::write(out.join("mine.txt"), "kept").unwrap();
    fs::write(out.join("parts.csv"), "old").unwrap();
    let stopped = build(folder.path(), LAMP, &["--out", "papers"]);
    assert_eq!(stopped.status.code(), Some(2));
    let said = String::from_utf8(stopped.stderr).unwrap();
    assert!(said.contains("papers/parts.csv") && said.contains("--replace"), "{said}");
    assert_eq!(names(&out), ["mine.txt", "parts.csv"], "nothing is written");
    assert_eq!(build(folder.path(), LAMP, &["--out", "papers", "--replace"]).status.code(), Some(0));
    assert_eq!(fs::read_to_string(out.join("mine.txt")).unwrap(), "kept");
    assert_ne!(fs::read_to_string(out.join("parts.csv")).unwrap(), "old");
    assert!(!names(&out).iter().any(|name| name.ends_with(".part")), "no half-written file is left");
    assert_eq!(names(folder.path()), ["papers", "spec.yaml"]);
}

#[test]
fn a_revision_leaves_no_sheet_of_the_former_one() {
    let folder = TempDir::new().unwrap();
    let out = folder.path().join("out/one-lamp");
    assert_eq!(build(folder.path(), LAMP, &["--state", "at rest"]).status.code(), Some(0));
    let before = names(&out);
    let output = build(folder.path(), LAMP, &[]);
    let said = String::from_utf8(output.stdout).unwrap();
    let gone: Vec<String> = before.into_iter().filter(|name| !names(&out).contains(name)).collect();
    assert!(gone.iter().any(|name| name.contains("live")), "{gone:?}");
    for name in gone {
        assert!(said.contains(&format!("removed out/one-lamp/{name}: ")), "{name}: {said}");
    }
}

#[test]
fn two_jobs_never_share_a_folder_unasked() {
    let folder = TempDir::new().unwrap();
    assert_eq!(build(folder.path(), LAMP, &["--out", "o"]).status.code(), Some(0));
    let before = fs::read(folder.path().join("o/build-book.html")).unwrap();
    let other = LAMP.replace("title: One lamp", "title: Another lamp");
    let stopped = build(folder.path(), &other, &["--out", "o"]);
    assert_eq!(stopped.status.code(), Some(2));
    let said = String::from_utf8(stopped.stderr).unwrap();
    assert!(said.contains("another job, `One lamp` from spec.yaml"), "{said}");
    assert_eq!(fs::read(folder.path().join("o/build-book.html")).unwrap(), before);
    assert_eq!(build(folder.path(), &other, &["--out", "o", "--replace"]).status.code(), Some(0));
    assert_eq!(build(folder.path(), &other, &["--out", "o"]).status.code(), Some(0), "it is its folder now");
}

/// A limit on the size of files stands for a full disk.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_changes_nothing() {
    let folder = TempDir::new().unwrap();
    let small = folder.path().join("o");
    fs::create_dir(&small).unwrap();
    // The program may write files of 20 kB at most: the first lists fit, the book doesn't.
    fs::write(folder.path().join("spec.yaml"), LAMP).unwrap();
    let program = assert_cmd::cargo::cargo_bin!("loomwright");
    let limited = format!("trap '' XFSZ; ulimit -f 20; exec {} build spec.yaml --out o", program.display());
    let output = std::process::Command::new("bash").current_dir(folder.path()).args(["-c", &limited]).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8(output.stderr).unwrap().contains("it can't be written"), "the book is too large");
    assert_eq!(names(&small), [""; 0], "nothing is left");
}

/// The program is killed at any time: the next build has every document, and no other file.
#[cfg(unix)]
#[test]
fn a_killed_build_is_put_right_by_the_next() {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("spec.yaml"), LAMP).unwrap();
    let whole = TempDir::new().unwrap();
    assert_eq!(build(whole.path(), LAMP, &["--out", "o"]).status.code(), Some(0));
    for wait in (0..80).step_by(4) {
        let spec = LAMP.replace("One lamp, ", &format!("One lamp, revision: \"{wait}\", "));
        fs::write(folder.path().join("spec.yaml"), spec).unwrap();
        let program = assert_cmd::cargo::cargo_bin!("loomwright");
        let mut running = std::process::Command::new(program);
        let running = running.current_dir(folder.path()).args(["build", "spec.yaml", "--out", "o"]);
        let mut running = running.stdout(std::process::Stdio::null()).spawn().unwrap();
        std::thread::sleep(std::time::Duration::from_millis(wait));
        // OK because a build that is over already needs no killing.
        let _ = running.kill();
        running.wait().unwrap();
        let output = build(folder.path(), LAMP, &["--out", "o"]);
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
        assert_eq!(names(&folder.path().join("o")), names(&whole.path().join("o")), "killed after {wait} ms");
    }
}

#[test]
fn a_spec_that_cannot_be_read_writes_nothing() {
    let folder = TempDir::new().unwrap();
    let output = build(folder.path(), &LAMP.replace("harness: 1", "harness: 1\nwheels: 4"), &[]);
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(names(folder.path()), ["spec.yaml"]);
}

#[test]
fn errors_are_written_up_all_the_same() {
    let folder = TempDir::new().unwrap();
    let output = build(folder.path(), &SPREADER.replace("  - {finding: load/output", "  # {"), &["--out", "o"]);
    assert_eq!(output.status.code(), Some(1));
    let page = fs::read_to_string(folder.path().join("o/build-book.html")).unwrap();
    assert!(page.contains("Not fit to build as it stands"));
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(said.starts_with("error: 1 error: the build book says `Not fit to build"), "{said}");
    assert!(said.contains("loomwright check spec.yaml"), "{said}");
}

#[test]
fn a_folder_that_is_a_file_is_reported_and_kept() {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("o"), "mine").unwrap();
    let output = build(folder.path(), LAMP, &["--out", "o"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8(output.stderr).unwrap().starts_with(
        "error: o: the folder can't be made: a file of that name is in the way\n  do: name another folder"
    ));
    assert_eq!(fs::read_to_string(folder.path().join("o")).unwrap(), "mine");
}

#[test]
fn two_runs_give_the_same_bytes() {
    let folder = TempDir::new().unwrap();
    build(folder.path(), SPREADER, &["--out", "one"]);
    build(folder.path(), SPREADER, &["--out", "two/deep"]);
    let (one, two) = (folder.path().join("one"), folder.path().join("two/deep"));
    assert_eq!(names(&one), names(&two));
    for name in names(&one) {
        assert!(fs::read(one.join(&name)).unwrap() == fs::read(two.join(&name)).unwrap(), "{name} differs");
    }
}

/// What `parts.csv` lists, priced in a copy of it: each line costs its price by what is ordered, to the hundredth.
#[test]
fn the_order_is_priced_by_a_copy_of_the_parts_list() {
    let folder = TempDir::new().unwrap();
    let rows = |name: &str| -> Vec<csv::StringRecord> {
        csv::Reader::from_path(folder.path().join(name)).unwrap().into_records().map(Result::unwrap).collect()
    };
    assert_eq!(build(folder.path(), SPREADER, &["--out", "plain"]).status.code(), Some(0));
    let order = rows("plain/parts.csv");
    let mut list = csv::Writer::from_path(folder.path().join("prices.csv")).unwrap();
    list.write_record(["Price", "What to order", "Size"]).unwrap();
    for (i, row) in order.iter().enumerate().skip(1) {
        list.write_record([&format!("{i}.35"), &row[1], &row[2]]).unwrap();
    }
    list.flush().unwrap();
    let output = build(folder.path(), SPREADER, &["--out", "priced", "--prices", "prices.csv"]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let mut total = 0;
    for (i, row) in rows("priced/parts.csv").iter().enumerate() {
        let ordered: f64 = row[4].parse().unwrap();
        // Pieces are whole, and lengths are ordered by the decimetre.
        let hundredths = (ordered * 10.0).round() as u64 * (i as u64 * 100 + 35);
        let cost = if i == 0 {
            String::new()
        } else {
            format!("{}.{:02}", (hundredths + 5) / 10 / 100, (hundredths + 5) / 10 % 100)
        };
        assert_eq!(row[7], cost, "{row:?}");
        total += if i == 0 { 0 } else { (hundredths + 5) / 10 };
    }
    let job: serde_json::Value =
        serde_json::from_slice(&fs::read(folder.path().join("priced/job.json")).unwrap()).unwrap();
    assert_eq!(job["order_cost"]["total"], format!("{}.{:02}", total / 100, total % 100));
    assert_eq!(job["order_cost"]["without_price"], 1);
    let page = fs::read_to_string(folder.path().join("priced/build-book.html")).unwrap();
    assert!(page.contains("without the 1 line that has no price"));

    fs::write(folder.path().join("prices.csv"), "What to order,Size,Price\nFuse,5 A,cheap\n").unwrap();
    let output = build(folder.path(), SPREADER, &["--out", "priced", "--prices", "prices.csv"]);
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(said.starts_with("error: prices.csv:2: `cheap` is no price\n  do: write a number such as 12.50"), "{said}");
}
