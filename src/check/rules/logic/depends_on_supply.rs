use crate::evidence::{part_place, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::MovedBySupply;
use facts::worst::pull_in;
use model::{Coil, ElementKind};
use solve::{Corner, Supply};

pub const RULE: Rule = Rule {
    name: "logic/depends-on-supply",
    severity: Severity::Error,
    explanation: include_str!("depends_on_supply.md"),
    finds: Finds::InHarness(find),
};

/// What to do where pulses are what differs.
const PULSED: &str = "it goes by the mean of pulses, which are at their shortest at least supply and at their longest at \
                      greatest: take a wire that isn't pulsed, or a module with a pulse-proof input before the relay";

fn find(facts: &Facts) -> Vec<Finding> {
    facts.moved_by_supply().iter().map(|moved| finding(facts, moved)).collect()
}

/// Whether the coil gets pulses: their share goes with the supply from its least to its greatest.
fn is_pulsed(facts: &Facts, moved: &MovedBySupply, coil: &Coil) -> bool {
    let assembly = &facts.solved.assembly;
    let off = |pin| assembly.volts(&moved.within, pin) - assembly.between_pulses(&moved.within, pin);
    (off(coil.feed) - off(coil.ground)).abs() > facts.model.limits.sneak_voltage
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
            format!("`{relay}` pulls in at nominal supply and not at least supply, {state}"),
            "take what draws the voltage down off its feed, leave out what stands before its coil, take thicker wire, \
             or a relay that pulls in at less",
        ),
        false => (
            format!("`{relay}` is out at nominal supply and pulls in by itself at greatest supply, {state}"),
            "give its coil a feed and a ground of its own, or stop the way back with a diode: what is to be out must \
             have next to no voltage",
        ),
    };
    let pulsed = matches!(&element.kind, ElementKind::Coil(coil) if is_pulsed(facts, moved, coil));
    let hint = if pulsed { PULSED } else { hint };
    let mut finding = RULE
        .finding(part_place(facts, element.part), message)
        .about(relay.as_str())
        .label("moves with the supply")
        .hint(hint);
    if let ElementKind::Coil(coil) = &element.kind {
        let across = (assembly.mean(&moved.within, coil.feed) - assembly.mean(&moved.within, coil.ground)).abs();
        let mean = if is_pulsed(facts, moved, coil) { "mean at its coil" } else { "at its coil" };
        let at = |corner: Corner| format!("{mean} at {corner}");
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
