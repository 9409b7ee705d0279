//! The build book, and the drawings and data beside it.

use super::*;

/// The page is written so that an XML parser reads it too: every element closes, every attribute is quoted.
pub(super) fn parsed(page: &str) -> roxmltree::Document<'_> {
    let options = roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
    roxmltree::Document::parse_with_options(page, options).unwrap()
}

/// Paper and screen have the same colours.
#[test]
fn the_style_sheet_has_the_colours_of_the_printed_book() {
    let (_, documents) = spreader();
    let page = text(documents, "build-book.html");
    for (name, colour) in typeset::PAGE_COLOURS {
        let (_, value) = page.split_once(&format!("--{name}: ")).unwrap_or_else(|| panic!("--{name}"));
        assert!(value.starts_with(&format!("{};", colour.css())), "--{name}: {}", &value[..8]);
    }
}

#[test]
fn a_page_needs_nothing_outside_and_runs_nothing() {
    let (_, documents) = spreader();
    let page = text(documents, "build-book.html");
    let tree = parsed(&page);
    let ids: Vec<&str> = tree.descendants().filter_map(|n| n.attribute("id")).collect();
    let mut once = ids.clone();
    once.sort_unstable();
    once.dedup();
    assert_eq!(once.len(), ids.len(), "an id appears twice");
    for node in tree.descendants().filter(|n| n.is_element()) {
        let name = node.tag_name().name();
        if name == "script" {
            let is_data = node.attribute("type") == Some("application/json");
            assert_eq!(node.attributes().count(), if is_data { 2 } else { 0 }, "a script from elsewhere");
        }
        assert!(!["link", "img", "iframe", "object", "base", "form"].contains(&name), "{name}");
        for attribute in node.attributes() {
            assert!(!attribute.name().starts_with("on"), "{}", attribute.name());
            if ["href", "src"].contains(&attribute.name()) {
                let id = attribute.value().strip_prefix('#').expect("links stay in the page");
                assert!(ids.contains(&id), "#{id} leads nowhere");
            }
            if attribute.name() == "aria-labelledby" {
                assert!(attribute.value().split(' ').all(|id| ids.contains(&id)), "{}", attribute.value());
            }
        }
    }
    let written = script(&tree);
    for risky in [
        "innerHTML",
        "outerHTML",
        "insertAdjacent",
        "document.write",
        "eval",
        "Function(",
        "fetch",
        "XMLHttp",
        "http",
        "import",
    ] {
        assert!(!written.contains(risky), "the script uses {risky}");
    }
    let style = tree.descendants().find(|n| n.has_tag_name("style")).and_then(|n| n.text()).unwrap();
    assert!(!style.replace("url(data:font/woff;base64,", "").contains("url(") && !style.contains("@import"));
}

/// The documents hold the drawings that the list of drawings puts in the book, and no others.
#[test]
fn the_book_holds_the_drawings_of_the_list() {
    let (_, documents) = spreader();
    let has = |name: &str| documents.iter().any(|d| [format!("{name}.svg"), format!("{name}-1.svg")].contains(&d.name));
    assert!(model(SPREADER).drives.is_empty(), "without drives there are no timing charts");
    for drawing in draw::list::DRAWINGS {
        assert_eq!(has(drawing.name), drawing.in_book && drawing.name != "timing-charts", "{}", drawing.name);
    }
    for svg in documents.iter().filter_map(|d| d.name.strip_suffix(".svg")) {
        let name = svg.trim_end_matches(|c: char| c.is_ascii_digit()).trim_end_matches('-');
        assert!(draw::list::named(name).is_some(), "{svg}.svg is not of the list");
    }
}

