use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::{ElementId, ElementKind};
use quantity::Amps;
use states::listed;

pub const RULE: Rule = Rule {
    name: "safety/fuses-parallel",
    severity: Severity::Warning,
    explanation: include_str!("fuses_parallel.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.protection().groups().iter().filter_map(|group| finding(facts, group)).collect()
}

fn finding(facts: &Facts, group: &[ElementId]) -> Option<Finding> {
    let model = facts.model;
    let fuses = group.iter().filter_map(|id| match model.element(*id).kind {
        ElementKind::Fuse { rating, .. } => Some((model.part(model.element(*id).part), rating)),
        _ => None,
    });
    let fuses: Vec<_> = fuses.collect();
    let names: Vec<String> = fuses.iter().map(|(part, _)| format!("`{}`", part.name)).collect();
    let together: Amps = fuses.iter().map(|(_, rating)| *rating).sum();
    let ((first, rating), others) = fuses.split_first()?;
    let message = format!("{} are in parallel and together pass {together}", listed(&names)?);
    let finding = RULE
        .finding(first.place, message)
        .about(first.name.as_str())
        .label(format!("{rating}"))
        .hint("use one fuse for the whole current, or split the loads so that each fuse has its own");
    Some(
        others
            .iter()
            .fold(finding, |finding, (part, rating)| finding.also(part.place, format!("{rating}, in parallel"))),
    )
}
