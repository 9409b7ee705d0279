//! Help, manual pages and completions name every command.

use assert_cmd::cargo::cargo_bin_cmd;
use tempfile::TempDir;

const COMMANDS: [&str; 18] = [
    "bench",
    "build",
    "check",
    "compare",
    "explain",
    "draw",
    "graph",
    "states",
    "netlist",
    "new",
    "parts",
    "plan",
    "sources",
    "replay",
    "trace",
    "schema",
    "completions",
    "man",
];

fn run(arguments: &[&str]) -> String {
    let output = cargo_bin_cmd!("loomwright").args(arguments).output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn the_help_of_every_command_has_an_example() {
    let all = run(&["--help"]);
    for command in COMMANDS {
        assert!(all.contains(&format!("\n  {command} ")), "{command} is missing in the list");
        let help = run(&[command, "--help"]);
        assert!(help.contains("Example"), "{command}: {help}");
        assert!(help.contains(&format!("  loomwright {command}")), "{command}: its example runs it");
    }
    let listed = all.lines().filter(|line| line.starts_with("  ") && line.as_bytes()[2].is_ascii_lowercase()).count();
    assert_eq!(listed, COMMANDS.len() + 1, "every command is in the test; `help` is clap's own: {all}");
}

#[test]
fn every_shell_gets_its_completions() {
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let script = run(&["completions", shell]);
        assert!(COMMANDS.iter().all(|command| script.contains(command)), "{shell}");
    }
}

#[test]
fn every_command_has_its_manual_page() {
    let page = run(&["man"]);
    assert!(page.contains(".TH loomwright 1"), "{page}");
    assert!(COMMANDS.iter().all(|command| page.contains(&format!("loomwright\\-{command}(1)"))), "{page}");
    let folder = TempDir::new().unwrap();
    run(&["man", "--out", folder.path().to_str().unwrap()]);
    for command in COMMANDS {
        let page = std::fs::read_to_string(folder.path().join(format!("loomwright-{command}.1"))).unwrap();
        assert!(page.contains(&format!("loomwright\\-{command} \\-")), "{command}: {page}");
    }
}

/// A terminal's colours don't reach a pipe.
#[test]
fn a_pipe_gets_no_colour() {
    let spec = concat!(env!("CARGO_MANIFEST_DIR"), "/harness-specs/wheelchair-van.yaml");
    assert!(!run(&["check", spec, "--long"]).contains('\u{1b}'));
}
