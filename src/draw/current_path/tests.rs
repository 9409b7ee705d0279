//! What the paths must hold, on every demo and on made-up harnesses.

mod symbols;

use super::forest::Target;
use super::pieces::Shape;
use super::placed::{Flag, Joined, Level, Placed};
use super::{column_widths, fitted, pieces, sheets};
use crate::{good, made_up};
use kit::colour::INK;
use kit::scene::{Item, LabelOf, Path};
use kit::sheet::Paper;
use kit::svg;
use model::{Domain, Family, Model, PartKind, PinId};
use std::collections::BTreeSet;

/// Depths of the paths, millimetres: of an A4 and an A3 sheet, and of one as large as it takes.
const DEPTHS: [f64; 3] = [120.0, 190.0, 400.0];

/// What is wrong with the references, a line each.
fn faults(model: &Model, placed: &Placed) -> Vec<String> {
    let mut faults = Vec::new();
    let words =
        |flag: &Flag| format!("{} at {}, column {}", labels(model, flag), model.pin_name(flag.pin), flag.column);
    for flag in &placed.flags {
        let (others, column) = (placed.counterparts(flag).count(), placed.points_to(flag));
        // A part's pin in a box stands there itself: the flag may lead to the box.
        let to_box = matches!(flag.target, Target::Piece(piece, _) if placed.column_of(piece).is_some());
        if others != 1 && !(others == 0 && to_box) {
            faults.push(format!("{} has {others} returns", words(flag)));
        }
        if column.is_none() {
            faults.push(format!("{} leads nowhere", words(flag)));
        }
    }
    for part in model.parts.iter().filter(|part| part.kind == PartKind::Splice) {
        for &pin in &part.pins {
            let wires: BTreeSet<usize> = model.wires_on(pin).map(|wire| wire.0).collect();
            let nodes: Vec<_> = placed.across.iter().filter(|across| across.bar && across.pin == pin).collect();
            // The only wire of a splice ends open.
            if wires.len() < 2 {
                continue;
            }
            if nodes.len() != 1 {
                faults.push(format!("{} has {} nodes", model.pin_name(pin), nodes.len()));
                continue;
            }
            let shown = wires_at(placed, pin, &nodes[0].dots, nodes[0].from);
            if shown != wires {
                faults.push(format!("{} shows wires {shown:?} of {wires:?}", model.pin_name(pin)));
            }
        }
    }
    faults
}

fn labels(model: &Model, flag: &Flag) -> String {
    let wire = flag.wire.map_or("lead".to_string(), |wire| format!("wire {}", model.wire(wire).id));
    format!("{} flag of {wire}", if flag.incoming { "incoming" } else { "outgoing" })
}

/// The wires drawn at a node: those that end in its columns, whole or as the stub of a flag.
fn wires_at(placed: &Placed, pin: PinId, dots: &[usize], first: usize) -> BTreeSet<usize> {
    let here = |column: usize| column == first || dots.contains(&column);
    let whole = placed.falls.iter().filter(|fall| here(fall.column)).filter_map(|fall| fall.wire);
    let whole = whole.filter(|(_, upper, lower)| *upper == pin || *lower == pin).map(|(wire, ..)| wire.0);
    let flags = placed.flags.iter().filter(|flag| flag.incoming && flag.pin == pin && here(flag.column));
    let joined =
        placed.joined.iter().filter(|joined| here(joined.columns[1]) && pin_below(placed, joined) == Some(pin));
    let stubs = flags.filter_map(|flag| flag.wire).chain(joined.filter_map(|joined| joined.wire));
    whole.chain(stubs.map(|wire| wire.0)).collect()
}

