//! The fault model: how parts and wires fail, as changes of the circuit and of the paths of pictures.
//!
//! Each kind of failure is one entry of [`KINDS`] and one function that finds it in a harness, with its words, its
//! places and its effect. A file of rates names the kinds by their words.

mod exchanged;
mod mending;
mod parts;
mod pictures;
mod wires;

pub(crate) use mending::Mending;

use super::cable::CableSeen;
use super::rates::Rates;
use circuit::{Assembly, Change, Variant};
use facts::Facts;
use graph::{Link, Nets};
use model::{ElementId, Model, PartId, PinId, SignalId, WireId};
use quantity::Ohms;

/// A corroded crimp or a spread socket: typical, common practice, no source.
pub(crate) const CORRODED: Ohms = Ohms::new(47.0);

/// Bare copper on copper or on the body.
pub(crate) const TOUCHING: Ohms = Ohms::new(0.02);

/// A fault that can be suspected.
#[derive(Debug, Clone, PartialEq)]
pub struct Failure {
    /// Its kind, as a file of rates names it.
    pub kind: &'static str,
    /// In words: `wire 12 (K1.86 – SA) is open, or a terminal on it`.
    pub words: String,
    /// Where to look: the places of its ends.
    pub places: Vec<String>,
    /// How often it happens, in relation to the others.
    pub rate: f64,
    /// What it changes.
    pub(crate) harm: Harm,
    /// What mends it.
    pub(crate) repair: Mending,
}

impl Failure {
    /// The part or the wires that mend it, by name and number.
    pub fn mended(&self, model: &Model) -> Vec<String> {
        let wire = |id: WireId| model.wire(id).id.to_string();
        match self.repair {
            Mending::Wire(one) => vec![wire(one)],
            Mending::Wires(_, one, other) => vec![wire(one), wire(other)],
            Mending::Part(part) | Mending::Plugs(part) | Mending::Format(part) => {
                vec![model.part(part).name.to_string()]
            }
        }
    }
}

/// What a fault changes. Two faults together change what each of them does.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Harm {
    /// In the circuit.
    pub variant: Variant,
    /// In pictures.
    pub pictures: Vec<PictureHarm>,
    /// Fuses that are blown.
    pub blown: Vec<ElementId>,
    /// Of those, which a short blows: each with the first of the settings in which it does.
    pub blows_in: Vec<(ElementId, usize)>,
    /// Whether it may blow further fuses.
    pub shorts: bool,
    /// Parts that do not work though they have power.
    pub dead: Vec<PartId>,
    /// Whether it comes and goes as something moves.
    pub comes_and_goes: bool,
    /// Wires that it is in: a meter at their ends shows most.
    pub wires: Vec<WireId>,
    /// Wires that do not measure as whole when they are taken off at both ends.
    pub measured: Vec<(WireId, CableSeen)>,
    /// A part at which wires or plugs are exchanged.
    pub exchanged: Option<PartId>,
    /// Whether it is a resistance that may be larger or smaller.
    pub some_resistance: bool,
    /// Whether a battery is worn out.
    pub weak: bool,
}

/// What a fault does to pictures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum PictureHarm {
    /// A source sends nothing.
    NoPicture(PartId),
    /// A source sends one picture that no longer moves.
    Still(PartId),
    /// A screen shows nothing.
    DeadScreen(PartId),
    /// The picture of a source is in another format than its input expects: it rolls or has bars.
    Format(PartId),
    /// An input of a screen takes no picture.
    DeadInput(PinId),
    /// A trigger input of a screen never notices that it is on.
    DeadTrigger(SignalId),
    /// A cable's core is open.
    CoreOpen(WireId),
    /// A cable's core touches its shield.
    CoreShorted(WireId),
    /// Two cables or joints are exchanged, each at this pin.
    Exchanged([(Link, PinId); 2]),
}

