//! The build book as one HTML file. Nothing outside it is needed. It prints its text on A4 or Letter, each drawing at its true size on
//! the paper that it takes. Its script marks, searches, counts and keeps a record; without it, all text and drawings are there.

pub mod column_classes;
mod column_headings;
pub mod drawings;
pub mod papers;

use crate::address::BookAddress;
use crate::bench::BenchGroup;
use crate::contents::{Book, MOST_STATES};
use crate::lists::labels::LabelRow;
use crate::lists::parts::OrderLine;
use crate::lists::pins::{PinTable, TableKind};
use crate::page::drawings::Drawn;
use crate::page::papers::Leaf;
use kit::insulation::Insulation;
use kit::qr::QrSquare;
use kit::sheet::Papers;
use kit::xml::escape;
use serde::Serialize;
use std::collections::BTreeMap;
use std::io::Write;
use tera::{Context, Kwargs, State, Tera};

/// The templates. Their names end in `.html`, which is what turns escaping on.
const TEMPLATES: [(&str, &str); 10] = [
    ("components.html", include_str!("templates/components.html")),
    ("plan.html", include_str!("templates/plan.html")),
    ("proposals.html", include_str!("templates/proposals.html")),
    ("wires.html", include_str!("templates/wires.html")),
    ("pins.html", include_str!("templates/pins.html")),
    ("bench.html", include_str!("templates/bench.html")),
    ("fuses.html", include_str!("templates/fuses.html")),
    ("symptoms.html", include_str!("templates/symptoms.html")),
    ("service.html", include_str!("templates/service.html")),
    ("book.html", include_str!("templates/book.html")),
];

/// What the page does while it is read, in the order in which it runs.
const SCRIPTS: [&str; 7] = [
    include_str!("scripts/element.js"),
    include_str!("scripts/names.js"),
    include_str!("scripts/picks.js"),
    include_str!("scripts/live.js"),
    include_str!("scripts/record.js"),
    include_str!("scripts/enlarge.js"),
    include_str!("scripts/start.js"),
];

/// A section of the book, as its contents list it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
struct Section {
    id: &'static str,
    title: &'static str,
    number: usize,
}

/// What the contents list under one heading: the sections that one person needs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
struct Contents {
    title: &'static str,
    sections: Vec<Section>,
}

/// A stripe of the band at the head of the book: one for each colour of wire, as wide as its share of the metres.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct Stripe {
    colour: String,
    share: String,
}

/// The lines of the order that come from one shelf.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct Shelf<'b> {
    title: &'static str,
    lines: &'b [OrderLine],
}

