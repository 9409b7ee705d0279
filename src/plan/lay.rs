//! Nets to wires: the shortest tree through the places of a net, with a splice where more than two wires meet.

use crate::breaks::Breaks;
use crate::distances::Distances;
use crate::harness::{Assembled, KeptNet, NewConnector, NewNet, NewSplice, NewWire, Terminal, WireLook};
use crate::wish::free_name;
use form::Name;
use size::{FEEDS, GROUNDS, SIGNALS};
use std::collections::BTreeSet;

/// Most wires that meet in one splice: six of 0.75 mm² and one of 1.5 mm² fill a crimp splice of 6 mm².
pub const MOST: usize = 6;

/// What joins the pins of all nets.
#[derive(Debug, Clone, Default)]
pub struct Laid {
    /// Wires.
    pub wires: Vec<NewWire>,
    /// Splices.
    pub splices: Vec<NewSplice>,
    /// Halves of connectors.
    pub connectors: Vec<NewConnector>,
}

/// The wires and splices of all nets, with at most this number of wires in a splice, and the connectors where runs come
/// apart. The wires of `pigtails` end on a splice beside that pin. Nothing if there is no kind of connector for one.
pub fn lay(
    assembled: &mut Assembled,
    distances: &Distances,
    (most, pigtails): (usize, &BTreeSet<String>),
    breaks: &mut Breaks,
) -> Option<Laid> {
    let (mut wires, mut splices) = (Vec::new(), Vec::new());
    let nets = assembled.nets.clone();
    for net in &nets {
        let kept = net.kept.clone().unwrap_or_default();
        let (of_wires, of_splices) = (Vec::new(), Vec::new());
        let mut layer =
            Layer { net, distances, most, taken: &mut assembled.taken, kept, wires: of_wires, splices: of_splices };
        layer.run(breaks);
        layer.shorten(pigtails);
        wires.append(&mut layer.wires);
        splices.append(&mut layer.splices);
    }
    let connectors = breaks.halves(&wires)?;
    told_apart(&mut wires, &connectors);
    Some(Laid { wires, splices, connectors })
}

/// Gives wires of the same colour in one half of a connector tracers that tell them apart (IEC 60757); earlier wires keep
/// their colours.
fn told_apart(wires: &mut [NewWire], connectors: &[NewConnector]) {
    let halves = |wire: &NewWire| -> Vec<usize> {
        let is_on =
            |half: &NewConnector, end: &str| end.strip_prefix(half.name.as_str()).is_some_and(|r| r.starts_with('.'));
        let on = |half: &NewConnector| is_on(half, &wire.from) || is_on(half, &wire.to);
        (0..connectors.len()).filter(|half| on(&connectors[*half])).collect()
    };
    for index in 0..wires.len() {
        let own = halves(&wires[index]);
        let beside = |other: &NewWire| halves(other).iter().any(|half| own.contains(half));
        let there = wires.iter().enumerate().filter(|(other, wire)| *other != index && beside(wire));
        let before = there.filter(|(other, wire)| *other < index || wire.id.is_some());
        let taken: Vec<String> = before.map(|(_, wire)| wire.colour.clone()).collect();
        let wire = &mut wires[index];
        if wire.id.is_some() || !taken.contains(&wire.colour) {
            continue;
        }
        let base = wire.colour.split('/').next().unwrap_or_default().to_string();
        let traced = TRACERS.iter().filter(|tracer| **tracer != base).map(|tracer| format!("{base}/{tracer}"));
        if let Some(free) = traced.into_iter().find(|colour| !taken.contains(colour)) {
            wire.colour = free;
        }
    }
}

/// Colours of tracers (IEC 60757).
const TRACERS: [&str; 11] = ["WH", "YE", "BU", "GN", "BN", "OG", "VT", "GY", "PK", "RD", "BK"];

struct Layer<'a> {
    net: &'a NewNet,
    distances: &'a Distances,
    /// Most wires that meet in one splice.
    most: usize,
    taken: &'a mut Vec<String>,
    /// What stays of an earlier net.
    kept: KeptNet,
    wires: Vec<NewWire>,
    splices: Vec<NewSplice>,
}