impl Harm {
    /// This and another fault together.
    pub fn and(&self, other: &Harm) -> Harm {
        let changes = [&self.variant, &other.variant].map(|variant| variant.changes().to_vec()).concat();
        Harm {
            variant: changes.into_iter().collect(),
            pictures: [&self.pictures[..], &other.pictures].concat(),
            blown: [&self.blown[..], &other.blown].concat(),
            blows_in: [&self.blows_in[..], &other.blows_in].concat(),
            shorts: self.shorts || other.shorts,
            dead: [&self.dead[..], &other.dead].concat(),
            comes_and_goes: self.comes_and_goes || other.comes_and_goes,
            wires: [&self.wires[..], &other.wires].concat(),
            measured: [&self.measured[..], &other.measured].concat(),
            exchanged: self.exchanged.or(other.exchanged),
            some_resistance: self.some_resistance && other.some_resistance,
            weak: self.weak || other.weak,
        }
    }

    /// The picture cable that it is in.
    pub fn cable(&self) -> Option<&WireId> {
        self.pictures.iter().find_map(|harm| match harm {
            PictureHarm::CoreOpen(wire) | PictureHarm::CoreShorted(wire) => Some(wire),
            _ => None,
        })
    }

    /// Whether a new fuse in the place of a blown one blows too.
    pub fn blows_again(&self, fuse: ElementId) -> bool {
        self.shorts && !self.comes_and_goes && self.blown.contains(&fuse)
    }

    /// The setting in which a new fuse blows, if it does.
    pub fn blows_when(&self, fuse: ElementId) -> Option<usize> {
        let at = self.blows_in.iter().find(|(one, _)| *one == fuse).map(|(_, at)| *at);
        at.filter(|_| self.blows_again(fuse))
    }

    /// The state of a picture's cable. What comes and goes is not there as it is measured.
    pub fn cable_seen(&self, wire: WireId) -> CableSeen {
        let has = |here: PictureHarm| !self.comes_and_goes && self.pictures.contains(&here);
        if has(PictureHarm::CoreOpen(wire)) {
            CableSeen::Open
        } else if has(PictureHarm::CoreShorted(wire)) {
            CableSeen::Shorted
        } else {
            CableSeen::Whole
        }
    }

    /// What a wire measures when it is taken off at both ends. What comes and goes is not there then.
    pub fn alone(&self, wire: WireId) -> CableSeen {
        self.measured.iter().find(|(one, _)| *one == wire).map_or(CableSeen::Whole, |(_, seen)| *seen)
    }

    fn circuit(variant: impl Into<Variant>) -> Harm {
        Harm { variant: variant.into(), ..Harm::default() }
    }

    fn picture(harm: PictureHarm) -> Harm {
        Harm { pictures: vec![harm], ..Harm::default() }
    }

    fn on(mut self, wires: impl IntoIterator<Item = WireId>) -> Harm {
        self.wires.extend(wires);
        self
    }

    /// What its wires measure when they are taken off.
    fn measuring(mut self, seen: CableSeen) -> Harm {
        self.measured = self.wires.iter().map(|wire| (*wire, seen)).collect();
        self
    }

    fn of_some_resistance(mut self) -> Harm {
        self.some_resistance = true;
        self
    }

    fn shorting(mut self) -> Harm {
        self.shorts = true;
        self
    }
}

/// A fault before its rate is known.
pub(crate) struct FoundFault {
    words: String,
    /// Parts that show where it is.
    at: Vec<PartId>,
    harm: Harm,
}

/// A kind of failure: its word in a file of rates, and the function that finds it.
struct FailureKind {
    word: &'static str,
    find: fn(&Harness) -> Vec<FoundFault>,
}

const fn kind(word: &'static str, find: fn(&Harness) -> Vec<FoundFault>) -> FailureKind {
    FailureKind { word, find }
}

