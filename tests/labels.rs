//! Labels with QR codes, as another program reads them from the printed page: each leads to its wire or part.

mod jobs;
mod judges;

use assert_cmd::cargo::cargo_bin_cmd;
use jobs::LAMP;
use judges::{POPPLER, QR_CODES, available};
use std::collections::BTreeSet;
use std::fs;
use std::process::Command;

#[test]
fn codes_on_labels_lead_to_their_wires_and_parts() {
    if !available(&[POPPLER, QR_CODES]) {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("lamp.yaml"), LAMP).unwrap();
    let arguments = ["build", "lamp.yaml", "--out", "o", "--address", "https://shop.example/jobs/7"];
    let output = cargo_bin_cmd!("loomwright").current_dir(folder.path()).args(arguments).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let mut render = Command::new("pdftoppm");
    render.current_dir(folder.path()).args(["-r", "200", "-gray", "-png", "o/build-book.pdf", "page"]);
    assert!(render.status().unwrap().success());
    let images = fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().path());
    let images = images.filter(|path| path.extension().is_some_and(|ending| ending == "png"));
    let read = Command::new("zbarimg").args(["-q", "--raw"]).args(images).output().unwrap();
    let read = String::from_utf8(read.stdout).unwrap();
    let mut reader = csv::Reader::from_path(folder.path().join("o/labels.csv")).unwrap();
    let links: Vec<String> = reader.records().map(|row| row.unwrap()[4].to_string()).collect();
    // Two ends of three wires, a fuse and a lamp.
    assert_eq!((links.len(), read.lines().count()), (8, 8), "{read}");
    let wanted =
        ["wire=1", "wire=2", "wire=3", "part=F1", "part=L1"].map(|to| format!("https://shop.example/jobs/7#{to}"));
    let wanted: BTreeSet<&str> = wanted.iter().map(String::as_str).collect();
    assert_eq!(links.iter().map(String::as_str).collect::<BTreeSet<&str>>(), wanted);
    assert_eq!(read.lines().collect::<BTreeSet<&str>>(), wanted);
}

#[test]
fn without_an_address_labels_have_no_codes_and_a_wrong_one_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("lamp.yaml"), LAMP).unwrap();
    let build = |more: &[&str]| {
        let arguments = [&["build", "lamp.yaml", "--out", "o"], more].concat();
        cargo_bin_cmd!("loomwright").current_dir(folder.path()).args(arguments).output().unwrap()
    };
    let refused = build(&["--address", "shop.example/jobs/7"]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(!folder.path().join("o").exists());
    assert!(String::from_utf8_lossy(&refused.stderr).contains("begins with https://"));
    assert!(build(&[]).status.success());
    assert!(!fs::read_to_string(folder.path().join("o/labels.csv")).unwrap().contains("Link"));
    assert!(!fs::read_to_string(folder.path().join("o/build-book.html")).unwrap().contains("data-link"));
}
