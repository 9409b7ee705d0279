//! How long `check` and `build` take as whole processes, from the spec to the last line, and how much memory, while the
//! inputs grow: `cargo bench --bench check`. Inputs in groups of eight that share nothing but the battery.

#[path = "../tests/made_up/groups.rs"]
mod groups;

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Inputs that act on each other.
const GROUP: usize = 8;

fn main() {
    let folder = tempfile::tempdir().expect("the bench writes its specs beside other temporary files");
    println!("Whole processes, inputs in groups of {GROUP}, quickest of three");
    println!("inputs  wires      check       memory      build");
    for inputs in [8, 16, 24, 32, 40, 48] {
        let text = groups::spec(inputs, GROUP);
        let path = folder.path().join(format!("{inputs}.yaml"));
        std::fs::write(&path, &text).expect("the bench writes its specs");
        let wires = text.lines().filter(|line| line.starts_with("  - {id:")).count();
        let (check, memory) = quickest(|| run(&["check"], &path));
        let out = folder.path().join("out");
        let (build, _) = run(&["build", "--out", &out.to_string_lossy()], &path);
        println!(
            "{inputs:>6} {wires:>6} {:>7.0} ms {:>9} MB {:>7.0} ms",
            check.as_secs_f64() * 1e3,
            memory.map_or("?".into(), |kilobytes| (kilobytes / 1024).to_string()),
            build.as_secs_f64() * 1e3
        );
    }
}

fn quickest(run: impl Fn() -> (Duration, Option<u64>)) -> (Duration, Option<u64>) {
    let all = [run(), run(), run()];
    (all.iter().map(|one| one.0).min().unwrap_or_default(), all.iter().filter_map(|one| one.1).max())
}

/// Wall time of a run, and the most memory that it had while it was looked at, by Linux' `/proc`.
fn run(arguments: &[&str], spec: &Path) -> (Duration, Option<u64>) {
    let start = Instant::now();
    let mut command = Command::new(env!("CARGO_BIN_EXE_loomwright"));
    let command = command.args(arguments).arg(spec).stdout(Stdio::null()).stderr(Stdio::null());
    let mut child = command.spawn().expect("the program runs");
    let mut most = None;
    while child.try_wait().is_ok_and(|ended| ended.is_none()) {
        most = most.max(memory(child.id()));
        std::thread::sleep(Duration::from_millis(2));
    }
    (start.elapsed(), most)
}

/// Most memory that a process has had, in kilobytes.
fn memory(process: u32) -> Option<u64> {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    status.lines().find(|line| line.starts_with("VmHWM"))?.split_whitespace().nth(1)?.parse().ok()
}
