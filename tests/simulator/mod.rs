//! ngspice, the general-purpose circuit simulator that results are held to.

use std::process::Command;

/// Whether ngspice can be asked. Only outside the test script, which installs it, may it be missing.
pub fn available() -> bool {
    let there = Command::new("ngspice").arg("--version").output().is_ok();
    assert!(there || std::env::var_os("CI").is_none(), "ngspice is not installed");
    if !there {
        eprintln!("skipped: ngspice is not installed");
    }
    there
}
