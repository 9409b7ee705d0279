use crate::{Finding, Finds, Rule, Severity, Waypoint, tables};
use circuit::Via;
use facts::Facts;
use facts::shorts::ShortCircuit;
use form::Place;
use model::{ElementId, Model, VehicleFuse, WireId, conductor};
use quantity::{Amps, Seconds, significant};
use size::fuse_curve::{fuse, latest, of_vehicle};
use std::collections::BTreeMap;

pub const RULE: Rule = Rule {
    name: "load/short-clears",
    severity: Severity::Error,
    explanation: include_str!("short_clears.md"),
    finds: Finds::InHarness(find),
};

/// A fuse that has to clear a short.
#[derive(Clone, Copy)]
enum Opener {
    /// Of the harness.
    Harness(ElementId),
    /// Of the vehicle, of known rating. It counts as a blade fuse.
    Vehicle(VehicleFuse),
}

impl Opener {
    /// Identifies the fuse, in the order of the spec.
    fn key(self) -> (bool, usize) {
        match self {
            Opener::Harness(id) => (false, id.0),
            Opener::Vehicle(fuse) => (true, fuse.of.0),
        }
    }

    /// The longest time in which it opens; `None` if it need not open.
    fn opens(self, model: &Model, amps: Amps) -> Option<Seconds> {
        match self {
            Opener::Harness(id) => fuse(model, id).and_then(|(rating, opens, _)| latest(opens, amps / rating)),
            Opener::Vehicle(fuse) => latest(&of_vehicle(), amps / fuse.rating),
        }
    }

    /// No standard gives a breaker's opening time in a short, so its I²t isn't checked.
    fn is_fuse(self, model: &Model) -> bool {
        match self {
            Opener::Harness(id) => fuse(model, id).is_some_and(|(_, _, is_fuse)| is_fuse),
            Opener::Vehicle(_) => true,
        }
    }

    /// What it is called, with its rating, and where it stands.
    fn words(self, model: &Model) -> (String, Place) {
        match self {
            Opener::Harness(id) => {
                let part = model.part(model.element(id).part);
                let rating = part.rating.map_or_else(String::new, |rating| format!(" of {rating}"));
                (format!("`{}`{rating}", part.name), part.place)
            }
            Opener::Vehicle(fuse) => {
                let part = model.part(model.pin(fuse.of).part);
                (format!("the vehicle's fuse of `{}` ({})", part.name, fuse.rating), part.place)
            }
        }
    }
}

/// A short that lasts too long.
struct Lasts {
    wire: WireId,
    short: ShortCircuit,
    fuse: Opener,
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
    let mut worst: BTreeMap<(bool, usize), Lasts> = BTreeMap::new();
    for lasts in facts.model.wire_ids().filter_map(|wire| of_wire(facts, wire)) {
        let amps = |one: &Lasts| one.short.amps[0].value();
        let key = lasts.fuse.key();
        if worst.get(&key).is_none_or(|there| amps(&lasts) < amps(there)) {
            worst.insert(key, lasts);
        }
    }
    worst.into_values().map(|lasts| finding(facts, lasts)).collect()
}

fn of_wire(facts: &Facts, id: WireId) -> Option<Lasts> {
    let model = facts.model;
    let short = facts.shorts().at_end_of(id)?;
    let amps = short.amps[0];
    let guard = opener(model, &short, amps)?;
    let thinnest = wires_behind(&short, guard).into_iter().min_by(|a, b| {
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
    let opens = guard.opens(model, amps);
    let limit = if guard.is_fuse(model) && stands < tables::clears_within() { stands } else { tables::clears_within() };
    let lasts = opens.is_none_or(|opens| opens > limit);
    lasts.then_some(Lasts { wire: id, short, fuse: guard, opens, stands, thinnest, limit })
}

/// The fuse on the path of a short that certainly opens first, the vehicle's among them; if none does, the last one.
fn opener(model: &Model, short: &ShortCircuit, amps: Amps) -> Option<Opener> {
    let known = |id: &ElementId| fuse(model, *id).is_some();
    let harness = short.fuses.iter().rev().copied().filter(known).map(Opener::Harness);
    let vehicle = model.vehicle_fuse(short.from).filter(|fuse| fuse.is_known).map(Opener::Vehicle);
    let time = |fuse: &Opener| fuse.opens(model, amps).map_or(f64::INFINITY, Seconds::value);
    harness.chain(vehicle).min_by(|a, b| time(a).total_cmp(&time(b)))
}

fn wires_behind(short: &ShortCircuit, guard: Opener) -> Vec<WireId> {
    let links = short.through.iter().map(|(via, _)| *via);
    let is_before = |via: &Via| matches!(guard, Opener::Harness(id) if *via != Via::Element(id));
    let behind = links.skip_while(is_before);
    behind.filter_map(|via| if let Via::Wire(wire) = via { Some(wire) } else { None }).collect()
}

fn finding(facts: &Facts, lasts: Lasts) -> Finding {
    let model = facts.model;
    let wire = model.wire(lasts.wire);
    let (guard, guard_place) = lasts.fuse.words(model);
    let amps = lasts.short.amps[0];
    let message = match lasts.opens {
        None => format!("a short at the far end of wire {} draws {amps}, at which {guard} need not open", wire.id),
        Some(opens) => format!(
            "a short at the far end of wire {} draws {amps}; {guard} may take {opens} to open, limit {} s",
            wire.id,
            significant(lasts.limit.value(), 3)
        ),
    };
    let thinnest = model.wire(lasts.thinnest);
    let finding = RULE
        .finding(wire.gauge_place.unwrap_or(wire.place), message)
        .about(facts.names().wire(lasts.wire))
        .label("a short here lasts too long")
        .also(guard_place, "this fuse should open")
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
        .hint(match lasts.fuse {
            Opener::Harness(_) => "use thicker or shorter wire, so that a short draws more, or a smaller fuse",
            Opener::Vehicle(_) => {
                "use thicker or shorter wire, so that a short draws more, or a smaller fuse of its own close to the tap; leave the \
                 vehicle's fuse as it is"
            }
        });
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
