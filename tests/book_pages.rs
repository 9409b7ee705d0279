//! The build book as it comes out of a printer and on a phone: every word of its lists is printed whole, none on
//! another, and nothing lies beyond the edge of a narrow screen.

mod jobs;
mod judges;
mod paper;

use jobs::{job_of, specs_in};
use judges::{CHROMIUM, POPPLER, available};
use paper::{PrintedWord, print, shown, words};
use std::collections::BTreeSet;
use std::path::Path;

/// The width of a phone held upright, CSS pixels: a common one, no source.
const PHONE: u32 = 390;
/// How far two words may share room, points: boxes of letters lean a little on each other.
const SHARED: f64 = 0.5;

/// The books of all demos, as a page without its drawings, which other tests look at, and as PDF. The largest takes long unless built with
/// `--release`.
fn books() -> Vec<(String, String, Vec<u8>)> {
    let specs = specs_in(&["harness-specs"]);
    let kept = specs.iter().filter(|path| cfg!(not(debug_assertions)) || !path.ends_with("refuse-truck.yaml"));
    kept.map(|path| {
        let documents = job_of(path).documents(None).unwrap();
        let bytes = |name: &str| documents.iter().find(|document| document.name == name).unwrap().bytes.clone();
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        (name, without_drawings(&String::from_utf8(bytes("build-book.html")).unwrap()), bytes("build-book.pdf"))
    })
    .collect()
}

fn without_drawings(page: &str) -> String {
    let mut pieces = page.split("<svg ");
    let mut kept = pieces.next().unwrap_or_default().to_string();
    pieces.for_each(|piece| kept.push_str(piece.rsplit_once("</svg>").map_or("", |(_, after)| after)));
    kept
}

/// Where a line may break inside a word.
const BREAK: char = '\u{200b}';

/// The words of a page as written, with [`BREAK`] where the page allows one.
fn written(page: &str) -> BTreeSet<String> {
    let options = roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
    let tree = roxmltree::Document::parse_with_options(page, options).unwrap();
    let body = tree.descendants().find(|node| node.has_tag_name("body")).unwrap();
    let mut text = String::new();
    gather(body, &mut text);
    text.split_whitespace().map(|word| bare(word.trim_matches(BREAK))).filter(|word| !word.is_empty()).collect()
}

/// A word without what may stand apart behind it, where the type changes.
fn bare(word: &str) -> String {
    word.trim_end_matches([',', ';', ':']).to_lowercase()
}

fn gather(node: roxmltree::Node, text: &mut String) {
    const INLINE: [&str; 6] = ["span", "abbr", "code", "a", "b", "i"];
    let class = node.attribute("class").unwrap_or_default();
    if matches!(class, "hidden" | "skip") || ["figcaption", "script"].iter().any(|name| node.has_tag_name(*name)) {
        return;
    }
    if node.has_tag_name("wbr") {
        text.push(BREAK);
    }
    text.push_str(node.text().filter(|_| node.is_text()).unwrap_or_default());
    // The two lines of a label and the number of a heading are spans.
    let of_label = node.ancestors().nth(2).is_some_and(|list| list.attribute("class") == Some("labels"));
    let inline = INLINE.iter().any(|name| node.has_tag_name(*name)) && !of_label && class != "number";
    let apart = node.is_element() && !node.has_tag_name("wbr") && !inline;
    if apart {
        text.push(' ');
    }
    node.children().for_each(|child| gather(child, text));
    if apart {
        text.push(' ');
    }
}

/// What a browser may make of a word: its pieces between the places where a line may break, and every run of them.
fn pieces(word: &str) -> Vec<String> {
    let cut: Vec<&str> = word.split_inclusive([BREAK, '-', '–', '/', '?']).collect();
    let runs = (0..cut.len()).flat_map(|from| (from + 1..=cut.len()).map(move |to| (from, to)));
    runs.map(|(from, to)| cut[from..to].concat().replace(BREAK, "")).filter(|piece| !piece.is_empty()).collect()
}

