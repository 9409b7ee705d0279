//! What the paths must hold, on every demo and on made-up harnesses.

use super::forest::Target;
use super::pieces::Shape;
use super::placed::{Flag, Placed};
use super::{fitted, pieces};
use crate::{good, made_up};
use catalogue::part_form::PartSymbol;
use kit::colour::INK;
use kit::scene::{Item, LabelOf, Path};
use kit::sheet::Paper;
use kit::svg;
use kit::symbols::{Actuator, BlockPicture, Pole};
use model::{Domain, Family, Model, PartKind, PinId, PinRole};
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
    whole.chain(flags.filter_map(|flag| flag.wire).map(|wire| wire.0)).collect()
}

fn assert_right(name: &str, model: &Model) {
    let pieces = pieces::pieces(model);
    for depth in DEPTHS {
        let faults = faults(model, &fitted(model, &pieces, depth));
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

/// Every kind of part of the catalogue with its own circuit: a lamp is drawn as a lamp, and only what chooses between
/// pictures as a selector.
#[test]
fn lamps_look_like_lamps_and_only_selectors_like_selectors() {
    let catalogue = catalogue::Catalogue::builtin().unwrap_or_else(|(_, problems)| panic!("{problems:?}"));
    let (mut lamps, mut others) = (0, 0);
    for (name, form) in catalogue.iter().filter(|(_, form)| matches!(form.family, Family::Light | Family::Selector)) {
        let text = format!(
            "harness: 1\njob: {{title: One part, nominal: 12 V}}\nplaces: [dash]\nsupplies: {{battery: {{terminal: \"30\", \
             at: dash, volts: 12.6 V}}}}\ngrounds: {{G1: {{at: dash}}}}\ninputs: {{}}\nparts:\n  P1: {{use: {name}, at: dash}}\n"
        );
        let model = sample::of_text("spec.yaml", &text).unwrap_or_else(|problems| panic!("{name}: {problems}"));
        let part = model.part_named("P1").unwrap();
        let pieces = pieces::pieces(&model);
        let video = |role: PinRole| {
            let pins = model.part(part).pins.iter().map(|pin| model.pin(*pin));
            pins.filter(|pin| pin.domain == Domain::Video && pin.role == role).count()
        };
        for piece in pieces.list.iter().filter(|piece| piece.part == part) {
            match (form.family, piece.shape) {
                (Family::Light, shape) if model.part(part).pins.len() == 2 => {
                    assert!(matches!(shape, Shape::Pole(Pole::Lamp | Pole::Led)), "{name}: {shape:?}");
                    lamps += 1;
                }
                (Family::Selector, Shape::Block(picture)) => {
                    let chooses = video(PinRole::Input) != 1;
                    assert_eq!(picture == BlockPicture::Selector, chooses, "{name}: {picture:?}");
                    others += usize::from(!chooses);
                }
                _ => {}
            }
        }
    }
    assert!(lamps > 5 && others >= 2, "{lamps}, {others}");
}

/// Each kind of part whose family does not decide its symbol is drawn by the symbol that the catalogue gives it.
#[test]
fn every_kind_of_part_has_the_symbol_that_the_catalogue_names() {
    let catalogue = catalogue::Catalogue::builtin().unwrap_or_else(|(_, problems)| panic!("{problems:?}"));
    let mut seen = BTreeSet::new();
    for (name, form) in catalogue.iter().filter(|(_, form)| form.names_symbol()) {
        let text = format!(
            "harness: 1\njob: {{title: One part, nominal: 12 V}}\nplaces: [dash]\nsupplies: {{battery: {{terminal: \"30\", \
             at: dash, volts: 12.6 V}}}}\ngrounds: {{G1: {{at: dash}}}}\ninputs: {{}}\nparts:\n  P1: {{use: {name}, at: dash}}\n"
        );
        let model = sample::of_text("spec.yaml", &text).unwrap_or_else(|problems| panic!("{name}: {problems}"));
        let part = model.part_named("P1").unwrap();
        let shapes = pieces::pieces(&model).list.into_iter().filter(|piece| piece.part == part);
        let shapes: Vec<Shape> = shapes.map(|piece| piece.shape).collect();
        let symbol = form.drawn_as();
        let poles: &[Pole] = match symbol {
            PartSymbol::Lamp => &[Pole::Lamp, Pole::Led],
            PartSymbol::Led => &[Pole::Led],
            PartSymbol::Sounder => &[Pole::Buzzer],
            PartSymbol::Horn => &[Pole::Horn],
            PartSymbol::Heater => &[Pole::Heater],
            PartSymbol::Outlet => &[Pole::Outlet],
            PartSymbol::Load => &[Pole::Load],
            PartSymbol::Loudspeaker => &[Pole::Speaker],
            // A motor of two speeds is a box.
            PartSymbol::Motor if model.part(part).pins.len() == 2 => &[Pole::Motor],
            _ => &[],
        };
        let actuator = match symbol {
            PartSymbol::Toggle => Some(Actuator::Toggle),
            PartSymbol::PushButton => Some(Actuator::Push),
            PartSymbol::Roller => Some(Actuator::Roller),
            PartSymbol::Magnet => Some(Actuator::Magnet),
            PartSymbol::Pressure => Some(Actuator::Pressure),
            PartSymbol::Temperature => Some(Actuator::Temperature),
            PartSymbol::Level => Some(Actuator::Level),
            _ => None,
        };
        for shape in &shapes {
            match *shape {
                Shape::Pole(pole) => assert!(poles.contains(&pole), "{name} is a {symbol}, drawn as {pole:?}"),
                Shape::Switch(drawn) => {
                    assert!(actuator.is_none_or(|wanted| wanted == drawn), "{name} is a {symbol}, drawn as {drawn:?}")
                }
                _ => assert!(poles.is_empty(), "{name} is a {symbol}, drawn as {shape:?}"),
            }
        }
        seen.insert(symbol);
    }
    assert!(seen.len() > 20, "{seen:?}");
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
    let most = [("refuse-truck", 7), ("wheelchair-van", 5), ("first-harness", 1)];
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
        let placed = fitted(&model, &pieces, DEPTHS[1]);
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
                let on_bar = flag.column > bar.from && bar.dots.contains(&flag.column);
                let is_box = placed.blocks.iter().any(|b| b.uppers.iter().any(|(pin, _)| *pin == bar.pin));
                assert!(!on_bar || is_box || heading(flag.column) == Some(&name), "{}: {name}", model.job.title);
                grounds += usize::from(on_bar);
            }
        }
    }
    assert!(coils > 10 && grounds > 10, "{coils} coils, {grounds} grounds");
}
