//! A harness while it is put together: new parts, and nets that join pins at places. Wires come later.

use crate::wish::free_name;
use form::Name;
use quantity::Amps;

/// A part that the proposal adds.
#[derive(Debug, Clone)]
pub struct NewPart {
    /// Its name.
    pub name: Name,
    /// Its kind.
    pub kind: String,
    /// Index of its place.
    pub at: usize,
    /// Its title.
    pub title: String,
    /// Further keys of its entry, as text.
    pub more: Vec<(&'static str, String)>,
    /// What stays of the earlier part that does the same.
    pub kept: Option<KeptPart>,
}

/// What stays of an earlier part.
#[derive(Debug, Clone)]
pub struct KeptPart {
    /// Its entry as written; none if its place is gone.
    pub lines: Vec<String>,
    /// Its place.
    pub at: Option<Name>,
    /// Its title.
    pub title: Option<String>,
    /// The rating of a fuse.
    pub rating: Option<Amps>,
}

/// A wire of a proposal.
#[derive(Debug, Clone)]
pub struct NewWire {
    /// One end.
    pub from: String,
    /// The other end.
    pub to: String,
    /// Insulation colour.
    pub colour: String,
    /// The name of a picture; the wire is a coaxial cable then.
    pub picture: String,
    /// The heading under which it stands.
    pub group: String,
    /// Its number, if it has one from an earlier plan.
    pub id: Option<String>,
    /// Its entry as the earlier plan has it.
    pub kept: Option<Vec<String>>,
}

/// A splice of a proposal.
#[derive(Debug, Clone)]
pub struct NewSplice {
    /// Its name.
    pub name: Name,
    /// Index of its place.
    pub at: usize,
    /// What it joins.
    pub group: String,
    /// Its entry as the earlier plan has it.
    pub kept: Option<Vec<String>>,
}

/// One half of a connector of a proposal.
#[derive(Debug, Clone)]
pub struct NewConnector {
    /// Its name.
    pub name: Name,
    /// Its kind.
    pub kind: String,
    /// Index of its place.
    pub at: usize,
    /// The half that it mates with.
    pub mates: Option<Name>,
    /// Its title.
    pub title: String,
    /// Its entry as an earlier plan has it.
    pub kept: Option<Vec<String>>,
}

/// What stays of an earlier net.
#[derive(Debug, Clone, Default)]
pub struct KeptNet {
    /// Whether the same pins are joined, so that its wires and splices stay.
    pub same: bool,
    /// The colour of its wires.
    pub colour: Option<String>,
    /// Its splices.
    pub splices: Vec<NewSplice>,
    /// Its wires.
    pub wires: Vec<NewWire>,
}

/// A pin, a supply, an input's wire or a ground, and the index of its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Terminal {
    /// As a wire names it.
    pub end: String,
    /// Its place.
    pub at: usize,
}

/// How the wires of a net look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WireLook {
    /// A feed: red, with a tracer for each.
    Feed(usize),
    /// A signal: a colour of its own.
    Signal(usize),
    /// To ground.
    Ground,
    /// A picture, by coaxial cable.
    Picture,
}

/// Pins that wires join; the first is where the current or the signal comes from.
#[derive(Debug, Clone)]
pub struct NewNet {
    /// The heading under which its wires stand.
    pub group: String,
    /// How its wires look.
    pub look: WireLook,
    /// What it carries, for pictures.
    pub signal: String,
    /// The pins.
    pub terminals: Vec<Terminal>,
    /// What stays of the earlier net that joins the same pins.
    pub kept: Option<KeptNet>,
}

/// A fuse and the current behind it.
#[derive(Debug, Clone)]
pub struct NewFuse {
    /// Index into the parts.
    pub part: usize,
    /// The net behind it.
    pub net: usize,
    /// Continuous current at the nominal voltage.
    pub amps: Amps,
}

/// What was put together so far.
#[derive(Debug, Clone, Default)]
pub struct Assembled {
    /// The new parts.
    pub parts: Vec<NewPart>,
    /// The nets.
    pub nets: Vec<NewNet>,
    /// The fuses.
    pub fuses: Vec<NewFuse>,
    /// Every name in use.
    pub taken: Vec<String>,
    looks: usize,
}

impl Assembled {
    /// Nothing yet; `taken` are the names of the wish.
    pub fn new(taken: Vec<String>) -> Assembled {
        Assembled { taken, ..Assembled::default() }
    }

    /// Adds a part with a free name.
    pub fn part(&mut self, prefix: &str, kind: &str, at: usize, title: String) -> usize {
        let name = free_name(prefix, &mut self.taken);
        self.parts.push(NewPart { name, kind: kind.to_string(), at, title, more: Vec::new(), kept: None });
        self.parts.len() - 1
    }

    /// A pin of a new part.
    pub fn pin(&self, part: usize, pin: &Name) -> Terminal {
        Terminal { end: format!("{}.{pin}", self.parts[part].name), at: self.parts[part].at }
    }

    /// Adds a net.
    pub fn net(&mut self, group: &str, look: WireLook, terminals: Vec<Terminal>) -> usize {
        self.nets.push(NewNet { group: group.to_string(), look, signal: String::new(), terminals, kept: None });
        self.nets.len() - 1
    }

    /// Adds a net of a signal, in a colour of its own.
    pub fn signal_net(&mut self, group: &str, terminals: Vec<Terminal>) -> usize {
        self.looks += 1;
        self.net(group, WireLook::Signal(self.looks - 1), terminals)
    }

    /// Joins a pin to a net.
    pub fn join(&mut self, net: usize, terminal: Terminal) {
        self.nets[net].terminals.push(terminal);
    }
}