/// Writes the page.
///
/// # Errors
/// Only if a template is wrong; a test renders every template.
pub fn html(book: &Book, drawings: &[Drawn], papers: Papers, address: Option<&BookAddress>) -> Result<String, String> {
    let reported = |e: tera::Error| format!("the page's template is wrong: {e}");
    let mut tera = Tera::default();
    tera.set_escape_fn(escaped);
    tera.register_filter("marked", |text: &str, _: Kwargs, _: &State| marked(text));
    tera.register_filter("dotted", |text: &str, _: Kwargs, _: &State| dotted(text));
    tera.register_filter("colour_name", |code: &str, _: Kwargs, _: &State| colour_name(code));
    tera.add_raw_templates(TEMPLATES).map_err(reported)?;
    let contents = contents(book, drawings);
    let numbers: BTreeMap<&str, usize> =
        contents.iter().flat_map(|c| &c.sections).map(|section| (section.id, section.number)).collect();
    let mut context = Context::new();
    context.insert("book", book);
    context.insert("drawings", drawings);
    let (sheets, styles) = drawings::in_page(drawings);
    context.insert("sheets", &sheets);
    context.insert("contents", &contents);
    context.insert("numbers", &numbers);
    let supply = book.bench.supply.map_or_else(String::new, |volts| format!(" set to {volts}"));
    context.insert("bench_supply", &supply);
    let points: Vec<&PinTable> =
        book.pins.iter().filter(|t| matches!(t.kind, TableKind::Tap | TableKind::Ground)).collect();
    context.insert("points", &points);
    context.insert("shelves", &shelves(book));
    // What explains the lists names parts that this job has.
    let links = book.service.iter().flat_map(|sheet| &sheet.chains).flat_map(|chain| &chain.links);
    context.insert("probe", links.map(|link| link.probe.as_str()).find(|probe| !probe.is_empty()).unwrap_or_default());
    let example = book.pins.iter().find(|table| table.kind == TableKind::Part && !table.rows.is_empty());
    context
        .insert("example", &example.map(|table| BTreeMap::from([("part", &table.name), ("pin", &table.rows[0].pin)])));
    let groups: Vec<&BenchGroup> = std::iter::once(&book.bench.before).chain(&book.bench.groups).collect();
    context.insert("bench_groups", &groups);
    context.insert("coverage", &book.bench.coverage.summary(book.bench.steps()));
    context.insert("stripes", &stripes(book));
    context.insert("codes", &codes(book));
    context.insert("links", &label_links(book, address));
    context.insert("state_rows", &book.states.rows[..book.states.rows.len().min(MOST_STATES)]);
    let leaves = drawings.iter().flat_map(|drawing| &drawing.sheets).map(|sheet| &sheet.leaf);
    context.insert("css", &(style_sheet(papers) + &swatches(book) + &styles + &Leaf::css(leaves)));
    context.insert("live", &book.live.in_page()?);
    context.insert("script", &format!("\"use strict\";\n{}", SCRIPTS.join("\n")));
    context.insert("heading", &book.job.heading());
    context.insert("foot", &css_string(&book.job.heading()));
    let page = tera.render("book.html", &context).map_err(reported)?;
    let (page, rules) = column_headings::shared(&page);
    Ok(page.replacen("</style>", &(rules + "\n</style>"), 1))
}

/// The page's own rules, its text on the shop's small paper.
fn style_sheet(papers: Papers) -> String {
    include_str!("templates/book.css").replace("size: A4", &format!("size: {}", papers.small().title()))
}

/// Escapes for HTML, and drops what could turn the reading direction.
fn escaped(text: &str, out: &mut dyn Write) -> std::io::Result<()> {
    out.write_all(escape(text).as_bytes())
}

/// A message as HTML: what stands between backticks is a name or as written in the spec.
fn marked(text: &str) -> String {
    let mut pieces = text.split('`');
    let mut out = pieces.next().map(escape).unwrap_or_default();
    while let Some(name) = pieces.next() {
        match pieces.next() {
            Some(after) => out.push_str(&format!("<code>{}</code>{}", escape(name), escape(after))),
            None => out.push_str(&format!("`{}", escape(name))),
        }
    }
    out
}

/// Pins as HTML: in a narrow column the line breaks after the dot, never inside a name.
fn dotted(text: &str) -> String {
    escape(text).replace('.', ".<wbr/>")
}

/// A text as a CSS string that holds nothing but letters, digits and escapes.
fn css_string(text: &str) -> String {
    let mut out = String::from("\"");
    for c in kit::font::printable(text) {
        if c.is_ascii_alphanumeric() { out.push(c) } else { out.push_str(&format!("\\{:x} ", u32::from(c))) }
    }
    out.push('"');
    out
}

/// The rules for the swatches of the colour codes that the job uses.
fn swatches(book: &Book) -> String {
    let rule = |code: String| {
        let insulation = Insulation::of(&code)?;
        let tracer = insulation.tracer.unwrap_or(insulation.base);
        let (base, tracer) = (insulation.base.css(), tracer.css());
        Some(format!("[data-colour=\"{code}\"] {{ --base:{base}; --tracer:{tracer}; }}\n"))
    };
    codes(book).into_iter().filter_map(rule).collect()
}

fn colour_name(code: &str) -> String {
    Insulation::of(code).map_or_else(String::new, |insulation| insulation.name)
}

