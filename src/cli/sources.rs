//! `sources`: every figure of the tables and of the catalogue, where it comes from, and how far that was checked.

use super::table::table;
use catalogue::Catalogue;
use catalogue::figures::figures;
use model::conductor;

/// The page: limits of the checks, conductors, then the parts, a line for each figure.
pub fn text(catalogue: &Catalogue) -> String {
    let limits = check::figures().rows().chain(facts::figures::figures().rows());
    let limits = limits.map(|[figure, value, source]| row("limits", figure, value, source));
    let tables = conductor::sources()
        .into_iter()
        .map(|(title, count, source)| row("conductors", title, &format!("table of {count} sizes"), &source));
    let mut rows: Vec<Vec<String>> = limits.chain(tables).collect();
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

fn row(place: &str, figure: &str, value: &str, source: &str) -> Vec<String> {
    [place, figure, value, checked(source), source].map(str::to_string).to_vec()
}

/// How far a source was checked, by its own words.
fn checked(source: &str) -> &'static str {
    if source.contains("from memory") {
        "no: from memory"
    } else if source.contains("no source") || source.starts_with("typical") {
        "common practice"
    } else {
        "source named"
    }
}
