//! A drawing of a harness in one state. Four styles, which differ in width and dashes as well as in colour: a load wide
//! and in the wire's colours, a trickle narrow, voltage without current thin and black, nothing thin, grey and dashed.
//! Layouts stay as they are; this only changes ink.

use kit::colour::{DEAD, INK, SOFT_INK};
use kit::lines::SYMBOL;
use kit::scene::*;
use model::{Model, PinId, WireId};
use quantity::Volts;
use states::{Live, Liveness};
use std::collections::BTreeMap;

/// How much wider a wire with a load is drawn.
const WIDER: f64 = 1.35;
/// How much narrower a wire with a trickle is drawn.
const NARROWER: f64 = 0.6;
/// Length of the dashes of a wire without voltage, and of the gaps between them, millimetres.
const DASH: [f64; 2] = [1.2, 0.8];

/// The note on a live drawing.
pub(super) fn note(live: &Live) -> String {
    format!(
        "Live: {}. Nominal supply, timers {}. Wide, in colours: a load, with its amperes. Narrow, in colours: below 10 mA, \
         or a picture. Thin, black: voltage without current. Thin, grey, dashed: no voltage. Voltages are against the \
         battery's negative.",
        live.state,
        if live.passing { "running" } else { "run out" }
    )
}

/// The note that a live drawing with contacts adds.
pub(super) const CONTACTS: &str = "Contacts and switches are drawn as in this state. Beside each wire: its number, its colour, \
     its load; below them the voltage at its ends.";

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

/// Draws each wire in the style of its voltage and current, and parts without load current grey.
pub(super) fn shaded(items: Vec<Item>, model: &Model, live: &Live) -> Vec<Item> {
    let at = |id: &PinId| live.at_pin(*id) == Liveness::Load;
    let relays: BTreeMap<String, bool> =
        model.part_ids().filter_map(|id| Some((model.part(id).name.to_string(), live.relay_is_in(id)?))).collect();
    // A relay that is out looks at rest even where current passes its contacts.
    let takes_load =
        |part: &model::Part| part.pins.iter().any(at) && relays.get(part.name.as_str()).is_none_or(|is_in| *is_in);
    let lit_parts = model.parts.iter().map(|part| (part.name.to_string(), takes_load(part))).collect();
    let lit_pins = pins_by_name(model).into_iter().map(|(name, id)| (name, at(&id))).collect();
    let wires = model.wire_ids().map(|id| (model.wire(id).id.to_string(), live.liveness(id))).collect();
    let shades = Shades { lit_parts, lit_pins, wires, relays };
    items.into_iter().map(|item| shades.item(item)).collect()
}

struct Shades {
    lit_parts: BTreeMap<String, bool>,
    lit_pins: BTreeMap<String, bool>,
    wires: BTreeMap<String, Liveness>,
    /// Whether each relay is in.
    relays: BTreeMap<String, bool>,
}

impl Shades {
    fn item(&self, item: Item) -> Item {
        let Item::Group(mut group) = item else { return item };
        let (wire, thing) = match &group.tag.label {
            Some(LabelOf::Wire(number)) => (Some(number.as_str()), None),
            Some(LabelOf::Thing(name)) => (None, Some(name.as_str())),
            None => (None, None),
        };
        let wire = group.tag.wire.as_deref().or(wire).and_then(|name| self.wires.get(name).copied());
        let part = match group.tag.part.as_deref().or(thing) {
            // A coil by whether its relay is in, each other piece of a relay by its own pins.
            Some(name) if group.tag.kind.as_deref() == Some("coil") => self.relays.get(name).copied(),
            Some(name) => self.by_pins(&group).or_else(|| self.lit_parts.get(name).copied()),
            None => None,
        };
        match (wire, part) {
            (Some(liveness), _) => style(&mut group, liveness),
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

/// Draws a wire in the style of its voltage and current.
fn style(group: &mut ItemGroup, liveness: Liveness) {
    group.tag.data.push(("live".into(), format!("{liveness:?}").to_lowercase()));
    match liveness {
        Liveness::Load => group.items.iter_mut().for_each(|item| scale(item, WIDER)),
        Liveness::Trickle => group.items.iter_mut().for_each(|item| scale(item, NARROWER)),
        Liveness::Voltage | Liveness::Dead => {
            // Keep only the lowest line of insulation and tracer.
            let first = group.items.iter().position(|item| matches!(item, Item::Path(_)));
            let mut index = 0;
            group.items.retain(|item| {
                index += 1;
                !matches!(item, Item::Path(_)) || Some(index - 1) == first
            });
            let stroke = match liveness {
                Liveness::Dead => Stroke::dashed(DEAD, SYMBOL, Dash::even(DASH[0], DASH[1])),
                _ => Stroke::solid(INK, SYMBOL),
            };
            group.items.iter_mut().for_each(|item| thin(item, stroke));
        }
    }
}

fn scale(item: &mut Item, factor: f64) {
    if let Item::Path(Path { stroke: Some(stroke), .. }) = item {
        stroke.width *= factor;
    }
}

fn thin(item: &mut Item, thin: Stroke) {
    if thin.colour == DEAD {
        fade(item);
    }
    if let Item::Path(Path { stroke: Some(stroke), .. }) = item {
        *stroke = thin;
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
