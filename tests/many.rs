//! `check` over many specs, a folder, a pipe, and as a file is saved again and again.

mod jobs;

use assert_cmd::cargo::{cargo_bin, cargo_bin_cmd};
use jobs::LAMP;
use serde_json::Value;
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;
use tempfile::TempDir;

/// The lamp the wrong way round: one root, and findings that follow from it or stand beside it.
fn reversed() -> String {
    LAMP.replace("to: L1.power", "to: L1.ground").replace("from: L1.ground", "from: L1.power")
}

/// A folder with a good spec, a bad one, one that can't be read, a parts file, and other files.
fn shop() -> TempDir {
    let folder = TempDir::new().unwrap();
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    fs::create_dir(folder.path().join("jobs")).unwrap();
    write("jobs/bad.yaml", &reversed());
    write("jobs/good.yml", LAMP);
    write("jobs/typing-error.yaml", &LAMP.replace("parts:", "prats:"));
    write("jobs/parts.yaml", "parts-file: 1\n");
    write("jobs/other.yaml", "password: swordfish\n");
    write("jobs/.hidden.yaml", LAMP);
    write("jobs/notes.txt", LAMP);
    folder
}

fn run(folder: &Path, arguments: &[&str]) -> (String, String, Option<i32>) {
    let output = cargo_bin_cmd!("loomwright").current_dir(folder).args(arguments).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code())
}

#[test]
fn a_folder_gets_a_table_with_a_line_for_each_spec() {
    let shop = shop();
    let (out, err, code) = run(shop.path(), &["check", "jobs"]);
    assert_eq!(code, Some(2), "one of them can't be read");
    let row = |name: &str| out.lines().find(|line| line.starts_with(&format!("jobs/{name} "))).map(str::trim_end);
    assert!(row("bad.yaml").is_some_and(|row| row.ends_with("has errors")), "{out}");
    assert!(row("good.yml").is_some_and(|row| row.ends_with("passes")), "{out}");
    assert!(row("typing-error.yaml").is_some_and(|row| row.ends_with("can't be read")), "{out}");
    assert!(out.ends_with("1 of 3 specs pass\n"), "{out}");
    assert!(err.contains("jobs/typing-error.yaml") && err.contains("did you mean `parts`?"), "{err}");
    assert!(!(out + &err).contains("swordfish"));

    let (_, _, code) = run(shop.path(), &["check", "jobs/good.yml", "jobs/bad.yaml"]);
    assert_eq!(code, Some(1));
    let (out, _, code) = run(shop.path(), &["check", "jobs/good.yml", "jobs/good.yml"]);
    assert_eq!(code, Some(0));
    assert!(out.ends_with("2 of 2 specs pass\n"), "{out}");
}

#[test]
fn a_folder_without_specs_is_an_error() {
    let folder = TempDir::new().unwrap();
    let (_, err, code) = run(folder.path(), &["check", "."]);
    assert_eq!(code, Some(2));
    assert!(err.contains("there is no spec in this folder"), "{err}");
}

/// The first harness with power and ground of its camera exchanged: the shield shorts the feed, and more follows from it.
fn with_consequences() -> String {
    let first = fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/harness-specs/first-harness.yaml")).unwrap();
    first.replace("to: REAR.power", "to: REAR.ground").replace("from: REAR.ground", "from: REAR.power")
}

/// In one log, a consequence still names its root, and problems of unreadable specs are notifications.
#[test]
fn one_log_holds_all() {
    let shop = shop();
    fs::write(shop.path().join("jobs/bad.yaml"), with_consequences()).unwrap();
    let (out, _, _) =
        run(shop.path(), &["check", "jobs/bad.yaml", "jobs/typing-error.yaml", "jobs/bad.yaml", "--format", "sarif"]);
    let log: Value = serde_json::from_str(&out).unwrap();
    let run_of = |log: &Value| log["runs"][0].clone();
    let both = run_of(&log);
    let results = both["results"].as_array().unwrap();
    let (out, _, _) = run(shop.path(), &["check", "jobs/bad.yaml", "--format", "sarif"]);
    let alone = run_of(&serde_json::from_str(&out).unwrap());
    let once = alone["results"].as_array().unwrap();
    assert_eq!(results.len(), 2 * once.len());
    let mut followers = 0;
    for (i, result) in results.iter().enumerate() {
        let expected = &once[i % once.len()];
        assert_eq!(result["message"], expected["message"]);
        if let Some(root) = result["properties"]["followsFrom"].as_u64() {
            followers += 1;
            let before = (i / once.len() * once.len()) as u64;
            assert_eq!(root, before + expected["properties"]["followsFrom"].as_u64().unwrap());
        }
    }
    assert!(followers >= 2, "the spec has a finding that follows from another");
    let told = both["invocations"][0]["toolExecutionNotifications"].as_array().unwrap();
    assert!(told.iter().any(|one| one["message"]["text"].as_str().unwrap().contains("prats")), "{told:?}");
    assert_eq!(both["invocations"][0]["executionSuccessful"], false);
}

