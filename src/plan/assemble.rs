//! From the network of contacts to parts and nets.

use crate::harness::{Assembled, NewFuse, Terminal, WireLook};
use crate::kit::{Kit, RelayKind};
use crate::lay::Distances;
use crate::network::{ContactNetwork, NetId};
use crate::signals::{OfferedSignal, SignalOrigin, live_with};
use crate::wish::{WishRead, entries};
use crate::words::{hold_time, sentence, title};
use catalogue::part_form::Domain;
use form::{Name, Problem};
use quantity::{Amps, Volts};
use spec::InputForm;
use std::collections::BTreeMap;

/// What assembling needs to know, and what was assembled so far.
pub struct Assembler<'a> {
    pub wish: &'a WishRead,
    pub kit: &'a Kit<'a>,
    pub distances: &'a Distances,
    pub signals: &'a [OfferedSignal],
    pub network: &'a ContactNetwork,
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
    supplies: BTreeMap<(String, String), usize>,
    nets: BTreeMap<NetId, usize>,
    grounded: Vec<Name>,
}

impl<'a> Assembler<'a> {
    /// Ready to assemble.
    pub fn new(
        wish: &'a WishRead,
        kit: &'a Kit<'a>,
        distances: &'a Distances,
        signals: &'a [OfferedSignal],
        network: &'a ContactNetwork,
        (hub, logic): (usize, Name),
    ) -> Assembler<'a> {
        let built = Assembled::new(crate::wish::names(&wish.form));
        let (missing, grounded) = (Vec::new(), Vec::new());
        let (supplies, nets) = (BTreeMap::new(), BTreeMap::new());
        Assembler {
            wish,
            kit,
            distances,
            signals,
            network,
            hub,
            logic,
            built,
            missing,
            reserved: None,
            supplies,
            nets,
            grounded,
        }
    }

    /// A terminal of a part of the wish.
    pub fn given(&self, part: &Name, pin: &Name) -> Terminal {
        let at = self.wish.part(part).and_then(|(entry, _)| entry.at.as_ref());
        Terminal { end: format!("{part}.{pin}"), at: at.map_or(self.hub, |at| self.wish.place(&at.value)) }
    }

    /// A wire from a pin to the nearest ground.
    pub fn ground(&mut self, group: &str, terminal: Terminal) {
        let mut names: Vec<String> = self.wish.form.grounds.names().map(|name| name.to_string()).collect();
        names.retain(|name| Some(name) != self.reserved.as_ref());
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
        for (name, _) in entries(&self.wish.form) {
            let Some((entry, kind)) = self.wish.part(&name.value) else { continue };
            let pictures = kind.pins.iter().any(|(_, pin)| pin.domain == Domain::Video);
            if let (true, Some(at)) = (pictures, &entry.at)
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
        if let Some((end, at)) = self.nearest(terminal.at, names) {
            self.built.net(group, WireLook::Ground, vec![terminal, Terminal { end, at }]);
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

    /// The net of the network, made when it is first asked for.
    pub fn net(&mut self, id: NetId) -> usize {
        if let Some(net) = self.nets.get(&id) {
            return *net;
        }
        let net = match id {
            NetId::Supply(index) => {
                let name = self.supply_name(index);
                self.supply(&name, "")
            }
            NetId::Signal(signal) => self.signal(signal),
            NetId::Made(relay) | NetId::Rest(relay) => {
                self.relay(relay);
                return self.nets.get(&id).copied().unwrap_or(0);
            }
        };
        self.nets.insert(id, net);
        net
    }

    fn supply_name(&self, index: usize) -> Name {
        self.wish.form.supplies.names().nth(index).map_or_else(|| self.logic.clone(), |name| name.value.clone())
    }

    /// The net that feeds a switch or a module.
    fn feed_of(&mut self, signal: usize) -> usize {
        match self.network.gates[signal] {
            Some(gate) => self.net(NetId::Signal(gate)),
            None => {
                let logic = self.logic.clone();
                self.supply(&logic, "")
            }
        }
    }

    fn signal(&mut self, index: usize) -> usize {
        let signal = self.signals[index].clone();
        let Some(input) = self.wish.form.inputs.get(&signal.name) else { return self.supply(&signal.name, "") };
        let group = title(&signal.name, input);
        let tap = || {
            let at = input.at.as_ref().map_or(self.hub, |at| self.wish.place(&at.value));
            Terminal { end: signal.name.to_string(), at }
        };
        match &signal.origin {
            SignalOrigin::Supply => self.supply(&signal.name, ""),
            SignalOrigin::Feed => {
                let net = self.fused(&group, tap(), None, format!("{group}, tap"));
                self.buffered(index, net, &group)
            }
            SignalOrigin::Flasher => {
                let net = self.fused(&group, tap(), None, format!("{group}, tap"));
                self.hold(index, net, &group, input)
            }
            SignalOrigin::Low(pin) => {
                let low = match (pin, &input.part) {
                    (Some(pin), Some(part)) => self.given(&part.value, pin),
                    _ => tap(),
                };
                self.switch_common(input, None, &group);
                self.inverted(index, low, &group)
            }
            SignalOrigin::Throw(pin) => {
                let Some(part) = &input.part else { return 0 };
                let feed = self.feed_of(index);
                self.switch_common(input, Some(feed), &group);
                let from = self.given(&part.value, pin);
                self.built.signal_net(&group, vec![from])
            }
        }
    }

    /// Wires the common pin of a switch once: to its feed, or to ground.
    fn switch_common(&mut self, input: &InputForm, feed: Option<usize>, group: &str) {
        let (Some(part), Some(switch)) = (&input.part, self.wish.switch(input)) else { return };
        if self.grounded.contains(&part.value) {
            return;
        }
        self.grounded.push(part.value.clone());
        let common = self.given(&part.value, &switch.common.value);
        match feed {
            Some(net) => self.built.join(net, common),
            None => self.ground(group, common),
        }
    }

    /// A module that bridges the dark time of a flasher.
    fn hold(&mut self, index: usize, tap: usize, group: &str, input: &InputForm) -> usize {
        let Some(kind) = self.kit.hold() else {
            self.missing.push(need(input, "a hold module for this voltage"));
            return tap;
        };
        let module = self.built.part("HM", &kind.name, self.hub, format!("{group}, hold"));
        let seconds = hold_time(input, kind.tolerance);
        self.built.parts[module].more.push(("time", format!("{seconds:.1} s")));
        let (trigger, power) = (self.built.pin(module, &kind.input), self.built.pin(module, &kind.power));
        self.built.join(tap, trigger);
        let feed = self.feed_of(index);
        self.built.join(feed, power);
        let (ground, out) = (self.built.pin(module, &kind.ground), self.built.pin(module, &kind.output));
        self.ground(group, ground);
        self.built.signal_net(group, vec![out])
    }

    /// A positive signal from a wire that goes to ground.
    fn inverted(&mut self, index: usize, low: Terminal, group: &str) -> usize {
        let feed = self.feed_of(index);
        if let Some(kind) = self.kit.inverter() {
            let module = self.built.part("IM", &kind.name, self.hub, format!("{group}, inverter"));
            let trigger = self.built.pin(module, &kind.input);
            self.built.signal_net(group, vec![low, trigger]);
            let power = self.built.pin(module, &kind.power);
            self.built.join(feed, power);
            let (ground, out) = (self.built.pin(module, &kind.ground), self.built.pin(module, &kind.output));
            self.ground(group, ground);
            return self.built.signal_net(group, vec![out]);
        }
        let Some(kind) = self.kit.relay(false) else { return feed };
        let relay = self.built.part("K", &kind.name, self.hub, group.to_string());
        let (coil, common) = (self.built.pin(relay, &kind.feed), self.built.pin(relay, &kind.common));
        self.built.join(feed, coil);
        self.built.join(feed, common);
        self.load(feed, kind.coil);
        let ground = self.built.pin(relay, &kind.ground);
        self.built.signal_net(group, vec![ground, low]);
        let made = self.built.pin(relay, &kind.made);
        self.built.signal_net(group, vec![made])
    }

    /// A signal with more coils than its wire may feed gets a semiconductor switch of its own.
    fn buffered(&mut self, index: usize, net: usize, group: &str) -> usize {
        let Some(input) = self.wish.form.inputs.get(&self.signals[index].name) else { return net };
        let Some(limit) = input.limit else { return net };
        let coil = self.kit.relay(true).map_or(0.0, |kind| kind.coil.value());
        let coils = self.network.relays.iter().filter(|relay| relay.signal == index).count() + self.loads_on(index);
        if coils as f64 * coil <= 0.9 * limit.value() {
            return net;
        }
        let Some(kind) = self.kit.high_side() else { return self.repeated(net, (coils, coil), group, (index, input)) };
        let module = self.built.part("B", &kind.name, self.hub, format!("{group}, buffer"));
        let trigger = self.built.pin(module, &kind.input);
        self.built.join(net, trigger);
        let source = live_with(self.wish, &self.logic, &self.signals[index]);
        let feed = self.supply(&source, "");
        let power = self.built.pin(module, &kind.power);
        self.built.join(feed, power);
        self.load(feed, Amps::new(coils as f64 * coil));
        let (ground, out) = (self.built.pin(module, &kind.ground), self.built.pin(module, &kind.output));
        self.ground(group, ground);
        self.built.signal_net(group, vec![out])
    }

    /// A signal repeated by a relay, whose coil alone its wire must feed.
    fn repeated(
        &mut self,
        net: usize,
        (coils, coil): (usize, f64),
        group: &str,
        (index, input): (usize, &InputForm),
    ) -> usize {
        let source = live_with(self.wish, &self.logic, &self.signals[index]);
        let fits = input.limit.is_none_or(|limit| coil <= 0.9 * limit.value());
        let Some(kind) = self.kit.relay(false).filter(|_| fits) else {
            self.missing.push(need(input, "a switch that this wire can control"));
            return net;
        };
        let relay = self.built.part("K", &kind.name, self.hub, format!("{group}, repeater"));
        let (feed, ground) = (self.built.pin(relay, &kind.feed), self.built.pin(relay, &kind.ground));
        self.built.join(net, feed);
        self.load(net, kind.coil);
        self.ground(group, ground);
        let supply = self.supply(&source, "");
        let (common, made) = (self.built.pin(relay, &kind.common), self.built.pin(relay, &kind.made));
        self.built.join(supply, common);
        self.load(supply, Amps::new(coils as f64 * coil));
        self.built.signal_net(group, vec![made])
    }

    /// Number of targets that may be the coil of a load's relay, on a signal or behind its contacts.
    fn loads_on(&self, signal: usize) -> usize {
        let starts = |net: &NetId| {
            let mut net = *net;
            while let NetId::Made(relay) | NetId::Rest(relay) = net {
                net = self.network.relays[relay].from;
            }
            net == NetId::Signal(signal)
        };
        let coils = &self.network.leaves[self.network.leaves.len() - self.network.coils..];
        coils.iter().filter(|nets| nets.iter().any(starts)).count()
    }

    fn relay(&mut self, index: usize) {
        let relay = self.network.relays[index].clone();
        let Some(kind) = self.kit.relay(true) else {
            self.missing.push(Problem::whole("plan needs a relay with a change-over contact for this voltage"));
            return;
        };
        let name = self.signals[relay.signal].name.clone();
        let group = self.wish.form.inputs.get(&name).map_or_else(|| name.to_string(), |input| title(&name, input));
        let part = self.built.part("K", &kind.name, self.hub, group.clone());
        let from = self.net(relay.from);
        let common = self.built.pin(part, &kind.common);
        self.built.join(from, common);
        self.coil(part, &kind, NetId::Signal(relay.signal), &group);
        if relay.made {
            let pin = self.built.pin(part, &kind.made);
            let net = self.built.signal_net(&format!("{group} on"), vec![pin]);
            self.nets.insert(NetId::Made(index), net);
        }
        if let (true, Some(rest)) = (relay.rest, &kind.rest) {
            let pin = self.built.pin(part, rest);
            let net = self.built.signal_net(&format!("{group} off"), vec![pin]);
            self.nets.insert(NetId::Rest(index), net);
        }
    }

    fn coil(&mut self, part: usize, kind: &RelayKind, net: NetId, group: &str) {
        let net = self.net(net);
        let feed = self.built.pin(part, &kind.feed);
        self.built.join(net, feed);
        self.load(net, kind.coil);
        let ground = self.built.pin(part, &kind.ground);
        self.ground(group, ground);
    }

    /// One net that is live with any of these; with several, through diodes.
    pub fn any_of(&mut self, nets: &[NetId], group: &str) -> Option<usize> {
        if let [one] = nets {
            return Some(self.net(*one));
        }
        let Some(kind) = self.kit.diodes(nets.len()) else {
            let message =
                format!("this wish needs {} conditions on one trigger, which plan can't join yet", nets.len());
            self.missing.push(Problem::whole(message).hint("write these parts by hand, or split the view"));
            return None;
        };
        let pack = self.built.part("D", &kind.name, self.hub, group.to_string());
        for (net, anode) in nets.iter().zip(&kind.anodes) {
            let net = self.net(*net);
            let anode = self.built.pin(pack, anode);
            self.built.join(net, anode);
        }
        let cathode = self.built.pin(pack, &kind.cathode);
        Some(self.built.signal_net(group, vec![cathode]))
    }

    /// The voltage that a part of the wish needs, if it is lower than the vehicle's.
    pub fn lower(&self, part: &Name) -> Option<Volts> {
        let (_, kind) = self.wish.part(part)?;
        let nominal = kind.nominal?;
        let stands = kind.highest.is_some_and(|highest| highest.value() >= self.kit.highest.value());
        (nominal.value() < 0.75 * self.kit.nominal.value() && !stands).then_some(nominal)
    }
}

fn need(input: &InputForm, what: &str) -> Problem {
    let message = format!("this wish needs {what}, and the catalogue has none");
    let problem = match &input.kind {
        Some(kind) => Problem::at(kind.place, message),
        None => Problem::whole(message),
    };
    problem.hint("add one to `own-parts`, or write these parts by hand")
}
