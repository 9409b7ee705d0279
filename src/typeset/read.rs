//! Reads the page: elements become blocks. What only a screen needs is left out.

mod runs;
mod tables;

use crate::blocks::{Block, ContentsLine, CutLabel, Frame, Heading, TextSide};
use crate::letters::{BODY, CELL, DEEP, Letters, WARNING};
use kit::colour::{INK, Rgb, SOFT_INK};
use roxmltree::{Document, Node, ParsingOptions};
use runs::{TextRun, class, colours};

/// The blocks of a page.
///
/// # Errors
/// If the page is not well-formed.
pub fn page(xhtml: &str) -> Result<Vec<Block>, String> {
    let text = ["svg", "style", "script"].iter().fold(xhtml.to_string(), |text, name| without(&text, name));
    let options = ParsingOptions { allow_dtd: true, ..ParsingOptions::default() };
    let document = Document::parse_with_options(&text, options).map_err(|e| format!("the page is not XHTML: {e}"))?;
    let body = document.descendants().find(|node| node.has_tag_name("body"));
    Ok(body.map_or_else(Vec::new, |body| blocks(body, BODY)))
}

/// The text without the elements of one name: a drawing is set from its own items, and scripts are no XML.
fn without(text: &str, name: &str) -> String {
    let (open, close) = (format!("<{name}"), format!("</{name}>"));
    let mut kept = String::with_capacity(text.len() / 4);
    let mut rest = text;
    while let Some((before, after)) = rest.split_once(open.as_str()) {
        kept.push_str(before);
        rest = after.split_once(close.as_str()).map_or("", |(_, after)| after);
    }
    kept + rest
}

/// What an element holds, as blocks; text between them becomes blocks too.
fn blocks(node: Node, letters: Letters) -> Vec<Block> {
    let mut out = Vec::new();
    let mut run = TextRun::default();
    for child in node.children() {
        if child.is_element() && is_block(child) {
            flush(&mut run, &mut out);
            block(child, letters, &mut out);
        } else {
            run.read(child, letters);
        }
    }
    flush(&mut run, &mut out);
    out
}

fn flush(run: &mut TextRun, out: &mut Vec<Block>) {
    let atoms = std::mem::take(run).atoms;
    if !atoms.is_empty() {
        out.push(Block::Text(atoms, TextSide::Left));
    }
}

fn is_block(node: Node) -> bool {
    const NAMES: [&str; 17] = [
        "p",
        "h1",
        "h2",
        "h3",
        "h4",
        "ul",
        "ol",
        "dl",
        "table",
        "div",
        "section",
        "article",
        "nav",
        "header",
        "main",
        "figure",
        "figcaption",
    ];
    NAMES.contains(&node.tag_name().name())
}

fn block(node: Node, letters: Letters, out: &mut Vec<Block>) {
    match node.tag_name().name() {
        "h1" => out.push(heading(node, 1, Letters { size: 8.5, bold: true, colour: DEEP })),
        "h2" => out.push(heading(node, 2, Letters { size: 5.4, bold: true, colour: DEEP })),
        "h3" => out.push(heading(node, 3, Letters { size: 3.8, bold: true, colour: DEEP })),
        "h4" => out.push(heading(node, 4, Letters { size: 3.2, bold: true, colour: INK })),
        "p" => out.push(paragraph(node, letters)),
        "ul" | "ol" => out.push(list(node, letters)),
        "dl" => definitions(node, letters, out),
        "table" => out.push(Block::Table(tables::table(node))),
        "nav" => out.push(contents(node)),
        "figcaption" => {}
        "section" => section(node, letters, out),
        "article" => article(node, letters, out),
        _ => division(node, letters, out),
    }
}

fn heading(node: Node, level: usize, letters: Letters) -> Block {
    let run = TextRun::of(node, letters);
    let plain = run.plain();
    Block::Heading(Heading { level, id: node.attribute("id").map(str::to_string), text: run.atoms, plain })
}

fn paragraph(node: Node, letters: Letters) -> Block {
    let (letters, frame) = if class(node, "trouble") {
        (letters, Some(Frame::Alert))
    } else if class(node, "note") {
        (letters, Some(Frame::Bar))
    } else if class(node, "lead") || class(node, "facts") {
        (letters.coloured(SOFT_INK), None)
    } else if class(node, "kind") {
        (letters.coloured(SOFT_INK).bold(), None)
    } else if class(node, "caution") {
        (letters.coloured(WARNING), None)
    } else {
        (letters, None)
    };
    let text = Block::Text(TextRun::of(node, letters).atoms, TextSide::Left);
    match frame {
        Some(frame) => Block::Framed(frame, vec![text]),
        None => text,
    }
}

