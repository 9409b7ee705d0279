//! What each wire carries, in words: the function first, then what feeds it: `Work lights (K4 make)`.
//!
//! A net is named by everything that feeds it. A contact, switch, fuse or diode feeds a net if a supply, a tap or an
//! output reaches its other side without passing through the net itself.

use graph::Nets;
use model::{Carried, ElementKind, Model, PartId, PartKind, PinId, PinRole, WireId};
use std::collections::BTreeSet;

/// Most parts that are followed towards the source.
const MOST_STEPS: usize = 12;

/// The words of every wire of a harness.
#[derive(Debug, Clone)]
pub struct SignalNames<'m> {
    model: &'m Model,
    nets: Nets,
    /// What current can go through on its way from a source.
    passes: Vec<Pass>,
    /// Pins at which current or a signal begins.
    begins: BTreeSet<PinId>,
    /// The nets of these pins.
    starts: BTreeSet<usize>,
    /// The words of each net that needs no other pin to name it.
    words: Vec<Option<String>>,
}

/// One direction through a fuse, a contact, a switch or a diode.
#[derive(Debug, Clone, Copy)]
struct Pass {
    from: PinId,
    to: PinId,
    adds: Adds,
}

/// What a part adds to the words of the net behind it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Adds {
    /// A fuse or a diode: its own name after that of the source.
    Itself,
    /// A contact or a switch: a name of its own.
    NewName,
}

/// What feeds a net: its function, if the spec says one, and the parts from the source on.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Fed {
    function: Option<String>,
    path: Vec<String>,
}

