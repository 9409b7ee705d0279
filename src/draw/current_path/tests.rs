//! What the paths must hold, on every demo and on made-up harnesses.

use super::forest::Target;
use super::pieces::Shape;
use super::placed::{Flag, Placed};
use super::{fitted, pieces};
use crate::{good, made_up};
use kit::symbols::{BlockPicture, Pole};
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
