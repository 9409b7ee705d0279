//! `sources`: every figure of the tables, of the code and of the catalogue, where it comes from, and how far that was
//! checked.

use super::table::table;
use catalogue::Catalogue;
use catalogue::figures::figures;
use model::conductor;

/// The page: limits of the checks, conductors, figures in the code, then the parts, a line for each figure.
pub fn text(catalogue: &Catalogue) -> String {
    let limits = check::figures().rows().chain(facts::figures::figures().rows());
    let limits = limits.map(|[figure, value, source]| row("limits", figure, value, source));
    let tables = conductor::sources()
        .into_iter()
        .map(|(title, count, source)| row("conductors", title, &format!("table of {count} sizes"), &source));
    let in_code = in_code().into_iter().map(|[room, figure, value, source]| row(&room, &figure, &value, &source));
    let mut rows: Vec<Vec<String>> = limits.chain(tables).chain(in_code).collect();
    for (name, part) in catalogue.iter() {
        for group in figures(part) {
            for figure in &group.figures {
                let key = format!("{}, {}", group.key, figure.key);
                rows.push(row(name, &key, &figure.value, figure.source.unwrap_or("no source given")));
            }
        }
    }
    let headings = ["where", "figure", "value", "checked", "source"].map(str::to_string);
    table(&headings, &rows)
}

/// Figures that stand in the code of a room: the room, the figure, its value, and what the code says of its source. A test
/// holds the list to the code.
fn in_code() -> Vec<[String; 4]> {
    let mut reader = csv::Reader::from_reader(include_str!("figures_in_code.csv").as_bytes());
    let row = |record: csv::StringRecord| {
        let cell = |i: usize| record.get(i).map(str::to_string);
        Some([cell(0)?, cell(1)?, cell(2)?, cell(3)?])
    };
    reader.records().filter_map(|record| row(record.ok()?)).collect()
}

fn row(place: &str, figure: &str, value: &str, source: &str) -> Vec<String> {
    [place, figure, value, checked(source), source].map(str::to_string).to_vec()
}

/// How far a source was checked, by its own words.
fn checked(source: &str) -> &'static str {
    if source.contains("from memory") {
        "no: from memory"
    } else if source.contains("no source") || source.contains("typical") || source.contains("common practice") {
        "common practice"
    } else {
        "source named"
    }
}
