//! The pins of a part that take current, and the pin that turns it on.

use catalogue::part_form::{Inside, PartForm, PinRole};
use form::{Expr, Name};

/// The trigger pin that alone turns a part's one load on.
pub fn turn_on(kind: &PartForm, feed: &Name) -> Option<Name> {
    let loads = kind.inside.iter().filter_map(|inside| if let Inside::Load(load) = inside { Some(load) } else { None });
    let [load] = loads.collect::<Vec<_>>()[..] else { return None };
    let Some(Expr::Name(name, _)) = load.when.as_ref().map(|when| &when.expr) else { return None };
    let own = load.feed.value == *feed;
    kind.inside.iter().find_map(|inside| match inside {
        Inside::Sense(sense) if own && sense.name.value == *name && sense.pull_up.is_none() => {
            Some(sense.pin.value.clone())
        }
        _ => None,
    })
}

/// Pins that loads and outputs take current from.
pub fn feed_pins(kind: &PartForm) -> Vec<Name> {
    let mut pins: Vec<Name> = Vec::new();
    for inside in &kind.inside {
        let pin = match inside {
            Inside::Load(load) => &load.feed.value,
            Inside::Converter(converter) => &converter.input.value,
            _ => continue,
        };
        let fed_outside = kind.pins.get(pin).is_some_and(|form| form.is == Some(PinRole::Feed));
        if fed_outside && !pins.contains(pin) {
            pins.push(pin.clone());
        }
    }
    pins
}
