//! Titles and names with hostile content.

use super::*;
use crate::folder::folder;
use model::Carried;

/// A model whose free texts are all hostile. Reordering marks can't come through a spec; they are put in here.
fn hostile() -> Model {
    let bad = "=cmd|'/C calc'!A0 <script>alert(1)</script> \"'&amp; ../../etc \u{202e}gpj";
    let text = SPREADER.replace("title: Towed spreader", "title: \"=1+1 <img src=x onerror=alert(1)> {{ 7 * 7 }}\"");
    let mut model = model(&text);
    model.job.note = Some(bad.to_string());
    for part in &mut model.parts {
        part.title = bad.to_string();
        part.note = Some(bad.to_string());
        part.order = part.order.as_ref().map(|_| bad.to_string());
    }
    for wire in &mut model.wires {
        wire.signal = Carried::Words(bad.to_string());
        wire.note = Some(bad.to_string());
    }
    for input in &mut model.inputs {
        input.title = bad.to_string();
    }
    for view in model.screens.iter_mut().flat_map(|screen| &mut screen.views) {
        view.text = bad.to_string();
    }
    for accepted in &mut model.accepted {
        accepted.because = bad.to_string();
    }
    model
}

#[test]
fn markup_stays_text() {
    let (_, documents) = written(&hostile());
    let page = text(&documents, "build-book.html");
    let tree = super::pages::parsed(&page);
    assert!(tree.descendants().all(|n| !["img", "b"].contains(&n.tag_name().name())));
    let plain = text(&super::spreader().1, "build-book.html");
    assert_eq!(super::pages::script(&tree), super::pages::script(&super::pages::parsed(&plain)), "words in the script");
    assert!(tree.descendants().flat_map(|n| n.attributes()).all(|a| !a.name().starts_with("on")));
    assert!(!page.contains('\u{202e}'), "no mark turns the reading direction");
    assert!(page.contains("{{ 7 * 7 }}"), "a title is no template");
    let style = tree.descendants().find(|n| n.has_tag_name("style")).and_then(|n| n.text()).unwrap();
    assert!(!style.contains("1+1"), "the title in the style sheet is escapes only");
    for document in documents.iter().filter(|d| d.name.ends_with(".svg")) {
        let svg = String::from_utf8(document.bytes.clone()).unwrap();
        let tree = roxmltree::Document::parse(&svg).unwrap();
        assert!(tree.descendants().all(|n| !["script", "img", "foreignObject"].contains(&n.tag_name().name())));
    }
}

#[test]
fn no_cell_of_any_list_starts_a_formula() {
    let (_, documents) = written(&hostile());
    let mut apostrophes = 0;
    for document in documents.iter().filter(|d| d.name.ends_with(".csv")) {
        let mut reader = csv::Reader::from_reader(&document.bytes[..]);
        for record in reader.records() {
            for cell in &record.unwrap() {
                assert!(!cell.trim_start().starts_with(['=', '+', '-', '@']), "{}: {cell}", document.name);
                apostrophes += usize::from(cell.starts_with("'="));
            }
        }
    }
    assert!(apostrophes > 100, "{apostrophes}");
}

#[test]
fn a_title_is_no_path() {
    for (title, name) in [
        ("../../etc/passwd", "etc-passwd"),
        ("/root", "root"),
        ("..\\..\\up", "up"),
        ("a/b", "a-b"),
        (".", "job"),
        ("\u{202e}txt.exe", "txt-exe"),
    ] {
        assert_eq!(folder(title), name);
    }
    for document in written(&hostile()).1 {
        let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '.';
        assert!(document.name.chars().all(plain) && !document.name.contains(".."), "{}", document.name);
    }
}
