//! Follows the causes of a picture on a screen, in one solved state: from the screen's trigger back through relays,
//! modules and switches to the supply, each cause as a chain of pins with the volts to expect, causes before effects.

mod limits;
mod links;
mod moment;

use crate::service::chain::{Chain, ChainKind, ChainLink};
use catalogue::part_form::Acts;
use circuit::{CurrentPath, Tracer, Via};
use facts::AtCorners;
use graph::{Link as GraphLink, PicturePath};
use links::STARTS;
use model::{Coil, ElementKind, ElementPath, Passage, PinId, SignalId, SignalKind, StateCondition};
use moment::Moment;
use spec::WireMake;
use states::Solved;
use std::collections::{BTreeMap, BTreeSet};

/// Most causes that are followed for one picture.
const MOST_CAUSES: usize = 40;

/// Shared pins, counted from the supply, from which on the second of two chains is shortened.
const LEAST_SHARED: usize = 3;

/// The moment at which a self-holding relay was pulled in.
pub struct Pull<'a> {
    /// Its contacts as they were before.
    pub at: AtCorners<'a>,
    /// What was done, in words.
    pub done: String,
}

/// Follows causes in one state.
pub struct Follower<'a> {
    moment: Moment<'a>,
    tracer: &'a Tracer,
    pulls: &'a BTreeMap<SignalId, Pull<'a>>,
    done: BTreeSet<SignalId>,
    chains: Vec<Chain>,
    /// Pins that must be dead.
    dead: Vec<ChainLink>,
    /// The pins of each chain, including those that are printed in part.
    whole: Vec<Vec<String>>,
    /// The buttons held while a memory is set, in words; empty otherwise.
    meanwhile: String,
}

impl<'a> Follower<'a> {
    /// Begins with no chain.
    pub fn new(
        solved: &'a Solved<'a>,
        tracer: &'a Tracer,
        at: &'a AtCorners<'a>,
        pulls: &'a BTreeMap<SignalId, Pull<'a>>,
    ) -> Self {
        let (done, chains, dead, whole) = (BTreeSet::new(), Vec::new(), Vec::new(), Vec::new());
        let meanwhile = String::new();
        let moment = Moment { solved, model: solved.model, at };
        Follower { moment, tracer, pulls, done, chains, dead, whole, meanwhile }
    }

    /// How many chains there are so far.
    pub fn count(&self) -> usize {
        self.chains.len()
    }

    /// The chains, and at their end the pins that must be dead.
    pub fn finish(mut self) -> Vec<Chain> {
        if !self.dead.is_empty() {
            let title = "These stay dead".to_string();
            self.chains.push(Chain { title, kind: ChainKind::Dead, how: String::new(), links: self.dead });
        }
        self.chains
    }

    /// Follows everything that makes a condition hold, or not hold.
    pub fn logic(&mut self, logic: &StateCondition, wanted: bool) {
        let holds = |term: &StateCondition| self.moment.solved.assembly.holds(&self.moment.at.nominal, term);
        match logic {
            StateCondition::Always(_) | StateCondition::InputIs(..) => {}
            StateCondition::Signal(signal) if wanted => self.live(*signal),
            StateCondition::Signal(signal) => self.dead(*signal),
            StateCondition::Not(inner) => self.logic(inner, !wanted),
            StateCondition::All(terms) if wanted => terms.iter().for_each(|term| self.logic(term, true)),
            StateCondition::Any(terms) if !wanted => terms.iter().for_each(|term| self.logic(term, false)),
            // One term is enough: the first that is as wanted; if there is none, the first term, to show what is
            // missing.
            StateCondition::All(terms) | StateCondition::Any(terms) => {
                let one = terms.iter().find(|term| holds(term) == wanted).or(terms.first());
                if let Some(term) = one {
                    self.logic(term, wanted);
                }
            }
        }
    }

    /// Whether a signal has not been followed yet and still may be.
    fn first_time(&mut self, signal: SignalId) -> bool {
        self.done.len() < MOST_CAUSES && self.done.insert(signal)
    }

