use crate::rules::logic::works_words;
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::WorksId;
use replay::Time;
use replay::standing::Arrival;

pub const RULE: Rule = Rule {
    name: "time/works-late",
    severity: Severity::Error,
    explanation: include_str!("works_late.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let in_time = facts.standing().works.iter();
    let late = in_time.filter_map(|works| works.late().map(|(limit, late)| (works.id, limit, late)));
    // In a state in which it never works, logic/works-differs reports it.
    late.filter(|(id, ..)| facts.promised_works().of(*id).dead.is_none())
        .map(|(id, limit, late)| finding(facts, id, limit, late))
        .collect()
}

fn finding(facts: &Facts, id: WorksId, limit: Time, late: &Arrival) -> Finding {
    let model = facts.model;
    let promise = &model.works[id.0];
    let part = works_words(model, promise);
    let took = match late.took {
        Some(took) => format!("works only {} after {}", took.seconds(), late.step),
        None => format!("doesn't work after {}", late.step),
    };
    let limit = limit.seconds();
    let finding = RULE
        .finding(promise.place, format!("{part} {took}, limit {limit}"))
        .about(model.part(promise.part).name.as_str())
        .label("this line allows a time")
        .arrival(model, late)
        .hint(match late.took {
            Some(_) => {
                "see in the timeline what it waits for: shorten that delay, use a faster part, or allow a longer `within`"
            }
            None => "find in the timeline what is missing: its feed, its ground, or what switches it",
        });
    match late.took {
        Some(took) => finding.limit("time until it works", took.seconds(), limit),
        None => finding,
    }
}