#[test]
fn json_of_many_holds_what_json_of_each_holds() {
    let shop = shop();
    let (out, _, _) = run(shop.path(), &["check", "jobs", "--format", "json"]);
    let all: Value = serde_json::from_str(&out).unwrap();
    let specs = all["specs"].as_array().unwrap();
    assert_eq!(specs.len(), 3);
    let (alone, _, _) = run(shop.path(), &["check", "jobs/bad.yaml", "--format", "json"]);
    assert_eq!(specs[0]["spec"], "jobs/bad.yaml");
    assert_eq!(specs[0]["report"], serde_json::from_str::<Value>(&alone).unwrap());
    assert!(specs[2]["problems"][0].as_str().unwrap().contains("prats"));
}

#[test]
fn a_pipe_is_read_as_a_spec() {
    let folder = TempDir::new().unwrap();
    let piped = |text: &str, arguments: &[&str]| {
        let mut program = cargo_bin_cmd!("loomwright");
        let output = program.current_dir(folder.path()).args(arguments).write_stdin(text).output().unwrap();
        (String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap(), output.status.code())
    };
    let (said, code) = piped(LAMP, &["check", "-"]);
    assert_eq!(code, Some(0), "{said}");
    let (said, code) = piped(&reversed(), &["check", "-"]);
    assert_eq!(code, Some(1), "{said}");
    assert!(said.contains(" -:6:"), "{said}");
    assert_eq!(piped("", &["check", "-"]).1, Some(2));
    assert_eq!(piped(LAMP, &["check", "-", "--watch"]).1, Some(2));
    assert_eq!(piped(LAMP, &["states", "-"]).1, Some(0));
    assert_eq!(piped(LAMP, &["build", "-"]).1, Some(0));
    assert!(folder.path().join("out/one-lamp/build-book.html").exists());
}

/// A program that is running, and the lines that it prints.
struct Running {
    program: Child,
    lines: Receiver<String>,
}

impl Running {
    fn watch(spec: &Path) -> Running {
        let mut program = Command::new(cargo_bin!("loomwright"));
        let program = program.arg("check").arg(spec).arg("--watch").stdout(Stdio::piped()).stderr(Stdio::null());
        let mut program = program.spawn().unwrap();
        let out = BufReader::new(program.stdout.take().unwrap());
        let (send, lines) = channel();
        std::thread::spawn(move || out.lines().map_while(Result::ok).try_for_each(|line| send.send(line)));
        Running { program, lines }
    }

    /// Every line up to one that begins so; only a hung program takes a minute.
    fn until(&self, beginning: &str) -> Vec<String> {
        let mut lines = Vec::new();
        while let Ok(line) = self.lines.recv_timeout(Duration::from_secs(60)) {
            let last = line.starts_with(beginning);
            lines.push(line);
            if last {
                return lines;
            }
        }
        panic!("no line begins with {beginning:?}: {lines:?}");
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.program.kill();
        let _ = self.program.wait();
    }
}

#[test]
fn a_save_prints_what_changed() {
    let folder = TempDir::new().unwrap();
    let spec = folder.path().join("spec.yaml");
    let save = |text: &str| {
        // File systems may count time in whole milliseconds.
        std::thread::sleep(Duration::from_millis(20));
        fs::write(&spec, text).unwrap();
    };
    save(LAMP);
    let running = Running::watch(&spec);
    running.until("watching");
    save(&reversed());
    let lines = running.until("now: 1 error");
    assert!(lines.iter().any(|line| line.starts_with("new:  error[") && line.contains("L1")), "{lines:?}");
    save(LAMP);
    let lines = running.until("now: no findings");
    assert!(lines.iter().any(|line| line.starts_with("gone: error[") && line.contains("L1")), "{lines:?}");
    save("harness: 1\nwheels: 4\n");
    assert!(running.until("").len() == 1);
    let lines = running.until("error:");
    assert!(lines.len() < 5, "{lines:?}");
    save(LAMP);
    running.until("no findings");
}
