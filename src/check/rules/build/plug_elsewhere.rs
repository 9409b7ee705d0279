use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::{PartId, PartKind};

pub const RULE: Rule = Rule {
    name: "build/plug-elsewhere",
    severity: Severity::Warning,
    explanation: include_str!("plug_elsewhere.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.model.part_ids().filter_map(|id| of_connector(facts, id)).collect()
}

/// A connector that plugs onto a part at another place.
fn of_connector(facts: &Facts, id: PartId) -> Option<Finding> {
    let model = facts.model;
    let connector = model.part(id);
    if connector.kind != PartKind::Connector {
        return None;
    }
    let mates = connector.pins.iter().flat_map(|pin| facts.connectivity().mates(*pin));
    let mut parts = mates.map(|pin| model.part(model.pin(pin).part)).filter(|part| part.kind == PartKind::Device);
    let part = parts.next()?;
    let (Some(here), Some(there)) = (connector.at, part.at) else { return None };
    if here == there {
        return None;
    }
    let [here, there] = [here, there].map(|at| model.place_name(Some(at)).to_string());
    Some(
        RULE.finding(
            connector.place,
            format!("`{}` is at {here} but plugs onto `{}` at {there}", connector.name, part.name),
        )
        .about(connector.name.as_str())
        .label(format!("at {here}"))
        .also(part.place, format!("at {there}"))
        .hint(format!("give `{}` the place of `{}`: `at: {there}`", connector.name, part.name)),
    )
}
