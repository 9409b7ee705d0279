//! Terms as contacts: which relays, gates and diodes make each target live in its terms.
//!
//! A term starts at the net of a signal that must be on, and goes through one contact for each further literal. Terms that
//! start alike share their contacts, so the contacts form trees. A tree has one way from its root to a net. Where terms
//! meet at a target, each has a diode. So no current can flow backwards through a contact into another signal.

use crate::cover::Term;
use std::collections::BTreeMap;

/// How a signal can be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Nature {
    /// A signal that needs a feed of its own (a switch, a module) can take it from a signal of lower rank.
    pub rank: u8,
    /// Whether it needs such a feed.
    pub gated: bool,
    /// Signals of one switch have one feed, so they have one gate.
    pub group: usize,
}

/// A net that is live when a condition holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum NetId {
    /// The supply that a target names.
    Supply(usize),
    /// A signal.
    Signal(usize),
    /// Behind the contact of a relay that is made when its coil is energised.
    Made(usize),
    /// Behind the contact that is made at rest.
    Rest(usize),
}

/// A change-over contact: it connects `from` to one side or the other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ContactUse {
    /// The signal on the coil.
    pub signal: usize,
    /// The nets that the common pin is on: several through diodes.
    pub from: Vec<NetId>,
    /// Whether the side that is made when energised is used.
    pub made: bool,
    /// Whether the side that is made at rest is used.
    pub rest: bool,
}

/// What a target wants: the terms in which it is live, and the supply that feeds a term without a signal that is on.
#[derive(Debug, Clone)]
pub struct TargetTerms {
    /// The terms; none: never live.
    pub terms: Vec<Term>,
    /// The supply.
    pub supply: usize,
}

/// Relays, gates and the nets of each target.
#[derive(Debug, Clone, Default)]
pub struct ContactNetwork {
    /// For each signal, the signal that feeds it in place of its supply.
    pub gates: Vec<Option<usize>>,
    /// Which signals are used at all.
    pub used: Vec<bool>,
    /// The relays.
    pub relays: Vec<ContactUse>,
    /// For each target, the nets that make it live.
    pub leaves: Vec<Vec<NetId>>,
    /// How many of the last targets are coils of relays for loads.
    pub coils: usize,
    /// The signals that are others, joined through diodes.
    pub joined: BTreeMap<usize, Vec<usize>>,
}

impl ContactNetwork {
    /// The cheapest network over the orders in which contacts can follow each other.
    pub fn build(natures: &[Nature], targets: &[TargetTerms]) -> ContactNetwork {
        ContactNetwork::over_orders(natures, targets, false)
    }

    /// The same with a way of its own for each term, and nothing fed by another signal: what a term covers stays live while
    /// signals move that it does not name, and no two modules start at once when a switch feeds them.
    pub fn of_terms(natures: &[Nature], targets: &[TargetTerms]) -> ContactNetwork {
        ContactNetwork::over_orders(natures, targets, true)
    }

    fn over_orders(natures: &[Nature], targets: &[TargetTerms], terms_only: bool) -> ContactNetwork {
        let gates = if terms_only { vec![None; natures.len()] } else { gates(natures, targets) };
        let mut relayed: Vec<usize> = Vec::new();
        for term in targets.iter().flat_map(|target| &target.terms) {
            relayed
                .extend(term.on.iter().chain(&term.off).filter(|s| !relayed.contains(s)).copied().collect::<Vec<_>>());
        }
        relayed.sort_unstable();
        relayed.dedup();
        let mut best: Option<ContactNetwork> = None;
        for order in orders(&relayed) {
            let tree = with_order(natures, targets, &gates, &order);
            let decided = [false, true].map(|passes| decided(natures.len(), targets, &order, passes));
            for network in std::iter::once(tree).chain(decided.into_iter().flatten().filter(|_| !terms_only)) {
                if best.as_ref().is_none_or(|best| network.cost() < best.cost()) {
                    best = Some(network);
                }
            }
        }
        best.unwrap_or_default()
    }

    /// Number of relays, then of diodes, then of signals in use.
    pub fn cost(&self) -> (usize, usize, usize) {
        let joined = self.leaves.iter().chain(self.relays.iter().map(|relay| &relay.from));
        let diodes = joined.filter(|nets| nets.len() > 1).map(Vec::len).sum();
        (self.relays.len(), diodes, self.used.iter().filter(|used| **used).count())
    }
}

/// For each signal that needs a feed, a signal that must be on in every term that uses it: with that as its feed, the other
/// needs no contact of its own.
fn gates(natures: &[Nature], targets: &[TargetTerms]) -> Vec<Option<usize>> {
    let terms: Vec<&Term> = targets.iter().flat_map(|target| &target.terms).collect();
    let gate = |signal: usize| {
        let nature = natures[signal];
        let member = |s: &usize| natures[*s].group == nature.group;
        let using: Vec<&&Term> = terms.iter().filter(|term| term.on.iter().chain(&term.off).any(member)).collect();
        let common = |s: &usize| using.iter().all(|term| term.on.contains(s));
        let candidates = (0..natures.len()).filter(|s| natures[*s].rank < nature.rank && common(s));
        if !nature.gated || using.is_empty() { None } else { candidates.max_by_key(|s| natures[*s].rank) }
    };
    (0..natures.len()).map(gate).collect()
}

