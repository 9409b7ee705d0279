//! The fault model: how parts and wires fail, as changes of the circuit and of the paths of pictures.

use super::rates::Rates;
use circuit::{Assembly, BranchId, Change, NEGATIVE, Variant};
use facts::Facts;
use model::{Domain, ElementId, ElementKind, Model, PartId, PinId, SignalId, WireId};
use quantity::Ohms;
use spec::WireMake;

/// A corroded crimp or a spread socket: typical, common practice, no source.
const CORRODED: Ohms = Ohms::new(47.0);

/// A chafed wire on the body.
const CHAFED: Ohms = Ohms::new(0.02);

/// How a part or a wire fails.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum FailureKind {
    /// A wire is broken, or a terminal has backed out.
    WireOpen(WireId),
    /// A corroded crimp or a spread socket on a wire.
    WireResistance(WireId),
    /// A wire has chafed through to the body.
    WireToGround(WireId),
    /// A fuse has blown or sits badly.
    FuseBlown(ElementId),
    /// A relay's coil is open.
    CoilOpen(ElementId),
    /// A contact is burnt and no longer makes.
    ContactStuckOpen(ElementId),
    /// A contact is welded.
    ContactStuckClosed(ElementId),
    /// A diode is open.
    DiodeOpen(ElementId),
    /// A diode conducts both ways.
    DiodeShorted(ElementId),
    /// A ground point is loose or corroded away.
    GroundLost(ElementId),
    /// A wire of the vehicle brings nothing.
    FeedMissing(ElementId),
    /// An output no longer switches on.
    OutputDead(ElementId),
    /// A switch no longer makes.
    SwitchDead(ElementId),
    /// A lamp, buzzer or module draws nothing.
    LoadDead(ElementId),
    /// A camera or another source sends no picture.
    CameraDead(PartId),
    /// A screen shows nothing, though it has power.
    ScreenDead(PartId),
    /// The core of a picture's cable is open or shorted to its shield.
    PictureCoreOpen(WireId),
    /// An input of a screen no longer shows pictures.
    ScreenInputDead(PinId),
}

/// A fault that can be suspected.
#[derive(Debug, Clone, PartialEq)]
pub struct Failure {
    /// How it fails.
    pub kind: FailureKind,
    /// In words: `wire 12 is open (K1.86 – SA)`.
    pub words: String,
    /// Where to look: the places of its ends.
    pub places: Vec<String>,
    /// How often it happens, in relation to the others.
    pub rate: f64,
    /// What it does to the circuit.
    pub(crate) variant: Variant,
}

impl FailureKind {
    /// The words that a file of rates uses.
    pub const WORDS: [&'static str; 18] = [
        "wire-open",
        "wire-resistance",
        "wire-to-ground",
        "fuse-blown",
        "coil-open",
        "contact-stuck-open",
        "contact-stuck-closed",
        "diode-open",
        "diode-shorted",
        "ground-lost",
        "feed-missing",
        "output-dead",
        "switch-dead",
        "load-dead",
        "camera-dead",
        "picture-core-open",
        "screen-input-dead",
        "screen-dead",
    ];

    /// Its word in a file of rates.
    pub fn word(&self) -> &'static str {
        let at = match self {
            FailureKind::WireOpen(_) => 0,
            FailureKind::WireResistance(_) => 1,
            FailureKind::WireToGround(_) => 2,
            FailureKind::FuseBlown(_) => 3,
            FailureKind::CoilOpen(_) => 4,
            FailureKind::ContactStuckOpen(_) => 5,
            FailureKind::ContactStuckClosed(_) => 6,
            FailureKind::DiodeOpen(_) => 7,
            FailureKind::DiodeShorted(_) => 8,
            FailureKind::GroundLost(_) => 9,
            FailureKind::FeedMissing(_) => 10,
            FailureKind::OutputDead(_) => 11,
            FailureKind::SwitchDead(_) => 12,
            FailureKind::LoadDead(_) => 13,
            FailureKind::CameraDead(_) => 14,
            FailureKind::PictureCoreOpen(_) => 15,
            FailureKind::ScreenInputDead(_) => 16,
            FailureKind::ScreenDead(_) => 17,
        };
        FailureKind::WORDS[at]
    }
}

/// Every fault of a harness, wires first, in the order of the spec.
pub(crate) fn faults(facts: &Facts, rates: &Rates) -> Vec<Failure> {
    let search = Search { model: facts.model, assembly: &facts.solved.assembly };
    let wires = search.model.wire_ids().flat_map(|wire| search.of_wire(wire));
    let elements = (0..search.model.elements.len()).map(ElementId).flat_map(|id| search.of_element(id));
    let kinds: Vec<FailureKind> = wires.chain(elements).chain(search.of_pictures()).collect();
    kinds.into_iter().map(|kind| search.fault(kind, rates)).collect()
}

struct Search<'f> {
    model: &'f Model,
    assembly: &'f Assembly,
}