fn list(node: Node, letters: Letters) -> Block {
    if class(node, "labels") {
        let label = |item: Node| {
            let mut lines = item.children().filter(Node::is_element).map(plain);
            let lines = [lines.next().unwrap_or_default(), lines.next().unwrap_or_default()];
            CutLabel { lines, link: item.attribute("data-link").map(str::to_string) }
        };
        return Block::Labels(node.children().filter(Node::is_element).map(label).collect());
    }
    let items = || node.children().filter(Node::is_element);
    if class(node, "codes") {
        return Block::Grid(items().map(|item| TextRun::of(item, letters).atoms).collect(), 42.0);
    }
    let ordered = node.has_tag_name("ol");
    let bare = class(node, "bare");
    let mark = |i: usize| match (bare, ordered) {
        (true, _) => String::new(),
        (false, true) => format!("{}.", i + 1),
        (false, false) => "•".to_string(),
    };
    let kept = class(node, "tree");
    let inside = |item: Node| {
        if bare {
            return vec![Block::Text(TextRun::whole(item, letters).atoms, TextSide::Left)];
        }
        let inside = blocks(item, letters);
        if kept { vec![Block::Together(inside)] } else { inside }
    };
    let list = Block::Items(items().enumerate().map(|(i, item)| (mark(i), inside(item))).collect());
    if class(node, "cautions") { Block::Framed(Frame::Cautions, vec![list]) } else { list }
}

fn definitions(node: Node, letters: Letters, out: &mut Vec<Block>) {
    let all = || {
        node.children().filter(Node::is_element).filter_map(|pair| {
            let mut sides = pair.children().filter(Node::is_element);
            Some([sides.next()?, sides.next()?])
        })
    };
    if class(node, "card") {
        let by_hand = |dd: Node| dd.parent().is_some_and(|pair| class(pair, "hand"));
        out.push(Block::Card(all().map(|[dt, dd]| (plain(dt), plain(dd), by_hand(dd))).collect()));
    } else if class(node, "answers") {
        let side = |node: Node, letters| TextRun::of(node, letters).atoms;
        out.push(Block::Pairs(all().map(|[dt, dd]| (side(dt, letters.bold()), side(dd, letters))).collect()));
    } else if class(node, "glossary") {
        for [dt, dd] in all() {
            let mut inside = vec![Block::Text(TextRun::of(dt, letters.bold()).atoms, TextSide::Left)];
            inside.extend(blocks(dd, letters));
            out.push(Block::Together(inside));
        }
    } else {
        let framed = class(node, "settings");
        let term = if framed { letters.coloured(SOFT_INK) } else { letters };
        let chip = |[dt, dd]: [Node; 2]| {
            let mut run = TextRun::of(dt, term);
            run.space();
            run.read(dd, letters.bold());
            run.atoms
        };
        out.push(Block::Chips(all().map(chip).collect(), framed));
    }
}

fn contents(node: Node) -> Block {
    let line = |item: Node| {
        let link = item.descendants().find(|n| n.has_tag_name("a"));
        ContentsLine {
            number: item.attribute("value").unwrap_or_default().to_string(),
            text: plain(item),
            leads_to: link.and_then(|a| a.attribute("href")).unwrap_or_default().trim_start_matches('#').to_string(),
        }
    };
    let group = |group: Node| {
        let title = group.descendants().find(|n| n.has_tag_name("h2")).map(plain).unwrap_or_default();
        let lines = group.descendants().filter(|n| n.has_tag_name("li")).map(line).collect();
        (title, lines)
    };
    Block::Contents(node.children().filter(Node::is_element).map(group).collect())
}

fn section(node: Node, letters: Letters, out: &mut Vec<Block>) {
    let in_main = node.parent().is_some_and(|parent| parent.has_tag_name("main"));
    if in_main && !class(node, "on") {
        out.push(Block::NewPage { lying: class(node, "lying") });
    }
    let inside = blocks(node, letters);
    if !in_main && !class(node, "long") {
        out.push(Block::Together(inside));
    } else {
        out.extend(inside);
    }
}

fn article(node: Node, letters: Letters, out: &mut Vec<Block>) {
    let before = node.prev_sibling_element();
    if class(node, "sheet") && before.is_some_and(|other| class(other, "sheet") && !class(other, "short")) {
        out.push(Block::NewPage { lying: false });
    }
    let letters = if class(node, "symptom") { letters.sized(CELL.size) } else { letters };
    let inside = blocks(node, letters);
    if class(node, "unit") && !class(node, "long") {
        out.push(Block::Together(inside));
    } else {
        out.extend(inside);
    }
}

fn division(node: Node, letters: Letters, out: &mut Vec<Block>) {
    if class(node, "band") {
        let stripe = |span: Node| {
            let style = span.attribute("style").unwrap_or_default();
            let share = style.split_once("width:").and_then(|(_, w)| w.trim_end_matches('%').parse::<f64>().ok());
            Some((*colours(style).first()?, share? / 100.0))
        };
        let stripes: Vec<(Rgb, f64)> = node.children().filter(Node::is_element).filter_map(stripe).collect();
        out.push(Block::Stripes(stripes));
    } else if class(node, "leaf") {
        let first = node.prev_sibling_element().is_none();
        let parent = node.parent().and_then(|parent| parent.attribute("id"));
        out.push(Block::Plate(parent.filter(|_| first).map(str::to_string)));
    } else if class(node, "trees") {
        out.push(Block::TwoColumns(blocks(node, letters)));
    } else if class(node, "unfit") {
        out.push(Block::Framed(Frame::Alert, blocks(node, letters)));
    } else {
        out.extend(blocks(node, letters));
    }
}

/// The text of an element, with single spaces.
fn plain(node: Node) -> String {
    TextRun::of(node, BODY).plain()
}
