//! The map as a diagram: inputs, what decides, pictures, screens, each a group from left to right, and arrows from what
//! causes to what is caused.

use super::by_name::ArrowsAndNames;
use super::causes::{Cause, Origin, Ways};
use crate::connection::{Diagram, DiagramPart, DiagramPin, DiagramWire, Flow, PartEdge, PartShape, PinAt};
use catalogue::part_form::TimerKind;
use graph::{Link, Passage, picture_paths, signal_graph};
use kit::font;
use kit::lines::LABEL;
use model::{
    ElementKind, Family, InputId, Model, PartId, PartKind, PinId, ScreenId, Signal, SignalKind, StateCondition,
};
use std::collections::{BTreeMap, BTreeSet};

/// The groups, from left to right.
const GROUPS: [&str; 4] = ["Inputs", "Logic", "Pictures", "Screens"];
/// The last group where lamps, alarms and the like are among it.
const WITH_LOADS: &str = "Screens and loads";
const INPUTS: usize = 0;
const LOGIC: usize = 1;
const PICTURES: usize = 2;
const SCREENS: usize = 3;

/// Kinds of arrows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Arrow {
    /// Switches it on.
    Switches,
    /// Switches it by going off.
    SwitchesByGoingOff,
    /// Carries a picture.
    Picture,
}

/// The diagram, and the kind of each of its wires.
pub(super) struct Map {
    pub diagram: Diagram,
    pub arrows: Vec<Arrow>,
}

/// Room for a line of a title, millimetres.
const TITLE_ROOM: f64 = 46.0;
/// Builds the map of a harness.
pub(super) fn map(model: &Model) -> Map {
    let diagram = Diagram {
        places: GROUPS.map(String::from).to_vec(),
        in_order: true,
        parts: Vec::new(),
        wires: Vec::new(),
        exits: Vec::new(),
        lead: "",
    };
    let mut builder = Builder {
        model,
        ways: Ways::new(model),
        map: Map { diagram, arrows: Vec::new() },
        outs: BTreeMap::new(),
        arrows: BTreeSet::new(),
        pictures: Vec::new(),
        powers: BTreeSet::new(),
    };
    builder.add_boxes();
    builder.connect();
    let loads = model.part_ids().any(|id| builder.is_load(id));
    let mut map = builder.map;
    if loads {
        map.diagram.places[SCREENS] = WITH_LOADS.into();
    }
    super::idle::leave_out(&mut map.diagram, &[PICTURES, LOGIC]);
    map
}

/// A pin that is still to be asked for its causes: where it is in the map, and the pins of the harness that count.
type Asked = (PinAt, Vec<PinId>);

struct Builder<'a> {
    model: &'a Model,
    ways: Ways<'a>,
    map: Map,
    /// The pin from which something switches.
    outs: BTreeMap<Origin, PinAt>,
    arrows: BTreeSet<(PinAt, PinAt, Arrow)>,
    /// Pins of the map that pictures enter or leave by, with the harness's pin.
    pictures: Vec<(PinAt, PinId, bool)>,
    /// The power pins of boxes.
    powers: BTreeSet<PinAt>,
}

