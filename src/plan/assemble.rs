//! From the network of contacts to parts and nets.

use crate::distances::Distances;
use crate::harness::{Assembled, NewFuse, NewNet, Terminal, WireLook};
use crate::kit::Kit;
use crate::wish::{WishRead, entries};
use crate::words::sentence;
use catalogue::part_form::Domain;
use form::{Name, Problem};
use quantity::{Amps, Volts};
use std::collections::BTreeMap;

/// What assembling needs to know, and what was assembled so far.
pub struct Assembler<'a> {
    pub wish: &'a WishRead,
    pub kit: &'a Kit<'a>,
    pub distances: &'a Distances,
    /// Index of the place of relays and modules.
    pub hub: usize,
    /// The supply that feeds switches and modules without another feed.
    pub logic: Name,
    /// What was put together.
    pub built: Assembled,
    /// What could not be done.
    pub missing: Vec<Problem>,
    /// A ground point for large loads alone.
    pub reserved: Option<String>,
    /// The one ground point of everything but large loads.
    pub shared: Option<String>,
    /// Whether relays and modules have a ground wire each, wherever the ground is.
    pub own_grounds: bool,
    /// Supplies that a relay repeats.
    pub repeated: Vec<Name>,
    /// Cameras and sources with an isolator in each picture cable.
    pub isolated: Vec<Name>,
    supplies: BTreeMap<(String, String), usize>,
    /// For a place and a ground elsewhere, the net of the relays and modules there.
    common_grounds: BTreeMap<(usize, String), usize>,
}

