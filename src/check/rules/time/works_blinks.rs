use crate::rules::logic::works_words;
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::WorksId;
use replay::standing::WorksGap;

pub const RULE: Rule = Rule {
    name: "time/works-blinks",
    severity: Severity::Error,
    explanation: include_str!("works_blinks.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let works = facts.standing().works.iter();
    works.filter_map(|works| Some(finding(facts, works.id, works.gap.as_ref()?))).collect()
}

fn finding(facts: &Facts, id: WorksId, gap: &WorksGap) -> Finding {
    let model = facts.model;
    let promise = &model.works[id.0];
    let part = works_words(model, promise);
    RULE.finding(promise.place, format!("{part} stops with the flash, for up to {} at a time", gap.longest))
        .about(model.part(promise.part).name.as_str())
        .label("should be steady")
        .shown_in(gap.state.clone(), &gap.setting)
        .value("times in the period played", gap.times)
        .timeline(model, &gap.evidence)
        .hint("feed it from a wire that doesn't flash, or bridge the dark part of the flash with a hold module")
}