impl Builder<'_> {
    /// All boxes, inputs that nothing depends on included: the talk is about them too.
    fn add_boxes(&mut self) {
        for index in 0..self.model.inputs.len() {
            self.add_input(InputId(index));
        }
        let mut asked: Vec<Asked> = Vec::new();
        for id in self.model.part_ids() {
            if self.decides(id) {
                asked.extend(self.add_deciding(id));
            } else if self.is_source(id) {
                asked.extend(self.add_source(id));
            } else if self.is_load(id) {
                asked.extend(self.add_load(id));
            }
        }
        for index in 0..self.model.screens.len() {
            asked.extend(self.add_screen(ScreenId(index)));
        }
        let caused: Vec<(PinAt, BTreeSet<Cause>)> =
            asked.into_iter().map(|(to, pins)| (to, self.ways.causes(&pins))).collect();
        let box_of: BTreeMap<Origin, usize> = self.outs.iter().map(|(origin, out)| (*origin, out.part)).collect();
        let told = ArrowsAndNames::of(&caused, &self.powers, &box_of);
        for (to, word, origin) in &told.names {
            self.note(*to, &format!("{word} {}", self.name_of(*origin)));
        }
        for out in told.origins.iter().filter_map(|origin| self.outs.get(origin)) {
            self.map.diagram.parts[out.part].pins[out.pin].note = "by name".into();
        }
        told.arrows.into_iter().for_each(|(cause, to)| self.point(cause, to));
    }

    /// Adds words beside a pin.
    fn note(&mut self, at: PinAt, words: &str) {
        let note = &mut self.map.diagram.parts[at.part].pins[at.pin].note;
        if !note.contains(words) {
            *note = if note.is_empty() { words.into() } else { format!("{note}, {words}") };
        }
    }

    fn name_of(&self, origin: Origin) -> String {
        match origin {
            Origin::Input(id) => self.model.inputs[id.0].title.clone(),
            Origin::DiagramPart(id) => self.model.part(id).name.to_string(),
        }
    }

    fn point(&mut self, (origin, off): Cause, to: PinAt) {
        let Some(&from) = self.outs.get(&origin) else { return };
        if from.part != to.part {
            self.arrows.insert((from, to, if off { Arrow::SwitchesByGoingOff } else { Arrow::Switches }));
        }
    }

    fn add_part(&mut self, name: &str, title: &str, group: usize, form: PartShape) -> usize {
        let flow = match group {
            INPUTS => Flow::Source,
            SCREENS => Flow::Sink,
            _ => Flow::Between,
        };
        let title =
            if title == name || title.is_empty() { Vec::new() } else { font::wrapped(title, TITLE_ROOM, LABEL, false) };
        self.map.diagram.parts.push(DiagramPart {
            name: name.to_string(),
            title,
            place: group,
            form,
            flow,
            mate: None,
            docks: Vec::new(),
            existing: false,
            pins_in_order: group == SCREENS,
            pins: Vec::new(),
        });
        self.map.diagram.parts.len() - 1
    }

    fn add_pin(&mut self, part: usize, name: &str, note: &str, edge: PartEdge) -> PinAt {
        let drawn = &mut self.map.diagram.parts[part];
        drawn.pins.push(DiagramPin {
            full_name: if name.is_empty() { drawn.name.clone() } else { format!("{}: {name}", drawn.name) },
            name: name.to_string(),
            note: note.to_string(),
            edge: Some(edge),
            cavity: None,
            plugged: None,
        });
        PinAt { part, pin: drawn.pins.len() - 1 }
    }

    fn add_input(&mut self, id: InputId) {
        let input = &self.model.inputs[id.0];
        let kind = input.kind.map_or("positions".to_string(), |kind| kind.word().replace('-', " "));
        let positions: Vec<&str> = input.positions.iter().map(|p| p.as_str()).collect();
        let title = if input.positions.len() > 2 { format!("{kind}: {}", positions.join(", ")) } else { kind };
        let part = self.add_part(&input.title, &title, INPUTS, PartShape::Supply);
        // A switch acts away from rest; a feed, while it is live.
        let acts = match &input.positions[..] {
            [_, away] => away.as_str(),
            _ => "position",
        };
        let out = self.add_pin(part, acts, "", PartEdge::Right);
        self.outs.insert(Origin::Input(id), out);
    }

    fn signals(&self, id: PartId) -> impl Iterator<Item = &Signal> {
        self.model.signals.iter().filter(move |signal| signal.part == id)
    }

    /// Whether a part switches something on its own: a relay, a timer, an output, a selector of pictures.
    fn decides(&self, id: PartId) -> bool {
        let part = self.model.part(id);
        let screen = self.model.screens.iter().any(|screen| screen.part == id);
        let switches = |kind: &ElementKind| match kind {
            ElementKind::Contact { .. } | ElementKind::Output { .. } => true,
            ElementKind::Passes { when, .. } => *when != StateCondition::Always(true),
            _ => false,
        };
        let sound = part.form.family == Family::Audio;
        part.kind == PartKind::Device
            && !screen
            && !sound
            && part.elements.iter().any(|&e| switches(&self.model.element(e).kind))
    }

    fn is_source(&self, id: PartId) -> bool {
        self.model.part(id).elements.iter().any(|&e| matches!(self.model.element(e).kind, ElementKind::Source { .. }))
    }

    /// Whether a part is a lamp, an alarm or the like, fed by the harness.
    fn is_load(&self, id: PartId) -> bool {
        let part = self.model.part(id);
        let screen = self.model.screens.iter().any(|screen| screen.part == id);
        !screen && matches!(part.form.family, Family::Light | Family::Load | Family::Audio)
    }

    fn add_load(&mut self, id: PartId) -> Vec<Asked> {
        let drawn = self.model.part(id);
        let feeds = self.feeds(id);
        if self.ways.causes(&feeds).is_empty() {
            return Vec::new();
        }
        let part = self.add_part(drawn.name.as_str(), &drawn.title, SCREENS, PartShape::Outline);
        let pin = self.add_pin(part, "power", "", PartEdge::Left);
        vec![(pin, feeds)]
    }

    /// The pins that feed a part's loads.
    fn feeds(&self, id: PartId) -> Vec<PinId> {
        let loads = self.model.part(id).elements.iter().filter_map(|&e| match &self.model.element(e).kind {
            ElementKind::Load(load) => Some([load.feed, load.ground]),
            _ => None,
        });
        loads.flatten().collect()
    }

    /// A pin for the power of a part, if anything switches it.
    fn ask_power(&mut self, part: usize, id: PartId, asked: &mut Vec<Asked>) {
        let feeds = self.feeds(id);
        if !self.ways.causes(&feeds).is_empty() {
            let pin = self.add_pin(part, "power", "", PartEdge::Left);
            self.powers.insert(pin);
            asked.push((pin, feeds));
        }
    }

    fn add_deciding(&mut self, id: PartId) -> Vec<Asked> {
        let drawn = self.model.part(id);
        let does = self.signals(id).find_map(|signal| match &signal.kind {
            SignalKind::Timer { kind, time, .. } => {
                let does = match kind {
                    TimerKind::Hold => format!("holds for {time}"),
                    TimerKind::Delay => format!("waits for {time}"),
                    TimerKind::Pulse => format!("on for {time}"),
                    TimerKind::Toggle => "toggles each time".to_string(),
                    TimerKind::Latch => "stays on until reset".to_string(),
                };
                Some(format!("{}: {does}", drawn.title))
            }
            _ => None,
        });
        let passes = drawn.elements.iter().any(|&e| matches!(self.model.element(e).kind, ElementKind::Passes { .. }));
        let group = if passes { PICTURES } else { LOGIC };
        let part =
            self.add_part(drawn.name.as_str(), &does.unwrap_or_else(|| drawn.title.clone()), group, PartShape::Outline);
        let mut asked = Vec::new();
        let kinds: Vec<SignalKind> = self.signals(id).map(|signal| signal.kind.clone()).collect();
        for kind in kinds {
            match kind {
                SignalKind::Relay { coils, .. } => {
                    for coil in coils {
                        if let ElementKind::Coil(coil) = &self.model.element(coil).kind {
                            let pins = vec![coil.feed, coil.ground];
                            asked.push((self.add_pin(part, "coil", "", PartEdge::Left), pins));
                        }
                    }
                }
                SignalKind::Sense { pin, ground, .. } => {
                    let (name, note) = self.words(pin);
                    asked.push((self.add_pin(part, &name, &note, PartEdge::Left), vec![pin, ground]));
                }
                SignalKind::Working { .. } | SignalKind::Timer { .. } => {}
            }
        }
        self.ask_power(part, id, &mut asked);
        let switches = |kind: &ElementKind| matches!(kind, ElementKind::Contact { .. } | ElementKind::Output { .. });
        if drawn.elements.iter().any(|&e| switches(&self.model.element(e).kind)) {
            let out = self.add_pin(part, &self.outlet(id), "", PartEdge::Right);
            self.outs.insert(Origin::DiagramPart(id), out);
        }
        for (pin, leaves) in self.picture_pins(id) {
            let (name, note) = self.words(pin);
            let edge = if leaves { PartEdge::Right } else { PartEdge::Left };
            let at = self.add_pin(part, &name, &note, edge);
            self.pictures.push((at, pin, leaves));
        }
        asked
    }

    /// What a part switches with: its output by the name of its pin, as on the other drawings.
    fn outlet(&self, id: PartId) -> String {
        let kinds = self.model.part(id).elements.iter().map(|&e| &self.model.element(e).kind);
        let outputs =
            kinds.filter_map(|kind| if let ElementKind::Output { pin, .. } = kind { Some(*pin) } else { None });
        let outputs: BTreeSet<PinId> = outputs.collect();
        let names: Vec<&str> = outputs.iter().map(|pin| self.model.pin(*pin).name.as_str()).collect();
        if names.is_empty() { "contact".into() } else { names.join(", ") }
    }

    /// Pins where pictures enter a part, and where they leave it.
    fn picture_pins(&self, id: PartId) -> Vec<(PinId, bool)> {
        let mut found = BTreeSet::new();
        for &element in &self.model.part(id).elements {
            if let ElementKind::Passes { from, to, .. } = &self.model.element(element).kind {
                found.extend([(*from, false), (*to, true)]);
            }
        }
        found.into_iter().collect()
    }

    fn add_source(&mut self, id: PartId) -> Vec<Asked> {
        let drawn = self.model.part(id);
        let part = self.add_part(drawn.name.as_str(), &drawn.title, PICTURES, PartShape::Outline);
        let mut asked = Vec::new();
        self.ask_power(part, id, &mut asked);
        let is_source = |kind: &ElementKind| matches!(kind, ElementKind::Source { .. });
        // What gives sound as well has its own names for what leaves it.
        let several = drawn.elements.iter().filter(|&&e| is_source(&self.model.element(e).kind)).count() > 1;
        for &element in &drawn.elements {
            if let ElementKind::Source { pin, .. } = self.model.element(element).kind {
                let (name, note) = if several { self.words(pin) } else { ("picture".to_string(), String::new()) };
                let at = self.add_pin(part, &name, &note, PartEdge::Right);
                self.pictures.push((at, pin, true));
            }
        }
        asked
    }

    fn add_screen(&mut self, id: ScreenId) -> Vec<Asked> {
        let screen = &self.model.screens[id.0];
        let drawn = self.model.part(screen.part);
        let part = self.add_part(
            screen.name.as_str(),
            &format!("{}, {}", drawn.name, drawn.title),
            SCREENS,
            PartShape::Outline,
        );
        let mut asked = Vec::new();
        self.ask_power(part, screen.part, &mut asked);
        for (order, show) in screen.shows.iter().enumerate() {
            let (input, _) = self.words(show.input);
            let at =
                self.add_pin(part, &format!("{}. {input}", order + 1), &format!("when {}", show.text), PartEdge::Left);
            let mut pins = Vec::new();
            show.when.leaves(&mut |leaf| {
                if let StateCondition::Signal(signal) = leaf
                    && let SignalKind::Sense { pin, ground, .. } = self.model.signals[signal.0].kind
                {
                    pins.extend([pin, ground]);
                }
            });
            asked.push((at, pins));
            self.pictures.push((at, show.input, false));
        }
        self.add_pin(part, "otherwise", screen.otherwise.word(), PartEdge::Left);
        asked
    }

    /// A pin's name, and its title where that says more.
    fn words(&self, id: PinId) -> (String, String) {
        let pin = self.model.pin(id);
        let note = if pin.title == pin.name.as_str() { String::new() } else { pin.title.clone() };
        (pin.name.to_string(), note)
    }

    /// Turns arrows into wires of the diagram, pictures among them.
    fn connect(&mut self) {
        let graph = signal_graph(self.model);
        let enters: Vec<(PinAt, PinId)> = self.pictures.iter().filter(|p| !p.2).map(|p| (p.0, p.1)).collect();
        for (to, pin) in enters {
            for path in picture_paths(self.model, &graph, pin) {
                // Only as far as the first part on the map that the picture passes through, which has its own arrows.
                // A part that always lets the picture pass isn't on the map.
                let through = |link: &Link| matches!(link, Link::Through(_, Passage::Signal));
                let hops = path.links.iter().enumerate().filter(|(_, (_, link))| through(link)).map(|(hop, _)| hop);
                let leaves = hops.chain([path.links.len()]).find_map(|hop| {
                    let from_pin = hop.checked_sub(1).map_or(pin, |last| path.links[last].0);
                    self.pictures.iter().find(|(_, p, leaves)| *leaves && *p == from_pin)
                });
                if let Some(&(from, ..)) = leaves {
                    self.arrows.insert((from, to, Arrow::Picture));
                }
            }
        }
        for (from, to, arrow) in std::mem::take(&mut self.arrows) {
            let label = if arrow == Arrow::SwitchesByGoingOff { "not" } else { "" };
            self.map.diagram.wires.push(DiagramWire {
                number: String::new(),
                ends: [from, to],
                label: label.to_string(),
                hover: String::new(),
                colour: String::new(),
            });
            self.map.arrows.push(arrow);
        }
    }
}
