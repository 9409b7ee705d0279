//! Fewer contacts than a network has, if there is such a network: every one is tried.
//!
//! The networks that are tried: a relay's coil is on a signal of the vehicle, its common pin on a signal, a supply or behind
//! another contact, so that contacts form trees and no current flows backwards; each trigger is on one net or, through
//! diodes, on several. A switch or module may be fed by another signal in place of its supply. Relays are tried in one order
//! only, by the net that feeds them and the coil's signal: any set of relays has such an order, since a relay's own nets
//! come after all that were there before.

use crate::network::{ContactNetwork, ContactUse, Nature, NetId};

/// Combinations of signals, one bit for each.
pub type Points = u128;

/// What a network must do.
pub struct Demand<'a> {
    /// How each signal can be used.
    pub natures: &'a [Nature],
    /// The points at which each signal is on by itself.
    pub on: &'a [Points],
    /// The points at which the supply of switches and modules is live.
    pub logic: Points,
    /// Supplies that are no signals: their index, and the points at which they are live.
    pub supplies: &'a [(usize, Points)],
    /// For each target, the points at which it must be live and at which it must not.
    pub targets: &'a [(Points, Points)],
    /// All points.
    pub all: Points,
    /// Sets of signals that can share a coil, through diodes.
    pub joined: &'a [Vec<usize>],
}

/// Networks that are tried at most, over all calls that share a count.
pub const MOST_TRIED: usize = 100_000;
/// Ways to feed switches and modules that are tried at most.
const MOST_GATES: usize = 512;

/// The network with the fewest relays, if it has fewer than `below`. `tried` counts on.
pub fn smaller(demand: &Demand, below: usize, tried: &mut usize) -> (Option<ContactNetwork>, usize) {
    let all_gates = gates(demand.natures);
    for relays in 0..below {
        if all_gates.is_none() {
            return (None, 0);
        }
        for gates in all_gates.iter().flatten() {
            let mut search = Search::new(demand, gates.clone());
            if search.run(relays, (0, 0), tried) {
                return (Some(search.network(demand.targets)), relays);
            }
            if *tried > MOST_TRIED {
                return (None, relays);
            }
        }
    }
    (None, below)
}

/// Every way to feed the groups of signals that need a feed; none if they are too many.
fn gates(natures: &[Nature]) -> Option<Vec<Vec<Option<usize>>>> {
    let mut all: Vec<Vec<Option<usize>>> = vec![vec![None; natures.len()]];
    let mut done: Vec<usize> = Vec::new();
    for nature in natures.iter().filter(|nature| nature.gated) {
        if done.contains(&nature.group) {
            continue;
        }
        done.push(nature.group);
        let feeds = (0..natures.len()).filter(|s| natures[*s].rank < nature.rank).map(Some);
        let choices: Vec<Option<usize>> = std::iter::once(None).chain(feeds).collect();
        if all.len() * choices.len() > MOST_GATES {
            return None;
        }
        let with = |gates: &Vec<Option<usize>>, feed: Option<usize>| {
            let of = |s: usize| if natures[s].gated && natures[s].group == nature.group { feed } else { gates[s] };
            (0..natures.len()).map(of).collect::<Vec<_>>()
        };
        all = all.iter().flat_map(|gates| choices.iter().map(move |feed| with(gates, *feed))).collect();
    }
    Some(all)
}

struct Search<'a> {
    targets: &'a [(Points, Points)],
    /// The points at which each signal is on, with its feed.
    signals: Vec<Points>,
    /// Every net, and the points at which it is live.
    nets: Vec<(NetId, Points)>,
    /// The relays: their signals, and the indices of the nets that feed them.
    relays: Vec<(usize, usize)>,
    /// The signals that a coil can be on: of those that are on at the same points, the first.
    coils: Vec<usize>,
    gates: Vec<Option<usize>>,
    all: Points,
    joined: &'a [Vec<usize>],
}