#[test]
fn a_page_can_be_read_without_eyes() {
    let (_, documents) = spreader();
    let page = text(documents, "build-book.html");
    let tree = parsed(&page);
    assert_eq!(tree.root_element().attribute("lang"), Some("en"));
    let html = |n: &roxmltree::Node| n.is_element() && n.tag_name().namespace().is_none();
    for node in tree.descendants().filter(html) {
        match node.tag_name().name() {
            "input" => assert!(node.attribute("aria-label").is_some_and(|label| !label.is_empty())),
            "th" => assert!(node.attribute("scope").is_some(), "a heading cell without scope"),
            "table" => {
                let region = node.parent().unwrap();
                assert!(region.attribute("aria-label").is_some() && region.attribute("tabindex") == Some("0"));
            }
            _ => {}
        }
    }
    // Headings go down one level at a time.
    let level = |n: roxmltree::Node| match n.tag_name().name() {
        "h1" => Some(1),
        "h2" => Some(2),
        "h3" => Some(3),
        "h4" => Some(4),
        _ => None,
    };
    let levels: Vec<i32> = tree.descendants().filter(html).filter_map(level).collect();
    assert!(levels.iter().filter(|l| **l == 1).count() == 1 && levels[0] == 1);
    assert!(levels.windows(2).all(|pair| pair[1] <= pair[0] + 1));
}

/// The text of the page's only script.
pub fn script<'t>(tree: &'t roxmltree::Document) -> &'t str {
    let scripts: Vec<_> =
        tree.descendants().filter(|n| n.has_tag_name("script") && n.attribute("type").is_none()).collect();
    assert_eq!(scripts.len(), 1);
    scripts[0].text().unwrap()
}

/// What the words of the page are, cell by cell; the drawings are looked at elsewhere.
#[test]
fn the_words_of_a_small_book() {
    let (_, documents) = spreader();
    let page = text(documents, "build-book.html");
    let tree = parsed(&page);
    let mut words = String::new();
    say(tree.root_element(), &mut words);
    let lines: Vec<String> = words.lines().map(|l| l.split_whitespace().collect::<Vec<_>>().join(" ")).collect();
    let lines: Vec<&str> = lines.iter().map(String::as_str).filter(|l| !l.is_empty()).collect();
    insta::assert_snapshot!(lines.join("\n"));
}

fn say(node: roxmltree::Node, words: &mut String) {
    match node.tag_name().name() {
        // Drawings have tests of their own.
        "style" | "script" | "figure" => {}
        "input" => words.push('☐'),
        name => {
            node.text()
                .filter(|_| node.is_text())
                .into_iter()
                .for_each(|text| words.push_str(&text.replace('\n', " ")));
            node.children().for_each(|child| say(child, words));
            match name {
                "td" | "th" => words.push_str(" | "),
                "tr" | "h1" | "h2" | "h3" | "h4" | "p" | "li" | "div" => words.push('\n'),
                "br" | "dt" => words.push_str(" / "),
                _ => {}
            }
        }
    }
}

#[test]
fn the_same_spec_gives_the_same_bytes() {
    assert!(spreader().1 == written(&model(SPREADER)).1);
}

#[test]
fn the_job_as_json_is_whole_and_versioned() {
    let (book, documents) = spreader();
    let json: serde_json::Value = serde_json::from_str(&text(documents, "job.json")).unwrap();
    assert_eq!(json["version"], super::super::JOB_VERSION);
    assert_eq!(json["wires"].as_array().unwrap().len(), book.wires.len());
    assert_eq!(json["wires"][3]["cut"], "430 mm");
    let keys: Vec<&String> = json.as_object().unwrap().keys().collect();
    insta::assert_debug_snapshot!(keys);
}

#[test]
fn errors_are_reported_on_the_first_page_and_accepted_ones_with_their_reason() {
    let (book, documents) = spreader();
    assert_eq!(book.findings.errors, 0);
    let page = text(documents, "build-book.html");
    assert!(!page.contains("Not fit to build"));
    assert!(page.contains("it gives &lt;b&gt;3 A&lt;/b&gt;"));
    let (book, documents) = written(&model(&SPREADER.replace("  - {finding: load/output", "  # {")));
    assert_eq!(book.findings.errors, 1);
    assert!(text(&documents, "build-book.html").contains("Not fit to build as it stands: 1 error."));
}

/// A page for the bench says what to do; how far a source was checked is on the page of sources.
#[test]
fn no_printed_page_cites_from_memory() {
    let (_, documents) = spreader();
    let said = documents.iter().filter(|document| String::from_utf8_lossy(&document.bytes).contains("from memory"));
    assert_eq!(said.map(|document| document.name.as_str()).collect::<Vec<_>>(), [""; 0]);
}
