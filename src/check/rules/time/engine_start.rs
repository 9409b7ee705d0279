use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::ScreenId;
use replay::Time;
use replay::standing::{EngineStart, screen_words};
use states::shown_words;

pub const RULE: Rule = Rule {
    name: "time/engine-start",
    severity: Severity::Note,
    explanation: include_str!("engine_start.md"),
    finds: Finds::InHarness(find),
};

/// The supply voltage at engine start, in words.
pub const PROFILE: &str = "supply at half of nominal for 1 s and back";

fn find(facts: &Facts) -> Vec<Finding> {
    let screens = (0..facts.model.screens.len()).map(ScreenId);
    screens.filter_map(|screen| finding(facts, screen)).collect()
}

fn finding(facts: &Facts, screen: ScreenId) -> Option<Finding> {
    let model = facts.model;
    let flickers = |crank: &&EngineStart| crank.screen == screen && crank.away.is_some_and(|away| away > Time::ZERO);
    let cranks: Vec<&EngineStart> = facts.standing().crank.iter().filter(flickers).collect();
    let worst = cranks.iter().copied().max_by_key(|crank| (crank.away, std::cmp::Reverse(&crank.state)))?;
    let name = screen_words(model, screen);
    let back = worst.away?;
    let mut finding = RULE
        .finding(
            model.screens[screen.0].place,
            format!("{name} loses its picture at engine start, for up to {}", back.seconds()),
        )
        .about(name)
        .label("goes dark or restarts")
        .usual()
        .shown_in(worst.state.clone(), PROFILE)
        .timeline(model, &worst.evidence)
        .hint("accept it if nobody looks at the screen then; otherwise feed screen and cameras through a converter that works down to 6 V");
    for crank in cranks {
        let shown = shown_words(model, crank.shown);
        finding =
            finding.value(&format!("{shown} back"), format!("{} after the starter engages", crank.away?.seconds()));
    }
    let parts: Vec<&str> = worst.restarts.iter().map(|part| model.part(*part).name.as_str()).collect();
    Some(if parts.is_empty() { finding } else { finding.value("restarts", parts.join(", ")) })
}
