//! What a path is for, in the words of the spec: the heading over its columns.

use super::forest::{Bar, Edge, End, Root, Start, Stem, Target, Top};
use super::pieces::{Pieces, Shape};
use kit::symbols::Pole;
use model::{Domain, Model, PartId, PartKind, PinId};

/// The function of a path: the vehicle's wire that it begins at, else the first part that the spec gives words of its
/// own, what feeds it first, else the splice or the part that it begins at.
pub(super) fn title(model: &Model, pieces: &Pieces, root: &Root) -> String {
    let (start, from) = match root.start {
        Start::Rail(pin) | Start::Loose(pin) => (Some(pin), None),
        Start::Cut { pin, from } => (Some(pin), from.map(|(target, _)| target.pin())),
        Start::Box => (None, None),
    };
    if let Some(input) = start.and_then(|pin| model.inputs.iter().find(|input| input.pin == Some(pin))) {
        return input.title.clone();
    }
    let ends: Vec<PartId> = from.into_iter().chain(start).map(|pin| model.pin(pin).part).collect();
    let is = |kind: PartKind| move |part: &&PartId| model.part(**part).kind == kind;
    let mut parts: Vec<PartId> = ends.iter().filter(is(PartKind::Device)).copied().collect();
    stem_parts(model, pieces, &root.stem, &mut parts);
    parts.extend(ends.iter().filter(is(PartKind::Connector)));
    let own = |part: &&PartId| model.part(**part).title != model.part(**part).form.title.0;
    if let Some(&part) = parts.iter().find(own) {
        return words(model, part);
    }
    match (ends.iter().find(is(PartKind::Splice)), parts.first()) {
        (Some(&splice), _) => format!("splice {}", model.part(splice).name),
        (None, Some(&part)) => words(model, part),
        (None, None) => start.map_or(String::new(), |pin| model.pin_name(pin)),
    }
}

fn words(model: &Model, part: PartId) -> String {
    let part = model.part(part);
    if part.title == part.form.title.0 { part.name.to_string() } else { part.title.clone() }
}

/// The parts on a stem, as the reader meets them.
fn stem_parts(model: &Model, pieces: &Pieces, stem: &Stem, parts: &mut Vec<PartId>) {
    let is_device = |part: PartId| model.part(part).kind == PartKind::Device;
    for step in &stem.steps {
        if let Edge::Piece(piece) = step.edge {
            parts.push(pieces.get(piece).part);
        }
    }
    let of_pin = |pin: PinId| Some(model.pin(pin).part).filter(|part| is_device(*part));
    match &stem.end {
        End::Many(many) => {
            parts.push(pieces.get(many.piece).part);
            many.lowers.iter().for_each(|(_, stem)| stem_parts(model, pieces, stem, parts));
        }
        End::Bar(bar) => bar.downs.iter().for_each(|stem| stem_parts(model, pieces, stem, parts)),
        End::Flag(Target::Pin(pin) | Target::Piece(_, pin)) | End::Open(pin) => parts.extend(of_pin(*pin)),
        End::Ground(_) | End::Vehicle(_) => {}
    }
}

/// The heading over paths that only come down to a ground bar: the bar's name. `None` for other bars.
pub(super) fn bar_title(model: &Model, bar: &Bar) -> Option<String> {
    let pin = model.pin(bar.pin);
    (pin.domain == Domain::Ground).then(|| format!("Ground {}", model.part(pin.part).name))
}

/// The heading of a path that comes down to a bar from a rail: its first part with words of its own, else its first part.
pub(super) fn top_title(model: &Model, pieces: &Pieces, top: &Top) -> Option<String> {
    let Top::Rise { rail, steps } = top else { return None };
    if let Some(input) = model.inputs.iter().find(|input| input.pin == Some(*rail)) {
        return Some(input.title.clone());
    }
    let parts: Vec<PartId> = steps
        .iter()
        .filter_map(|step| if let Edge::Piece(piece) = step.edge { Some(pieces.get(piece).part) } else { None })
        .collect();
    let own = |part: &&PartId| model.part(**part).title != model.part(**part).form.title.0;
    parts.iter().find(own).or(parts.first()).map(|&part| words(model, part))
}

/// The heading of a branch: the title that the spec gives to a fuse or breaker in it.
pub(super) fn branch_title(model: &Model, pieces: &Pieces, stem: &Stem) -> Option<String> {
    let fuses = stem.steps.iter().filter_map(|step| match step.edge {
        Edge::Piece(piece) => {
            Some(pieces.get(piece)).filter(|p| matches!(p.shape, Shape::Pole(Pole::Fuse | Pole::Breaker)))
        }
        _ => None,
    });
    fuses
        .map(|piece| model.part(piece.part))
        .find(|part| part.title != part.form.title.0)
        .map(|part| part.title.clone())
}
