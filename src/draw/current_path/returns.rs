//! Gives every flag its return: where a path ends in a flag to a pin, the node of that pin shows the wire with a flag
//! back. So each node shows as many wires as the model has there.

use super::forest::{Bar, Edge, End, Root, Start, Stem, Step, Target, Top};
use model::{Model, PartKind, PinId, WireId};

/// The last stretch of a path that ends in a flag.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Outgoing {
    /// The pin that the flag points to.
    pin: PinId,
    /// The other end of the last wire or joint, or the symbol that the path came through.
    far: Target,
    /// The last wire; `None` for a joint or a symbol.
    wire: Option<WireId>,
}

impl Outgoing {
    fn top(self) -> Top {
        Top::Stub { from: self.far, wire: self.wire, whole: false }
    }

    fn is(self, top: &Top) -> bool {
        matches!(top, Top::Stub { from, wire, .. } if (*from, *wire) == (self.far, self.wire))
    }
}

/// Adds the returns that are missing, and makes a node of each splice that a path begins at.
pub(super) fn add(roots: &mut Vec<Root>, model: &Model) {
    for root in roots.iter_mut() {
        if let Start::Cut { pin, .. } | Start::Loose(pin) = root.start
            && model.part(model.pin(pin).part).kind == PartKind::Splice
            && !is_node(&root.stem, pin)
        {
            into_node(&mut root.stem, pin, None);
        }
    }
    let mut flags = Vec::new();
    roots.iter().for_each(|root| outgoing(&root.stem, &mut flags));
    for flag in flags {
        let is_splice = model.part(model.pin(flag.pin).part).kind == PartKind::Splice;
        if !roots.iter().any(|root| shows(&root.stem, flag)) && !return_to(roots, flag) && is_splice {
            // All its wires are cut off at it: it stands on a path of its own.
            let mut stem = Stem { steps: Vec::new(), end: End::Open(flag.pin) };
            into_node(&mut stem, flag.pin, None);
            let start = Start::Cut { pin: flag.pin, from: Some((flag.far, flag.wire)) };
            let after = roots.iter().position(|root| ends_in(&root.stem, flag)).map_or(roots.len(), |i| i + 1);
            roots.insert(after, Root { start, stem });
        }
    }
}

/// Takes away paths that are only one wire between two flags: the wire is drawn whole below the flag at its lower end.
pub(super) fn shorten(roots: &mut Vec<Root>, model: &Model) {
    let mut flags = Vec::new();
    roots.iter().for_each(|root| outgoing(&root.stem, &mut flags));
    let mut at = 0;
    while at < roots.len() {
        let only = only_wire(&roots[at]).filter(|&(pin, _)| {
            let is_splice = model.part(model.pin(pin).part).kind == PartKind::Splice;
            !is_splice && flags.iter().filter(|flag| flag.pin == pin).count() == 1
        });
        if only.is_some_and(|(_, wire)| roots.iter_mut().any(|root| draw_whole(&mut root.stem, wire))) {
            roots.remove(at);
        } else {
            at += 1;
        }
    }
}

/// The wire of a path that goes on from another path, is nothing but this wire, and ends in a flag; with its upper pin.
fn only_wire(root: &Root) -> Option<(PinId, WireId)> {
    match (root.start, root.stem.steps.as_slice(), &root.stem.end) {
        (Start::Cut { pin, from: Some(_) }, &[Step { edge: Edge::Wire(wire), .. }], End::Flag(_)) => Some((pin, wire)),
        _ => None,
    }
}

/// Draws the stub of a wire whole, where it comes to a pin of a stem from above; `false` if it does not.
fn draw_whole(stem: &mut Stem, of: WireId) -> bool {
    let among = |tops: &mut Vec<Top>| {
        tops.iter_mut().any(|top| match top {
            Top::Stub { wire: Some(wire), whole, .. } if *wire == of && !*whole => {
                *whole = true;
                true
            }
            _ => false,
        })
    };
    match &mut stem.end {
        End::Bar(bar) => among(&mut bar.tops) || bar.downs.iter_mut().any(|stem| draw_whole(stem, of)),
        End::Many(many) => {
            many.uppers.iter_mut().any(|(_, tops)| among(tops))
                || many.lowers.iter_mut().any(|(_, stem)| draw_whole(stem, of))
        }
        _ => false,
    }
}

/// Whether a stem ends in this flag.
fn ends_in(stem: &Stem, flag: Outgoing) -> bool {
    let mut flags = Vec::new();
    outgoing(stem, &mut flags);
    flags.contains(&flag)
}

/// Puts the return where the pin's wires come together; `false` if they don't anywhere.
fn return_to(roots: &mut [Root], flag: Outgoing) -> bool {
    for root in roots.iter_mut() {
        if let Start::Cut { pin, from: from @ None } = &mut root.start
            && *pin == flag.pin
        {
            *from = Some((flag.far, flag.wire));
            return true;
        }
    }
    if roots.iter_mut().any(|root| attach(&mut root.stem, flag)) {
        return true;
    }
    let begins = |root: &&mut Root| match root.start {
        Start::Cut { pin, .. } | Start::Loose(pin) | Start::Rail(pin) => pin == flag.pin,
        Start::Box => false,
    };
    let root = roots.iter_mut().find(begins);
    root.is_some_and(|root| {
        into_node(&mut root.stem, flag.pin, Some(flag.top()));
        true
    })
}

