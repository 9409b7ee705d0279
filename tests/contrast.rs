//! Contrast of everything in every drawing of the demonstration jobs, measured against what is behind it: W3C, Web Content
//! Accessibility Guidelines 2.2, level AA (success criteria 1.4.3 for text, 1.4.11 for lines and areas). And 1.4.1: no
//! wire is told by its colour alone.

mod jobs;

use jobs::demo;
use loomwright::draw::colour::{Colour, FAINT, LINE_CONTRAST, PAPER, TEXT_CONTRAST, TINT};
use loomwright::draw::scene::{Group, Item, Path, Rect, Scene};
use loomwright::draw::set::DRAWINGS;
use loomwright::states::{Live, Solved, Wiring, asked};

/// What has been painted so far, and what was too faint on it.
#[derive(Default)]
struct Eye {
    grounds: Vec<(Rect, Colour)>,
    faults: Vec<String>,
}

impl Eye {
    /// The colour behind an area: of the last one filled around it.
    fn behind(&self, area: &Rect) -> Colour {
        let around = self.grounds.iter().rev().find(|(ground, _)| ground.inflate(0.6).contains_rect(area));
        around.map_or(PAPER, |(_, colour)| *colour)
    }

    fn look(&mut self, items: &[Item]) {
        for item in items {
            match item {
                Item::Group(Group { items, .. }) => self.look(items),
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
        let needless = |colour: Colour| [FAINT, TINT, PAPER].contains(&colour);
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

fn assert_seen(name: &str, scenes: &[Scene]) {
    for scene in scenes {
        let mut eye = Eye::default();
        eye.look(&scene.items);
        eye.faults.dedup();
        assert!(eye.faults.is_empty(), "{name}, {}:\n{}", scene.title, eye.faults.join("\n"));
    }
}

#[test]
fn everything_drawn_stands_out_from_what_is_behind_it() {
    for name in ["first-harness", "orchard-sprayer-pickup"] {
        let model = demo(name);
        let solved = Solved::new(&model);
        for drawing in DRAWINGS {
            assert_seen(&format!("{name}, {}", drawing.name), &drawing.scenes(&solved));
        }
    }
}

#[test]
fn live_drawings_stand_out_too_and_tell_by_width_what_carries_current() {
    let model = demo("first-harness");
    let wiring = Wiring::new(&model);
    let live = Live::of(&wiring, &asked(&wiring, || unreachable!("nothing is remembered"), "key run").unwrap());
    for drawing in DRAWINGS {
        let Some(draw) = drawing.live else { continue };
        let scenes = draw(&model, &live);
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
            let lit = live.is_lit(wire);
            assert!(widths.iter().all(|w| (*w > 0.8) == lit), "{}: wire {}: {widths:?}", drawing.name, wire.0);
        }
    }
}