/// Every order of a few signals; of more, the one given.
fn orders(signals: &[usize]) -> Vec<Vec<usize>> {
    if signals.len() > 6 {
        return vec![signals.to_vec()];
    }
    if signals.is_empty() {
        return vec![Vec::new()];
    }
    let mut all = Vec::new();
    for (i, first) in signals.iter().enumerate() {
        let rest: Vec<usize> = signals.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, s)| *s).collect();
        all.extend(orders(&rest).into_iter().map(|order| std::iter::once(*first).chain(order).collect()));
    }
    all
}

fn with_order(natures: &[Nature], targets: &[TargetTerms], gates: &[Option<usize>], order: &[usize]) -> ContactNetwork {
    let mut network =
        ContactNetwork { gates: gates.to_vec(), used: vec![false; natures.len()], ..ContactNetwork::default() };
    let mut by_place: BTreeMap<(NetId, usize), usize> = BTreeMap::new();
    for target in targets {
        let mut nets: Vec<NetId> = Vec::new();
        for term in &target.terms {
            let (start, literals) = chain(term, gates, order, target.supply);
            let mut net = start;
            network.mark(start);
            for (signal, on) in literals {
                let relay = *by_place.entry((net, signal)).or_insert_with(|| {
                    network.relays.push(ContactUse { signal, from: vec![net], made: false, rest: false });
                    network.relays.len() - 1
                });
                network.mark(NetId::Signal(signal));
                let contact = &mut network.relays[relay];
                (contact.made, contact.rest) = (contact.made || on, contact.rest || !on);
                net = if on { NetId::Made(relay) } else { NetId::Rest(relay) };
            }
            if !nets.contains(&net) {
                nets.push(net);
            }
        }
        network.leaves.push(nets);
    }
    network
}

impl ContactNetwork {
    /// Notes everything on the way to a net: contacts, the signals of their coils, and where it begins.
    pub fn reach(&mut self, net: NetId) {
        match net {
            NetId::Supply(_) | NetId::Signal(_) => self.mark(net),
            NetId::Made(relay) | NetId::Rest(relay) => {
                let contact = &mut self.relays[relay];
                let (from, signal) = (contact.from.clone(), contact.signal);
                contact.made |= net == NetId::Made(relay);
                contact.rest |= net == NetId::Rest(relay);
                self.mark(NetId::Signal(signal));
                from.into_iter().for_each(|net| self.reach(net));
            }
        }
    }

    /// Whether a signal is another one, or is fed by it.
    pub fn is_fed_by(&self, signal: usize, feed: usize) -> bool {
        let joined =
            self.joined.get(&signal).is_some_and(|members| members.iter().any(|one| self.is_fed_by(*one, feed)));
        joined
            || signal == feed
            || self.gates.get(signal).copied().flatten().is_some_and(|gate| self.is_fed_by(gate, feed))
    }

    /// Whether a way to a net begins on a signal, or on one that it feeds.
    pub fn begins(&self, net: NetId, signal: usize) -> bool {
        match net {
            NetId::Supply(_) => false,
            NetId::Signal(own) => self.is_fed_by(own, signal),
            NetId::Made(relay) | NetId::Rest(relay) => {
                self.relays[relay].from.iter().any(|net| self.begins(*net, signal))
            }
        }
    }

    /// Whether a way to a net goes through a contact that is made at rest: it is live until that relay has moved.
    pub fn waits_for_a_relay(&self, net: NetId) -> bool {
        match net {
            NetId::Supply(_) | NetId::Signal(_) => false,
            NetId::Rest(_) => true,
            NetId::Made(relay) => self.relays[relay].from.iter().any(|net| self.waits_for_a_relay(*net)),
        }
    }

    /// Notes that a signal is used, with everything that feeds it.
    fn mark(&mut self, net: NetId) {
        let NetId::Signal(mut signal) = net else { return };
        for one in self.joined.get(&signal).cloned().into_iter().flatten() {
            self.mark(NetId::Signal(one));
        }
        loop {
            self.used[signal] = true;
            match self.gates[signal] {
                Some(gate) => signal = gate,
                None => return,
            }
        }
    }
}

/// Signals over which functions are decided one after the other.
const DECIDED: usize = 6;