/// The flags to pins at the ends of a stem, in the order in which they are placed.
fn outgoing(stem: &Stem, flags: &mut Vec<Outgoing>) {
    match &stem.end {
        End::Flag(Target::Pin(pin)) => {
            if let Some(step) = stem.steps.last() {
                let (far, wire) = match step.edge {
                    Edge::Wire(wire) => (Target::Pin(step.upper), Some(wire)),
                    Edge::Joint(_) => (Target::Pin(step.upper), None),
                    Edge::Piece(piece) => (Target::Piece(piece, *pin), None),
                };
                flags.push(Outgoing { pin: *pin, far, wire });
            }
        }
        End::Bar(bar) => {
            bar.downs.iter().for_each(|stem| outgoing(stem, flags));
            whole_wires(bar.pin, &bar.tops, flags);
        }
        End::Many(many) => {
            many.uppers.iter().for_each(|(pin, tops)| whole_wires(*pin, tops, flags));
            many.lowers.iter().for_each(|(_, stem)| outgoing(stem, flags));
        }
        _ => {}
    }
}

/// Wires drawn whole below a flag that leads to their upper end: that end needs a return too.
fn whole_wires(pin: PinId, tops: &[Top], flags: &mut Vec<Outgoing>) {
    for top in tops {
        if let Top::Stub { from: Target::Pin(far), wire: wire @ Some(_), whole: true } = *top {
            flags.push(Outgoing { pin: far, far: Target::Pin(pin), wire });
        }
    }
}

/// Whether the node of the flag's pin shows its wire already.
fn shows(stem: &Stem, flag: Outgoing) -> bool {
    let has = |pin: PinId, tops: &[Top]| pin == flag.pin && tops.iter().any(|top| flag.is(top));
    match &stem.end {
        End::Bar(bar) => has(bar.pin, &bar.tops) || bar.downs.iter().any(|stem| shows(stem, flag)),
        End::Many(many) => {
            many.uppers.iter().any(|(pin, tops)| has(*pin, tops))
                || many.lowers.iter().any(|(_, stem)| shows(stem, flag))
        }
        _ => false,
    }
}

/// Puts the return where the pin's wires come together; `false` if they don't on this stem.
fn attach(stem: &mut Stem, flag: Outgoing) -> bool {
    let own = stem.steps.len() - usize::from(matches!(stem.end, End::Flag(_)) && !stem.steps.is_empty());
    if let Some(at) = stem.steps[..own].iter().position(|step| step.lower == flag.pin)
        && !is_node_end(&stem.end, flag.pin)
        && at + 1 < stem.steps.len()
    {
        let steps = stem.steps.split_off(at + 1);
        let end = std::mem::replace(&mut stem.end, End::Open(flag.pin));
        let bar = Bar { pin: flag.pin, downs: vec![Stem { steps, end }], tops: vec![flag.top()] };
        stem.end = End::Bar(Box::new(bar));
        return true;
    }
    match &mut stem.end {
        End::Bar(bar) if bar.pin == flag.pin => {
            bar.tops.push(flag.top());
            true
        }
        End::Bar(bar) => bar.downs.iter_mut().any(|stem| attach(stem, flag)),
        End::Many(many) => {
            if let Some((_, tops)) = many.uppers.iter_mut().find(|(pin, _)| *pin == flag.pin) {
                tops.push(flag.top());
                return true;
            }
            for (pin, stem) in &mut many.lowers {
                let elsewhere = stem.steps.is_empty() && matches!(stem.end, End::Flag(_));
                if *pin == flag.pin && !elsewhere && !is_node(stem, flag.pin) {
                    into_node(stem, flag.pin, Some(flag.top()));
                    return true;
                }
                if attach(stem, flag) {
                    return true;
                }
            }
            false
        }
        _ => false,
    }
}

fn is_node_end(end: &End, pin: PinId) -> bool {
    matches!(end, End::Bar(bar) if bar.pin == pin)
}

/// Whether a stem begins with the node of a pin.
fn is_node(stem: &Stem, pin: PinId) -> bool {
    stem.steps.is_empty() && is_node_end(&stem.end, pin)
}

/// Puts a node at the beginning of a stem.
fn into_node(stem: &mut Stem, pin: PinId, top: Option<Top>) {
    let below = std::mem::replace(stem, Stem { steps: Vec::new(), end: End::Open(pin) });
    let is_empty = below.steps.is_empty() && matches!(below.end, End::Open(_));
    let downs = if is_empty { Vec::new() } else { vec![below] };
    stem.end = End::Bar(Box::new(Bar { pin, downs, tops: top.into_iter().collect() }));
}
