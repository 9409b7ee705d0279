//! How long `check` and `build` take as whole processes, from the spec to the last line, and how much memory, while the
//! work grows: `cargo bench --bench check`. Inputs in groups of eight that share nothing but the battery; one state with
//! more and more lights; the demos.

#[path = "../tests/made_up/groups.rs"]
mod groups;
#[path = "../tests/made_up/lights.rs"]
mod lights;

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Inputs that act on each other.
const GROUP: usize = 8;

fn main() {
    let folder = tempfile::tempdir().expect("the bench writes its specs beside other temporary files");
    let folder = folder.path();
    println!("Whole processes, quickest of three for check");
    println!("\nInputs in groups of {GROUP}");
    println!("  inputs  wires      check     memory      build");
    for inputs in [8, 16, 24, 32, 40, 48] {
        row(folder, inputs, &groups::spec(inputs, GROUP), true);
    }
    println!("\nOne state, LEDs behind one fuse; the last but one has 2,001 wires");
    println!("    LEDs  wires      check     memory");
    for lights in [100, 200, 400, 800, 1000, 1600] {
        row(folder, lights, &lights::spec(lights), false);
    }
    println!("\nThe demos");
    println!("          wires      check     memory      build");
    for demo in ["first-harness", "boat-tow-pickup", "wheelchair-van", "orchard-sprayer-pickup", "refuse-truck"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("harness-specs/{demo}.yaml"));
        println!("{}   {demo}", timed(folder, &path, wires(&read(&path)), true));
    }
}

fn read(path: &Path) -> String {
    std::fs::read_to_string(path).expect("a demo is read")
}

fn wires(text: &str) -> usize {
    text.lines().filter(|line| line.trim_start().starts_with("- {id:")).count()
}

fn row(folder: &Path, size: usize, text: &str, builds: bool) {
    let path = folder.join(format!("{size}.yaml"));
    std::fs::write(&path, text).expect("the bench writes its specs");
    println!("{size:>8}{}", timed(folder, &path, wires(text), builds).trim_start_matches("        "));
}

/// Wires, time and memory of a check, time of a build.
fn timed(folder: &Path, path: &Path, wires: usize, builds: bool) -> String {
    let (check, memory) = quickest(|| run(&["check"], path));
    let memory = memory.map_or("?".into(), |kilobytes| (kilobytes / 1024).to_string());
    let mut line = format!("        {wires:>7} {:>7.0} ms {memory:>7} MB", check.as_secs_f64() * 1e3);
    if builds {
        let out = folder.join("out");
        let (build, _) = run(&["build", "--out", &out.to_string_lossy()], path);
        line.push_str(&format!(" {:>7.0} ms", build.as_secs_f64() * 1e3));
    }
    line
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