impl<'m> SignalNames<'m> {
    /// Names every net of a harness.
    pub fn new(model: &'m Model) -> SignalNames<'m> {
        let (nets, passes) = (Nets::new(model), passes(model));
        let begins: BTreeSet<PinId> = model.pin_ids().filter(|&pin| begins(model, &passes, pin)).collect();
        let starts = begins.iter().map(|pin| nets.of(*pin)).collect();
        let mut names = SignalNames { model, nets, passes, begins, starts, words: Vec::new() };
        let words = names.nets.iter().map(|net| names.net_words(net)).collect();
        names.words = words;
        names
    }

    /// What a wire carries: the words of the spec, or everything that feeds its net.
    pub fn of(&self, id: WireId) -> String {
        let wire = self.model.wire(id);
        match &wire.signal {
            Carried::Words(words) => words.clone(),
            Carried::From(pin) => {
                let net = self.nets.of(wire.ends[0]);
                self.words[net].clone().unwrap_or_else(|| fed_words(&[self.pin_names_it(*pin)]))
            }
            Carried::Unnamed => String::new(),
        }
    }

    fn net_words(&self, net: &[PinId]) -> Option<String> {
        let fed = self.fed_by(net, &mut Vec::new());
        (!fed.is_empty()).then(|| fed_words(&fed))
    }

    /// Everything that feeds a net, in the order of the model; grounds alone where it has any.
    fn fed_by(&self, net: &[PinId], seen: &mut Vec<usize>) -> Vec<Fed> {
        let number = self.nets.of(net[0]);
        if seen.contains(&number) || seen.len() > MOST_STEPS {
            return Vec::new();
        }
        let kind = |pin: &PinId| self.model.part(self.model.pin(*pin).part).kind;
        let grounds = net.iter().filter(|pin| kind(pin) == PartKind::Ground);
        let mut fed: Vec<Fed> = grounds.map(|pin| self.pin_names_it(*pin)).collect();
        if fed.is_empty() {
            fed = net.iter().filter(|pin| self.begins.contains(pin)).map(|pin| self.pin_names_it(*pin)).collect();
            seen.push(number);
            let reached = self.reached_without(number);
            let into = self.passes.iter().filter(|pass| self.nets.of(pass.to) == number);
            for pass in into.filter(|pass| reached.contains(&self.nets.of(pass.from))) {
                fed.extend(self.through(pass, seen));
            }
            seen.pop();
        }
        let mut once = Vec::new();
        fed.into_iter().for_each(|one| {
            if !once.contains(&one) {
                once.push(one);
            }
        });
        once
    }

    /// What a net has through one part.
    fn through(&self, pass: &Pass, seen: &mut Vec<usize>) -> Vec<Fed> {
        if pass.adds == Adds::NewName {
            return vec![self.pin_names_it(pass.to)];
        }
        let id = self.model.pin(pass.to).part;
        let part = self.model.part(id);
        let own = match part.rating {
            Some(rating) if is_fuse(self.model, id) => format!("{rating} fuse {}", part.name),
            _ if is_fuse(self.model, id) => format!("fuse {}", part.name),
            _ => format!("diode {}", part.name),
        };
        let mut before = self.fed_by(self.nets.with(pass.from), seen);
        if before.is_empty() {
            before.push(Fed { function: None, path: Vec::new() });
        }
        for fed in &mut before {
            fed.function = self.function(id).or(fed.function.take());
            fed.path.push(own.clone());
        }
        before
    }

    /// A pin by its part's function and by its own name.
    fn pin_names_it(&self, pin: PinId) -> Fed {
        let this = self.model.pin(pin);
        let part = self.model.part(this.part);
        match part.kind {
            PartKind::Device => {
                Fed { function: self.function(this.part), path: vec![format!("{} {}", part.name, this.title)] }
            }
            // Supplies, taps and grounds are known by their names.
            _ => Fed { function: None, path: vec![self.model.pin_name(pin)] },
        }
    }

    /// What the spec says that a part is for; a kind's own title is no function.
    fn function(&self, id: PartId) -> Option<String> {
        let part = self.model.part(id);
        (part.title != part.form.title.0 && !part.title.is_empty()).then(|| part.title.clone())
    }

    /// The nets that a source reaches without passing through one of them.
    fn reached_without(&self, without: usize) -> BTreeSet<usize> {
        let mut reached: BTreeSet<usize> = self.starts.iter().copied().filter(|net| *net != without).collect();
        loop {
            let before = reached.len();
            for pass in &self.passes {
                let [from, to] = [pass.from, pass.to].map(|pin| self.nets.of(pin));
                if to != without && reached.contains(&from) {
                    reached.insert(to);
                }
            }
            if reached.len() == before {
                return reached;
            }
        }
    }
}

fn is_fuse(model: &Model, id: PartId) -> bool {
    let fuse = |id: &model::ElementId| matches!(model.element(*id).kind, ElementKind::Fuse { .. });
    model.part(id).elements.iter().any(fuse)
}

/// Whether current or a signal begins at a pin: at a supply, a tap, or an output that is not the far side of a diode.
fn begins(model: &Model, passes: &[Pass], pin: PinId) -> bool {
    let part = model.part(model.pin(pin).part);
    let output = part.kind == PartKind::Device && model.pin(pin).role == PinRole::Output;
    matches!(part.kind, PartKind::Supply | PartKind::Feed) || (output && passes.iter().all(|pass| pass.to != pin))
}

fn passes(model: &Model) -> Vec<Pass> {
    let mut passes = Vec::new();
    let mut add = |from: PinId, to: PinId, adds: Adds, both: bool| {
        passes.push(Pass { from, to, adds });
        if both {
            passes.push(Pass { from: to, to: from, adds });
        }
    };
    for element in &model.elements {
        match &element.kind {
            ElementKind::Fuse { between: [a, b], .. } => add(*a, *b, Adds::Itself, true),
            ElementKind::Diode { anode, cathode, .. } => add(*anode, *cathode, Adds::Itself, false),
            ElementKind::Contact { common, made, rest, .. } => {
                made.iter().chain(rest).for_each(|pin| add(*common, *pin, Adds::NewName, true));
            }
            ElementKind::Throw { common, throw, .. } => add(*common, *throw, Adds::NewName, true),
            _ => {}
        }
    }
    passes
}

/// `Function (source, fuse)`; several that differ in their source alone share the rest.
fn fed_words(fed: &[Fed]) -> String {
    let mut groups: Vec<(Option<&String>, &[String], Vec<&str>)> = Vec::new();
    for one in fed {
        let Some((first, rest)) = one.path.split_first() else { continue };
        match groups.iter_mut().find(|(function, after, _)| *function == one.function.as_ref() && *after == rest) {
            Some((.., firsts)) => firsts.push(first),
            None => groups.push((one.function.as_ref(), rest, vec![first])),
        }
    }
    let words = groups.iter().map(|(function, rest, firsts)| {
        let path: Vec<String> = std::iter::once(firsts.join(" or ")).chain(rest.iter().cloned()).collect();
        match function {
            Some(function) => format!("{function} ({})", path.join(", ")),
            None => path.join(", "),
        }
    });
    words.collect::<Vec<_>>().join("; or ")
}