impl Search<'_> {
    fn of_wire(&self, wire: WireId) -> Vec<FailureKind> {
        if self.assembly.wire(wire).is_some() {
            return vec![
                FailureKind::WireOpen(wire),
                FailureKind::WireResistance(wire),
                FailureKind::WireToGround(wire),
            ];
        }
        let is_picture = self.model.wire(wire).domain == Domain::Video && self.model.wire(wire).make == WireMake::Coax;
        if is_picture { vec![FailureKind::PictureCoreOpen(wire)] } else { Vec::new() }
    }

    fn of_element(&self, id: ElementId) -> Vec<FailureKind> {
        match &self.model.element(id).kind {
            ElementKind::Fuse { .. } => vec![FailureKind::FuseBlown(id)],
            ElementKind::Coil(_) => vec![FailureKind::CoilOpen(id)],
            ElementKind::Contact { .. } => vec![FailureKind::ContactStuckOpen(id), FailureKind::ContactStuckClosed(id)],
            ElementKind::Diode { .. } => vec![FailureKind::DiodeOpen(id), FailureKind::DiodeShorted(id)],
            ElementKind::GroundPoint { .. } => vec![FailureKind::GroundLost(id)],
            ElementKind::Feed(_) => vec![FailureKind::FeedMissing(id)],
            ElementKind::Output { .. } => vec![FailureKind::OutputDead(id)],
            ElementKind::Throw { .. } => vec![FailureKind::SwitchDead(id)],
            // Of a camera, a screen or a module, another fault says what is missing.
            ElementKind::Load(_) if self.is_seen(id) => vec![FailureKind::LoadDead(id)],
            _ => Vec::new(),
        }
    }

    /// Whether a load is a lamp, a buzzer or another part that the spec promises to work.
    fn is_seen(&self, id: ElementId) -> bool {
        self.model.works.iter().any(|promise| promise.part == self.model.element(id).part)
    }

    fn of_pictures(&self) -> Vec<FailureKind> {
        let model = self.model;
        let sources = model.elements.iter().filter_map(|element| match element.kind {
            ElementKind::Source { pin, .. } if model.pin(pin).domain == Domain::Video => Some(element.part),
            _ => None,
        });
        let mut sources: Vec<PartId> = sources.collect();
        sources.dedup();
        let inputs = model.screens.iter().flat_map(|screen| screen.shows.iter().map(|show| show.input));
        let mut inputs: Vec<PinId> = inputs.collect();
        inputs.sort();
        inputs.dedup();
        let sources = sources.into_iter().map(FailureKind::CameraDead);
        let screens = model.screens.iter().map(|screen| FailureKind::ScreenDead(screen.part));
        let sources: Vec<FailureKind> = sources.chain(screens).collect();
        sources.into_iter().chain(inputs.into_iter().map(FailureKind::ScreenInputDead)).collect()
    }

    fn fault(&self, kind: FailureKind, rates: &Rates) -> Failure {
        Failure {
            kind,
            words: self.words(kind),
            places: self.places(kind),
            rate: rates.of(kind.word()),
            variant: self.variant(kind),
        }
    }

    fn variant(&self, kind: FailureKind) -> Variant {
        let wire = |wire: WireId, change: &dyn Fn(BranchId) -> Change| {
            self.assembly.wire(wire).map_or(Variant::NONE, |branch| change(branch).into())
        };
        let all = |id: ElementId| Variant::open(self.assembly.element(id).iter().copied());
        match kind {
            FailureKind::WireOpen(id) => wire(id, &Change::Open),
            FailureKind::WireResistance(id) => wire(id, &|branch| Change::InSeries(branch, CORRODED)),
            FailureKind::WireToGround(id) => {
                let pin = self.assembly.pin(self.model.wire(id).ends[0]);
                pin.map_or(Variant::NONE, |node| Change::Between(node, NEGATIVE, CHAFED).into())
            }
            FailureKind::CoilOpen(id) => self.coil_open(id),
            FailureKind::ContactStuckOpen(id) => self.stuck(id, false),
            FailureKind::ContactStuckClosed(id) => self.stuck(id, true),
            FailureKind::DiodeShorted(id) => {
                let ElementKind::Diode { anode, cathode, .. } = self.model.element(id).kind else { return all(id) };
                match [anode, cathode].map(|pin| self.assembly.pin(pin)) {
                    [Some(anode), Some(cathode)] => Change::Between(anode, cathode, CHAFED).into(),
                    _ => all(id),
                }
            }
            FailureKind::FeedMissing(id) => Variant::open(self.assembly.element(id).first().copied()),
            FailureKind::FuseBlown(id)
            | FailureKind::DiodeOpen(id)
            | FailureKind::GroundLost(id)
            | FailureKind::OutputDead(id)
            | FailureKind::SwitchDead(id)
            | FailureKind::LoadDead(id) => all(id),
            FailureKind::CameraDead(_)
            | FailureKind::ScreenDead(_)
            | FailureKind::PictureCoreOpen(_)
            | FailureKind::ScreenInputDead(_) => Variant::NONE,
        }
    }

    /// A contact that stays where it is at rest, or as when its coil pulls.
    fn stuck(&self, id: ElementId, is_made: bool) -> Variant {
        let branches = self.assembly.element(id);
        let ElementKind::Contact { made, rest, .. } = &self.model.element(id).kind else { return Variant::NONE };
        let sides = [(made.is_some(), is_made), (rest.is_some(), !is_made)];
        let sides = sides.into_iter().filter(|(is_there, _)| *is_there).map(|(_, closes)| closes);
        let change = |(branch, closes): (&BranchId, bool)| match closes {
            true => Change::Closed(*branch),
            false => Change::Open(*branch),
        };
        branches.iter().zip(sides).map(change).collect()
    }

    /// A coil that draws nothing: every contact of its relay stays at rest.
    fn coil_open(&self, id: ElementId) -> Variant {
        let ElementKind::Coil(coil) = &self.model.element(id).kind else { return Variant::NONE };
        let is_moved = |other: SignalId| other == coil.relay;
        let contacts = (0..self.model.elements.len())
            .map(ElementId)
            .filter(|id| matches!(self.model.element(*id).kind, ElementKind::Contact { relay, .. } if is_moved(relay)));
        let changes = contacts.flat_map(|contact| self.stuck(contact, false).changes().to_vec());
        let open = self.assembly.element(id).iter().map(|branch| Change::Open(*branch));
        open.chain(changes).collect()
    }

    fn part(&self, kind: FailureKind) -> Option<PartId> {
        match kind {
            FailureKind::WireOpen(_)
            | FailureKind::WireResistance(_)
            | FailureKind::WireToGround(_)
            | FailureKind::PictureCoreOpen(_) => None,
            FailureKind::CameraDead(part) | FailureKind::ScreenDead(part) => Some(part),
            FailureKind::ScreenInputDead(pin) => Some(self.model.pin(pin).part),
            FailureKind::FuseBlown(id)
            | FailureKind::CoilOpen(id)
            | FailureKind::ContactStuckOpen(id)
            | FailureKind::ContactStuckClosed(id)
            | FailureKind::DiodeOpen(id)
            | FailureKind::DiodeShorted(id)
            | FailureKind::GroundLost(id)
            | FailureKind::FeedMissing(id)
            | FailureKind::OutputDead(id)
            | FailureKind::SwitchDead(id)
            | FailureKind::LoadDead(id) => Some(self.model.element(id).part),
        }
    }

    fn words(&self, kind: FailureKind) -> String {
        let model = self.model;
        let wire = |id: WireId| {
            let [from, to] = model.wire(id).ends.map(|pin| model.pin_name(pin));
            format!("wire {} ({from} – {to})", model.wire(id).id)
        };
        let part = |id: ElementId| model.part(model.element(id).part).name.to_string();
        match kind {
            FailureKind::WireOpen(id) => format!("{} is open, or a terminal on it", wire(id)),
            FailureKind::WireResistance(id) => format!("{} has a bad crimp or contact", wire(id)),
            FailureKind::WireToGround(id) => format!("{} has chafed to the body", wire(id)),
            FailureKind::FuseBlown(id) => format!("fuse {} is blown", part(id)),
            FailureKind::CoilOpen(id) => format!("the coil of {} is open", part(id)),
            FailureKind::ContactStuckOpen(id) => format!("the contact of {} no longer makes", part(id)),
            FailureKind::ContactStuckClosed(id) => format!("the contact of {} is welded", part(id)),
            FailureKind::DiodeOpen(id) => format!("diode {} is open", part(id)),
            FailureKind::DiodeShorted(id) => format!("diode {} is shorted", part(id)),
            FailureKind::GroundLost(id) => format!("ground point {} is loose or corroded", part(id)),
            FailureKind::FeedMissing(id) => format!("the vehicle's wire {} brings nothing", part(id)),
            FailureKind::OutputDead(id) => format!("the output of {} is dead", part(id)),
            FailureKind::SwitchDead(id) => {
                let throw = match model.element(id).kind {
                    ElementKind::Throw { throw, .. } => format!(".{}", model.pin(throw).name),
                    _ => String::new(),
                };
                format!("switch {}{throw} no longer makes", part(id))
            }
            FailureKind::LoadDead(id) => format!("{} is dead", part(id)),
            FailureKind::CameraDead(id) => format!("{} has power but sends no picture", model.part(id).name),
            FailureKind::ScreenDead(id) => format!("{} has power but shows nothing", model.part(id).name),
            FailureKind::PictureCoreOpen(id) => format!("the picture cable {} is open or shorted", wire(id)),
            FailureKind::ScreenInputDead(pin) => format!("input {} shows no picture any more", model.pin_name(pin)),
        }
    }

    fn places(&self, kind: FailureKind) -> Vec<String> {
        let model = self.model;
        let of_pin = |pin: PinId| model.place_name(model.part(model.pin(pin).part).at).to_string();
        let mut places = match (kind, self.part(kind)) {
            (_, Some(part)) => vec![model.place_name(model.part(part).at).to_string()],
            (
                FailureKind::WireOpen(id)
                | FailureKind::WireResistance(id)
                | FailureKind::WireToGround(id)
                | FailureKind::PictureCoreOpen(id),
                None,
            ) => model.wire(id).ends.map(of_pin).to_vec(),
            _ => Vec::new(),
        };
        places.dedup();
        places
    }
}
