use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use form::Place;
use model::{Domain, PinId, Wire, conductor};
use quantity::{Gauge, Span};
use spec::WireMake;
use std::cmp::Ordering;

pub const RULE: Rule = Rule {
    name: "build/terminal-size",
    severity: Severity::Error,
    explanation: include_str!("terminal_size.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.model.wires.iter().filter_map(|wire| of_wire(facts, wire)).collect()
}

/// An end of a wire that is too thick or too thin for its terminal.
struct Misfit {
    pin: PinId,
    place: Place,
    terminal: String,
    range: Span<Gauge>,
    is_too_thick: bool,
}

fn of_wire(facts: &Facts, wire: &Wire) -> Option<Finding> {
    let carries = matches!(wire.domain, Domain::Power | Domain::Ground | Domain::Trigger | Domain::Audio);
    if !carries || matches!(wire.make, WireMake::Coax | WireMake::Lead) || wire.existing {
        return None;
    }
    let ends = wire.ends.into_iter().zip(wire.end_places);
    let misfits: Vec<Misfit> = ends.filter_map(|(pin, place)| misfit(facts, wire, pin, place)).collect();
    finding(facts, wire, &misfits)
}

fn misfit(facts: &Facts, wire: &Wire, pin: PinId, place: Place) -> Option<Misfit> {
    let terminal = facts.model.part(facts.model.pin(pin).part).form.terminal.as_ref()?;
    let range = terminal.wire.0;
    let fits = conductor::against(wire.gauge, range);
    let is_too_thick = fits == Ordering::Greater;
    (fits != Ordering::Equal).then(|| Misfit { pin, place, terminal: terminal.title.to_string(), range, is_too_thick })
}

/// One finding for a wire, whichever of its ends do not fit.
fn finding(facts: &Facts, wire: &Wire, misfits: &[Misfit]) -> Option<Finding> {
    let first = misfits.first()?;
    let limit = |misfit: &Misfit| format!("{} to {}", misfit.range.low, misfit.range.high);
    let pin = |misfit: &Misfit| format!("`{}`", facts.model.pin_name(misfit.pin));
    let chosen = match wire.gauge_given() {
        true => "",
        false if wire.domain == Domain::Audio => ", chosen for its other terminal,",
        false => ", sized for current and voltage drop,",
    };
    let terminals: Vec<String> = match misfits {
        [one] => vec![format!("the terminal of {}, limit {}", pin(one), limit(one))],
        several => several.iter().map(|one| format!("the terminal of {} ({})", pin(one), limit(one))).collect(),
    };
    let message = format!("wire {} ({}){chosen} doesn't fit {}", wire.id, wire.gauge, terminals.join(" or "));
    let hint = match first.is_too_thick {
        true => "run a thinner wire there from a splice, or use a part with larger terminals",
        false => "use a thicker wire; fold the strands back only if the terminal's maker allows it",
    };
    let mut finding = RULE
        .finding(wire.gauge_place.unwrap_or(wire.place), message)
        .about(format!("wire {}", wire.id))
        .label(format!("{} takes {}", first.terminal, limit(first)))
        .hint(hint);
    for misfit in misfits {
        finding = finding.limit("conductor", wire.gauge, limit(misfit));
        if wire.gauge_place.is_some() {
            finding = finding.also(misfit.place, "this end");
        }
    }
    Some(finding)
}
