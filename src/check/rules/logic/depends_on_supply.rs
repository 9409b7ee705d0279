use crate::evidence::{part_place, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use circuit::{Corner, Supply};
use facts::Facts;
use facts::MovedBySupply;
use facts::worst::pull_in;
use model::{Coil, Element, ElementKind};

pub const RULE: Rule = Rule {
    name: "logic/depends-on-supply",
    severity: Severity::Error,
    explanation: include_str!("depends_on_supply.md"),
    finds: Finds::InHarness(find),
};

/// What to do if the pulses make the difference.
const PULSED: &str = "the relay follows the mean of the pulses, whose on-time is shortest at the lowest supply voltage: use a \
                      wire that isn't pulsed, or a module with a pulse-proof input before the relay";

fn find(facts: &Facts) -> Vec<Finding> {
    let moved = facts.moved_by_supply().iter().filter(|moved| !is_weak(facts, moved));
    moved.map(|moved| finding(facts, moved)).collect()
}

/// Whether the coil is weak in itself, which load/coil-weak reports.
fn is_weak(facts: &Facts, moved: &MovedBySupply) -> bool {
    let coil = facts.model.coil(moved.coil);
    coil.is_some_and(|coil| facts.worst().weak_coil(facts.solved, moved.coil, coil).is_some())
}

/// Whether the coil gets pulses: their on-time share rises with the supply voltage.
fn is_pulsed(facts: &Facts, moved: &MovedBySupply, coil: &Coil) -> bool {
    let assembly = &facts.solved.assembly;
    let off = |pin| assembly.volts(&moved.within, pin) - assembly.between_pulses(&moved.within, pin);
    (off(coil.feed) - off(coil.ground)).abs() > facts.model.limits.sneak_voltage
}

/// The voltage below which a coil certainly stays out, as the end of a hint.
fn stays_out(element: &Element) -> String {
    match &element.kind {
        ElementKind::Coil(coil) => {
            format!("; it stays out for sure below its drop-out voltage, {}", coil.drop_out)
        }
        _ => String::new(),
    }
}

fn finding(facts: &Facts, moved: &MovedBySupply) -> Finding {
    let (model, assembly) = (facts.model, &facts.solved.assembly);
    let element = model.element(moved.coil);
    let relay = &model.signals[moved.relay.0].name;
    let (out, volts) = (&moved.out.0, moved.out.1);
    let state = facts.names().moment(out);
    let weak = out.corner.supply == Supply::Least;
    let (message, hint) = match weak {
        true => (
            format!("`{relay}` pulls in at the nominal supply voltage but not at the lowest, {state}"),
            "move other loads off its feed, remove parts in series with its coil, use thicker wire, or a relay that \
             pulls in at a lower voltage"
                .to_string(),
        ),
        false => (
            format!("`{relay}` is out at the nominal supply voltage but pulls in at the highest, {state}"),
            format!(
                "give its coil its own feed and ground, or block the return path with a diode{}",
                stays_out(element)
            ),
        ),
    };
    let pulsed = matches!(&element.kind, ElementKind::Coil(coil) if is_pulsed(facts, moved, coil));
    let hint = if pulsed { PULSED.to_string() } else { hint };
    let mut finding = RULE
        .finding(part_place(facts, element.part), message)
        .about(relay.as_str())
        .label("depends on the supply voltage")
        .hint(hint);
    if let ElementKind::Coil(coil) = &element.kind {
        let across = (assembly.mean(&moved.within, coil.feed) - assembly.mean(&moved.within, coil.ground)).abs();
        let mean = if is_pulsed(facts, moved, coil) { "mean voltage at its coil" } else { "voltage at its coil" };
        let at = |corner: Corner| format!("{mean}, {corner}");
        let needs = |corner: Corner| format!("pulls in at {}", pull_in(facts.solved, coil, corner));
        finding = finding.limit(&at(out.corner), volts, needs(out.corner)).limit(
            &at(moved.within.corner),
            across,
            needs(moved.within.corner),
        );
        let shown = if weak { facts.solution(out) } else { Some(moved.within.clone()) };
        if let Some(solution) = shown {
            let way = facts.paths().through_coil(&solution, moved.coil);
            finding = finding
                .shown_in(facts.names().state(&solution.state), solution.corner)
                .path(waypoints(facts, &solution, &way));
        }
    }
    finding
}
