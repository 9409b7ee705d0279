//! Contrast of everything in every drawing and every build book of the demonstration jobs, measured against what is behind it: W3C, Web Content
//! Accessibility Guidelines 2.2, level AA (success criteria 1.4.3 for text, 1.4.11 for lines and areas). And 1.4.1: no
//! wire is identified by its colour alone.

mod jobs;
mod judges;
mod paper;

use draw::list::DRAWINGS;
use jobs::{demo, job_of, specs_in};
use judges::{CHROMIUM, available};
use kit::colour::{FAINT, LINE_CONTRAST, PAPER, Rgb, TEXT_CONTRAST, TINT};
use kit::scene::{Item, ItemGroup, Path, Point, Rect, Scene, Size, Stroke, Tag, TextItem};

/// What has been painted so far, and what was too faint on it.
#[derive(Default)]
struct Eye {
    grounds: Vec<(Rect, Rgb)>,
    faults: Vec<String>,
}

impl Eye {
    /// The colour behind an area: of the last one filled around it.
    fn behind(&self, area: &Rect) -> Rgb {
        let around = self.grounds.iter().rev().find(|(ground, _)| ground.inflate(0.6).contains_rect(area));
        around.map_or(PAPER, |(_, colour)| *colour)
    }

    fn look(&mut self, items: &[Item]) {
        for item in items {
            match item {
                Item::Group(ItemGroup { items, .. }) => self.look(items),
                Item::Text(text) => {
                    let ground = text.halo.unwrap_or_else(|| self.behind(&text.bounds()));
                    let contrast = text.colour.contrast(ground);
                    if contrast < TEXT_CONTRAST {
                        self.faults.push(format!("text `{}`: {contrast:.2} on {}", text.text, ground.css()));
                    }
                }
                Item::Path(path) => self.path(path, items),
            }
        }
    }

    fn path(&mut self, path: &Path, beside: &[Item]) {
        let Some(bounds) = path.bounds() else { return };
        let ground = self.behind(&bounds);
        // What only guides the eye need not be seen: what it says is written as well.
        let needless = |colour: Rgb| [FAINT, TINT, PAPER].contains(&colour);
        if let Some(stroke) = path.stroke {
            // A light colour counts by the darker, wider line under it: its edge.
            let edged = |item: &Item| match item {
                Item::Path(Path { segs, stroke: Some(edge), .. }) => {
                    *segs == path.segs && edge.width > stroke.width && edge.colour.contrast(ground) >= LINE_CONTRAST
                }
                _ => false,
            };
            let contrast = stroke.colour.contrast(ground);
            if contrast < LINE_CONTRAST && stroke.colour != FAINT && !beside.iter().any(edged) {
                self.faults.push(format!("line {}: {contrast:.2} on {}", stroke.colour.css(), ground.css()));
            }
        }
        if let Some(fill) = path.fill {
            let contrast = fill.contrast(ground);
            let edged = path.stroke.is_some_and(|s| s.colour.contrast(ground) >= LINE_CONTRAST);
            // A colour inside of something outlined counts by that outline.
            let inside = beside.iter().any(|item| match item {
                Item::Path(Path { stroke: Some(edge), .. }) => {
                    edge.colour.contrast(PAPER) >= LINE_CONTRAST
                        && item.bounds().is_some_and(|r| r.inflate(0.3).contains_rect(&bounds))
                }
                _ => false,
            });
            if contrast < LINE_CONTRAST && !needless(fill) && !edged && !inside {
                self.faults.push(format!("area {}: {contrast:.2} on {}", fill.css(), ground.css()));
            }
            self.grounds.push((bounds, fill));
        }
    }
}

/// What is too faint in a drawing.
fn faults(scene: &Scene) -> Vec<String> {
    let mut eye = Eye::default();
    eye.look(&scene.items);
    eye.faults.dedup();
    eye.faults
}

fn assert_seen(name: &str, scenes: &[Scene]) {
    for scene in scenes {
        let faults = faults(scene);
        assert!(faults.is_empty(), "{name}, {}:\n{}", scene.title, faults.join("\n"));
    }
}

