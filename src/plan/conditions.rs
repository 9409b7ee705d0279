//! From a wire of the vehicle or a switch to a net that contacts and triggers can use: its tap and fuse, the module or relay
//! that holds, inverts or repeats it, and the contacts of the network behind it.

use crate::assemble::Assembler;
use crate::harness::Terminal;
use crate::kit::RelayKind;
use crate::network::{ContactNetwork, ContactUse, NetId};
use crate::signals::{OfferedSignal, SignalOrigin, live_with};
use crate::words::{hold_time, title};
use form::{Name, Problem};
use quantity::Amps;
use spec::InputForm;
use std::collections::BTreeMap;

/// Share of a wire's limit that is used. Common practice, no source.
const SHARE: f64 = 0.9;

/// The nets of the network's conditions, each made when it is first asked for.
pub struct ConditionNets<'a> {
    /// What is put together.
    pub assembly: Assembler<'a>,
    signals: &'a [OfferedSignal],
    network: &'a ContactNetwork,
    nets: BTreeMap<NetId, usize>,
    /// Switches whose common pin has its wire.
    grounded: Vec<Name>,
    /// Whether a diode is before each coil.
    blocked: bool,
}

impl<'a> ConditionNets<'a> {
    /// No net yet.
    pub fn new(
        assembly: Assembler<'a>,
        signals: &'a [OfferedSignal],
        network: &'a ContactNetwork,
        blocked: bool,
    ) -> ConditionNets<'a> {
        ConditionNets { assembly, signals, network, nets: BTreeMap::new(), grounded: Vec::new(), blocked }
    }

    /// The net of the network, made when it is first asked for.
    pub fn net(&mut self, id: NetId) -> usize {
        if let Some(net) = self.nets.get(&id) {
            return *net;
        }
        let net = match id {
            NetId::Supply(index) => {
                let name = self.supply_name(index);
                self.assembly.supply(&name, "")
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
        self.assembly
            .wish
            .form
            .supplies
            .names()
            .nth(index)
            .map_or_else(|| self.assembly.logic.clone(), |name| name.value.clone())
    }

    /// The net that feeds a switch or a module.
    fn feed_of(&mut self, signal: usize) -> usize {
        match self.network.gates[signal] {
            Some(gate) => self.net(NetId::Signal(gate)),
            None => {
                let logic = self.assembly.logic.clone();
                self.assembly.supply(&logic, "")
            }
        }
    }

    fn relay(&mut self, index: usize) {
        let relay = self.network.relays[index].clone();
        let Some(kind) = self.assembly.kit.relay(true) else {
            self.assembly
                .missing
                .push(Problem::whole("plan needs a relay with a change-over contact for this voltage"));
            return;
        };
        let group = self.relay_title(index);
        let part = self.assembly.built.part("K", &kind.name, self.assembly.hub, group.clone());
        let Some(from) = self.any_of(&relay.from, &group) else { return };
        let common = self.assembly.built.pin(part, &kind.common);
        self.assembly.built.join(from, common);
        self.coil(part, &kind, NetId::Signal(relay.signal), &group);
        if relay.made {
            let pin = self.assembly.built.pin(part, &kind.made);
            let net = self.assembly.built.signal_net(&format!("{group} on"), vec![pin]);
            self.nets.insert(NetId::Made(index), net);
        }
        if let (true, Some(rest)) = (relay.rest, &kind.rest) {
            let pin = self.assembly.built.pin(part, rest);
            let net = self.assembly.built.signal_net(&format!("{group} off"), vec![pin]);
            self.nets.insert(NetId::Rest(index), net);
        }
    }

    /// What a relay of the logic is called: by its coil, numbered if others have the same.
    fn relay_title(&self, index: usize) -> String {
        let relays = &self.network.relays;
        let same = |relay: &&ContactUse| relay.signal == relays[index].signal;
        let title = self.coil_title(relays[index].signal);
        match relays.iter().filter(same).count() {
            1 => title,
            _ => format!("{title} {}", relays[..=index].iter().filter(same).count()),
        }
    }

    /// What a coil on a signal is called: `Left or Right` if signals share it.
    fn coil_title(&self, index: usize) -> String {
        let signal = &self.signals[index];
        if let SignalOrigin::Joined(members) = &signal.origin {
            return members.iter().map(|one| self.coil_title(*one)).collect::<Vec<_>>().join(" or ");
        }
        let input = self.assembly.wish.form.inputs.get(&signal.name);
        input.map_or_else(|| signal.name.to_string(), |input| title(&signal.name, input))
    }

    fn coil(&mut self, part: usize, kind: &RelayKind, net: NetId, group: &str) {
        let net = self.net(net);
        let feed = self.assembly.built.pin(part, &kind.feed);
        match self.assembly.kit.diodes(1).filter(|_| self.blocked) {
            Some(diode) => {
                let pack = self.assembly.built.part("D", &diode.name, self.assembly.hub, format!("{group}, coil"));
                let anode = self.assembly.built.pin(pack, &diode.anodes[0]);
                self.assembly.built.join(net, anode);
                let cathode = self.assembly.built.pin(pack, &diode.cathode);
                self.assembly.built.signal_net(group, vec![cathode, feed]);
            }
            None => self.assembly.built.join(net, feed),
        }
        self.assembly.load(net, kind.coil);
        let ground = self.assembly.built.pin(part, &kind.ground);
        self.assembly.ground(group, ground);
    }

    /// One net that is live with any of these; with several, through diodes.
    pub fn any_of(&mut self, nets: &[NetId], group: &str) -> Option<usize> {
        if let [one] = nets {
            return Some(self.net(*one));
        }
        let mut cathodes = Vec::new();
        let mut rest = nets;
        while !rest.is_empty() {
            let Some(kind) = self.assembly.kit.diodes(rest.len()).filter(|kind| !kind.anodes.is_empty()) else {
                let message = "this wish needs a diode pack for this voltage, and the catalogue has none";
                self.assembly.missing.push(Problem::whole(message).hint("add one to `own-parts`"));
                return None;
            };
            let (own, others) = rest.split_at(rest.len().min(kind.anodes.len()));
            let pack = self.assembly.built.part("D", &kind.name, self.assembly.hub, group.to_string());
            for (net, anode) in own.iter().zip(&kind.anodes) {
                let net = self.net(*net);
                let anode = self.assembly.built.pin(pack, anode);
                self.assembly.built.join(net, anode);
            }
            cathodes.push(self.assembly.built.pin(pack, &kind.cathode));
            rest = others;
        }
        Some(self.assembly.built.signal_net(group, cathodes))
    }

    /// A net that comes on some time after any of these, when every relay has moved; `supply` feeds the module.
    pub fn delayed(&mut self, nets: &[NetId], group: &str, supply: &Name) -> Option<usize> {
        let net = self.any_of(nets, group)?;
        let Some(kind) = self.assembly.kit.delay() else { return Some(net) };
        let title = format!("{group}, delay");
        let module = self.assembly.built.part("DM", &kind.name, self.assembly.hub, title);
        let shortest = kind.times.map_or(0.1, |times| times.low.value());
        self.assembly.built.parts[module].more.push(("time", format!("{:.0} ms", shortest * 1000.0)));
        let [trigger, power, ground, out] =
            [&kind.input, &kind.power, &kind.ground, &kind.output].map(|pin| self.assembly.built.pin(module, pin));
        self.assembly.built.join(net, trigger);
        let feed = self.assembly.supply(supply, "");
        self.assembly.built.join(feed, power);
        self.assembly.ground(group, ground);
        Some(self.assembly.built.signal_net(&format!("{group}, delayed"), vec![out]))
    }

    /// The net of a signal, with the parts that make it fit for contacts and triggers.
    fn signal(&mut self, index: usize) -> usize {
        let signal = self.signals[index].clone();
        if let SignalOrigin::Joined(members) = &signal.origin {
            let (nets, group) =
                (members.iter().map(|one| NetId::Signal(*one)).collect::<Vec<_>>(), self.coil_title(index));
            return self.any_of(&nets, &group).unwrap_or(0);
        }
        let Some(input) = self.assembly.wish.form.inputs.get(&signal.name) else {
            return self.assembly.supply(&signal.name, "");
        };
        let group = title(&signal.name, input);
        let tap = || {
            let at = input.at.as_ref().map_or(self.assembly.hub, |at| self.assembly.wish.place(&at.value));
            Terminal { end: signal.name.to_string(), at }
        };
        match &signal.origin {
            SignalOrigin::Supply | SignalOrigin::Joined(_) => self.assembly.supply(&signal.name, ""),
            SignalOrigin::Feed => {
                let net = self.assembly.fused(&group, tap(), None, format!("{group}, tap"));
                self.buffered(index, net, &group)
            }
            SignalOrigin::Flasher => {
                let net = self.assembly.fused(&group, tap(), None, format!("{group}, tap"));
                self.hold(index, net, &group, input)
            }
            SignalOrigin::Low(pin) => {
                let low = match (pin, &input.part) {
                    (Some(pin), Some(part)) => self.assembly.given(&part.value, pin),
                    _ => tap(),
                };
                self.switch_common(input, None, &group);
                self.inverted(index, low, &group)
            }
            SignalOrigin::Throw(pin) => {
                let Some(part) = &input.part else { return 0 };
                let feed = self.feed_of(index);
                self.switch_common(input, Some(feed), &group);
                let from = self.assembly.given(&part.value, pin);
                self.assembly.built.signal_net(&group, vec![from])
            }
        }
    }

    /// Wires the common pin of a switch once: to its feed, or to ground.
    fn switch_common(&mut self, input: &InputForm, feed: Option<usize>, group: &str) {
        let (Some(part), Some(switch)) = (&input.part, self.assembly.wish.switch(input)) else { return };
        if self.grounded.contains(&part.value) {
            return;
        }
        self.grounded.push(part.value.clone());
        let common = self.assembly.given(&part.value, &switch.common.value);
        match feed {
            Some(net) => self.assembly.built.join(net, common),
            None => self.assembly.ground(group, common),
        }
    }

    /// A module that bridges the dark time of a flasher.
    fn hold(&mut self, index: usize, tap: usize, group: &str, input: &InputForm) -> usize {
        let Some(kind) = self.assembly.kit.hold() else {
            self.assembly.missing.push(need(input, "a hold module for this voltage"));
            return tap;
        };
        let module = self.assembly.built.part("HM", &kind.name, self.assembly.hub, format!("{group}, hold"));
        let seconds = hold_time(input, kind.tolerance);
        self.assembly.built.parts[module].more.push(("time", format!("{seconds:.1} s")));
        let (trigger, power) =
            (self.assembly.built.pin(module, &kind.input), self.assembly.built.pin(module, &kind.power));
        self.assembly.built.join(tap, trigger);
        let feed = self.feed_of(index);
        self.assembly.built.join(feed, power);
        let (ground, out) =
            (self.assembly.built.pin(module, &kind.ground), self.assembly.built.pin(module, &kind.output));
        self.assembly.ground(group, ground);
        self.assembly.built.signal_net(group, vec![out])
    }

    /// A positive signal from a wire that goes to ground.
    fn inverted(&mut self, index: usize, low: Terminal, group: &str) -> usize {
        let feed = self.feed_of(index);
        if let Some(kind) = self.assembly.kit.inverter() {
            let module = self.assembly.built.part("IM", &kind.name, self.assembly.hub, format!("{group}, inverter"));
            let trigger = self.assembly.built.pin(module, &kind.input);
            self.assembly.built.signal_net(group, vec![low, trigger]);
            let power = self.assembly.built.pin(module, &kind.power);
            self.assembly.built.join(feed, power);
            let (ground, out) =
                (self.assembly.built.pin(module, &kind.ground), self.assembly.built.pin(module, &kind.output));
            self.assembly.ground(group, ground);
            return self.assembly.built.signal_net(group, vec![out]);
        }
        let Some(kind) = self.assembly.kit.relay(false) else { return feed };
        let relay = self.assembly.built.part("K", &kind.name, self.assembly.hub, group.to_string());
        let (coil, common) = (self.assembly.built.pin(relay, &kind.feed), self.assembly.built.pin(relay, &kind.common));
        self.assembly.built.join(feed, coil);
        self.assembly.built.join(feed, common);
        self.assembly.load(feed, kind.coil);
        let ground = self.assembly.built.pin(relay, &kind.ground);
        self.assembly.built.signal_net(group, vec![ground, low]);
        let made = self.assembly.built.pin(relay, &kind.made);
        self.assembly.built.signal_net(group, vec![made])
    }

    /// A signal with more coils than its wire may feed gets a semiconductor switch of its own.
    fn buffered(&mut self, index: usize, net: usize, group: &str) -> usize {
        let Some(input) = self.assembly.wish.form.inputs.get(&self.signals[index].name) else { return net };
        let Some(limit) = input.limit else { return net };
        let (coils, coil) = self.coils(index);
        if coils as f64 * coil <= SHARE * limit.value() {
            return net;
        }
        let Some(kind) = self.assembly.kit.high_side() else {
            return self.repeated(net, (coils, coil), group, (index, input));
        };
        let module = self.assembly.built.part("B", &kind.name, self.assembly.hub, format!("{group}, buffer"));
        let trigger = self.assembly.built.pin(module, &kind.input);
        self.assembly.built.join(net, trigger);
        let source = live_with(self.assembly.wish, &self.assembly.logic, &self.signals[index]);
        let feed = self.assembly.supply(&source, "");
        let power = self.assembly.built.pin(module, &kind.power);
        self.assembly.built.join(feed, power);
        self.assembly.load(feed, Amps::new(coils as f64 * coil));
        let (ground, out) =
            (self.assembly.built.pin(module, &kind.ground), self.assembly.built.pin(module, &kind.output));
        self.assembly.ground(group, ground);
        self.assembly.built.signal_net(group, vec![out])
    }

    /// A signal repeated by a relay, whose coil alone its wire must feed.
    fn repeated(
        &mut self,
        net: usize,
        (coils, coil): (usize, f64),
        group: &str,
        (index, input): (usize, &InputForm),
    ) -> usize {
        let source = live_with(self.assembly.wish, &self.assembly.logic, &self.signals[index]);
        let fits = input.limit.is_none_or(|limit| coil <= SHARE * limit.value());
        let Some(kind) = self.assembly.kit.relay(false).filter(|_| fits) else {
            self.assembly.missing.push(need(input, "a switch that this wire can control"));
            return net;
        };
        let relay = self.assembly.built.part("K", &kind.name, self.assembly.hub, format!("{group}, repeater"));
        let (feed, ground) = (self.assembly.built.pin(relay, &kind.feed), self.assembly.built.pin(relay, &kind.ground));
        self.assembly.built.join(net, feed);
        self.assembly.load(net, kind.coil);
        self.assembly.ground(group, ground);
        let supply = self.assembly.supply(&source, "");
        let (common, made) = (self.assembly.built.pin(relay, &kind.common), self.assembly.built.pin(relay, &kind.made));
        self.assembly.built.join(supply, common);
        self.assembly.load(supply, Amps::new(coils as f64 * coil));
        self.assembly.built.signal_net(group, vec![made])
    }

    /// Number of coils that a signal may feed, and the current of each.
    fn coils(&self, index: usize) -> (usize, f64) {
        let coil = self.assembly.kit.relay(true).map_or(0.0, |kind| kind.coil.value());
        let coils = self.network.relays.iter().filter(|relay| self.network.is_fed_by(relay.signal, index)).count();
        (coils + self.loads_on(index), coil)
    }

    /// What a vehicle wire that is live when on can feed beside the coils on it; nothing for another signal, or without a
    /// limit.
    pub fn spare(&self, index: usize) -> Option<Amps> {
        let signal = &self.signals[index];
        let input = self.assembly.wish.form.inputs.get(&signal.name)?;
        let limit = input.limit.filter(|_| signal.origin == SignalOrigin::Feed)?;
        let (coils, coil) = self.coils(index);
        Some(Amps::new(SHARE * limit.value() - coils as f64 * coil))
    }

    /// Number of targets that may be the coil of a load's relay, on a signal or behind its contacts.
    fn loads_on(&self, signal: usize) -> usize {
        let coils = &self.network.leaves[self.network.leaves.len() - self.network.coils..];
        coils.iter().filter(|nets| nets.iter().any(|net| self.network.begins(*net, signal))).count()
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