impl<'a> Assembler<'a> {
    /// Ready to assemble.
    pub fn new(
        wish: &'a WishRead,
        kit: &'a Kit<'a>,
        distances: &'a Distances,
        (hub, logic): (usize, Name),
    ) -> Assembler<'a> {
        let built = Assembled::new(crate::wish::names(&wish.form));
        Assembler {
            wish,
            kit,
            distances,
            hub,
            logic,
            built,
            missing: Vec::new(),
            reserved: None,
            shared: None,
            own_grounds: false,
            repeated: Vec::new(),
            isolated: Vec::new(),
            supplies: BTreeMap::new(),
            common_grounds: BTreeMap::new(),
        }
    }

    /// A terminal of a part of the wish.
    pub fn given(&self, part: &Name, pin: &Name) -> Terminal {
        let at = self.wish.part(part).and_then(|(entry, _)| entry.at.as_ref());
        Terminal { end: format!("{part}.{pin}"), at: at.map_or(self.hub, |at| self.wish.place(&at.value)) }
    }

    /// A wire from a pin to the ground point of another part; to the nearest one if that has none yet.
    pub fn ground_beside(&mut self, group: &str, terminal: Terminal, part: &Name) {
        let starts = |net: &&NewNet| net.terminals[0].end.starts_with(&format!("{part}."));
        let grounds = self.built.nets.iter().filter(|net| net.look == WireLook::Ground);
        match grounds.filter(starts).find_map(|net| net.terminals.get(1)).cloned() {
            Some(point) => _ = self.built.net(group, WireLook::Ground, vec![terminal, point]),
            None => self.ground(group, terminal),
        }
    }

    /// A wire from a pin to the nearest ground. Relays and modules at one place share a wire to a ground elsewhere.
    pub fn ground(&mut self, group: &str, terminal: Terminal) {
        let mut names: Vec<String> = self.wish.form.grounds.names().map(|name| name.to_string()).collect();
        names.retain(|name| Some(name) != self.reserved.as_ref());
        if let Some(shared) = &self.shared {
            names.retain(|name| name == shared);
        }
        self.ground_on(group, terminal, &names);
    }

    /// A wire from a pin of a large load to the nearest ground without a picture on it, if there is one: when a ground comes
    /// off, a shield must not carry a load's current.
    pub fn ground_apart(&mut self, group: &str, terminal: Terminal) {
        let all: Vec<String> = self.wish.form.grounds.names().map(|name| name.to_string()).collect();
        if let Some(reserved) = self.reserved.clone() {
            return self.ground_on(group, terminal, &[reserved]);
        }
        let mut free = all.clone();
        free.retain(|name| Some(name) != self.shared.as_ref());
        for (name, _) in entries(&self.wish.form) {
            let Some((entry, kind)) = self.wish.part(&name.value) else { continue };
            let pictures = kind.pins.iter().any(|(_, pin)| pin.domain == Domain::Video);
            if let (true, None, Some(at)) = (pictures, &self.shared, &entry.at)
                && let Some((ground, _)) = self.nearest(self.wish.place(&at.value), &all)
            {
                free.retain(|name| *name != ground);
            }
        }
        self.ground_on(group, terminal, if free.is_empty() { &all } else { &free });
    }

    /// The nearest of these grounds, and its place.
    fn nearest(&self, from: usize, names: &[String]) -> Option<(String, usize)> {
        let place = |name: &String| self.wish.form.grounds.get(name).map_or(0, |form| self.wish.place(&form.at.value));
        let places: Vec<usize> = names.iter().map(place).collect();
        let nearest = self.distances.nearest(from, &places)?;
        Some((names[nearest].clone(), places[nearest]))
    }

    fn ground_on(&mut self, group: &str, terminal: Terminal, names: &[String]) {
        let Some((end, at)) = self.nearest(terminal.at, names) else { return };
        let part = terminal.end.split('.').next().unwrap_or_default();
        let is_new = !self.own_grounds && self.built.parts.iter().any(|new| new.name.as_str() == part);
        if !is_new || at == terminal.at {
            self.built.net(group, WireLook::Ground, vec![terminal, Terminal { end, at }]);
            return;
        }
        let key = (terminal.at, end.clone());
        match self.common_grounds.get(&key) {
            Some(net) => self.built.join(*net, terminal),
            None => {
                let ends = vec![terminal, Terminal { end, at }];
                self.common_grounds
                    .insert(key, self.built.net("grounds of relays and modules", WireLook::Ground, ends));
            }
        }
    }

    /// A fuse where a feed begins. Returns the fuse's number, and the net behind it.
    pub fn fused(&mut self, group: &str, source: Terminal, look: Option<WireLook>, title: String) -> usize {
        let Some((kind, [one, two], _)) = self.kit.fuse() else {
            return self.built.net(group, WireLook::Feed(0), vec![source]);
        };
        let fuse = self.built.part("F", kind, source.at, title);
        let (one, two) = (self.built.pin(fuse, &one), self.built.pin(fuse, &two));
        let net = match look {
            Some(look) => {
                self.built.net(group, look, vec![source, one]);
                self.built.net(group, look, vec![two])
            }
            None => {
                let net = self.built.signal_net(group, vec![source, one]);
                let look = self.built.nets[net].look;
                self.built.net(group, look, vec![two])
            }
        };
        self.built.fuses.push(NewFuse { part: fuse, net, amps: Amps::new(0.0) });
        net
    }

    /// Adds current to the fuse before a net.
    pub fn load(&mut self, net: usize, amps: Amps) {
        if let Some(fuse) = self.built.fuses.iter_mut().find(|fuse| fuse.net == net) {
            fuse.amps = fuse.amps + amps;
        }
    }

    /// The fused net of a supply. Each `branch` has a fuse of its own.
    pub fn supply(&mut self, supply: &Name, branch: &str) -> usize {
        match self.repeated.contains(supply) {
            true => self.repeated_supply(supply),
            false => self.own_supply(supply, branch),
        }
    }

    /// What the battery feeds through a relay while a supply is live that feeds the coil alone.
    fn repeated_supply(&mut self, supply: &Name) -> usize {
        let key = (supply.to_string(), "repeated".to_string());
        if let Some(net) = self.supplies.get(&key) {
            return *net;
        }
        let always = self.wish.form.supplies.iter().find(|(_, form)| form.follows.is_none());
        let (Some(kind), Some((battery, _))) = (self.kit.load_relay(), always) else {
            return self.own_supply(supply, "");
        };
        let group = format!("{supply}, repeated");
        let coil = self.own_supply(supply, "");
        let feed = self.own_supply(&battery.value.clone(), &group);
        let at = self.wish.form.supplies.get(supply).map_or(self.hub, |form| self.wish.place(&form.at.value));
        let relay = self.built.part("K", &kind.name, at, sentence(&group));
        let (plus, minus) = (self.built.pin(relay, &kind.feed), self.built.pin(relay, &kind.ground));
        self.built.join(coil, plus);
        self.load(coil, kind.coil);
        self.ground(&group, minus);
        let (common, made) = (self.built.pin(relay, &kind.common), self.built.pin(relay, &kind.made));
        self.built.join(feed, common);
        let net = self.built.net(&group, self.built.nets[feed].look, vec![made]);
        // What it feeds counts for the fuse at the battery.
        if let Some(fuse) = self.built.fuses.iter_mut().find(|fuse| fuse.net == feed) {
            fuse.net = net;
        }
        self.supplies.insert(key, net);
        net
    }

    fn own_supply(&mut self, supply: &Name, branch: &str) -> usize {
        let key = (supply.to_string(), branch.to_string());
        if let Some(net) = self.supplies.get(&key) {
            return *net;
        }
        let at = self.wish.form.supplies.get(supply).map_or(self.hub, |form| self.wish.place(&form.at.value));
        let group = if branch.is_empty() { format!("feed from {supply}") } else { branch.to_string() };
        let title = if branch.is_empty() { format!("From {supply}") } else { sentence(branch) };
        let look = WireLook::Feed(self.supplies.len());
        let net = self.fused(&group, Terminal { end: supply.to_string(), at }, Some(look), title);
        self.supplies.insert(key, net);
        net
    }

    /// Joins a feed pin of a part to a net; through a converter if the part is for a lower voltage.
    pub fn feed(&mut self, (part, lower): (&str, Option<Volts>), terminal: Terminal, net: usize, amps: Amps) {
        let Some(volts) = lower else {
            self.built.join(net, terminal);
            return self.load(net, amps);
        };
        let group = format!("{volts} for {part}");
        let Some(kind) = self.kit.converter(volts, amps) else {
            let message = format!("this wish needs a converter to {volts} for {part}, and the catalogue has none");
            self.missing.push(Problem::whole(message).hint("choose a part for the vehicle's voltage"));
            return;
        };
        let converter = self.built.part("CV", &kind.name, terminal.at, sentence(&group));
        let input = self.built.pin(converter, &kind.input);
        self.built.join(net, input);
        let at_vehicle = amps.value() * volts.value() / self.kit.nominal.value() / kind.efficiency;
        self.load(net, Amps::new(at_vehicle));
        let (out, ground) = (self.built.pin(converter, &kind.output), self.built.pin(converter, &kind.ground));
        self.built.signal_net(&group, vec![out, terminal]);
        self.ground(&group, ground);
    }

    /// The voltage that a part of the wish needs, if it is lower than the vehicle's.
    pub fn lower(&self, part: &Name) -> Option<Volts> {
        let (_, kind) = self.wish.part(part)?;
        let nominal = kind.nominal?;
        let stands = kind.highest.is_some_and(|highest| highest.value() >= self.kit.highest.value());
        (nominal.value() < 0.75 * self.kit.nominal.value() && !stands).then_some(nominal)
    }
}
