use super::feed_without_fuse::is_fused_close_by;
use crate::evidence::{company, is_held, size_words};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::protection::Guard;
use model::{ElementId, ElementKind, PinId, VehicleFuse, WireId, conductor};
use quantity::Amps;
use std::collections::BTreeMap;

pub const RULE: Rule = Rule {
    name: "safety/fuse-above-wire",
    severity: Severity::Error,
    explanation: include_str!("fuse_above_wire.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    // One finding for each fuse, about the thinnest wire behind it.
    let mut by_fuse: BTreeMap<Fuse, Vec<TooThin>> = BTreeMap::new();
    for one in facts.model.wire_ids().filter_map(|wire| too_thin(facts, wire)) {
        let fuse = match one.guard {
            Guard::Element(fuse, _) => Fuse::Own(fuse),
            Guard::Vehicle(fuse) => Fuse::OfVehicle(fuse.of),
            _ => Fuse::Other(one.wire),
        };
        by_fuse.entry(fuse).or_default().push(one);
    }
    by_fuse.retain(|_, wires| match wires[0].guard {
        Guard::Vehicle(fuse) if !fuse.is_known => !is_fused_close_by(facts, fuse.of),
        _ => true,
    });
    by_fuse.into_values().filter_map(|wires| of_fuse(facts, &wires)).collect()
}

/// What guards wires.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Fuse {
    Own(ElementId),
    OfVehicle(PinId),
    /// Something else guards this wire.
    Other(WireId),
}

/// Wires beside the thinnest that are marked.
const MARKED: usize = 4;

fn of_fuse(facts: &Facts, wires: &[TooThin]) -> Option<Finding> {
    let thinnest = wires.iter().min_by(|a, b| a.carries.value().total_cmp(&b.carries.value()))?;
    let others = wires.iter().filter(|one| one.wire != thinnest.wire).take(MARKED);
    Some(others.fold(finding(facts, thinnest, wires.len() - 1), |finding, one| {
        let wire = facts.model.wire(one.wire);
        finding.also(wire.gauge_place.unwrap_or(wire.place), format!("may carry {}", one.carries))
    }))
}

/// A wire that carries less than what guards it.
struct TooThin {
    wire: WireId,
    guard: Guard,
    rating: Amps,
    carries: Amps,
}

fn too_thin(facts: &Facts, id: WireId) -> Option<TooThin> {
    let guard = facts.protection().of(id);
    let rating = match guard {
        Guard::Element(_, rating) | Guard::Other(rating) => rating,
        Guard::Vehicle(fuse) => fuse.rating,
        Guard::Dead | Guard::Open(_) => return None,
    };
    let (bundled, hot) = (facts.bundles().loaded(id), size::in_engine_space(facts.model, id));
    let carries = conductor::ampacity(facts.model.wire(id).gauge, bundled, hot);
    (rating > carries).then_some(TooThin { wire: id, guard, rating, carries })
}

fn finding(facts: &Facts, one: &TooThin, more: usize) -> Finding {
    let model = facts.model;
    let TooThin { wire: id, guard, rating, carries } = *one;
    let wire = model.wire(id);
    let part = |element: ElementId| model.part(model.element(element).part);
    let source = |fuse: VehicleFuse| model.part(model.pin(fuse.of).part);
    let what = match guard {
        Guard::Vehicle(fuse) if fuse.is_known => format!("the vehicle's fuse of `{}` ({rating}) is", source(fuse).name),
        Guard::Vehicle(fuse) => {
            format!("the vehicle's fuse of `{}` (rating not given, {rating} assumed) is", source(fuse).name)
        }
        Guard::Element(fuse, _) => match facts.protection().beside(fuse) {
            several if several.len() > 1 && is_sum(facts, fuse, rating) => {
                let names: Vec<String> = several.iter().map(|id| format!("`{}`", part(*id).name)).collect();
                format!("{} together ({rating}) are", names.join(" and "))
            }
            _ => format!("`{}` ({rating}) is", part(fuse).name),
        },
        _ => format!("what limits the current ({rating}) is"),
    };
    let others = match more {
        0 => String::new(),
        1 => ", and for 1 more wire".to_string(),
        more => format!(", and for {more} more wires"),
    };
    let subject = match guard {
        Guard::Element(fuse, _) => part(fuse).name.to_string(),
        Guard::Vehicle(fuse) => source(fuse).name.to_string(),
        _ => facts.names().wire(id),
    };
    let message = format!("{what} too large for wire {} ({}), limit {carries}{others}", wire.id, wire.gauge);
    let finding = RULE
        .finding(wire.gauge_place.unwrap_or(wire.place), message)
        .about(subject)
        .label(format!("may carry {carries} {}", company(facts, id)))
        .limit("fuse rating", rating, carries);
    match guard {
        Guard::Element(fuse, _) => {
            let rated = rating_of(facts, fuse).unwrap_or(rating);
            finding.hint(hint(facts, id, rating)).also(part(fuse).place, format!("{rated}"))
        }
        Guard::Vehicle(fuse) if !fuse.is_known => finding
            .hint(format!(
                "look up the rating of that fuse and give it as `fuse` of `{}`, or put a fuse of at most {carries} close to it",
                source(fuse).name
            ))
            .also(source(fuse).place, "its fuse in the vehicle is not given"),
        Guard::Vehicle(fuse) => finding.hint(at_tap(facts, id, source(fuse).name.as_str(), carries)).also(source(fuse).place, format!("{rating}")),
        _ => finding.hint(hint(facts, id, rating)),
    }
}

/// Advice for a wire behind a fuse of the vehicle, which stays as it is.
fn at_tap(facts: &Facts, id: WireId, tap: &str, carries: Amps) -> String {
    format!(
        "leave the vehicle's fuse as it is: put a fuse of at most {carries} close to the tap of `{tap}`, before wire {}",
        facts.model.wire(id).id
    )
}

fn rating_of(facts: &Facts, fuse: ElementId) -> Option<Amps> {
    match facts.model.element(fuse).kind {
        ElementKind::Fuse { rating, .. } => Some(rating),
        _ => None,
    }
}

/// Whether a rating is the sum of several fuses in parallel.
fn is_sum(facts: &Facts, fuse: ElementId, rating: Amps) -> bool {
    rating_of(facts, fuse).is_some_and(|own| own < rating)
}

fn hint(facts: &Facts, id: WireId, rating: Amps) -> String {
    let (bundled, hot) = (facts.bundles().loaded(id), size::in_engine_space(facts.model, id));
    let gauge = facts.model.wire(id).gauge;
    let is_enough = |size| conductor::ampacity(size, bundled, hot) >= rating && is_held(facts, id, size);
    match conductor::thinnest(gauge, is_enough) {
        Some(size) => format!(
            "use a smaller fuse, or {}; a fuse must open before its thinnest wire overheats",
            size_words(facts, id, size)
        ),
        None => "use a smaller fuse; a fuse must open before its thinnest wire overheats".into(),
    }
}