/// The pin at the lower end of a line: of a wire, a box, a bar, a symbol or a connector below it.
fn pin_below(placed: &Placed, joined: &Joined) -> Option<PinId> {
    let (column, y) = (joined.columns[1], joined.levels[2]);
    let starts = |level: Level| level == Level::At(y);
    let wires = placed.falls.iter().filter(|fall| fall.column == column && starts(fall.from));
    let of_wire = wires.filter_map(|fall| fall.wire).map(|(_, upper, _)| upper);
    let boxes = placed.blocks.iter().filter(|block| block.y == y).flat_map(|block| &block.uppers);
    let of_box = boxes.filter(|(_, own)| *own == column).map(|(pin, _)| *pin);
    let bars = placed.across.iter().filter(|bar| bar.bar && bar.y == y && bar.dots.contains(&column));
    let of_stand = placed.stands.iter().filter(|stand| stand.column == column && stand.y == y).map(|stand| stand.upper);
    let side = placed.across.iter().filter(|lead| !lead.bar && lead.y == y && lead.to == column).map(|lead| lead.pin);
    let crossed = placed.crossings.iter().filter(|crossing| crossing.column == column && crossing.y == y);
    let crossed = crossed.map(|crossing| crossing.upper);
    of_box.chain(crossed).chain(bars.map(|bar| bar.pin)).chain(of_stand).chain(side).chain(of_wire).next()
}

fn assert_right(name: &str, model: &Model) {
    let pieces = pieces::pieces(model);
    for depth in DEPTHS {
        let faults = faults(model, &fitted(model, &pieces, depth, f64::INFINITY));
        assert!(faults.is_empty(), "{name}, {depth} mm:\n{}", faults.join("\n"));
    }
}

#[test]
fn every_flag_has_its_return_and_every_splice_all_its_wires() {
    for name in sample::DEMOS {
        assert_right(name, &sample::demo(name));
    }
    let count = if cfg!(debug_assertions) { 20 } else { 100 };
    for seed in 0..count {
        for text in [good::spec(seed), made_up::spec(seed, 20 + seed as usize)] {
            let model = sample::of_text("spec.yaml", &text).unwrap_or_else(|problems| panic!("{problems}"));
            assert_right(&format!("seed {seed}"), &model);
        }
    }
}

/// Wires that share a terminal look different from wires that are joined: only a splice has filled dots on its bar.
#[test]
fn only_splices_have_dots() {
    let (mut splices, mut others) = (0, 0);
    let mut look = |model: &Model| {
        for scene in super::draw(model, None) {
            for item in &scene.items {
                let Item::Group(group) = item else { continue };
                let Some(part) = group.tag.part.as_deref().and_then(|name| model.part_named(name)) else { continue };
                let dots: Vec<&Path> = group
                    .items
                    .iter()
                    .filter_map(|item| match item {
                        Item::Group(pin) if pin.tag.pin.is_some() => pin.items.iter().find_map(|item| match item {
                            Item::Path(path) => Some(path),
                            _ => None,
                        }),
                        _ => None,
                    })
                    .collect();
                if group.tag.kind.as_deref() != Some("joint") || dots.is_empty() {
                    continue;
                }
                let splice = model.part(part).kind == PartKind::Splice;
                let filled = dots.iter().all(|dot| dot.fill == Some(INK));
                assert_eq!(filled, splice, "{}", model.part(part).name);
                *(if splice { &mut splices } else { &mut others }) += 1;
            }
        }
    };
    sample::DEMOS.iter().for_each(|name| look(&sample::demo(name)));
    for seed in 0..20 {
        let model = sample::of_text("spec.yaml", &made_up::spec(seed, 20 + seed as usize));
        look(&model.unwrap_or_else(|problems| panic!("{problems}")));
    }
    assert!(splices > 30 && others > 3, "{splices} splices, {others} terminals");
}

/// No sheet has a rail that nothing on it connects to; every column is under a heading; no more sheets than before.
#[test]
fn rails_headings_and_sheets_are_as_they_are_needed() {
    let most = [
        ("boat-tow-pickup", 3),
        ("first-harness", 1),
        ("orchard-sprayer-pickup", 3),
        ("refuse-truck", 6),
        ("wheelchair-van", 4),
    ];
    for name in sample::DEMOS {
        let model = sample::demo(name);
        let scenes = super::draw(&model, Some(Paper::A3.lying()));
        if let Some((_, most)) = most.iter().find(|(demo, _)| *demo == name) {
            assert!(scenes.len() <= *most, "{name}: {} sheets", scenes.len());
        }
        for scene in &scenes {
            let written = svg::write(scene);
            let rails = written.matches("data-kind=\"rail\"").count();
            for supply in model.parts.iter().filter(|part| part.kind == PartKind::Supply) {
                let rail = format!("data-part=\"{}\" data-kind=\"rail\"", supply.name);
                let tapped = written.contains(&format!("data-pin=\"{}\"", model.pin_name(supply.pins[0])));
                assert_eq!(written.contains(&rail), tapped, "{name}, {}: rail {} of {rails}", scene.title, supply.name);
            }
            assert!(written.contains("data-label=\"function\""), "{name}, {}: no heading", scene.title);
        }
    }
}