/// The page as a browser prints it.
fn by_a_browser(page: &str) -> Vec<Vec<PrintedWord>> {
    let folder = tempfile::tempdir().unwrap();
    let [html, pdf] = ["book.html", "book.pdf"].map(|name| folder.path().join(name));
    std::fs::write(&html, page).unwrap();
    print(&html, &pdf);
    words(&pdf)
}

/// The pages of text of the program's own PDF: those of drawings have no page number at the foot.
fn pages_of_text(pdf: &[u8]) -> Vec<Vec<PrintedWord>> {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("book.pdf");
    std::fs::write(&file, pdf).unwrap();
    let all = words(&file);
    let count = all.len().to_string();
    let numbered = |(i, words): (usize, Vec<PrintedWord>)| {
        let own = ["page".to_string(), (i + 1).to_string(), "of".to_string(), count.clone()];
        let ends = words.len() >= own.len() && words[words.len() - own.len()..].iter().map(|w| &w.text).eq(own.iter());
        ends.then(|| words.into_iter().collect())
    };
    all.into_iter().enumerate().filter_map(numbered).collect()
}

/// Words of the print that no list has, words of the lists that the print has not whole, and words on words.
fn faults(page: &str, printed: &[Vec<PrintedWord>]) -> Vec<String> {
    let written = written(page);
    let have: BTreeSet<String> = printed.iter().flatten().map(|word| bare(&word.text)).collect();
    let known: BTreeSet<String> = written.iter().flat_map(|word| pieces(word)).collect();
    // Numbers of lists and pages, marks of cautions, and the line at the foot come from the style sheet.
    let foot = page.split_once("@bottom-left { content: \"").and_then(|(_, rest)| rest.split_once('"'));
    let foot = foot.map_or(String::new(), |(foot, _)| foot.replace("\\2c ", ",").replace("\\20 ", " ").to_lowercase());
    let styled = |word: &str| {
        word.trim_end_matches('.').parse::<u32>().is_ok()
            || ["!", "•", "page", "of"].contains(&word)
            || foot.split(' ').any(|own| bare(own) == word)
    };
    let strange = have.iter().filter(|word| !known.contains(*word) && !styled(word) && !word.is_empty());
    let mut found: Vec<String> = strange.map(|word| format!("printed, but in no list: {word}")).collect();
    let whole = |word: &str| {
        let cut: Vec<&str> = word.split_inclusive([BREAK, '-', '–', '/', '?']).collect();
        let mut reached = BTreeSet::from([0]);
        for from in 0..cut.len() {
            for to in from + 1..=cut.len() {
                let piece = cut[from..to].concat().replace(BREAK, "");
                if reached.contains(&from) && (piece.is_empty() || have.contains(&piece)) {
                    reached.insert(to);
                }
            }
        }
        reached.contains(&cut.len())
    };
    found.extend(written.iter().filter(|word| !whole(word)).map(|word| format!("not printed whole: {word}")));
    found.extend(printed.iter().enumerate().flat_map(|(page, words)| overprints(page + 1, words)));
    found
}

fn overprints(page: usize, words: &[PrintedWord]) -> Vec<String> {
    let mut found = Vec::new();
    for (i, a) in words.iter().enumerate() {
        for b in &words[i + 1..] {
            let [across, down] = [0, 1].map(|axis| a.to[axis].min(b.to[axis]) - a.from[axis].max(b.from[axis]));
            if across > SHARED && down > (a.to[1] - a.from[1]).min(b.to[1] - b.from[1]) / 2.0 {
                found.push(format!("page {page}: {} on {}", a.text, b.text));
            }
        }
    }
    found
}

#[test]
fn every_word_of_the_lists_is_printed_whole_and_none_on_another() {
    if !available(&[CHROMIUM, POPPLER]) {
        return;
    }
    for (name, page, pdf) in books() {
        let prints = [("by a browser", by_a_browser(&page)), ("as PDF", pages_of_text(&pdf))];
        for (print, printed) in prints {
            let found = faults(&page, &printed);
            assert!(found.is_empty(), "{name} {print}: {} faults\n{}", found.len(), found.join("\n"));
        }
    }
}