/// The eye itself: what is too faint is seen, what is just strong enough is not.
#[test]
fn what_is_too_faint_is_found() {
    let found = |items: Vec<Item>| {
        let mut scene = Scene::new(Size::new(100.0, 60.0), "", "");
        scene.items = items;
        faults(&scene).len()
    };
    let text = |colour: u32| Item::from(TextItem::new(Point::new(20.0, 20.0), "K1", 3.0).coloured(Rgb::hex(colour)));
    let line = |colour: u32| {
        let path = Path::line(Point::new(5.0, 40.0), Point::new(50.0, 40.0));
        Item::from(path.stroked(Stroke::solid(Rgb::hex(colour), 0.5)))
    };
    let box_of = |colour: u32| {
        let path = Path::rect(&Rect::sized(Point::new(10.0, 10.0), Size::new(40.0, 40.0)));
        Item::from(path.filled(Rgb::hex(colour)))
    };
    // The lightest grey that passes on white and the next one (WebAIM's published pair, 4.54:1 and 4.48:1).
    assert_eq!((found(vec![text(0x76_76_76)]), found(vec![text(0x77_77_77)])), (0, 1));
    // 3:1 for lines: #949494 is 3.03:1 on white, #959595 2.99:1 (by the same formula).
    assert_eq!((found(vec![line(0x94_94_94)]), found(vec![line(0x95_95_95)])), (0, 1));
    // Dark letters on paper are fine, on a dark box they are not; groups hide nothing.
    assert_eq!((found(vec![text(0x1b_1f_24)]), found(vec![box_of(0x23_26_2a), text(0x1b_1f_24)])), (0, 1));
    assert_eq!(
        found(vec![ItemGroup::of(Tag::label("x"), [ItemGroup::of(Tag::part("y"), [text(0xaa_aa_aa)])]).into()]),
        1
    );
    assert_eq!(found(vec![box_of(0xf4_d0_3f)]), 1);
}

#[test]
fn everything_drawn_stands_out_from_what_is_behind_it() {
    std::thread::scope(|scope| {
        for path in specs_in(&["harness-specs"]) {
            scope.spawn(move || {
                let (name, job) = (path.file_stem().unwrap().to_string_lossy(), job_of(&path));
                for drawing in DRAWINGS {
                    assert_seen(&format!("{name}, {}", drawing.name), &job.drawing(drawing).unwrap());
                }
            });
        }
    });
}

/// Each demo with all of its inputs away from rest, one at a time; unless built with --release only with the first two.
#[test]
fn live_drawings_of_the_demos_stand_out_too() {
    for path in specs_in(&["harness-specs"]) {
        let (name, job) = (path.file_stem().unwrap().to_string_lossy(), job_of(&path));
        let model = job.model().unwrap();
        let few = if cfg!(debug_assertions) { 2 } else { model.inputs.len() };
        for input in model.inputs.iter().take(few) {
            let live = job.live(input.name.as_str()).unwrap();
            for drawing in DRAWINGS {
                if let Some(draw) = drawing.live {
                    assert_seen(
                        &format!("{name} in state {}, {}", live.state, drawing.name),
                        &draw(model, &live, kit::sheet::Papers::Iso),
                    );
                }
            }
        }
    }
}