/// A network that decides the signals one after the other: where two ways lead to the same rest of a function, they are joined
/// through diodes and go on together (C. Y. Lee, Representation of switching circuits by binary-decision programs, Bell
/// System Technical Journal 38, 1959, 985-999). If `passes`, a side needs no contact whose rest of the function holds only
/// where that of the other side does too. Nothing for more than `DECIDED` signals.
fn decided(signals: usize, targets: &[TargetTerms], order: &[usize], passes: bool) -> Option<ContactNetwork> {
    if order.len() > DECIDED {
        return None;
    }
    let mut network =
        ContactNetwork { gates: vec![None; signals], used: vec![false; signals], ..ContactNetwork::default() };
    let mut by_place: BTreeMap<(Vec<NetId>, usize), usize> = BTreeMap::new();
    for target in targets {
        let mut live: Vec<NetId> = Vec::new();
        // What is left of the function, and the nets on which the way there ends.
        let mut open: BTreeMap<u64, Vec<NetId>> = BTreeMap::new();
        open.insert(table(&target.terms, order), vec![NetId::Supply(target.supply)]);
        for (level, signal) in order.iter().enumerate() {
            for (rest, mut nets) in std::mem::take(&mut open) {
                nets.sort_unstable();
                nets.dedup();
                if let Some(supply) = nets.iter().find(|net| matches!(net, NetId::Supply(_))) {
                    nets = vec![*supply];
                }
                let sides = [cofactor(rest, level, true), cofactor(rest, level, false)];
                if sides[0] == sides[1] {
                    open.entry(rest).or_default().extend(nets);
                    continue;
                }
                let from_supply = matches!(nets[..], [NetId::Supply(_)]);
                for (side, is_on) in sides.into_iter().zip([true, false]).filter(|(side, _)| *side != 0) {
                    let other = sides[usize::from(is_on)];
                    if passes && side & other == side {
                        open.entry(side).or_default().extend(&nets);
                        continue;
                    }
                    let net = match from_supply && is_on {
                        true => NetId::Signal(*signal),
                        false => {
                            let relay = *by_place.entry((nets.clone(), *signal)).or_insert_with(|| {
                                let (signal, from) = (*signal, nets.clone());
                                network.relays.push(ContactUse { signal, from, made: false, rest: false });
                                network.relays.len() - 1
                            });
                            if is_on { NetId::Made(relay) } else { NetId::Rest(relay) }
                        }
                    };
                    open.entry(side).or_default().push(net);
                }
            }
            live.extend(open.remove(&u64::MAX).unwrap_or_default());
        }
        live.iter().for_each(|net| network.reach(*net));
        network.leaves.push(live);
    }
    Some(network)
}

/// The value of a sum of products at each combination of these signals: bit `n` is where signal `order[i]` is bit `i` of `n`.
fn table(terms: &[Term], order: &[usize]) -> u64 {
    let bit = |n: usize, signal: &usize| order.iter().position(|s| s == signal).is_some_and(|i| n >> i & 1 == 1);
    let holds =
        |n: usize| terms.iter().any(|term| term.on.iter().all(|s| bit(n, s)) && !term.off.iter().any(|s| bit(n, s)));
    (0..1usize << DECIDED).filter(|n| holds(*n)).fold(0, |table, n| table | 1 << n)
}

/// The combinations in which each signal is on.
const ON: [u64; DECIDED] = [
    0xaaaa_aaaa_aaaa_aaaa,
    0xcccc_cccc_cccc_cccc,
    0xf0f0_f0f0_f0f0_f0f0,
    0xff00_ff00_ff00_ff00,
    0xffff_0000_ffff_0000,
    0xffff_ffff_0000_0000,
];

/// A table with one signal held on or off.
fn cofactor(table: u64, level: usize, is_on: bool) -> u64 {
    let shift = 1 << level;
    let on = ON[level];
    if is_on { (table & on) | (table & on) >> shift } else { (table & !on) | (table & !on) << shift }
}

/// Where a term starts, and the contacts that follow: each a signal and whether it must be on.
fn chain(term: &Term, gates: &[Option<usize>], order: &[usize], supply: usize) -> (NetId, Vec<(usize, bool)>) {
    let mut implied = Vec::new();
    for signal in &term.on {
        let mut gate = gates[*signal];
        while let Some(s) = gate {
            implied.push(s);
            gate = gates[s];
        }
    }
    let mut on: Vec<usize> = term.on.iter().filter(|s| !implied.contains(s)).copied().collect();
    let at = |s: &usize| order.iter().position(|o| o == s).unwrap_or(usize::MAX);
    on.sort_by_key(at);
    let (start, rest) = match on.split_first() {
        Some((first, rest)) => (NetId::Signal(*first), rest.to_vec()),
        None => (NetId::Supply(supply), Vec::new()),
    };
    let mut literals: Vec<(usize, bool)> =
        rest.into_iter().map(|s| (s, true)).chain(term.off.iter().map(|s| (*s, false))).collect();
    literals.sort_by_key(|(s, _)| at(s));
    (start, literals)
}

#[cfg(test)]
#[path = "network_tests.rs"]
mod tests;