/// The measuring itself: words that run into the next cell, that are cut off, and that break where none may.
#[test]
fn words_that_are_not_printed_whole_are_found() {
    if !available(&[CHROMIUM, POPPLER]) {
        return;
    }
    let page = |cell: &str| {
        format!(
            "<html><head><style>table {{ table-layout: fixed; width: 60mm; border-collapse: collapse; }} td {{ padding: 0; {cell} }}</style></head>\
             <body><table><tr><td>in the vehicle and beyond</td><td>0.75 mm²</td><td>Read</td></tr></table></body></html>"
        )
    };
    let faults = |cell: &str| faults(&page(cell), &by_a_browser(&page(cell)));
    assert!(faults("").is_empty(), "{:?}", faults(""));
    for bad in [
        "white-space: nowrap;",
        "white-space: nowrap; overflow: hidden; text-overflow: ellipsis;",
        "overflow-wrap: anywhere; font-size: 30mm;",
    ] {
        assert!(!faults(bad).is_empty(), "{bad}");
    }
}

/// The elements that lie beyond the right edge of a phone's screen, and how many rows of tables are cards.
fn on_a_phone(page: &str) -> (Vec<String>, usize) {
    let folder = tempfile::tempdir().unwrap();
    let outer = folder.path().join("phone.html");
    let inner = kit::xml::escape(page).replace('\n', "&#10;");
    let script = format!(
        "window.onload = function () {{ var d = document.querySelector('iframe').contentDocument, off = [], cards = 0;\
         d.querySelectorAll('body *').forEach(function (e) {{ var r = e.getBoundingClientRect();\
         if (e.tagName === 'TR' && d.defaultView.getComputedStyle(e).display === 'flex') cards++;\
         if (!e.closest('thead, .hidden, .skip') && r.width > 1 && r.right > {PHONE}.5)\
         off.push(e.tagName + ' ' + e.textContent.trim().slice(0, 40));\
         if (e.dataset.label && !e.closest('thead') && e.clientHeight > 1 && e.scrollHeight > e.clientHeight + 1)\
         off.push('label ' + e.dataset.label + ' ' + e.textContent.trim().slice(0, 40)); }});\
         document.body.textContent = 'CARDS ' + cards + ' OFF ' + off.join(' | '); }};"
    );
    let wrapped = format!(
        "<!DOCTYPE html><html><body><iframe style=\"width: {PHONE}px; height: 800px; border: 0\" srcdoc=\"{inner}\"></iframe>\
         <script>{script}</script></body></html>"
    );
    std::fs::write(&outer, wrapped).unwrap();
    let dom = shown(Path::new(&outer));
    let (_, said) = dom.split_once("CARDS ").expect("the page was measured");
    let (cards, off) = said.split_once(" OFF ").unwrap();
    let off = off.split("</body>").next().unwrap_or_default().trim();
    let off = off.split(" | ").filter(|one| !one.is_empty()).map(str::to_string).collect();
    (off, cards.parse().unwrap())
}

#[test]
fn nothing_lies_beyond_the_edge_of_a_phone() {
    if !available(&[CHROMIUM]) {
        return;
    }
    for (name, page, _) in books() {
        let (off, cards) = on_a_phone(&page);
        assert!(off.is_empty(), "{name}: {}", off.join("\n"));
        assert!(cards > 50, "{name}: {cards} rows are cards");
    }
    let wide = "<html><body><p style=\"width: 500px\">wide</p></body></html>";
    assert_eq!(on_a_phone(wide).0.len(), 1, "what is too wide is found");
    let tall = "<html><body><p data-label=\"x\" style=\"position: relative; height: 9px; overflow: hidden\">\
                <span style=\"position: absolute; height: 30px\">tall</span></p></body></html>";
    assert_eq!(on_a_phone(tall).0.len(), 1, "what is taller than its cell is found");
}