/// A heading ends where its line ends, and so before the next one; none is cut.
#[test]
fn headings_are_no_longer_than_their_lines() {
    let made_up = (0..30).map(|seed| {
        sample::of_text("spec.yaml", &made_up::spec(seed, 10 + 3 * seed as usize)).unwrap_or_else(|p| panic!("{p}"))
    });
    let mut headings = 0;
    for model in sample::DEMOS.into_iter().map(sample::demo).chain(made_up) {
        let scenes = super::draw(&model, Some(Paper::A3.lying()));
        for item in scenes.iter().flat_map(|scene| &scene.items) {
            let Item::Group(group) = item else { continue };
            if group.tag.label != Some(LabelOf::Thing("function".into())) {
                continue;
            }
            let right = |is_text: bool| {
                let own = group.items.iter().filter(|item| matches!(item, Item::Text(_)) == is_text);
                own.filter_map(Item::bounds).map(|bounds| bounds.right).fold(f64::NEG_INFINITY, f64::max)
            };
            let words = || group.items.iter().find_map(|i| if let Item::Text(t) = i { Some(&t.text) } else { None });
            assert!(right(true) <= right(false) + 0.1, "{}: {:?}", model.job.title, words());
            assert!(!words().is_some_and(|words| words.contains('…')), "{}: {:?}", model.job.title, words());
            headings += 1;
        }
    }
    assert!(headings > 100, "{headings} headings");
}

/// The half with the pins is that of the lists: of a mated pair the half that no supply reaches.
#[test]
fn plugs_and_sockets_follow_their_gender() {
    let mut pairs = 0;
    for name in sample::DEMOS {
        let model = sample::demo(name);
        let written: Vec<String> = super::draw(&model, None).iter().map(kit::svg::write).collect();
        for sheet in &written {
            for line in sheet.split("data-pins=\"").skip(1) {
                let pin = line.split('"').next().unwrap();
                let part = model.part_named(pin.split_once('.').unwrap().0).unwrap();
                assert_ne!(model::half(&model, part), Some(model::Half::Sockets), "{name}: {pin}");
                pairs += usize::from(model::half(&model, part) == Some(model::Half::Pins));
            }
        }
    }
    assert!(pairs > 10, "{pairs}");
}

/// A heading fits what is below it: no relay's coil stands under the name of another relay, and what else comes to a
/// ground's bar is under the ground's name.
#[test]
fn headings_fit_their_columns() {
    let made_up = (0..40).map(|seed| {
        sample::of_text("spec.yaml", &made_up::spec(seed, 10 + 3 * seed as usize)).unwrap_or_else(|p| panic!("{p}"))
    });
    let (mut coils, mut grounds) = (0, 0);
    for model in sample::DEMOS.into_iter().map(sample::demo).chain(made_up) {
        let pieces = pieces::pieces(&model);
        let placed = fitted(&model, &pieces, DEPTHS[1], f64::INFINITY);
        let heading =
            |column: usize| placed.groups.iter().rfind(|group| group.column <= column).map(|g| g.title.as_str());
        let is_relay = |part: &&model::Part| part.form.family == Family::Relay && part.title != part.form.title.0;
        for stand in &placed.stands {
            let (piece, heading) = (pieces.get(stand.piece), heading(stand.column).unwrap_or_default());
            let own = &model.part(piece.part).title;
            if matches!(piece.shape, Shape::Coil(_)) && own != heading {
                let other = model.parts.iter().filter(is_relay).find(|part| part.title == heading);
                // A relay whose contact feeds the coil may give its name to all that follows.
                let feeds = other.is_some_and(|other| {
                    let here = |s: &&super::placed::Stand| s.column == stand.column && s.y < stand.y;
                    placed.stands.iter().filter(here).any(|s| model.part(pieces.get(s.piece).part).name == other.name)
                });
                assert!(other.is_none() || feeds, "{}: coil of {own:?} under {heading:?}", model.job.title);
                coils += 1;
            }
        }
        for bar in placed.across.iter().filter(|across| model.pin(across.pin).domain == Domain::Ground) {
            let name = format!("Ground {}", model.part(model.pin(bar.pin).part).name);
            for flag in placed.flags.iter().filter(|flag| flag.incoming && flag.pin == bar.pin && bar.bar) {
                let on_bar = flag.column > placed.pins[&bar.pin] && bar.dots.contains(&flag.column);
                let is_box = placed.blocks.iter().any(|b| b.uppers.iter().any(|(pin, _)| *pin == bar.pin));
                assert!(!on_bar || is_box || heading(flag.column) == Some(&name), "{}: {name}", model.job.title);
                grounds += usize::from(on_bar);
            }
        }
    }
    assert!(coils > 10 && grounds > 10, "{coils} coils, {grounds} grounds");
}

