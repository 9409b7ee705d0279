use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use replay::standing::{Frozen, screen_words};

pub const RULE: Rule = Rule {
    name: "time/frozen",
    severity: Severity::Warning,
    explanation: include_str!("frozen.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.standing().frozen.iter().map(|frozen| finding(facts, frozen)).collect()
}

fn finding(facts: &Facts, frozen: &Frozen) -> Finding {
    let model = facts.model;
    let source = &model.part(frozen.source).name;
    let screen = screen_words(model, frozen.screen);
    let lasts = frozen.lasts.map_or("for good".to_string(), |lasts| format!("for {}", lasts.seconds()));
    RULE.finding(
        model.screens[frozen.screen.0].place,
        format!("{screen} freezes on the last frame of {source} {lasts} after {}", frozen.step),
    )
    .about(screen)
    .label("keeps the last frame")
    .shown_in(frozen.state.clone(), "nominal supply")
    .value("last frame stays", lasts)
    .timeline(model, &frozen.evidence)
    .hint("let trigger and camera go off together, or set the screen to go black without a picture")
}
