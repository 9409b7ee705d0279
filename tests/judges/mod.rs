//! Other people's programs that results are held to. A test asks for its judge first, and ends where it is missing.
//!
//! `tests/run.sh` installs them all and sets `JUDGES=required`: a missing one then fails the test. In a plain
//! `cargo test` a missing one is named on the terminal.
#![allow(dead_code)] // Each test takes what it needs.

use std::io::Write;
use std::process::Command;

/// A program that judges results.
pub struct Judge {
    /// The Debian package that has it.
    pub package: &'static str,
    /// A command that succeeds where it is installed.
    probe: &'static [&'static str],
}

/// The circuit simulator.
pub const NGSPICE: Judge = Judge { package: "ngspice", probe: &["ngspice", "--version"] };
/// The browser that prints pages.
pub const CHROMIUM: Judge = Judge { package: "chromium", probe: &["chromium", "--version"] };
/// What renders PDF.
pub const POPPLER: Judge = Judge { package: "poppler-utils", probe: &["pdftoppm", "-v"] };
/// The layout program that diagrams are compared with.
pub const DOT: Judge = Judge { package: "graphviz", probe: &["dot", "-V"] };
/// Validators of JSON Schema and YAML.
pub const SCHEMAS: [Judge; 3] = [
    Judge { package: "python3-jsonschema", probe: &["/usr/bin/python3", "-c", "import jsonschema"] },
    Judge { package: "python3-regex", probe: &["/usr/bin/python3", "-c", "import regex"] },
    Judge { package: "python3-ruamel.yaml", probe: &["/usr/bin/python3", "-c", "import ruamel.yaml"] },
];

/// A reader of workbooks.
pub const WORKBOOKS: Judge =
    Judge { package: "python3-openpyxl", probe: &["/usr/bin/python3", "-c", "import openpyxl"] };

/// A reader of QR codes.
pub const QR_CODES: Judge = Judge { package: "zbar-tools", probe: &["zbarimg", "--version"] };

/// Whether all of these judges are there.
///
/// # Panics
/// If one is missing and `JUDGES` is set.
pub fn available(judges: &[Judge]) -> bool {
    let missing: Vec<&str> = judges.iter().filter(|judge| !is_there(judge)).map(|judge| judge.package).collect();
    if missing.is_empty() {
        return true;
    }
    let (test, missing) = (std::thread::current().name().unwrap_or("a test").to_string(), missing.join(", "));
    assert!(std::env::var_os("JUDGES").is_none(), "{test} needs {missing}, which tests/run.sh installs");
    // Past the test harness, which holds back what passing tests print.
    let _ = writeln!(std::io::stderr(), "NOT JUDGED: {test} needs {missing}; tests/run.sh installs it");
    false
}

fn is_there(judge: &Judge) -> bool {
    let [program, arguments @ ..] = judge.probe else { return false };
    Command::new(program).args(arguments).output().is_ok_and(|output| output.status.success())
}
