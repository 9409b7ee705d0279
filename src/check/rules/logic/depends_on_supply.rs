use crate::by_supply::Moved;
use crate::{Context, Finding, Finds, Rule, Severity};
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

fn find(context: &Context) -> Vec<Finding> {
    context.moved_by_supply().iter().map(|moved| finding(context, moved)).collect()
}

/// Whether the coil gets pulses: their share goes with the supply from its least to its greatest.
fn is_pulsed(context: &Context, moved: &Moved, coil: &Coil) -> bool {
    let assembly = &context.solved.assembly;
    let off = |pin| assembly.volts(&moved.within, pin) - assembly.between_pulses(&moved.within, pin);
    (off(coil.feed) - off(coil.ground)).abs() > context.model.limits.sneak_voltage
}

fn finding(context: &Context, moved: &Moved) -> Finding {
    let (model, assembly) = (context.model, &context.solved.assembly);
    let element = model.element(moved.coil);
    let relay = &model.signals[moved.relay.0].name;
    let (out, volts) = (&moved.out.0, moved.out.1);
    let state = context.state_words(out);
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
    let pulsed = matches!(&element.kind, ElementKind::Coil(coil) if is_pulsed(context, moved, coil));
    let hint = if pulsed { PULSED } else { hint };
    let mut finding = RULE
        .finding(context.part_place(element.part), message)
        .about(relay.as_str())
        .label("moves with the supply")
        .hint(hint);
    if let ElementKind::Coil(coil) = &element.kind {
        let across = (assembly.mean(&moved.within, coil.feed) - assembly.mean(&moved.within, coil.ground)).abs();
        let mean = if is_pulsed(context, moved, coil) { "mean at its coil" } else { "at its coil" };
        let at = |corner: Corner| format!("{mean} at {corner}");
        let needs = |corner: Corner| format!("pulls in at {}", context.pull_in(coil, corner));
        finding = finding.limit(&at(out.corner), volts, needs(out.corner)).limit(
            &at(moved.within.corner),
            across,
            needs(moved.within.corner),
        );
        let shown = if weak { context.solution(out) } else { Some(moved.within.clone()) };
        if let Some(solution) = shown {
            let way = context.way_through_coil(&solution, moved.coil);
            finding = finding
                .shown_in(context.state_name(&solution.state), solution.corner)
                .path(context.waypoints(&solution, &way));
        }
    }
    finding
}
