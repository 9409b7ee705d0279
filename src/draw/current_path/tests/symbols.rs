//! Each kind of part of the catalogue is drawn by its symbol.

use crate::current_path::pieces::{self, Shape};
use catalogue::part_form::PartSymbol;
use kit::symbols::{Actuator, BlockPicture, Pole};
use model::{Domain, Family, PinRole};
use std::collections::BTreeSet;

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
