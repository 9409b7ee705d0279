use crate::evidence::{part_place, shown_at, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use facts::worst::pull_in;
use facts::{BothWindings, Facts, Moment};
use model::SignalKind;

pub const RULE: Rule = Rule {
    name: "logic/both-windings",
    severity: Severity::Warning,
    explanation: include_str!("both_windings.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.both_windings().iter().map(|both| finding(facts, both)).collect()
}

fn finding(facts: &Facts, BothWindings { relay, solution }: &BothWindings) -> Finding {
    let signal = &facts.model.signals[relay.0];
    let moment = Moment::of(solution);
    let message = format!(
        "both windings of `{}` are live {}, so its contact's position is undefined",
        signal.name,
        facts.names().moment(&moment)
    );
    let mut finding = RULE
        .finding(part_place(facts, signal.part), message)
        .about(signal.name.as_str())
        .label("set and reset at once")
        .value("solved as", "reset")
        .hint("run the set signal through a contact that the reset signal opens; if both can't be on at once, say so with `excludes`");
    if let SignalKind::Relay { coils, .. } = &signal.kind {
        let assembly = &facts.solved.assembly;
        for coil in coils.iter().filter_map(|id| facts.model.coil(*id)) {
            let volts = (assembly.mean(solution, coil.feed) - assembly.mean(solution, coil.ground)).abs();
            let needs = format!("pulls in at {}", pull_in(facts.solved, coil, solution.corner));
            let between = format!("voltage at {}", facts.model.pin_name(coil.feed));
            finding = finding.limit(&between, volts, needs);
        }
    }
    let (finding, _) = shown_at(facts, finding, &moment);
    finding.path(waypoints(facts, solution, &facts.paths().of_signal(solution, *relay)))
}
