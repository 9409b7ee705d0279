//! The walk along what conducts, whatever the state. Everything that asks what a pin is joined to goes through here.
//!
//! A path counts only if one state can close all of it: a relay or a switch that it passes twice must stand the same way
//! both times. So no path enters a change-over contact at one throw and leaves it at the other, over whatever loop.
//!
//! A pin is left by two paths at most, which came over different elements: a path may not turn back through the contact,
//! switch or other element that it came over, and of two such paths one always may go on. Where a path ends because a
//! relay or an input would have to stand in two ways, and no other path leads on, the walk is made again with that one
//! held as it is needed there. So every path that is found can conduct, and none is missed unless more than
//! [`MOST_WALKS`] would be needed.

use graph::{Link, Passage, SignalGraph};
use model::{ElementId, ElementKind, InputId, Model, PinId, SignalId, StateCondition};
use std::cmp::Ordering;
use std::collections::{BTreeSet, BinaryHeap, VecDeque};

/// Most walks from the same starts, each with other relays and inputs held. Demos take one or two.
const MOST_WALKS: usize = 64;

/// Which way a walk follows links that have a direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Towards {
    /// Against the current.
    Supply,
    /// With the current.
    Ground,
}

/// One link out of a pin.
#[derive(Debug, Clone, Copy)]
pub struct Hop {
    /// Where it leads.
    pub to: PinId,
    /// What it is.
    pub link: Link,
}

/// The links that conduct in some state, by pin and direction. Coils and loads end a walk; video links do not count.
#[derive(Debug)]
pub struct Links<'m> {
    model: &'m Model,
    towards_supply: Vec<Vec<Hop>>,
    towards_ground: Vec<Vec<Hop>>,
}

impl<'m> Links<'m> {
    pub(super) fn new(model: &'m Model, graph: &SignalGraph) -> Links<'m> {
        let conducts = |link: Link| {
            let Link::Through(element, passage) = link else { return true };
            // The vehicle's own wiring between a supply and its loads is no path through the harness.
            let vehicle = matches!(model.element(element).kind, ElementKind::Derived { .. } | ElementKind::Feed(_));
            !vehicle && matches!(passage, Passage::Plain | Passage::Switched | Passage::OneWay)
        };
        let hops = |beside: Vec<(PinId, graph::Edge)>| -> Vec<Hop> {
            let all = beside.into_iter().map(|(to, edge)| Hop { to, link: edge.link });
            all.filter(|hop| conducts(hop.link)).collect()
        };
        Links {
            model,
            towards_supply: model.pin_ids().map(|pin| hops(graph.upstream(pin))).collect(),
            towards_ground: model.pin_ids().map(|pin| hops(graph.beside(pin))).collect(),
        }
    }

    /// The links out of a pin, in one direction.
    pub fn out_of(&self, pin: PinId, towards: Towards) -> &[Hop] {
        match towards {
            Towards::Supply => &self.towards_supply[pin.0],
            Towards::Ground => &self.towards_ground[pin.0],
        }
    }
}

/// What a walk carries along: paths with the first label go on first.
pub trait Label: Copy {
    /// Which of two labels comes first.
    fn order(&self, other: &Self) -> Ordering;
}

/// Nothing: the nearest pins come first, counted in links.
impl Label for () {
    fn order(&self, (): &()) -> Ordering {
        Ordering::Equal
    }
}

/// A pin that a walk has come to.
#[derive(Debug, Clone, Copy)]
pub struct Stand<L> {
    /// The pin.
    pub pin: PinId,
    /// What was carried along to it.
    pub label: L,
    /// The link that leads to it and the index of the previous stand; none at a start.
    pub by: Option<(Link, usize)>,
    /// The last element of the path.
    last: Option<ElementId>,
}

/// What moves a contact or a switch, and its position when current passes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Setting {
    Relay(SignalId, bool),
    Input(InputId, usize),
    /// A switch that no input moves, by its common pin, and the pin that it is thrown to.
    Unmoved(PinId, PinId),
}

impl Setting {
    fn of(model: &Model, pins: [PinId; 2], link: Link) -> Option<Setting> {
        let Link::Through(id, _) = link else { return None };
        match &model.element(id).kind {
            ElementKind::Contact { relay, made, .. } => {
                Some(Setting::Relay(*relay, made.is_some_and(|made| pins.contains(&made))))
            }
            ElementKind::Throw { when: StateCondition::InputIs(input, position), .. } => {
                Some(Setting::Input(*input, *position))
            }
            ElementKind::Throw { common, throw, .. } => Some(Setting::Unmoved(*common, *throw)),
            _ => None,
        }
    }

    /// Whether no state has both.
    fn excludes(self, other: Setting) -> bool {
        match (self, other) {
            (Setting::Relay(a, _), Setting::Relay(b, _)) => a == b && self != other,
            (Setting::Input(a, _), Setting::Input(b, _)) => a == b && self != other,
            (Setting::Unmoved(a, _), Setting::Unmoved(b, _)) => a == b && self != other,
            _ => false,
        }
    }
}

/// A link that was not followed, since a relay or an input would have to stand in two ways.
struct Refused<L> {
    /// How it stands here.
    setting: Setting,
    to: PinId,
    label: L,
}