/// Every kind of failure.
const KINDS: &[FailureKind] = &[
    kind("wire-open", wires::open),
    kind("wire-resistance", wires::resistance),
    kind("wire-to-ground", wires::to_ground),
    kind("wire-to-neighbour", wires::to_neighbour),
    kind("wire-intermittent", wires::intermittent),
    kind("wrong-cavity", exchanged::neighbours),
    kind("wrong-terminal", exchanged::others),
    kind("wires-exchanged", exchanged::between_parts),
    kind("picture-exchanged", exchanged::pictures),
    kind("plug-exchanged", exchanged::plugs),
    kind("fuse-blown", parts::fuse_blown),
    kind("coil-open", parts::coil_open),
    kind("contact-stuck-open", parts::contact_stuck_open),
    kind("contact-stuck-closed", parts::contact_stuck_closed),
    kind("contact-burnt", parts::contact_burnt),
    kind("diode-open", parts::diode_open),
    kind("diode-shorted", parts::diode_shorted),
    kind("diode-reversed", parts::diode_reversed),
    kind("ground-lost", parts::ground_lost),
    kind("ground-resistance", parts::ground_resistance),
    kind("feed-missing", parts::feed_missing),
    kind("feed-stuck", parts::feed_stuck),
    kind("battery-weak", parts::battery_weak),
    kind("output-dead", parts::output_dead),
    kind("output-stuck", parts::output_stuck),
    kind("switch-dead", parts::switch_dead),
    kind("switch-stuck", parts::switch_stuck),
    kind("load-dead", parts::load_dead),
    kind("camera-dead", pictures::camera_dead),
    kind("camera-stuck", pictures::camera_stuck),
    kind("picture-format", pictures::format),
    kind("picture-core-open", pictures::core_open),
    kind("picture-core-shorted", pictures::core_shorted),
    kind("picture-intermittent", pictures::intermittent),
    kind("screen-input-dead", pictures::input_dead),
    kind("screen-trigger-dead", pictures::trigger_dead),
    kind("screen-dead", pictures::screen_dead),
];

/// The words that a file of rates uses.
#[cfg(test)]
pub(crate) fn words() -> impl Iterator<Item = &'static str> {
    KINDS.iter().map(|kind| kind.word)
}

/// Every fault of a harness, kind by kind.
pub(crate) fn faults(facts: &Facts, rates: &Rates) -> Vec<Failure> {
    let harness = Harness { model: facts.model, assembly: &facts.solved.assembly, nets: facts.nets() };
    let of_kind = |kind: &'static FailureKind| {
        let rate = rates.of(kind.word);
        let harness = &harness;
        (kind.find)(harness).into_iter().map(move |found| harness.failure(kind.word, rate, found))
    };
    KINDS.iter().flat_map(of_kind).collect()
}

/// Where faults are looked for.
pub(crate) struct Harness<'f> {
    model: &'f Model,
    assembly: &'f Assembly,
    nets: &'f Nets,
}

impl Harness<'_> {
    fn failure(&self, kind: &'static str, rate: f64, found: FoundFault) -> Failure {
        let place = |part: &PartId| self.model.place_name(self.model.part(*part).at).to_string();
        let mut places: Vec<String> = found.at.iter().map(place).collect();
        places.dedup();
        let repair = match (&found.harm.wires[..], found.harm.cable()) {
            _ if found.harm.exchanged.is_some() => Mending::Plugs(found.at[0]),
            _ if found.harm.pictures.contains(&PictureHarm::Format(found.at[0])) => Mending::Format(found.at[0]),
            ([wire], _) | ([], Some(wire)) => Mending::Wire(*wire),
            ([one, other, ..], _) => Mending::Wires(kind, *one, *other),
            // OK because a fault of no wire is one of a part, which `at` begins with.
            ([], None) => Mending::Part(found.at[0]),
        };
        Failure { kind, words: found.words, places, rate, harm: found.harm, repair }
    }

    /// Every element, in order.
    fn elements(&self) -> impl Iterator<Item = ElementId> + use<> {
        (0..self.model.elements.len()).map(ElementId)
    }

    /// The part of an element, and its name.
    fn part(&self, id: ElementId) -> (PartId, &str) {
        let part = self.model.element(id).part;
        (part, self.model.part(part).name.as_str())
    }

    /// The parts at both ends of a wire.
    fn ends(&self, id: WireId) -> Vec<PartId> {
        self.model.wire(id).ends.map(|pin| self.model.pin(pin).part).to_vec()
    }

    /// A wire with its ends: `wire 12 (K1.86 – SA)`.
    fn wire(&self, id: WireId) -> String {
        self.model.wire_words(id)
    }

    /// Every branch of an element open.
    fn open(&self, id: ElementId) -> Variant {
        Variant::open(self.assembly.element(id).iter().copied())
    }

    /// A contact between two pins that should have none.
    fn touching(&self, from: PinId, to: PinId) -> Option<Change> {
        Some(Change::Between(self.assembly.pin(from)?, self.assembly.pin(to)?, TOUCHING))
    }
}
