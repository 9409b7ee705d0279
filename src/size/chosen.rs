//! What was chosen, as additions to the spec's text.

use super::is_open;
use form::{Addition, AdditionKind};
use model::{Model, Part};

/// What the spec leaves open, each as an addition to its text: a rating behind the kind of its fuse, a cavity behind its
/// connector; a wire's number, conductor size and colour behind its last end.
pub fn chosen(model: &Model) -> Vec<Addition> {
    let rating = |part: &Part| {
        let text = format!("rating: {}", part.rating?);
        Some(Addition { after: part.rating_open?.end, kind: AdditionKind::Entry, text })
    };
    let mut additions: Vec<Addition> = model.parts.iter().filter_map(rating).collect();
    for id in model.wire_ids() {
        let wire = model.wire(id);
        for end in (0..2).filter(|end| wire.cavity_open[*end]) {
            let text = format!(".{}", model.pin(wire.ends[end]).name);
            additions.push(Addition { after: wire.end_places[end].end, kind: AdditionKind::Suffix, text });
        }
        let after = wire.end_places[0].end.max(wire.end_places[1].end);
        let mut add = |text: String| additions.push(Addition { after, kind: AdditionKind::Entry, text });
        if !wire.number_given() {
            add(format!("id: {}", wire.id));
        }
        if is_open(model, id) && !wire.existing {
            add(format!("gauge: {}", wire.gauge));
        }
        if let (Some(colour), None) = (wire.colour, wire.colour_place) {
            add(format!("colour: {colour}"));
        }
    }
    additions
}
