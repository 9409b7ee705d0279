//! The workbook as an independent library reads it: the sheets hold what the CSV files hold, and no cell is a formula.

mod jobs;
mod judges;

use jobs::{job_of, specs_in};
use judges::{WORKBOOKS, available};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

/// The sheets and the files that they are made from.
const SHEETS: [(&str, &str); 10] = [
    ("Wires", "wire-list.csv"),
    ("Pins", "pin-list.csv"),
    ("Parts", "parts.csv"),
    ("Labels", "labels.csv"),
    ("Splices", "splices.csv"),
    ("Fuses", "fuses.csv"),
    ("Bench test", "bench-test.csv"),
    ("Bench coverage", "bench-coverage.csv"),
    ("States", "states.csv"),
    ("Service", "service-sheet.csv"),
];

fn read(xlsx: &[u8]) -> BTreeMap<String, Vec<Vec<Value>>> {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("lists.xlsx");
    std::fs::write(&file, xlsx).unwrap();
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/workbook.py");
    let output = Command::new("/usr/bin/python3").arg(script).arg(&file).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(output.stderr.is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

/// Whether a cell of the workbook says what the cell of the CSV file says.
fn same(cell: Option<&Value>, text: &str) -> bool {
    match cell {
        None | Some(Value::Null) => text.is_empty(),
        Some(Value::Number(number)) => text.parse::<f64>().is_ok_and(|n| number.as_f64() == Some(n)),
        Some(Value::String(said)) => said == text || Some(said.as_str()) == text.strip_prefix('\''),
        Some(_) => false,
    }
}

#[test]
fn the_workbook_has_the_cells_of_the_lists() {
    if !available(&[WORKBOOKS]) {
        return;
    }
    let specs = specs_in(&["harness-specs"]);
    let mut numbers = 0;
    for path in specs.iter().filter(|path| cfg!(not(debug_assertions)) || !path.ends_with("refuse-truck.yaml")) {
        let documents = job_of(path).documents(None).unwrap();
        let bytes = |name: &str| &documents.iter().find(|document| document.name == name).unwrap().bytes;
        let book = read(bytes("lists.xlsx"));
        assert_eq!(book.len(), SHEETS.len());
        for (sheet, file) in SHEETS {
            let rows = &book[sheet];
            let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(&bytes(file)[..]);
            let lists: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
            assert_eq!(rows.len(), lists.len(), "{}: {sheet}", path.display());
            for (row, list) in rows.iter().zip(&lists) {
                for (at, text) in list.iter().enumerate() {
                    assert!(same(row.get(at), text), "{}: {sheet}: {:?} for {text}", path.display(), row.get(at));
                }
                assert!(row.iter().skip(list.len()).all(Value::is_null));
                assert!(row.iter().all(|cell| !cell.as_str().is_some_and(|text| text.starts_with("="))));
            }
            numbers += rows.iter().flatten().filter(|cell| cell.is_number()).count();
        }
    }
    assert!(numbers > 500, "{numbers} figures are numbers");
}
