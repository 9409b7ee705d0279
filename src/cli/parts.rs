//! `parts`: the catalogue.

use super::table::columns;
use catalogue::figures::{FigureGroup, PartFigure, figures, source};
use catalogue::part_form::PartForm;
use catalogue::{Catalogue, pin_names};

/// Every kind of part, one a line.
pub fn list(catalogue: &Catalogue) -> String {
    let rows: Vec<Vec<String>> = catalogue.iter().map(|(name, part)| vec![name.into(), part.title.0.clone()]).collect();
    columns("", &rows)
}

/// One kind of part: pins, what is inside, figures with their sources.
pub fn one(name: &str, part: &PartForm) -> String {
    let mut out = format!("{name}\n  {}\n", part.title);
    out.push_str(&format!("  family {}", part.family));
    if let Some(nominal) = part.nominal {
        out.push_str(&format!(", nominal {nominal}"));
    }
    out.push_str(&format!("\n\n{}\n{}", heading(part), columns("  ", &pins(part))));
    for group in figures(part) {
        out.push_str(&format!("\n{}\n{}", title(&group), columns("  ", &lines(&group))));
    }
    if let Some(shows) = shows(part) {
        out.push_str(&format!("\nshows\n{}", columns("  ", &shows)));
    }
    if let Some(note) = &part.note {
        out.push_str(&format!("\nnote\n  {note}\n"));
    }
    out
}

fn heading(part: &PartForm) -> String {
    match (source(part, "pins"), part.cavities) {
        (_, Some(_)) => format!("cavities by row: {}", rows(part)),
        (Some(source), None) => format!("pins ({source})"),
        (None, None) => "pins".into(),
    }
}

fn rows(part: &PartForm) -> String {
    let rows: Vec<String> = part.rows.iter().map(ToString::to_string).collect();
    if rows.is_empty() { "1".into() } else { rows.join(", ") }
}

/// A line a pin; the cavities of a connector are all alike and have none.
fn pins(part: &PartForm) -> Vec<Vec<String>> {
    let one = |name: form::Name| {
        let pin = part.pins.get(&name)?;
        let words = |text: Option<String>| text.unwrap_or_default();
        Some(vec![
            name.to_string(),
            pin.domain.to_string(),
            words(pin.is.map(|role| role.to_string())),
            words(pin.limit.map(|limit| format!("to {limit}"))),
            if pin.optional.0 { "may stay open".into() } else { String::new() },
            words(pin.title.as_ref().map(|title| title.0.clone())),
        ])
    };
    pin_names(part).into_iter().filter_map(one).collect()
}

fn title(group: &FigureGroup) -> String {
    let word = match group.key {
        "sense" => "trigger input",
        "passes" => "path",
        "part" => "in general",
        other => other,
    };
    format!("{word} {}", group.title).trim_end().to_string()
}

/// A line a figure; the source of a long one stands under it.
fn lines(group: &FigureGroup) -> Vec<Vec<String>> {
    let line = |figure: &PartFigure| {
        let (key, value) = (figure.key.to_string(), figure.value.clone());
        let source = figure.source.unwrap_or("no source").to_string();
        match value.chars().count() {
            0..48 => vec![vec![key, value, source]],
            _ => vec![vec![key, value], vec![String::new(), format!("({source})")]],
        }
    };
    group.figures.iter().flat_map(line).collect()
}

/// The screen's rule, first match first.
fn shows(part: &PartForm) -> Option<Vec<Vec<String>>> {
    let otherwise = part.otherwise.map(|idle| vec![idle.to_string(), "otherwise".into()]);
    let line =
        |show: &catalogue::part_form::ShowForm| vec![show.input.value.to_string(), format!("when {}", show.when)];
    (!part.shows.is_empty()).then(|| part.shows.iter().map(line).chain(otherwise).collect())
}