/// Looks at every text of a page as the browser shows it, against the nearest background that is not see-through, and
/// writes down what is too faint: 4.5 to 1, or 3 to 1 for large text (24 px, or 18.66 px in bold).
const LOOK: &str = r#"<pre id="seen"></pre><script>
const parts = c => c.match(/[\d.]+/g).map(Number);
const lum = c => { const [r, g, b] = parts(c).slice(0, 3).map(v => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
  return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
const ground = e => { for (; e; e = e.parentElement) { const c = getComputedStyle(e).backgroundColor, p = parts(c);
  if (p.length < 4 || p[3] > 0) return c; } return "rgb(255, 255, 255)"; };
const faults = new Set(); let count = 0;
const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
while (walk.nextNode()) { const e = walk.currentNode.parentElement;
  if (!walk.currentNode.data.trim() || e.closest("svg, script, pre")) continue;
  const s = getComputedStyle(e), size = parseFloat(s.fontSize), large = size >= 24 || (size >= 18.66 && s.fontWeight >= 700);
  const [a, b] = [lum(s.color), lum(ground(e))], contrast = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
  count += 1; if (contrast < (large ? 3 : 4.5)) faults.add(e.tagName + "." + e.className + " " + contrast.toFixed(2)); }
document.getElementById("seen").textContent = "looked at " + count + ": " + [...faults].join("; ");
</script></body>"#;

/// How many texts a page has, and what is too faint.
fn seen(page: &str) -> (usize, String) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("page.html");
    // The drawings are looked at elsewhere.
    let mut text = String::new();
    for (i, piece) in page.split("<svg ").enumerate() {
        text.push_str(if i == 0 { piece } else { piece.split_once("</svg>").map_or("", |(_, rest)| rest) });
    }
    std::fs::write(&file, text.replace("</body>", LOOK)).unwrap();
    let shown = paper::shown(&file);
    let (_, reported) = shown.split_once("looked at ").expect("the page was looked at");
    let (count, faults) = reported.split_once("</pre>").unwrap().0.split_once(": ").unwrap();
    (count.parse().unwrap(), faults.to_string())
}

#[test]
fn every_text_of_the_build_books_stands_out() {
    if !available(&[CHROMIUM]) {
        return;
    }
    for path in specs_in(&["harness-specs"]) {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let book = path.parent().unwrap().parent().unwrap().join("demo-builds").join(&name).join("build-book.html");
        let (count, faults) = seen(&std::fs::read_to_string(book).unwrap());
        assert!(count > 200 && faults.is_empty(), "{name}: {count} texts, {faults}");
    }
    // And the look itself.
    let page = |colour: &str| format!("<html><body><p class='pale' style='color: {colour}'>x</p></body></html>");
    assert_eq!(seen(&page("#767676")), (1, String::new()));
    assert_eq!(seen(&page("#777777")), (1, "P.pale 4.48".to_string()));
    let on_dark = "<html><body><div style='background: #23262a'><p>x</p></div></body></html>";
    assert!(!seen(on_dark).1.is_empty());
}

/// On a device that is set to dark colours.
#[test]
fn every_text_of_a_dark_build_book_stands_out() {
    if !available(&[CHROMIUM]) {
        return;
    }
    let asks = "@media screen and (prefers-color-scheme: dark)";
    for name in ["first-harness", "wheelchair-van"] {
        let documents = demo(name).documents(None).unwrap();
        let book = documents.into_iter().find(|document| document.name == "build-book.html").unwrap();
        let page = String::from_utf8(book.bytes).unwrap();
        assert!(page.contains(asks));
        let (count, faults) = seen(&page.replace(asks, "@media screen"));
        assert!(count > 200 && faults.is_empty(), "{name}: {count} texts, {faults}");
    }
}

#[test]
fn live_drawings_stand_out_too_and_tell_by_width_what_carries_current() {
    let job = demo("first-harness");
    let (model, live) = (job.model().unwrap(), job.live("key run").unwrap());
    for drawing in DRAWINGS {
        let Some(draw) = drawing.live else { continue };
        let scenes = draw(model, &live, kit::sheet::Papers::Iso);
        assert_seen(drawing.name, &scenes);
        for wire in model.wire_ids() {
            let mut widths = Vec::new();
            for scene in &scenes {
                scene.walk(|item| {
                    if let Item::Group(group) = item
                        && group.tag.wire.as_deref() == Some(model.wire(wire).id.as_str())
                    {
                        let paths = group.items.iter().filter_map(|item| match item {
                            Item::Path(path) => path.stroke.map(|stroke| stroke.width),
                            _ => None,
                        });
                        widths.extend(paths.reduce(f64::max));
                    }
                });
            }
            assert!(!widths.is_empty());
            let lit = live.liveness(wire) == states::Liveness::Load;
            assert!(widths.iter().all(|w| (*w > 0.8) == lit), "{}: wire {}: {widths:?}", drawing.name, wire.0);
        }
    }
}
