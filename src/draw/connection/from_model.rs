//! From the model to what the connection diagram shows: parts with their pins, mated halves as one, connectors with
//! the part they plug into, and busy grounds and supplies once in every place that they serve.

use super::diagram::{Diagram, DiagramPart, DiagramPin, DiagramWire, Flow, PartShape, PinAt, Plugged, SecondHalf};
use crate::halves::has_pins;
use crate::shields;
use kit::font;
use kit::insulation::Insulation;
use kit::lines;
use model::{self, Family, Model, PartId, PartKind, PinId, WireId};
use std::collections::BTreeMap;

/// Room for a line of a part's title, millimetres; the half of a mated pair has less.
const TITLE_ROOM: f64 = 36.0;
/// See [`TITLE_ROOM`].
const HALF_TITLE_ROOM: f64 = 25.0;
/// Room for what a pin is for, millimetres. The catalogue's longest remark fits.
const NOTE_ROOM: f64 = 60.0;
/// A ground or supply with more wires than this from other places is repeated in those.
const BUSY: usize = 5;

/// What the connection diagram of a harness shows.
pub(super) fn diagram(model: &Model) -> Diagram {
    let mut subject = Subject { model, diagram: Diagram::default(), at: BTreeMap::new() };
    subject.diagram.places = model.places.iter().map(ToString::to_string).collect();
    if model.parts.iter().any(|part| part.at.is_none()) {
        subject.diagram.places.push("no place given".into());
    }
    for id in model.part_ids() {
        match (subject.host(id), subject.mate(id)) {
            (Some(_), _) => {}
            (None, Some(other)) if other < id => {}
            (None, other) => subject.add(id, other),
        }
    }
    for id in model.part_ids() {
        if let Some(host) = subject.host(id) {
            subject.plug(id, host);
        }
    }
    for id in model.wire_ids() {
        subject.wire(id);
    }
    subject.diagram
}

struct Subject<'a> {
    model: &'a Model,
    diagram: Diagram,
    /// Where each pin is drawn; a repeated one once for every place.
    at: BTreeMap<PinId, Vec<PinAt>>,
}