    /// A signal that must be on.
    pub fn live(&mut self, id: SignalId) {
        if !self.first_time(id) {
            return;
        }
        let (solved, model) = (self.moment.solved, self.moment.model);
        let signal = &model.signals[id.0];
        match &signal.kind {
            SignalKind::Sense { pin, on_above, .. } => {
                let title = format!("Trigger {}{}", model.pin_name(*pin), self.meanwhile);
                self.into(*pin, title, &format!("on from {on_above}"));
            }
            SignalKind::Working { feed, ground, least } => {
                let part = model.part(signal.part);
                let title = format!("Supply of {} ({})", part.name, part.title);
                let look = if least.value() > 0.0 { format!("works from {least}") } else { String::new() };
                self.through(*feed, *ground, title, &look);
            }
            SignalKind::Relay { coils, latching } => {
                let coils: Vec<&Coil> = coils.iter().filter_map(|id| model.coil(*id)).collect();
                let energised = |coil: &&&Coil| {
                    let volts = |pin| solved.assembly.mean(&self.moment.at.nominal, pin);
                    (volts(coil.feed) - volts(coil.ground)).abs() > coil.drop_out
                };
                self.pulled(id, &coils);
                match coils.iter().find(energised).or(coils.first()) {
                    Some(coil) if *latching => {
                        let title = format!("{} keeps its position", signal.name);
                        let way = if coil.acts == Acts::Toggles { "toggles it" } else { "sets it" };
                        let look = format!("{} for a moment {way}", coil.pull_in);
                        let links = vec![ChainLink { look, ..self.moment.bare(coil.feed) }];
                        self.push(title, ChainKind::Live, String::new(), links);
                    }
                    Some(coil) => {
                        let holds = self.pulls.contains_key(&id);
                        let title =
                            format!("Coil of {}{}", signal.name, if holds { ", which then holds itself" } else { "" });
                        let look = match holds {
                            true => format!("stays in down to {}", coil.drop_out),
                            false => format!("pulls in at {}", coil.pull_in),
                        };
                        self.through(coil.feed, coil.ground, title, &look);
                    }
                    None => {}
                }
            }
            SignalKind::Timer { from, .. } => match self.pulls.get(&id) {
                Some(pull) => {
                    let now = std::mem::replace(&mut self.moment.at, &pull.at);
                    let outer = std::mem::replace(&mut self.meanwhile, format!(", with {}", pull.done));
                    self.logic(from, true);
                    (self.moment.at, self.meanwhile) = (now, outer);
                }
                None => self.logic(from, true),
            },
        }
    }

    /// The chain that pulled in a relay that now holds itself: the voltage at its coil at that moment, its contacts not
    /// yet moved.
    fn pulled(&mut self, id: SignalId, coils: &[&Coil]) {
        let Some(pull) = self.pulls.get(&id) else { return };
        let now = std::mem::replace(&mut self.moment.at, &pull.at);
        let volts = |coil: &Coil| {
            let volts = |pin| self.moment.solved.assembly.mean(&pull.at.nominal, pin);
            (volts(coil.feed) - volts(coil.ground)).abs()
        };
        let acting = coils.iter().filter(|coil| coil.acts != Acts::Resets);
        if let Some(coil) = acting.max_by(|a, b| volts(a).value().total_cmp(&volts(b).value())) {
            let verb = match coil.acts {
                Acts::Toggles => "toggled",
                Acts::Sets => "set",
                _ => "pulled in",
            };
            let title = format!("Coil of {}, {verb} with {}", self.moment.model.signals[id.0].name, pull.done);
            self.through(coil.feed, coil.ground, title, &format!("pulls in at {}", coil.pull_in));
        }
        self.moment.at = now;
    }

    /// A signal that must be off.
    pub fn dead(&mut self, id: SignalId) {
        if !self.first_time(id) {
            return;
        }
        let model = self.moment.model;
        let signal = &model.signals[id.0];
        match &signal.kind {
            SignalKind::Sense { pin, off_below, .. } => {
                self.stays_dead(*pin, format!("{} off", signal.name), format!("off below {off_below}"));
            }
            SignalKind::Working { feed, .. } => {
                let what = format!("{} without supply", model.part(signal.part).name);
                self.stays_dead(*feed, what, String::new());
            }
            SignalKind::Relay { coils, .. } => {
                for coil in coils.iter().filter_map(|id| model.coil(*id)) {
                    let look = format!("drops out at {}", coil.drop_out);
                    self.stays_dead(coil.feed, format!("{} out", signal.name), look);
                }
            }
            SignalKind::Timer { from, .. } => self.logic(from, false),
        }
    }

    /// Adds a chain. The part that it shares with an earlier one, from the supply on, is not printed twice: it begins
    /// where they separate, with a reference to the earlier one.
    fn push(&mut self, title: String, kind: ChainKind, how: String, mut links: Vec<ChainLink>) {
        let pins: Vec<String> = links.iter().map(|link| link.pin.clone()).collect();
        let shared = |whole: &Vec<String>| whole.iter().zip(&pins).take_while(|(a, b)| a == b).count();
        let lengths = self.whole.iter().map(shared).enumerate();
        // Of equally long ones, take the first.
        let best = lengths.max_by_key(|(chain, length)| (*length, std::cmp::Reverse(*chain)));
        if let Some((chain, length)) = best.filter(|(_, length)| *length >= LEAST_SHARED) {
            links.drain(..length - 1);
            links[0].through = format!("as in chain {}", chain + 1);
            links[0].wire = None;
        }
        self.moment.limit(&mut links);
        self.whole.push(pins);
        self.chains.push(Chain { title, kind, how, links });
    }

