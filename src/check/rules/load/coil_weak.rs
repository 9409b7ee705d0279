use crate::evidence::{shown_at, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use catalogue::part_form::Across;
use facts::Facts;
use facts::consumers::is_coil_crossed;
use facts::moment::Peak;
use model::{Coil, ElementId};
use quantity::Volts;

pub const RULE: Rule = Rule {
    name: "load/coil-weak",
    severity: Severity::Error,
    explanation: include_str!("coil_weak.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.model.coils().filter_map(|(id, coil)| of_coil(facts, id, coil)).collect()
}

fn of_coil(facts: &Facts, id: ElementId, coil: &Coil) -> Option<Finding> {
    let fed = facts.connectivity().is_fed(coil.feed) || facts.connectivity().is_fed(coil.ground);
    let grounded = facts.connectivity().is_grounded(coil.feed) || facts.connectivity().is_grounded(coil.ground);
    let shorted = coil.across == Across::Diode && is_coil_crossed(facts.connectivity(), coil);
    if !fed || !grounded || shorted || facts.unsettled().is_chattering(coil.relay) {
        return None; // Told by net/part-unpowered, net/ground-missing, net/coil-polarity, logic/chatter.
    }
    let (peak, needs) = facts.worst().weak_coil(facts.solved, id, coil)?;
    Some(finding(facts, id, coil, peak, needs))
}

fn finding(facts: &Facts, id: ElementId, coil: &Coil, peak: &Peak<Volts>, needs: Volts) -> Finding {
    let model = facts.model;
    let relay = &model.signals[coil.relay.0].name;
    let part = model.part(model.element(id).part);
    let never = peak.value < model.limits.sneak_voltage;
    let (message, hint) = match never {
        true => (
            format!(
                "nothing ever pulls in `{relay}`: its coil has {} at most in any state{}",
                peak.value,
                if facts.worst().left_out() { " but those that open a fuse at once" } else { "" }
            ),
            "see what should switch it: an input that can't come, a contact on the wrong side".to_string(),
        ),
        false => (
            format!("`{relay}` never pulls in at least supply: its coil gets {} at most and needs {needs}", peak.value),
            "leave out a diode or a second coil in series, take thicker wire, or a relay that pulls in at less"
                .to_string(),
        ),
    };
    let finding = RULE
        .finding(part.place, message)
        .about(relay.as_str())
        .label(format!("pulls in at {} at 20 °C, as rated", coil.pull_in))
        .limit("voltage at the coil", peak.value, format!("at least {needs}"))
        .hint(hint);
    let (finding, solution) = shown_at(facts, finding, &peak.moment);
    match solution {
        Some(solution) if !never => {
            let way = facts.paths().through(&solution, id, coil.feed, coil.ground);
            finding.path(waypoints(facts, &solution, &way))
        }
        _ => finding,
    }
}