impl Layer<'_> {
    fn run(&mut self, breaks: &mut Breaks) {
        let [first, rest @ ..] = &self.net.terminals[..] else { return };
        if self.kept.same {
            let group = || self.net.group.clone();
            let kept = std::mem::take(&mut self.kept);
            self.wires = kept.wires.into_iter().map(|wire| NewWire { group: group(), ..wire }).collect();
            self.splices = kept.splices.into_iter().map(|splice| NewSplice { group: group(), ..splice }).collect();
            return;
        }
        match rest {
            [] => {}
            [other] => self.across((&first.end, first.at), (&other.end, other.at), breaks),
            _ => self.tree(first.at, breaks),
        }
        self.number();
    }

    /// Ends the wires of these pins on a splice beside them, from which a short wire leads on.
    fn shorten(&mut self, pigtails: &BTreeSet<String>) {
        let of_net = self.net.terminals.iter().filter(|terminal| pigtails.contains(&terminal.end));
        for terminal in of_net.cloned().collect::<Vec<Terminal>>() {
            let joint = self.splice(terminal.at).to_string();
            let mut touched = false;
            for wire in self.wires.iter_mut().filter(|wire| wire.id.is_none()) {
                for end in [&mut wire.from, &mut wire.to].into_iter().filter(|end| **end == terminal.end) {
                    *end = joint.clone();
                    touched = true;
                }
            }
            if touched {
                self.wire(&joint, &terminal.end);
            } else {
                self.splices.retain(|splice| splice.name.as_str() != joint);
            }
        }
    }

    /// Gives wires with the same ends as an earlier one its number and its text; then those that begin or end on the same
    /// pin its number alone.
    fn number(&mut self) {
        let pins = |wire: &NewWire| [wire.from.clone(), wire.to.clone()];
        let same = |a: &NewWire, b: &NewWire| pins(a).iter().all(|end| pins(b).contains(end));
        for wire in &mut self.wires {
            if let Some(at) = self.kept.wires.iter().position(|kept| same(kept, wire)) {
                let kept = self.kept.wires.remove(at);
                *wire = NewWire { group: wire.group.clone(), ..kept };
            }
        }
        let is_pin = |end: &String| end.contains('.');
        for wire in self.wires.iter_mut().filter(|wire| wire.id.is_none()) {
            let shares = |kept: &NewWire| pins(kept).iter().any(|end| is_pin(end) && pins(wire).contains(end));
            if let Some(at) = self.kept.wires.iter().position(shares) {
                let kept = self.kept.wires.remove(at);
                (wire.id, wire.colour) = (kept.id, kept.colour);
            }
        }
    }

    /// The name of an earlier splice of this net at a place, or a new one.
    fn splice(&mut self, place: usize) -> Name {
        let group = self.net.group.clone();
        let known = self.kept.splices.iter().position(|splice| splice.at == place);
        let splice = match known {
            Some(at) => NewSplice { group, ..self.kept.splices.remove(at) },
            None => NewSplice { name: free_name("S", self.taken), at: place, group, kept: None },
        };
        self.splices.push(splice.clone());
        splice.name
    }

    /// A wire between places: through a connector wherever a run comes apart.
    fn across(&mut self, (from, a): (&str, usize), (to, b): (&str, usize), breaks: &mut Breaks) {
        let picture = self.net.look == WireLook::Picture;
        let more = (self.distances, &self.kept.wires[..], &mut *self.taken);
        let mut last = from.to_string();
        for [comes, goes] in breaks.through((from, a), (to, b), picture, more) {
            self.wire(&last, &comes);
            last = goes;
        }
        self.wire(&last, to);
    }

    fn wire(&mut self, from: &str, to: &str) {
        let colour = match self.net.look {
            WireLook::Feed(n) => FEEDS[n % FEEDS.len()],
            WireLook::Signal(n) => SIGNALS[n % SIGNALS.len()],
            WireLook::Ground => GROUNDS[0],
            WireLook::Picture => "YE",
        };
        self.wires.push(NewWire {
            from: from.to_string(),
            to: to.to_string(),
            colour: self.kept.colour.clone().unwrap_or_else(|| colour.to_string()),
            picture: self.net.signal.clone(),
            group: self.net.group.clone(),
            id: None,
            kept: None,
        });
    }

    /// The shortest tree over the places (R. C. Prim, 1957), from the source on.
    fn tree(&mut self, source: usize, breaks: &mut Breaks) {
        let mut places: Vec<usize> = Vec::new();
        for terminal in &self.net.terminals {
            if !places.contains(&terminal.at) {
                places.push(terminal.at);
            }
        }
        let mut reached = vec![source];
        let mut edges: Vec<(usize, usize)> = Vec::new();
        while reached.len() < places.len() {
            let open = places.iter().filter(|place| !reached.contains(place));
            let pairs = open.flat_map(|to| reached.iter().map(move |from| (*from, *to)));
            let shortest =
                pairs.min_by(|a, b| self.distances.between(a.0, a.1).total_cmp(&self.distances.between(b.0, b.1)));
            let Some(edge) = shortest else { break };
            reached.push(edge.1);
            edges.push(edge);
        }
        // Joints come first, so that wires between places know their ends.
        let joints: Vec<(usize, Vec<String>)> =
            reached.iter().map(|place| (*place, self.joint(*place, &edges))).collect();
        let mut used: Vec<usize> = vec![0; joints.len()];
        let mut end = |place: usize| {
            let at = joints.iter().position(|(p, _)| *p == place).unwrap_or(0);
            let ends = &joints[at].1;
            used[at] += 1;
            ends[(used[at] - 1).min(ends.len() - 1)].clone()
        };
        for (a, b) in edges {
            let (from, to) = (end(a), end(b));
            self.across((&from, a), (&to, b), breaks);
        }
    }

    /// What wires from other places end on at a place, one for each such wire.
    fn joint(&mut self, place: usize, edges: &[(usize, usize)]) -> Vec<String> {
        let here: Vec<Terminal> = self.net.terminals.iter().filter(|t| t.at == place).cloned().collect();
        let links = edges.iter().filter(|(a, b)| *a == place || *b == place).count();
        if here.len() == 1 && links <= 1 {
            return vec![here[0].end.clone()];
        }
        if here.len() == 2 && links == 0 {
            self.wire(&here[0].end, &here[1].end);
            return vec![here[0].end.clone()];
        }
        let mut names: Vec<Name> = Vec::new();
        let mut free = 0;
        let mut ends = Vec::new();
        let total = here.len() + links;
        for index in 0..total {
            // The last place of a full splice leads to the next one.
            if names.is_empty() || (free == 1 && index + 1 < total) {
                let name = self.splice(place);
                if let Some(before) = names.last() {
                    let before = before.to_string();
                    self.wire(&before, &name);
                    free = self.most - 1;
                } else {
                    free = self.most;
                }
                names.push(name);
            }
            let splice = names.last().map(Name::to_string).unwrap_or_default();
            free -= 1;
            // The links come first: the source feeds the first splice.
            match index.checked_sub(links) {
                None => ends.push(splice),
                Some(terminal) => {
                    let end = here[terminal].end.clone();
                    if here[terminal] == self.net.terminals[0] {
                        self.wire(&end, &splice)
                    } else {
                        self.wire(&splice, &end)
                    }
                }
            }
        }
        ends
    }
}
