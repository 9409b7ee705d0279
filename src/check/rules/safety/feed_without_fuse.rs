use crate::protection::Guard;
use crate::walk::{Way, exclude_each_other};
use crate::{Context, Finding, Finds, Rule, Severity, tables};
use graph::Link;
use model::{ElementKind, PartKind, PinId, WireId};
use quantity::{Amps, Metres};

pub const RULE: Rule = Rule {
    name: "safety/feed-without-fuse",
    severity: Severity::Error,
    explanation: include_str!("feed_without_fuse.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    let mut findings = Vec::new();
    for id in context.model.wire_ids() {
        for end in context.model.wire(id).ends {
            if context.model.part(context.model.pin(end).part).kind != PartKind::Supply {
                continue;
            }
            match context.protection.of(id) {
                Guard::Open(_) if is_told_from_the_other(context, id, end) => {}
                Guard::Open(_) => findings.extend(behind(context, end, id)),
                Guard::Other(limit) => findings.extend(by_the_vehicle(context, end, id, limit)),
                Guard::Dead | Guard::Element(..) => {}
            }
        }
    }
    findings
}

/// Whether a wire leads straight to another supply and is told from there: from one with volts of its own rather than from
/// one behind a fuse of the vehicle, of two alike from the first.
fn is_told_from_the_other(context: &Context, id: WireId, end: PinId) -> bool {
    let ends = context.model.wire(id).ends;
    let other = ends[usize::from(ends[0] == end)];
    let rank = |pin: PinId| (limit_of(context, pin).is_some(), is_fed_supply(context, pin), pin);
    is_supply(context, other) && rank(other) < rank(end)
}

fn is_supply(context: &Context, pin: PinId) -> bool {
    context.model.part(context.model.pin(pin).part).kind == PartKind::Supply
}

/// Whether a pin is a supply that is fed from another one, with what else the vehicle has on it.
fn is_fed_supply(context: &Context, pin: PinId) -> bool {
    let elements = &context.model.part(context.model.pin(pin).part).elements;
    elements
        .iter()
        .any(|id| matches!(context.model.element(*id).kind, ElementKind::Derived { pin: own, .. } if own == pin))
}

fn limit_of(context: &Context, pin: PinId) -> Option<Amps> {
    let elements = &context.model.part(context.model.pin(pin).part).elements;
    elements.iter().find_map(|id| match &context.model.element(*id).kind {
        ElementKind::Battery { figures, .. } | ElementKind::Derived { figures, .. } => figures.limit,
        _ => None,
    })
}

/// A supply with a limit that feeds something through no fuse of the harness: the vehicle's own is taken for granted.
fn by_the_vehicle(context: &Context, supply: PinId, first: WireId, limit: Amps) -> Option<Finding> {
    let consumer = unfused(context, supply, first).consumer?;
    let model = context.model;
    let (wire, from, to) = (context.wire_words(first), model.pin_name(supply), model.pin_name(consumer));
    let message = format!("{wire} brings `{from}` to `{to}` behind the vehicle's own fuse alone");
    let finding = RULE
        .finding(model.wire(first).place, message)
        .about(wire)
        .label("no fuse of the harness on this way")
        .value("the supply's `limit`, taken as that fuse", limit)
        .hint(format!("see that there is one in the vehicle; else put your own close to `{from}`"));
    Some(Finding { severity: Severity::Note, ..finding })
}

/// What lies between a supply and the first fuses behind one of its wires.
struct Unfused {
    /// The farthest point.
    far: (PinId, Metres),
    /// The first consumer that is met.
    consumer: Option<PinId>,
    /// Whether conduit or sleeve covers all of it.
    sheathed: bool,
}

fn behind(context: &Context, supply: PinId, first: WireId) -> Option<Finding> {
    let found = unfused(context, supply, first);
    let model = context.model;
    let (wire, from) = (context.wire_words(first), model.pin_name(supply));
    let place = model.wire(first).place;
    let (pin, length) = found.far;
    let finding = match found.consumer {
        Some(consumer) => {
            let to = model.pin_name(consumer);
            RULE.finding(place, format!("{wire} brings `{from}` to `{to}` without a fuse"))
                .label("no fuse on this way")
                .hint(format!("put a fuse close to `{from}`, rated for the thinnest wire behind it"))
        }
        None => {
            let most = if found.sheathed { tables::fuse_distance_sheathed() } else { tables::fuse_distance() };
            if length <= most {
                return None;
            }
            let to = model.pin_name(pin);
            let hint = match model.part(model.pin(pin).part).kind {
                // Both feed a short between them.
                PartKind::Supply => format!("put a fuse close to `{from}` and one close to `{to}`"),
                PartKind::Ground => format!("put a fuse close to `{from}`"),
                _ => format!("move the fuse closer to `{from}`, or give the wire its true `length`"),
            };
            RULE.finding(place, format!("{length} of wire without a fuse from `{from}` to `{to}`, more than {most}"))
                .label("unfused from here")
                .limit("wire before the fuse", length, most)
                .hint(hint)
        }
    };
    Some(finding.about(wire))
}

/// Walks from a supply along one of its wires, through whatever conducts, up to the first fuse on each way.
fn unfused(context: &Context, supply: PinId, first: WireId) -> Unfused {
    let model = context.model;
    let mut found = Unfused { far: (supply, Metres::new(0.0)), consumer: None, sheathed: true };
    let mut seen = vec![supply];
    let mut stands: Vec<(PinId, Metres, Option<Link>)> = vec![(supply, Metres::new(0.0), None)];
    while let Some((pin, length, by)) = stands.pop() {
        if length > found.far.1 {
            found.far = (pin, length);
        }
        if found.consumer.is_none() && pin != supply && is_consumer(context, pin) {
            found.consumer = Some(pin);
        }
        // A wire to ground or to another supply counts with its length; what is behind that is told from there.
        if pin != supply && matches!(model.part(model.pin(pin).part).kind, PartKind::Supply | PartKind::Ground) {
            continue;
        }
        for step in context.neighbours.of(pin, Way::Down) {
            let leaves_supply = pin == supply && step.link != Link::Wire(first);
            let impossible = by.is_some_and(|by| exclude_each_other(model, by, step.link));
            if leaves_supply || impossible || seen.contains(&step.to) || is_fuse(context, step.link) {
                continue;
            }
            let mut more = length;
            if let Link::Wire(id) = step.link {
                // A wire without a length is told by build/wire-length.
                more = more + model.wire(id).length.unwrap_or_default();
                found.sheathed &= context.is_sheathed(id);
            }
            seen.push(step.to);
            stands.push((step.to, more, Some(step.link)));
        }
    }
    found
}

fn is_fuse(context: &Context, link: Link) -> bool {
    matches!(link, Link::Through(id, _) if matches!(context.model.element(id).kind, ElementKind::Fuse { .. }))
}

/// Whether a pin takes current for itself.
fn is_consumer(context: &Context, pin: PinId) -> bool {
    let part = context.model.part(context.model.pin(pin).part);
    part.elements.iter().any(|id| match &context.model.element(*id).kind {
        ElementKind::Load(load) => load.feed == pin,
        ElementKind::Coil(coil) => coil.feed == pin || coil.ground == pin,
        ElementKind::Converter { input, .. } => *input == pin,
        ElementKind::Output { other, high_side, .. } => *other == pin && *high_side,
        ElementKind::Sense { pin: sense, .. } => *sense == pin,
        // What else the vehicle has on it.
        ElementKind::Derived { pin: own, .. } => *own == pin,
        _ => false,
    })
}
