//! Whatever a page holds, all of it is on paper, inside the margins, nothing on anything else.

use crate::{Plate, Setup, set};
use kit::pdf::Pages;
use kit::scene::{Item, Rect, Scene, Size, TextItem};
use proptest::prelude::*;

const A4: Size = Size::new(210.0, 297.0);

fn setup() -> Setup {
    Setup { title: "Book".into(), foot: "Job, revision B".into(), paper: A4 }
}

fn pages(body: &str) -> Pages {
    set(&format!("<html><body>{body}</body></html>"), &[], &setup()).unwrap()
}

fn texts(scene: &Scene) -> Vec<&TextItem> {
    let mut texts = Vec::new();
    scene.walk(|item| {
        if let Item::Text(text) = item {
            texts.push(text);
        }
    });
    texts
}

/// The letters of all pages without their feet, in the order in which they were set, spaces left out.
fn letters(pages: &Pages) -> String {
    let of = |scene: &Scene| {
        let all = texts(scene);
        let kept = all.len() - 2;
        all[..kept].iter().map(|text| text.text.replace(' ', "")).collect::<String>()
    };
    pages.scenes.iter().map(of).collect()
}

/// Texts beyond the margins, and texts on each other.
fn faults(pages: &Pages) -> Vec<String> {
    let mut found = Vec::new();
    for (number, scene) in pages.scenes.iter().enumerate() {
        let inside = scene.sheet().inflate(-8.0);
        let boxes: Vec<(&str, Rect)> =
            texts(scene).iter().map(|t| (t.text.as_str(), t.bounds().inflate(-0.15))).collect();
        for (i, (text, at)) in boxes.iter().enumerate() {
            if !inside.contains_rect(at) {
                found.push(format!("page {}: {text} at {at:?} is outside", number + 1));
            }
            let on = boxes[i + 1..].iter().find(|(_, other)| at.overlaps(other));
            found.extend(on.map(|(other, _)| format!("page {}: {text} {at:?} on {other}", number + 1)));
        }
    }
    found
}

#[test]
fn the_head_of_a_table_is_repeated_on_each_page() {
    let rows: String = (0..200).map(|i| format!("<tr><td>r{i}</td><td>text</td></tr>")).collect();
    let pages =
        pages(&format!("<table><thead><tr><th>Wire</th><th>Goes to</th></tr></thead><tbody>{rows}</tbody></table>"));
    assert!(pages.scenes.len() > 3);
    for scene in &pages.scenes {
        let heads: Vec<f64> = texts(scene).iter().filter(|t| t.text == "Wire").map(|t| t.at.y).collect();
        assert_eq!(heads.len(), 1);
        assert!(texts(scene).iter().all(|t| t.at.y >= heads[0]), "above the head of the table");
    }
    assert!(faults(&pages).is_empty(), "{:?}", faults(&pages));
}

#[test]
fn a_heading_stays_with_what_it_names() {
    for many in 30..75 {
        let lines = "<p>one</p>".repeat(many);
        let page = format!("{lines}<h3>Heading</h3><table><tr><td>first</td></tr><tr><td>second</td></tr></table>");
        let pages = pages(&page);
        let page_of = |word: &str| pages.scenes.iter().position(|s| texts(s).iter().any(|t| t.text == word)).unwrap();
        assert_eq!(page_of("Heading"), page_of("first"), "after {many} lines");
    }
}

#[test]
fn cells_over_several_rows_keep_their_columns() {
    let pages = pages(
        "<table><tr><th rowspan=\"3\">GND</th><td>1</td><td>BK</td></tr><tr><td>2</td><td>BN</td></tr><tr><td>3</td><td>BK</td></tr></table>",
    );
    let x = |word: &str| texts(&pages.scenes[0]).iter().find(|t| t.text == word).unwrap().at.x;
    assert!((x("1") - x("2")).abs() < 1e-9 && (x("2") - x("3")).abs() < 1e-9 && x("GND") < x("1"));
}

#[test]
fn contents_lead_to_their_pages() {
    let pages = pages(
        "<nav><div><h2>Plan</h2><ol><li value=\"7\"><a href=\"#late\">Late one</a></li></ol></div></nav>\
         <main><section><h2 id=\"late\">Late one</h2><article><h3>Below</h3></article></section></main>",
    );
    assert_eq!((pages.links[0].page, pages.links[0].to.page), (0, 1));
    let numbers: Vec<&str> = texts(&pages.scenes[0]).iter().map(|t| t.text.as_str()).collect();
    assert!(numbers.contains(&"7") && numbers.contains(&"2"), "{numbers:?}");
    assert_eq!((pages.outline[0].title.as_str(), pages.outline[0].under[0].title.as_str()), ("Late one", "Below"));
}

