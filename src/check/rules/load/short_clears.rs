use crate::{Finding, Finds, Rule, Severity, Waypoint, tables};
use circuit::Via;
use facts::Facts;
use facts::fuse_curve::{fuse, latest};
use facts::shorts::ShortCircuit;
use model::{ElementId, Model, WireId, conductor};
use quantity::{Amps, Seconds, significant};
use std::collections::BTreeMap;

pub const RULE: Rule = Rule {
    name: "load/short-clears",
    severity: Severity::Error,
    explanation: include_str!("short_clears.md"),
    finds: Finds::InHarness(find),
};

/// A short that lasts too long.
struct Lasts {
    wire: WireId,
    short: ShortCircuit,
    fuse: ElementId,
    /// The longest opening time; `None` if the fuse need not open.
    opens: Option<Seconds>,
    /// How long the thinnest wire behind the fuse withstands the short.
    stands: Seconds,
    thinnest: WireId,
    /// The shorter of that and the general limit.
    limit: Seconds,
}

/// The worst wire of each fuse.
fn find(facts: &Facts) -> Vec<Finding> {
    let mut worst: BTreeMap<ElementId, Lasts> = BTreeMap::new();
    for lasts in facts.model.wire_ids().filter_map(|wire| of_wire(facts, wire)) {
        let amps = |one: &Lasts| one.short.amps[0].value();
        if worst.get(&lasts.fuse).is_none_or(|there| amps(&lasts) < amps(there)) {
            worst.insert(lasts.fuse, lasts);
        }
    }
    worst.into_values().map(|lasts| finding(facts, lasts)).collect()
}

fn of_wire(facts: &Facts, id: WireId) -> Option<Lasts> {
    let model = facts.model;
    let short = facts.shorts().at_end_of(id)?;
    let amps = short.amps[0];
    // The fuse that certainly opens first; if none does, the last one.
    let opening = |id: ElementId| fuse(model, id).and_then(|(rating, opens, _)| latest(opens, amps / rating));
    let first = |a: &ElementId, b: &ElementId| {
        let time = |id: &ElementId| opening(*id).map_or(f64::INFINITY, Seconds::value);
        time(a).total_cmp(&time(b)).then(b.cmp(a))
    };
    let guard = short.fuses.iter().copied().filter(|id| fuse(model, *id).is_some()).min_by(first)?;
    let (_, _, is_fuse) = fuse(model, guard)?;
    let wires = wires_behind(&short, guard);
    let thinnest = wires.into_iter().min_by(|a, b| {
        let area = |wire: &WireId| model.wire(*wire).gauge.area();
        area(a).total_cmp(&area(b))
    })?;
    let carries = conductor::ampacity(
        model.wire(thinnest).gauge,
        facts.bundles().loaded(thinnest),
        size::in_engine_space(model, thinnest),
    );
    if amps <= carries {
        return None; // The wire carries it without end.
    }
    let root = tables::short_withstand() * model.wire(thinnest).gauge.area() / amps.value();
    let stands = Seconds::new(root * root);
    let opens = opening(guard);
    // No standard gives a breaker's opening time in a short, so its I²t isn't checked.
    let limit = if is_fuse && stands < tables::clears_within() { stands } else { tables::clears_within() };
    let lasts = opens.is_none_or(|opens| opens > limit);
    lasts.then_some(Lasts { wire: id, short, fuse: guard, opens, stands, thinnest, limit })
}

fn wires_behind(short: &ShortCircuit, guard: ElementId) -> Vec<WireId> {
    let links = short.through.iter().map(|(via, _)| *via);
    let behind = links.skip_while(|via| *via != Via::Element(guard));
    behind.filter_map(|via| if let Via::Wire(wire) = via { Some(wire) } else { None }).collect()
}

fn finding(facts: &Facts, lasts: Lasts) -> Finding {
    let model = facts.model;
    let wire = model.wire(lasts.wire);
    let guard = model.part(model.element(lasts.fuse).part);
    let amps = lasts.short.amps[0];
    let rating = guard.rating.map_or_else(String::new, |rating| format!(" of {rating}"));
    let message = match lasts.opens {
        None => format!(
            "a short at the far end of wire {} draws {amps}, at which `{}`{rating} need not open",
            wire.id, guard.name
        ),
        Some(opens) => format!(
            "a short at the far end of wire {} draws {amps}; `{}`{rating} may take {opens} to open, limit {} s",
            wire.id,
            guard.name,
            significant(lasts.limit.value(), 3)
        ),
    };
    let thinnest = model.wire(lasts.thinnest);
    let finding = RULE
        .finding(wire.gauge_place.unwrap_or(wire.place), message)
        .about(facts.names().wire(lasts.wire))
        .label("a short here lasts too long")
        .also(guard.place, "this fuse should open")
        .value("loop resistance", lasts.short.ohms)
        .value("short-circuit current", amps)
        .limit(
            "opening time of the fuse",
            lasts.opens.map_or_else(|| "no time given".to_string(), |opens| opens.to_string()),
            format!("{} s", significant(lasts.limit.value(), 3)),
        )
        .value(
            &format!("wire {} ({}) withstands it for", thinnest.id, thinnest.gauge),
            format!("{} s", significant(lasts.stands.value(), 3)),
        )
        .hint("use thicker or shorter wire, so that a short draws more, or a smaller fuse");
    finding.shown_in(state_of(model, &lasts.short), "lowest supply, hot copper").path(waypoints(
        facts,
        &lasts.short,
        amps,
    ))
}

/// A short counts as a state.
pub(super) fn state_of(model: &Model, short: &ShortCircuit) -> String {
    format!("`{}` shorted to ground", model.pin_name(short.at))
}

/// The path of a short's current, with the voltage at each point.
pub(super) fn waypoints(facts: &Facts, short: &ShortCircuit, amps: Amps) -> Vec<Waypoint> {
    let (model, assembly, shorts) = (facts.model, &facts.solved.assembly, facts.shorts());
    let branch = |via: Via| match via {
        Via::Wire(id) => assembly.wire(id),
        Via::Joint(id) => assembly.joint(id),
        Via::Element(id) => assembly.element(id).first().copied(),
        Via::Shield(_) | Via::ShieldContacts => None,
    };
    let first = Waypoint {
        pin: model.pin_name(short.from),
        volts: shorts.volts(short, amps, short.from),
        through: None,
        amps: None,
    };
    let path = shorts.path(short, amps);
    let steps = path.steps.iter().filter_map(|step| {
        let through = branch(step.via).map(|b| assembly.circuit.branches[b.index()].name.clone());
        Some(Waypoint { pin: model.pin_name(step.to.pin()?), volts: step.volts, through, amps: Some(step.amps) })
    });
    std::iter::once(first).chain(steps).collect()
}