impl<'a> Search<'a> {
    fn new(demand: &Demand<'a>, gates: Vec<Option<usize>>) -> Search<'a> {
        let mut signals: Vec<Points> = demand.on.to_vec();
        // A feed has a lower rank than what it feeds.
        let mut order: Vec<usize> = (0..signals.len()).collect();
        order.sort_by_key(|s| demand.natures[*s].rank);
        for signal in order.into_iter().filter(|s| demand.natures[*s].gated) {
            let feed = gates[signal].map_or(demand.logic, |gate| signals[gate]);
            signals[signal] &= feed;
        }
        let supplies = demand.supplies.iter().map(|(supply, live)| (NetId::Supply(*supply), *live));
        let nets = signals.iter().enumerate().map(|(s, on)| (NetId::Signal(s), *on)).chain(supplies).collect();
        // Joined signals are for coils alone.
        let of_members = |members: &Vec<usize>| members.iter().fold(0, |sum, s| sum | signals[*s]);
        signals.extend(demand.joined.iter().map(of_members).collect::<Vec<Points>>());
        let coils = (0..signals.len()).filter(|s| !signals[..*s].contains(&signals[*s])).collect();
        let (targets, all, joined) = (demand.targets, demand.all, demand.joined);
        Search { targets, signals, nets, relays: Vec::new(), coils, gates, all, joined }
    }

    /// Tries every way to add this number of relays, from a place in their order on. Leaves the first that serves.
    fn run(&mut self, relays: usize, from: (usize, usize), tried: &mut usize) -> bool {
        if relays == 0 {
            *tried += 1;
            return self.serves();
        }
        for net in from.0..self.nets.len() {
            let first = if net == from.0 { from.1 } else { 0 };
            for at in first..self.coils.len() {
                let signal = self.coils[at];
                let (fed, coil) = (self.nets[net].1, self.signals[signal]);
                let (made, rest) = (fed & coil, fed & !coil & self.all);
                if made == 0 || rest == 0 {
                    continue;
                }
                let relay = self.relays.len();
                self.relays.push((signal, net));
                self.nets.extend([(NetId::Made(relay), made), (NetId::Rest(relay), rest)]);
                if self.run(relays - 1, (net, at + 1), tried) {
                    return true;
                }
                self.relays.pop();
                self.nets.truncate(self.nets.len() - 2);
                if *tried > MOST_TRIED {
                    return false;
                }
            }
        }
        false
    }

    fn serves(&self) -> bool {
        self.targets.iter().all(|(on, off)| {
            let live = self.nets.iter().filter(|(_, live)| live & off == 0).fold(0, |sum, (_, live)| sum | live);
            live & on == *on
        })
    }

    fn network(&self, targets: &[(Points, Points)]) -> ContactNetwork {
        let own = self.signals.len() - self.joined.len();
        let mut gates = self.gates.clone();
        gates.resize(self.signals.len(), None);
        let mut network = ContactNetwork {
            gates,
            joined: self.joined.iter().enumerate().map(|(i, members)| (own + i, members.clone())).collect(),
            used: vec![false; self.signals.len()],
            ..ContactNetwork::default()
        };
        let id = |net: usize| self.nets[net].0;
        let relay = |(signal, net): &(usize, usize)| ContactUse {
            signal: *signal,
            from: vec![id(*net)],
            made: false,
            rest: false,
        };
        network.relays = self.relays.iter().map(relay).collect();
        for (on, off) in targets {
            let leaves: Vec<NetId> = self.leaves(*on, *off).into_iter().map(id).collect();
            leaves.iter().for_each(|net| network.reach(*net));
            network.leaves.push(leaves);
        }
        network
    }

    /// The fewest nets that make a target live; of more than three, first come first.
    fn leaves(&self, on: Points, off: Points) -> Vec<usize> {
        let fit: Vec<usize> =
            (0..self.nets.len()).filter(|n| self.nets[*n].1 & off == 0 && self.nets[*n].1 & on != 0).collect();
        let covers = |some: &[usize]| some.iter().fold(0, |sum, n| sum | self.nets[*n].1) & on == on;
        let few = crate::contradict::fewest(&fit, &covers);
        if covers(&few) { few } else { fit }
    }
}

#[cfg(test)]
mod tests {
    use super::{Demand, smaller};
    use crate::network::{ContactNetwork, Nature, NetId};

    /// What must be live while neither of two signals is on takes a relay for each of them, or one whose coil they share.
    #[test]
    fn two_signals_share_a_coil() {
        let natures = [0, 1].map(|group| Nature { rank: 1, gated: false, group });
        let (on, targets) = ([0b1010, 0b1100], [(0b0001, 0b1110)]);
        let search = |joined: &[Vec<usize>]| -> (Option<ContactNetwork>, usize) {
            let supplies = &[(0, 0b1111)];
            let demand =
                Demand { natures: &natures, on: &on, logic: 0b1111, supplies, targets: &targets, all: 0b1111, joined };
            smaller(&demand, 2, &mut 0)
        };
        assert!(search(&[]).0.is_none());
        let (found, relays) = search(&[vec![0, 1]]);
        let network = found.expect("one relay does it");
        assert_eq!((relays, network.relays[0].signal, network.leaves.clone()), (1, 2, vec![vec![NetId::Rest(0)]]));
        assert!(network.is_fed_by(2, 0) && network.is_fed_by(2, 1) && network.used[0] && network.used[1]);
    }
}
