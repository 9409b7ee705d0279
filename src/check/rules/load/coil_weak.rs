use super::starved::OTHER_SYSTEM;
use crate::evidence::{or_nothing, shown_at, waypoints};
use crate::{Finding, Finds, Repair, Rule, Severity};
use catalogue::part_form::Across;
use facts::Facts;
use facts::consumers::is_coil_crossed;
use facts::moment::{CORNERS, Peak};
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
        return None; // net/part-unpowered, net/ground-missing, net/coil-polarity or logic/chatter reports it.
    }
    let (peak, needs) = facts.worst().weak_coil(facts.solved, id, coil)?;
    Some(finding(facts, id, coil, peak, needs))
}

/// The nominal voltage of a coil, of the usual ones that with the least voltage of at least its pull-in: a coil pulls in
/// at up to 80 % of it, hot or cold (common practice, no source).
fn rated(coil: &Coil) -> Volts {
    let usual = [6.0, 12.0, 24.0, 48.0].map(Volts::new);
    usual.into_iter().find(|volts| *volts * 0.8 >= coil.pull_in).unwrap_or(coil.pull_in)
}

fn finding(facts: &Facts, id: ElementId, coil: &Coil, peak: &Peak<Volts>, needs: Volts) -> Finding {
    let model = facts.model;
    let relay = &model.signals[coil.relay.0].name;
    let part = model.part(model.element(id).part);
    let never = peak.value < model.limits.sneak_voltage;
    let highest = CORNERS.into_iter().filter_map(|corner| facts.worst().coil(corner, id)).map(|peak| peak.value);
    let highest = highest.reduce(Volts::max).unwrap_or(peak.value);
    let (rated, system) = (rated(coil), model.job.nominal);
    let other_system = !never && highest < needs && rated > system * OTHER_SYSTEM;
    let (message, hint) = match never {
        _ if other_system => (
            format!(
                "`{relay}` is a {rated} relay in a {system} vehicle: it needs {needs} and gets at most {highest}"
            ),
            format!("use the {system} kind of the same relay"),
        ),
        true => (
            format!(
                "`{relay}` never pulls in: its coil gets at most {} in any state{}",
                or_nothing(peak.value),
                if facts.worst().left_out() { " except those that open a fuse at once" } else { "" }
            ),
            "look at what should switch it: an input that can't come on, a contact wired to the wrong side".to_string(),
        ),
        false => (
            format!("`{relay}` never pulls in at the lowest supply voltage: its coil gets at most {}, needs {needs}", peak.value),
            "remove a diode or second coil from its path, use thicker wire, or a relay that pulls in at a lower voltage"
                .to_string(),
        ),
    };
    let finding = RULE
        .finding(part.place, message)
        .about(relay.as_str())
        .label(format!("rated to pull in at {} at 20 °C", coil.pull_in))
        .limit("voltage at the coil", or_nothing(peak.value), format!("at least {needs}"))
        .hint(hint);
    let finding = match other_system {
        true => finding.repaired_by(Repair::Coil(id, rated / system)),
        false => finding,
    };
    let (finding, solution) = shown_at(facts, finding, &peak.moment);
    match solution {
        Some(solution) if !never => {
            let way = facts.paths().through(&solution, id, coil.feed, coil.ground);
            finding.path(waypoints(facts, &solution, &way))
        }
        _ => finding,
    }
}
