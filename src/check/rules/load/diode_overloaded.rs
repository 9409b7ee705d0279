use crate::evidence::{shown_at, unless_short};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::{ElementId, ElementKind};
use quantity::Watts;

pub const RULE: Rule = Rule {
    name: "load/diode-overloaded",
    severity: Severity::Error,
    explanation: include_str!("diode_overloaded.md"),
    finds: Finds::InHarness(find),
};

const FORWARD: &str = "use a diode with a higher current rating, or let it drive a relay that carries the load";
const BACKWARDS: &str = "it conducts in reverse: put more resistance before it, or use one with a higher voltage";
const HEAT: &str = "use a resistor with a higher power rating or a higher resistance";

fn find(facts: &Facts) -> Vec<Finding> {
    (0..facts.model.elements.len()).filter_map(|i| of_element(facts, ElementId(i))).collect()
}

fn of_element(facts: &Facts, id: ElementId) -> Option<Finding> {
    let element = facts.model.element(id);
    let peak = facts.worst().amps(*facts.solved.assembly.element(id).first()?)?;
    let (from, to, what, value, limit, hint) = match element.kind {
        ElementKind::Diode { anode, cathode, limit: Some(limit), .. } if peak.value > limit => {
            let forward = facts.solution(&peak.moment)?;
            let forward = facts.solved.assembly.amps(&forward, id).value() >= 0.0;
            let hint = if forward { FORWARD } else { BACKWARDS };
            (anode, cathode, "through the diode", peak.value.to_string(), limit.to_string(), hint)
        }
        ElementKind::Resistor { between: [a, b], resistance, limit: Some(limit), .. } => {
            let watts: Watts = peak.value * resistance * peak.value;
            if watts <= limit {
                return None;
            }
            (a, b, "in the resistor", watts.to_string(), limit.to_string(), HEAT)
        }
        _ => return None,
    };
    let part = facts.model.part(element.part);
    let state = facts.names().moment(&peak.moment);
    let verb = if what.starts_with("in") { "dissipates" } else { "carries" };
    let finding = RULE
        .finding(part.place, format!("`{}` {verb} {value} {state}, limit {limit}", part.name))
        .about(part.name.as_str())
        .label(format!("rated {limit}"))
        .limit(what, &value, &limit)
        .hint(hint);
    let (finding, solution) = shown_at(facts, finding, &peak.moment);
    Some(match solution {
        Some(solution) => unless_short(facts, finding, &solution, &facts.paths().across(&solution, id, [from, to])),
        None => finding,
    })
}