/// A line in place of a reference joins the two ends of its wire, or the two halves of a connector; it is on one sheet.
#[test]
fn lines_in_place_of_references_join_what_belongs_together() {
    let made_up = (0..40).map(|seed| {
        sample::of_text("spec.yaml", &made_up::spec(seed, 10 + 3 * seed as usize)).unwrap_or_else(|p| panic!("{p}"))
    });
    let mut lines = 0;
    for model in sample::DEMOS.into_iter().map(sample::demo).chain(made_up) {
        let (pieces, width) = (pieces::pieces(&model), 344.0);
        let placed = fitted(&model, &pieces, DEPTHS[1], width);
        let columns = column_widths::columns(&model, None, &pieces, &placed);
        let cuts = sheets::cut(&columns, &placed, width);
        for joined in &placed.joined {
            let [from, to] = joined.columns;
            let sheet = |column: usize| cuts.iter().position(|cut| (cut[0]..=cut[1]).contains(&column));
            assert_eq!(sheet(from), sheet(to), "{}: columns {from} and {to}", model.job.title);
            // Two paths that end at one pin meet.
            let meets = |fall: &&super::placed::Fall| fall.column == to && fall.to == Level::At(joined.levels[2]);
            let met = placed.falls.iter().find(meets).and_then(|fall| fall.wire).map(|(_, _, lower)| lower);
            let pin = pin_below(&placed, joined).or(met);
            let pin = pin.unwrap_or_else(|| panic!("{}: a line to nothing in column {to}", model.job.title));
            if let Some(wire) = joined.wire {
                let wire = model.wire(wire);
                assert!(wire.ends.contains(&pin), "{}: wire {} to {}", model.job.title, wire.id, model.pin_name(pin));
            }
            lines += 1;
        }
    }
    assert!(lines > 10, "{lines}");
}

/// References whose both ends are on one sheet, on each demonstration: how many there are at most.
const ON_ONE_SHEET: [(&str, usize); 5] = [
    ("boat-tow-pickup", 2),
    ("first-harness", 0),
    ("orchard-sprayer-pickup", 0),
    ("refuse-truck", 6),
    ("wheelchair-van", 8),
];

/// Few references lead to a path of their own sheet, and the sheets of a set are filled from left to right.
#[test]
fn sheets_are_full_and_few_references_stay_on_one() {
    for (name, most) in ON_ONE_SHEET {
        let scenes = super::draw(&sample::demo(name), Some(Paper::A3.lying()));
        let mut inside = 0;
        for scene in &scenes {
            let (mut own, mut targets, mut right): (BTreeSet<String>, Vec<String>, f64) = Default::default();
            for item in &scene.items {
                let Item::Group(group) = item else { continue };
                if let Some(LabelOf::Thing(label)) = &group.tag.label {
                    own.extend(label.strip_prefix("path ").map(String::from));
                }
                if group.tag.kind.as_deref() == Some("flag") {
                    targets.extend(group.tag.data.iter().filter(|(key, _)| key == "path").map(|(_, to)| to.clone()));
                }
                if group.tag.wire.is_some() || group.tag.kind.as_deref() == Some("box") {
                    right = right.max(item.bounds().map_or(0.0, |bounds| bounds.right));
                }
            }
            inside += targets.iter().filter(|target| own.contains(*target)).count();
            assert!(
                scenes.len() == 1 || right > 0.7 * scene.size.width,
                "{name}, {}: {right:.0} mm are used",
                scene.title
            );
        }
        assert!(inside <= most, "{name}: {inside} references on their own sheet");
    }
}