fn contents(book: &Book, drawings: &[Drawn]) -> Vec<Contents> {
    let mut number = 0;
    let mut group = |title, sections: &[(&'static str, &'static str, bool)]| {
        let kept = sections.iter().filter(|(.., there)| *there).map(|(id, title, _)| {
            number += 1;
            Section { id, title, number }
        });
        Contents { title, sections: kept.collect() }
    };
    let findings = !book.findings.counted.is_empty() || !book.findings.accepted.is_empty();
    vec![
        group(
            "To plan",
            &[
                ("start", "Before you start", true),
                ("purpose", "What it does", true),
                ("findings", "What the checks found", findings),
                ("drawings", "Drawings", !drawings.is_empty()),
                ("order", "Parts to order", !book.order.is_empty()),
                ("proposals", "Proposals compared", book.proposals.is_some()),
            ],
        ),
        group(
            "At the bench",
            &[
                ("cut", "Cut list", !book.reels.is_empty()),
                ("wires", "Wire by wire", !book.wires.is_empty()),
                ("pins", "Pin lists", !book.pins.is_empty()),
                ("splices", "Splices", !book.splices.is_empty()),
                ("labels", "Labels", !book.labels.is_empty()),
                ("bench", "Bench test", !book.bench.groups.is_empty()),
            ],
        ),
        group(
            "To trace a fault",
            &[
                ("fuses", "Fuse chart", !book.fuses.is_empty()),
                ("symptoms", "Symptom sheets", !book.symptoms.is_empty()),
                ("service", "Service sheets", !book.service.is_empty()),
                ("states", "Every state", !book.states.rows.is_empty()),
                ("reading", "How to read this book", true),
            ],
        ),
    ]
}

/// A label's link, with its QR code as an SVG path.
#[derive(Debug, Clone, PartialEq, Serialize)]
struct LabelLink {
    to: String,
    side: usize,
    path: String,
}

/// The links of all labels, in their order; none without an address.
fn label_links(book: &Book, address: Option<&BookAddress>) -> Vec<Option<LabelLink>> {
    let link = |label: &LabelRow| {
        let to = label.link(address?);
        let code = QrSquare::of(&to)?;
        Some(LabelLink { side: code.side, path: code.svg_path(), to })
    };
    book.labels.iter().map(link).collect()
}

fn shelves(book: &Book) -> Vec<Shelf<'_>> {
    let chunks = book.order.chunk_by(|a, b| a.group == b.group);
    chunks.map(|lines| Shelf { title: lines[0].group.words(), lines }).collect()
}

fn stripes(book: &Book) -> Vec<Stripe> {
    let mut metres: BTreeMap<String, u64> = BTreeMap::new();
    for reel in &book.reels {
        if let Some(colour) = reel.colour {
            let mm: u64 = reel.pieces.iter().map(|piece| piece.cut.millimetres()).sum();
            *metres.entry(colour.base.to_string()).or_default() += mm;
        }
    }
    let total: u64 = metres.values().sum();
    let stripe = |(code, mm): (String, u64)| {
        let colour = Insulation::of(&code)?.base.css();
        Some(Stripe { colour, share: format!("{:.1}%", mm as f64 * 100.0 / total as f64) })
    };
    metres.into_iter().filter_map(stripe).collect()
}

/// The colour codes that the job uses.
fn codes(book: &Book) -> Vec<String> {
    let mut codes: Vec<String> = book.wires.iter().filter_map(|wire| wire.colour).map(|c| c.to_string()).collect();
    codes.sort();
    codes.dedup();
    codes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_in_messages_are_marked_and_escaped() {
        assert_eq!(marked("`F1` & `<b>` lead"), "<code>F1</code> &amp; <code>&lt;b&gt;</code> lead");
        assert_eq!(marked("a ` alone"), "a ` alone");
    }

    #[test]
    fn pins_break_behind_the_dot() {
        assert_eq!(dotted("FRONT.power"), "FRONT.<wbr/>power");
        assert_eq!(dotted("<b>.1"), "&lt;b&gt;.<wbr/>1");
    }

    #[test]
    fn css_strings_hold_nothing_but_letters_and_escapes() {
        let hostile = "a\"</style>\\\n\u{202e}é";
        assert_eq!(css_string(hostile), "\"a\\22 \\3c \\2f style\\3e \\5c \\20 \\e9 \"");
    }
}
