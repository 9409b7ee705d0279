//! What was chosen, as entries for the spec's text.

use super::is_open;
use form::NewEntry;
use model::Model;

/// The conductor sizes and colours that the spec leaves open, each as an entry behind the last end of its wire.
pub fn chosen(model: &Model) -> Vec<NewEntry> {
    let mut entries = Vec::new();
    for id in model.wire_ids() {
        let wire = model.wire(id);
        let after = wire.end_places[0].end.max(wire.end_places[1].end);
        let mut add = |text: String| entries.push(NewEntry { after, text });
        if is_open(model, id) && !wire.existing {
            add(format!("gauge: {}", wire.gauge));
        }
        if let (Some(colour), None) = (wire.colour, wire.colour_place) {
            add(format!("colour: {colour}"));
        }
    }
    entries
}
