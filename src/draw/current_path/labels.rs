//! Labels beside wires, symbols and flags.

use super::pieces::{Piece, Shape};
use super::placed::Flag;
use crate::live::{load, volts};
use kit::font;
use kit::lines::SMALL;
use model::{ElementKind, Model, PartKind, PinId, WireId};
use quantity::Volts;
use states::Live;

/// Longest line of a label, millimetres; what is longer is cut with `…`.
pub(super) const LONGEST: f64 = 30.0;

/// The longest line of a label of this height. Beside a wire of a live harness, its load comes in addition.
pub(super) fn longest(height: f64) -> f64 {
    if height > SMALL { LONGEST + 8.0 } else { LONGEST }
}

/// One line of a label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Line {
    pub text: String,
    pub bold: bool,
}

pub(super) fn bold(text: impl Into<String>) -> Line {
    Line { text: text.into(), bold: true }
}

pub(super) fn plain(text: impl Into<String>) -> Line {
    Line { text: text.into(), bold: false }
}

/// The voltage drop along a wire with a voltage at both ends.
const LEAST_DROP: Volts = Volts::new(0.05);

/// A wire's number, then its size (mm² where no unit is given) and colour; in a live harness its number, colour and
/// load, then the voltage at its ends.
pub(super) fn wire(model: &Model, live: Option<&Live>, id: WireId, [upper, lower]: [PinId; 2]) -> Vec<Line> {
    let wire = model.wire(id);
    let colour = wire.colour.map_or(String::new(), |c| c.to_string());
    let words = |parts: [String; 3]| parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ");
    if let Some(live) = live {
        let ends = match [upper, lower].map(|pin| live.volts(pin)) {
            [Some(a), Some(b)] if (a - b).abs() >= LEAST_DROP => {
                format!("{} / {}", volts(a).trim_end_matches(" V"), volts(b))
            }
            [a, b] => a.or(b).map(volts).unwrap_or_default(),
        };
        let number = words([wire.id.to_string(), colour, load(live, id).unwrap_or_default()]);
        return std::iter::once(bold(number)).chain((!ends.is_empty()).then(|| plain(ends))).collect();
    }
    let size = wire.size().replace(" mm²", "");
    vec![bold(wire.id.to_string()), plain(words([size, colour, String::new()]))]
}

/// A wire in a sentence, for a resting pointer.
pub(super) fn wire_sentence(model: &Model, id: WireId) -> String {
    let wire = model.wire(id);
    let [from, to] = wire.ends.map(|pin| model.pin_name(pin));
    let colour = wire.colour.map_or(String::new(), |c| format!(", {c}"));
    format!("Wire {}: {from} to {to}, {}{colour}", wire.id, wire.gauge)
}

/// A piece's name, value and place; `paths` are the paths of its coils or contacts.
pub(super) fn piece(model: &Model, piece: &Piece, paths: &[usize]) -> Vec<Line> {
    let part = model.part(piece.part);
    let mut lines = vec![bold(part.name.to_string())];
    lines.extend(part.rating.map(|r| plain(r.to_string())));
    if let Shape::Pole(_) = piece.shape {
        let resistance = part.elements.iter().find_map(|&e| match &model.element(e).kind {
            ElementKind::Resistor { resistance, .. } => Some(plain(resistance.to_string())),
            _ => None,
        });
        lines.extend(resistance);
    }
    if part.at.is_some() {
        lines.push(plain(model.place_name(part.at)));
    }
    let list = |what: &str| {
        let numbers: Vec<String> = paths.iter().map(usize::to_string).collect();
        plain(format!("{what} {}", numbers.join(", ")))
    };
    match piece.shape {
        Shape::Coil(_) if !paths.is_empty() => lines.push(list("contact:")),
        Shape::Contact if !paths.is_empty() => lines.push(list("coil:")),
        _ => {}
    }
    lines
}

/// The name and place of a supply, a vehicle's wire, a ground, or a pin that nothing feeds.
pub(super) fn rail(model: &Model, pin: PinId) -> Vec<Line> {
    let part = model.part(model.pin(pin).part);
    let title = match part.kind {
        PartKind::Feed => model.inputs.iter().find(|i| i.pin == Some(pin)).map(|i| i.title.clone()),
        _ => None,
    };
    let name = title.unwrap_or_else(|| model.pin_name(pin));
    let name = font::filled(&name, LONGEST, SMALL, true);
    let mut lines: Vec<Line> = name.into_iter().map(bold).collect();
    if part.at.is_some() {
        lines.push(plain(model.place_name(part.at)));
    }
    lines
}

/// What a flag points to: for one above a pin the far end of its wire, else the pin.
pub(super) fn flag(model: &Model, flag: &Flag) -> String {
    match (flag.incoming, flag.wire) {
        (true, Some(wire)) => {
            let [a, b] = model.wire(wire).ends;
            model.pin_name(if a == flag.pin { b } else { a })
        }
        _ => model.pin_name(flag.pin),
    }
}
