use super::engine_start::PROFILE;
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use replay::standing::{EngineStart, picture_words};

pub const RULE: Rule = Rule {
    name: "time/engine-start-lost",
    severity: Severity::Warning,
    explanation: include_str!("engine_start_lost.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let lost = facts.standing().crank.iter().filter(|crank| crank.away.is_none());
    lost.map(|crank| finding(facts, crank)).collect()
}

fn finding(facts: &Facts, crank: &EngineStart) -> Finding {
    let model = facts.model;
    let picture = picture_words(model, crank.shown, crank.screen);
    let finding = RULE
        .finding(
            model.screens[crank.screen.0].place,
            format!("{picture} doesn't come back after engine start"),
        )
        .about(picture)
        .label("loses a picture for good")
        .shown_in(crank.state.clone(), PROFILE)
        .timeline(model, &crank.evidence)
        .hint(
            "use a latching relay, which keeps its position without power, or feed the part with memory through a converter that works down to 6 V",
        );
    match crank.forgets.is_empty() {
        true => finding,
        false => finding.value("loses its state", crank.forgets.join(", ")),
    }
}
