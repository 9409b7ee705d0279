use crate::{Context, Finding, Finds, Rule, Severity};
use model::{ElementId, ElementKind};
use quantity::Watts;

pub const RULE: Rule = Rule {
    name: "load/diode-overloaded",
    severity: Severity::Error,
    explanation: include_str!("diode_overloaded.md"),
    finds: Finds::InHarness(find),
};

const FORWARD: &str = "take a diode for more current, or let it switch a relay that carries the load";
const BACKWARDS: &str = "it conducts backwards: put more resistance before it, or take one with a higher voltage";
const HEAT: &str = "take one that stands more heat, or a greater resistance";

fn find(context: &Context) -> Vec<Finding> {
    (0..context.model.elements.len()).filter_map(|i| of_element(context, ElementId(i))).collect()
}

fn of_element(context: &Context, id: ElementId) -> Option<Finding> {
    let element = context.model.element(id);
    let peak = context.worst.amps(*context.solved.assembly.element(id).first()?)?;
    let (from, to, what, value, limit, hint) = match element.kind {
        ElementKind::Diode { anode, cathode, limit: Some(limit), .. } if peak.value > limit => {
            let forward = context.solution(&peak.moment)?;
            let forward = context.solved.assembly.amps(&forward, id).value() >= 0.0;
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
    let part = context.model.part(element.part);
    let state = context.state_words(&peak.moment);
    let verb = if what.starts_with("in") { "turns" } else { "carries" };
    let into = if what.starts_with("in") { " into heat" } else { "" };
    let finding = RULE
        .finding(part.place, format!("`{}` {verb} {value}{into} {state}, and is good for {limit}", part.name))
        .about(part.name.as_str())
        .label(format!("good for {limit}"))
        .limit(what, &value, &limit)
        .hint(hint);
    let (finding, solution) = context.shown_at(finding, &peak.moment);
    Some(match solution {
        Some(solution) => context.unless_short(finding, &solution, &context.way_across(&solution, id, [from, to])),
        None => finding,
    })
}
