//! A comparison as one page: the same sections, then both connection diagrams with the differences marked.

use super::rework::Rework;
use super::text::sections;
use super::{Comparison, Revision};
use draw::list::DRAWINGS;
use kit::page_styles::PageStyles;
use kit::svg;
use serde::Serialize;
use std::collections::BTreeSet;
use tera::{Context, Tera};

const TEMPLATE: &str = include_str!("page.html");

/// A section, as the template takes it.
#[derive(Serialize)]
struct Part {
    title: String,
    lines: Vec<String>,
}

/// The page as HTML, without anything from outside.
///
/// # Errors
/// Only if the template is wrong; a test renders it.
pub fn page(comparison: &Comparison, old: Revision, new: Revision) -> Result<String, String> {
    let mut tera = Tera::default();
    tera.add_raw_template("page.html", TEMPLATE).map_err(|e| e.to_string())?;
    let parts = sections(comparison).into_iter().map(|section| Part { title: section.title, lines: section.lines });
    let (gone, come) = marked(&comparison.rework);
    let mut context = Context::new();
    context.insert("old", &comparison.old);
    context.insert("new", &comparison.new);
    context.insert("sections", &parts.collect::<Vec<_>>());
    context.insert("cautions", &book::CAUTIONS);
    let mut styles = PageStyles::default();
    context.insert("before", &sheets(old, "old", &gone, &mut styles));
    context.insert("after", &sheets(new, "new", &come, &mut styles));
    context.insert("style", &(styles.css() + &style("old", &gone) + &style("new", &come)));
    tera.render("page.html", &context).map_err(|e| e.to_string())
}

/// The sheets of the connection diagram that show a marked wire or part.
fn sheets(revision: Revision, side: &str, marks: &Marks, styles: &mut PageStyles) -> Vec<String> {
    let diagram = DRAWINGS.iter().find(|drawing| drawing.name == "connection-diagram");
    let scenes = diagram.map(|diagram| diagram.scenes(revision.facts, kit::sheet::Papers::Iso)).unwrap_or_default();
    let drawn = scenes.iter().enumerate().map(|(i, scene)| svg::write_in_page(scene, &format!("{side}-{i}-"), styles));
    let shows = |svg: &String| marks.iter().any(|(kind, name)| svg.contains(&format!("data-{kind}=\"{name}\"")));
    drawn.filter(shows).collect()
}

/// What is marked in a drawing: attribute of the SVG and name.
type Marks = BTreeSet<(&'static str, String)>;

/// What is marked in the old diagram, and what in the new one.
fn marked(rework: &Rework) -> (Marks, Marks) {
    let (mut old, mut new) = (Marks::new(), Marks::new());
    let wire = |id: &str| ("wire", id.to_string());
    let part = |name: &str| ("part", name.to_string());
    old.extend(rework.removed_wires.iter().map(|one| wire(&one.id)));
    new.extend(rework.added_wires.iter().map(|one| wire(&one.id)));
    for moved in &rework.moved_ends {
        old.insert(wire(&moved.wire));
        new.insert(wire(&moved.then.id));
    }
    for change in &rework.replaced_wires {
        old.insert(wire(&change.old.id));
        new.insert(wire(&change.new.id));
    }
    old.extend(rework.removed_parts.iter().map(|one| part(&one.name)));
    new.extend(rework.added_parts.iter().map(|one| part(&one.name)));
    new.extend(rework.exchanged_parts.iter().map(|one| part(&one.new.name)));
    let was = |name: &str| {
        rework.renamed_parts.iter().find(|one| one.to == name).map_or(name, |one| one.from.as_str()).to_string()
    };
    old.extend(rework.exchanged_parts.iter().map(|one| ("part", was(&one.new.name))));
    (old, new)
}

/// The rules that mark them: all else is faint. What goes is broken, what comes is heavy.
fn style(side: &str, marks: &Marks) -> String {
    let line = match side {
        "old" => "stroke-dasharray: 2 1.2; stroke-width: 1.1",
        _ => "stroke-width: 1.4",
    };
    let mut out = format!(".{side} :is([data-wire], [data-part]) {{ opacity: 0.3 }}\n");
    for (kind, name) in marks {
        let one = format!(".{side} [data-{kind}={}]", quoted(name));
        out.push_str(&format!("{one}, {one} * {{ opacity: 1 }}\n"));
        out.push_str(&format!("{one} path {{ {line} }}\n"));
    }
    out
}

/// A name as a CSS string: every letter that is not plain is escaped by its number.
fn quoted(name: &str) -> String {
    let escaped = name.chars().map(|c| match c.is_alphanumeric() || c == '-' || c == '_' {
        true => c.to_string(),
        false => format!("\\{:x} ", u32::from(c)),
    });
    format!("\"{}\"", escaped.collect::<String>())
}