/// Every pin that some path from `starts` comes to, in the order in which the walk comes to them; `step` says what is carried
/// over a link out of a stand, or that the path ends. A pin may be listed more than once.
pub fn walk<L: Label>(
    links: &Links,
    towards: Towards,
    starts: &[(PinId, L)],
    step: &mut dyn FnMut(&Stand<L>, Hop) -> Option<L>,
) -> Vec<Stand<L>> {
    let mut walk = Search { links, towards, stands: Vec::new(), refused: Vec::new() };
    let mut known = BTreeSet::from([Vec::new()]);
    let mut ahead = VecDeque::from([Vec::new()]);
    while let Some(held) = ahead.pop_front() {
        walk.go(starts, &held, step);
        let refused = std::mem::take(&mut walk.refused);
        let best = if refused.is_empty() { Vec::new() } else { walk.best() };
        for Refused { setting, to, label } in refused {
            let is_reached = best[to.0].is_some_and(|reached| reached.order(&label).is_le());
            let mut more = held.clone();
            more.push(setting);
            more.sort();
            if !is_reached && known.len() < MOST_WALKS && known.insert(more.clone()) {
                ahead.push_back(more);
            }
        }
    }
    walk.stands
}

struct Search<'c, 'm, L> {
    links: &'c Links<'m>,
    towards: Towards,
    stands: Vec<Stand<L>>,
    refused: Vec<Refused<L>>,
}

/// A stand that waits for its turn; the first label comes first, of equal ones the first that was found.
struct Waiting<L>(Stand<L>, usize);

impl<L: Label> Ord for Waiting<L> {
    fn cmp(&self, other: &Self) -> Ordering {
        other.0.label.order(&self.0.label).then(other.1.cmp(&self.1))
    }
}

impl<L: Label> PartialOrd for Waiting<L> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<L: Label> PartialEq for Waiting<L> {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl<L: Label> Eq for Waiting<L> {}

impl<L: Label> Search<'_, '_, L> {
    /// The first label at each pin so far.
    fn best(&self) -> Vec<Option<L>> {
        let mut best: Vec<Option<L>> = vec![None; self.links.model.pins.len()];
        for stand in &self.stands {
            let first = &mut best[stand.pin.0];
            if first.is_none_or(|first| stand.label.order(&first).is_lt()) {
                *first = Some(stand.label);
            }
        }
        best
    }

    /// One walk from all starts, with some relays and inputs held.
    fn go(&mut self, starts: &[(PinId, L)], held: &[Setting], step: &mut dyn FnMut(&Stand<L>, Hop) -> Option<L>) {
        let model = self.links.model;
        // For each pin, the last elements of the paths that go on from it: two at most.
        let mut left: Vec<[Option<Option<ElementId>>; 2]> = vec![[None; 2]; model.pins.len()];
        let mut found = 0;
        let mut waiting = BinaryHeap::new();
        let mut add = |waiting: &mut BinaryHeap<Waiting<L>>, stand| {
            waiting.push(Waiting(stand, found));
            found += 1;
        };
        starts.iter().for_each(|&(pin, label)| add(&mut waiting, Stand { pin, label, by: None, last: None }));
        while let Some(Waiting(stand, _)) = waiting.pop() {
            let [first, second] = &mut left[stand.pin.0];
            match (&first, &second) {
                (None, _) => *first = Some(stand.last),
                // A start turns back through nothing.
                (Some(Some(last)), None) if stand.last != Some(*last) => *second = Some(stand.last),
                _ => continue,
            }
            let here = self.stands.len();
            self.stands.push(stand);
            for &hop in self.links.out_of(stand.pin, self.towards) {
                let through = passed(model, hop.link);
                if through.is_some() && through == stand.last || !self.is_possible(here, hop, held, &stand, step) {
                    continue;
                }
                if let Some(label) = step(&stand, hop) {
                    let last = through.or(stand.last);
                    add(&mut waiting, Stand { pin: hop.to, label, by: Some((hop.link, here)), last });
                }
            }
        }
    }

    /// Whether what a link needs agrees with what is held and with the path so far.
    fn is_possible(
        &mut self,
        here: usize,
        hop: Hop,
        held: &[Setting],
        stand: &Stand<L>,
        step: &mut dyn FnMut(&Stand<L>, Hop) -> Option<L>,
    ) -> bool {
        let model = self.links.model;
        let Some(setting) = Setting::of(model, [stand.pin, hop.to], hop.link) else { return true };
        if held.iter().any(|held| held.excludes(setting)) {
            return false;
        }
        let mut at = here;
        while let Some((link, before)) = self.stands[at].by {
            let other = Setting::of(model, [self.stands[before].pin, self.stands[at].pin], link);
            if other.is_some_and(|other| other.excludes(setting)) {
                let label = step(stand, hop);
                self.refused.extend(label.map(|label| Refused { setting, to: hop.to, label }));
                return false;
            }
            at = before;
        }
        true
    }
}

/// The element that a link goes through; for all throws of a switch, its first.
fn passed(model: &Model, link: Link) -> Option<ElementId> {
    let Link::Through(id, _) = link else { return None };
    let ElementKind::Throw { common: own, .. } = model.element(id).kind else { return Some(id) };
    let is_of_switch =
        |id: &&ElementId| matches!(model.element(**id).kind, ElementKind::Throw { common, .. } if common == own);
    model.part(model.element(id).part).elements.iter().find(is_of_switch).copied()
}
