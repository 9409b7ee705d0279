//! A drawing of a harness in one state: what carries current keeps its colours and gets wider, the rest is drawn
//! thin and grey. Layouts stay as they are; this only changes ink.

use kit::colour::{DEAD, INK, SOFT_INK};
use kit::lines::SYMBOL;
use kit::scene::*;
use model::{Model, PinId, WireId};
use quantity::Volts;
use states::Live;
use std::collections::BTreeMap;

/// How much wider a wire that carries current is drawn.
const WIDER: f64 = 1.35;

/// The note on a live drawing.
pub(super) fn note(live: &Live) -> String {
    format!(
        "Live: {}. Nominal supply, timers {}. Wide and in colour: carries current, with its amperes. Thin and grey: \
         carries none. Voltages are against the battery's negative.",
        live.state,
        if live.passing { "running" } else { "run out" }
    )
}

/// The note that a live drawing with contacts adds.
pub(super) const CONTACTS: &str = "Contacts and switches are drawn as in this state.";

/// A voltage beside a pin, to 0.01 V, the resolution of a meter on its 20 V range.
pub(super) fn volts(volts: Volts) -> String {
    format!("{:.2} V", (volts.value() * 100.0).round() / 100.0 + 0.0)
}

/// A wire's label instead of its size: its current, or `picture`; `None` if it carries neither.
pub(super) fn load(live: &Live, wire: WireId) -> Option<String> {
    if live.carries_picture(wire) {
        return Some("picture".into());
    }
    live.is_lit(wire).then(|| live.amps(wire).to_string())
}

/// The pins of a model by the names that drawings use.
pub(super) fn pins_by_name(model: &Model) -> BTreeMap<String, PinId> {
    model.pin_ids().map(|pin| (model.pin_name(pin), pin)).collect()
}

/// Draws what carries current wider and the rest thin and grey.
pub(super) fn shaded(items: Vec<Item>, model: &Model, live: &Live) -> Vec<Item> {
    let is_lit = |id: &PinId| live.pin_is_lit(*id);
    let lit_parts = model.parts.iter().map(|part| (part.name.to_string(), part.pins.iter().any(is_lit))).collect();
    let lit_pins = pins_by_name(model).into_iter().map(|(name, id)| (name, is_lit(&id))).collect();
    let lit_wires = model.wire_ids().map(|id| (model.wire(id).id.to_string(), live.is_lit(id))).collect();
    let shades = Shades { lit_parts, lit_pins, lit_wires };
    items.into_iter().map(|item| shades.item(item)).collect()
}

struct Shades {
    lit_parts: BTreeMap<String, bool>,
    lit_pins: BTreeMap<String, bool>,
    lit_wires: BTreeMap<String, bool>,
}

impl Shades {
    fn item(&self, item: Item) -> Item {
        let Item::Group(mut group) = item else { return item };
        let (wire, thing) = match &group.tag.label {
            Some(LabelOf::Wire(number)) => (Some(number.as_str()), None),
            Some(LabelOf::Thing(name)) => (None, Some(name.as_str())),
            None => (None, None),
        };
        let wire = group.tag.wire.as_deref().or(wire).and_then(|name| self.lit_wires.get(name));
        let part = match group.tag.part.as_deref().or(thing) {
            // Each piece of a relay is lit by its own pins.
            Some(name) => self.by_pins(&group).or_else(|| self.lit_parts.get(name).copied()),
            None => None,
        };
        match (wire, part) {
            (Some(true), _) => group.items.iter_mut().for_each(widen),
            (Some(false), _) => {
                // Keep only the lowest line of insulation and tracer.
                let first = group.items.iter().position(|item| matches!(item, Item::Path(_)));
                let mut index = 0;
                group.items.retain(|item| {
                    index += 1;
                    !matches!(item, Item::Path(_)) || Some(index - 1) == first
                });
                group.items.iter_mut().for_each(thin);
            }
            (None, Some(false)) => group.items.iter_mut().for_each(fade),
            (None, _) => group.items = group.items.into_iter().map(|item| self.item(item)).collect(),
        }
        Item::Group(group)
    }

    /// Whether any pin shown in a group is lit; `None` if it shows none.
    fn by_pins(&self, group: &ItemGroup) -> Option<bool> {
        let within = group.items.iter().filter_map(|item| match item {
            Item::Group(inner) => self.by_pins(inner),
            _ => None,
        });
        let own = group.tag.pin.as_ref().and_then(|name| self.lit_pins.get(name).copied());
        within.chain(own).reduce(|a, b| a || b)
    }
}

fn widen(item: &mut Item) {
    if let Item::Path(Path { stroke: Some(stroke), .. }) = item {
        stroke.width *= WIDER;
    }
}

fn thin(item: &mut Item) {
    fade(item);
    if let Item::Path(Path { stroke: Some(stroke), .. }) = item {
        *stroke = Stroke::solid(DEAD, SYMBOL);
    }
}

fn fade(item: &mut Item) {
    match item {
        Item::Group(group) => group.items.iter_mut().for_each(fade),
        Item::Path(path) => {
            if let Some(stroke) = path.stroke.as_mut().filter(|stroke| stroke.colour == INK) {
                stroke.colour = DEAD;
            }
            // Lettering may stand on an area, which stays dark enough for it.
            if path.fill == Some(INK) {
                path.fill = Some(SOFT_INK);
            }
        }
        Item::Text(text) if text.colour == INK => text.colour = SOFT_INK,
        Item::Text(_) => {}
    }
}