#[test]
fn a_drawing_stands_in_the_middle_of_its_own_page() {
    let mut scene = Scene::new(Size::new(100.0, 50.0), "Map", "");
    scene.push(TextItem::new(kit::scene::Point::new(0.0, 0.0), "corner", 3.0));
    let plates = [Plate { scene: &scene, page: Size::new(297.0, 210.0) }];
    let page = "<html><body><p>before</p><div id=\"map\"><div class=\"leaf\"><svg>x</svg></div></div><p>after</p></body></html>";
    let pages = set(page, &plates, &setup()).unwrap();
    assert_eq!(pages.scenes.iter().map(|s| s.size.width).collect::<Vec<_>>(), [210.0, 297.0, 210.0]);
    let at = texts(&pages.scenes[1])[0].at;
    assert_eq!((at.x, at.y), (98.5, 80.0));
}

#[test]
fn a_page_that_is_no_xhtml_is_refused() {
    assert!(set("<html><body><p>open</body></html>", &[], &setup()).is_err());
}

fn word() -> impl Strategy<Value = String> {
    prop_oneof![6 => "[a-zA-Z0-9.Ω-]{1,12}", 1 => "[a-z]{40,200}"]
}

fn words() -> impl Strategy<Value = String> {
    prop::collection::vec(word(), 1..12).prop_map(|words| words.join(" "))
}

fn inline() -> impl Strategy<Value = String> {
    let piece = (words(), 0..6_usize).prop_map(|(text, kind)| match kind {
        0 => format!("<span class=\"pin\">{text}</span>"),
        1 => format!("<span class=\"name\">{text}</span>"),
        2 => format!("{text}<br/>"),
        3 => format!("<span class=\"soft\">{text}</span>, "),
        _ => text,
    });
    prop::collection::vec(piece, 1..4).prop_map(|pieces| pieces.join(" "))
}

fn table() -> impl Strategy<Value = String> {
    let cell = (inline(), 0..4_usize).prop_map(|(text, kind)| match kind {
        0 => format!("<td class=\"figure\">{}</td>", &text[..text.find(' ').unwrap_or(0)].replace(['<', '>'], "")),
        1 => format!("<th>{text}</th>"),
        2 => format!("<td><ul><li>{text}</li></ul></td>"),
        _ => format!("<td>{text}</td>"),
    });
    let cell = cell.boxed();
    (1..7_usize).prop_flat_map(move |columns| {
        let row = prop::collection::vec(cell.clone(), columns).prop_map(|cells| format!("<tr>{}</tr>", cells.concat()));
        prop::collection::vec(row, 1..40).prop_map(|rows| format!("<table><tbody>{}</tbody></table>", rows.concat()))
    })
}

fn block() -> impl Strategy<Value = String> {
    prop_oneof![
        inline().prop_map(|text| format!("<p>{text}</p>")),
        inline().prop_map(|text| format!("<p class=\"trouble\">{text}</p>")),
        words().prop_map(|text| format!("<h3>{text}</h3>")),
        prop::collection::vec(inline(), 1..9).prop_map(|items| format!(
            "<ol>{}</ol>",
            items.iter().map(|i| format!("<li>{i}</li>")).collect::<String>()
        )),
        table(),
        table().prop_map(|table| format!("<article class=\"unit\">{table}</article>")),
        prop::collection::vec(inline(), 1..30).prop_map(|items| {
            let symptom = |text: &String| format!("<article class=\"symptom\"><p>{text}</p></article>");
            format!("<div class=\"trees\">{}</div>", items.iter().map(symptom).collect::<String>())
        }),
    ]
}

/// The words that a page shows, without spaces; marks of lists are the setter's own.
fn written(body: &str) -> String {
    let tree = roxmltree::Document::parse(body).unwrap();
    let mut text = String::new();
    for node in tree.descendants() {
        if node.has_tag_name("li") {
            let ordered = node.parent().is_some_and(|list| list.has_tag_name("ol"));
            let number = node.prev_siblings().filter(|n| n.has_tag_name("li")).count();
            text += &if ordered { format!("{number}.") } else { "•".to_string() };
        }
        text += node.text().filter(|_| node.is_text()).unwrap_or_default();
    }
    text.split_whitespace().collect()
}

/// The letters of a text, sorted: marks of lists stand behind their first line.
fn sorted(text: &str) -> Vec<char> {
    let mut letters: Vec<char> = text.chars().collect();
    letters.sort_unstable();
    letters
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn all_of_a_page_is_on_paper(blocks in prop::collection::vec(block(), 1..8)) {
        let body = format!("<section>{}</section>", blocks.concat());
        let pages = pages(&body);
        prop_assert_eq!(sorted(&letters(&pages)), sorted(&written(&body)));
        let faults = faults(&pages);
        prop_assert!(faults.is_empty(), "{:?}", &faults[..faults.len().min(5)]);
    }
}