    fn stays_dead(&mut self, pin: PinId, what: String, look: String) {
        self.dead.push(ChainLink { through: what, look, ..self.moment.bare(pin) });
    }

    /// The chain into a pin, after the chains of its causes.
    fn into(&mut self, pin: PinId, title: String, look: &str) {
        let path = self.tracer.into_pin(&self.moment.solved.assembly, &self.moment.at.nominal, pin);
        self.causes(&path);
        let mut links = self.moment.links(&path);
        self.moment.end_at(&mut links, pin, look);
        self.push(title, ChainKind::Live, self.moment.flashing([&path]), links);
    }

    /// The chain into one pin of a part and out of another, back to the battery.
    fn through(&mut self, feed: PinId, ground: PinId, title: String, look: &str) {
        let assembly = &self.moment.solved.assembly;
        let path = self.tracer.into_pin(assembly, &self.moment.at.nominal, feed);
        let back = self.tracer.out_of_pin(assembly, &self.moment.at.nominal, ground);
        self.causes(&path);
        self.causes(&back);
        let mut links = self.moment.links(&path);
        self.moment.end_at(&mut links, feed, look);
        let part = &self.moment.model.part(self.moment.model.pin(feed).part).name;
        let mut home = self.moment.links(&back);
        if home.is_empty() {
            home.push(self.moment.bare(ground));
        }
        home[0].through = format!("inside {part}");
        links.extend(home.into_iter().map(|link| ChainLink { returns: true, ..link }));
        self.push(title, ChainKind::Live, self.moment.flashing([&path, &back]), links);
    }

    /// Follows what must be on or off for a current to take this path.
    fn causes(&mut self, path: &CurrentPath) {
        let mut before = path.start.pin();
        for step in &path.steps {
            if let Via::Element(id) = step.via {
                let element = self.moment.model.element(id);
                match &element.kind {
                    // To the battery's negative: the vehicle's other loads on a supply that is off.
                    ElementKind::Derived { when, .. } if step.to.pin().is_none() => self.logic(when, false),
                    _ => {
                        let passes = || element.paths().filter(|path| path.passage != Passage::Load);
                        let ends = [before, step.to.pin()];
                        let taken = passes().find(|path| ends.contains(&path.to)).or_else(|| passes().next());
                        if let Some(path) = taken {
                            self.logic(&path.when, true);
                        }
                    }
                }
            }
            before = step.to.pin();
        }
    }

    /// The path of a picture from its source to the screen, after the chains that open it.
    pub fn picture(&mut self, path: &PicturePath, input: PinId) {
        let model = self.moment.model;
        for id in &model.part(path.source).elements {
            if let ElementKind::Source { pin, when } = &model.element(*id).kind
                && *pin == path.source_pin
            {
                self.logic(when, true);
            }
        }
        let mut links = vec![ChainLink { through: STARTS.to_string(), ..self.moment.picture_pin(path.source_pin) }];
        // The path is stored from the screen back: a link leads from its own pin to the pin before it.
        for (i, (_, link)) in path.links.iter().enumerate().rev() {
            let to = if i == 0 { input } else { path.links[i - 1].0 };
            let (through, wire) = match link {
                GraphLink::Wire(id) => (self.moment.through_words(Via::Wire(*id)), Some(self.moment.wire(*id))),
                GraphLink::Joint(joint) => (self.moment.through_words(Via::Joint(*joint)), None),
                GraphLink::Through(id, _) => {
                    let opens = |path: &ElementPath| path.passage == Passage::Signal;
                    if let Some(path) = model.element(*id).paths().find(opens) {
                        self.logic(&path.when, true);
                    }
                    (self.moment.through_words(Via::Element(*id)), None)
                }
            };
            let coax = matches!(link, GraphLink::Wire(id) if model.wire(*id).make == WireMake::Coax);
            let look = if coax { limits::COAX } else { "" }.to_string();
            links.push(ChainLink { through, wire, look, ..self.moment.picture_pin(to) });
        }
        let source = model.part(path.source);
        let title = format!("Picture of {} ({})", source.name, source.title);
        let how = self.moment.picture_test(path, input);
        self.push(title, ChainKind::Picture, how, links);
    }
}