impl Subject<'_> {
    /// The joints from a connector's cavities: their own pin, then the other.
    fn joints(&self, id: PartId) -> impl Iterator<Item = (PinId, PinId)> + '_ {
        let of = move |pin: PinId| self.model.pin(pin).part == id;
        self.model.joints.iter().filter_map(move |joint| match joint.pins {
            [a, b] if of(a) => Some((a, b)),
            [a, b] if of(b) => Some((b, a)),
            _ => None,
        })
    }

    /// The connector half that this half mates with.
    fn mate(&self, id: PartId) -> Option<PartId> {
        if self.model.part(id).kind != PartKind::Connector {
            return None;
        }
        let other = self.joints(id).map(|(_, pin)| self.model.pin(pin).part).next()?;
        (self.model.part(other).kind == PartKind::Connector).then_some(other)
    }

    /// The part that this connector plugs into.
    fn host(&self, id: PartId) -> Option<PartId> {
        if self.model.part(id).kind != PartKind::Connector {
            return None;
        }
        let other = self.joints(id).map(|(_, pin)| self.model.pin(pin).part).next()?;
        (self.model.part(other).kind != PartKind::Connector).then_some(other)
    }

    fn place_of(&self, id: PartId) -> usize {
        self.model.part(id).at.map_or(self.diagram.places.len() - 1, |place| place.0)
    }

    /// Adds a part, with the half that it mates with.
    fn add(&mut self, id: PartId, mate: Option<PartId>) {
        let part = self.model.part(id);
        let form = match part.kind {
            _ if mate.is_some() => PartShape::Mated,
            PartKind::Supply | PartKind::Feed => PartShape::Supply,
            PartKind::Ground => PartShape::Ground,
            PartKind::Splice => PartShape::Splice,
            PartKind::Device | PartKind::Connector => PartShape::Outline,
        };
        let mut pins: Vec<DiagramPin> =
            part.pins.iter().enumerate().map(|(row, &pin)| self.pin(pin, (form, 0, row))).collect();
        let index = self.diagram.parts.len();
        let ids: Vec<PinId> =
            part.pins.iter().chain(mate.iter().flat_map(|&m| &self.model.part(m).pins)).copied().collect();
        if let Some(mate) = mate {
            let row_of = |pin: PinId| self.joints(mate).find(|&(own, _)| own == pin).map(|(_, other)| other);
            for (i, &pin) in self.model.part(mate).pins.iter().enumerate() {
                let row = row_of(pin).and_then(|other| part.pins.iter().position(|&p| p == other));
                pins.push(self.pin(pin, (form, 1, row.unwrap_or(part.pins.len() + i))));
            }
        }
        let drawn = DiagramPart {
            name: part.name.to_string(),
            title: self.title(id),
            place: self.place_of(id),
            form,
            flow: self.flow(id),
            mate: mate.map(|m| SecondHalf {
                name: self.model.part(m).name.to_string(),
                title: self.title(m),
                has_pins: !has_pins(self.model, id, m),
            }),
            docks: Vec::new(),
            existing: part.existing,
            pins_in_order: part.kind == PartKind::Connector
                || (part.kind == PartKind::Device && matches!(part.form.family, Family::Fuse | Family::Breaker)),
            pins,
        };
        let home = drawn.place;
        let copies = if matches!(form, PartShape::Ground | PartShape::Supply) {
            self.served_places(id, home)
        } else {
            Vec::new()
        };
        for (copy, place) in std::iter::once(home).chain(copies).enumerate() {
            for (pin, &id) in ids.iter().enumerate() {
                self.at.entry(id).or_default().push(PinAt { part: index + copy, pin });
            }
            self.diagram.parts.push(DiagramPart { place, ..drawn.clone() });
        }
    }

    /// The other places that a busy ground or supply must be drawn in as well.
    fn served_places(&self, id: PartId, home: usize) -> Vec<usize> {
        let other = |wire: &model::Wire| {
            let [a, b] = wire.ends.map(|pin| self.model.pin(pin).part);
            match (a == id, b == id) {
                (true, false) => Some(self.place_of(b)),
                (false, true) => Some(self.place_of(a)),
                _ => None,
            }
        };
        let mut places: Vec<usize> = self.model.wires.iter().filter_map(other).filter(|&place| place != home).collect();
        if places.len() <= BUSY {
            return Vec::new();
        }
        places.sort_unstable();
        places.dedup();
        places
    }

    fn pin(&self, id: PinId, (form, half, row): (PartShape, usize, usize)) -> DiagramPin {
        let pin = self.model.pin(id);
        let name = pin.name.to_string();
        let title = if pin.title == name || form.is_open() { String::new() } else { pin.title.clone() };
        let both = [title, shields::count(self.model, id)].into_iter().filter(|words| !words.is_empty());
        let note = both.collect::<Vec<String>>().join(", ");
        DiagramPin {
            full_name: self.model.pin_name(id),
            note: font::fitted(&note, NOTE_ROOM, lines::SMALL, false),
            name,
            edge: None,
            cavity: (form == PartShape::Mated).then_some((half, row)),
            plugged: None,
        }
    }

    fn title(&self, id: PartId) -> Vec<String> {
        let part = self.model.part(id);
        let words = match part.kind {
            PartKind::Splice => return Vec::new(),
            PartKind::Supply => format!("terminal {}", part.use_name),
            PartKind::Feed => {
                let input = self.model.inputs.iter().find(|i| i.pin.is_some_and(|pin| part.pins.contains(&pin)));
                input.map_or_else(|| part.title.clone(), |input| input.title.clone())
            }
            _ => match part.rating {
                Some(rating) => format!("{rating}, {}", part.title),
                None => part.title.clone(),
            },
        };
        if words == part.name.as_str() {
            return Vec::new();
        }
        let room = if self.mate(id).is_some() { HALF_TITLE_ROOM } else { TITLE_ROOM };
        font::filled(&words, room, lines::SMALL, false)
    }

    fn flow(&self, id: PartId) -> Flow {
        if self.model.screens.iter().any(|screen| screen.part == id) {
            return Flow::Sink;
        }
        if self.model.part(id).kind == PartKind::Supply { Flow::Source } else { Flow::Between }
    }

    /// Adds a connector's cavities to the part that it plugs into.
    fn plug(&mut self, id: PartId, host: PartId) {
        let Some(first) = self.model.part(host).pins.first().and_then(|pin| self.at.get(pin)).and_then(|at| at.first())
        else {
            return;
        };
        let index = first.part;
        let part = self.model.part(id);
        let met: Vec<(PinId, PinId)> = self.joints(id).collect();
        let dock = self.diagram.parts[index].docks.len();
        self.diagram.parts[index].docks.push(part.name.to_string());
        for &cavity in &part.pins {
            let meets = met.iter().find(|(own, _)| *own == cavity).map(|(_, other)| *other);
            let meets = meets.and_then(|pin| self.model.part(host).pins.iter().position(|&p| p == pin));
            let pin = DiagramPin {
                full_name: self.model.pin_name(cavity),
                name: self.model.pin(cavity).name.to_string(),
                note: String::new(),
                edge: None,
                cavity: None,
                plugged: Some(Plugged { dock, meets }),
            };
            let at = PinAt { part: index, pin: self.diagram.parts[index].pins.len() };
            self.at.entry(cavity).or_default().push(at);
            self.diagram.parts[index].pins.push(pin);
        }
    }

    fn wire(&mut self, id: WireId) {
        let wire = self.model.wire(id);
        let spots = wire.ends.map(|pin| self.at.get(&pin).cloned().unwrap_or_default());
        let [Some(a), Some(b)] = [0, 1].map(|end| self.nearest(&spots[end], &spots[1 - end])) else { return };
        let size = wire.size().replace(" mm²", "");
        let code = wire.colour.map(|colour| colour.to_string()).unwrap_or_default();
        let [from, to] = wire.ends.map(|pin| self.model.pin_name(pin));
        let named = Insulation::of(&code).map(|i| format!(", {}", i.name)).unwrap_or_default();
        let existing = if wire.existing { ", already in the vehicle" } else { "" };
        self.diagram.wires.push(DiagramWire {
            number: wire.id.to_string(),
            ends: [a, b],
            label: format!("{size} {code}").trim_end().to_string(),
            hover: format!("Wire {}: {from} to {to}, {}{named}{existing}", wire.id, wire.gauge),
            colour: code,
        });
    }

    /// Where to draw a wire's end: the copy of the pin in the same place as the other end, else the first copy.
    fn nearest(&self, spots: &[PinAt], others: &[PinAt]) -> Option<PinAt> {
        let place = |at: &PinAt| self.diagram.parts[at.part].place;
        let beside = |at: &&PinAt| others.first().is_some_and(|other| place(at) == place(other));
        spots.iter().find(beside).or(spots.first()).copied()
    }
}
