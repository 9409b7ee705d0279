use super::works_differs::works_words;
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::WorksPromise;

pub const RULE: Rule = Rule {
    name: "logic/works-unreached",
    severity: Severity::Error,
    explanation: include_str!("works_unreached.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let promises = facts.model.works.iter().zip(facts.promised_works().all());
    promises.filter(|(_, found)| !found.is_reached).map(|(promise, _)| finding(facts, promise)).collect()
}

fn finding(facts: &Facts, promise: &WorksPromise) -> Finding {
    let what = works_words(facts.model, promise);
    RULE.finding(promise.place, format!("{what} is never asked to work: `{}` is true in no state", promise.text))
        .about(facts.model.part(promise.part).name.as_str())
        .label("true in no state")
        .hint("correct the condition, or find in the state table what never comes on: an input, a latch, a timer")
}
