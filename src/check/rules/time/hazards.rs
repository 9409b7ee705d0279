use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use replay::standing::{Hazards, picture_words, screen_words};

pub const RULE: Rule = Rule {
    name: "time/hazards",
    severity: Severity::Warning,
    explanation: include_str!("hazards.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let standing = &facts.standing();
    // time/blinks reports what blinks with one flasher.
    let blinks = |hazards: &Hazards| {
        standing.steady.iter().any(|s| s.screen == hazards.screen && s.shown == hazards.shown && s.blink.is_some())
    };
    standing.hazards.iter().filter(|hazards| !blinks(hazards)).map(|hazards| finding(facts, hazards)).collect()
}

fn finding(facts: &Facts, hazards: &Hazards) -> Finding {
    let model = facts.model;
    let times = if hazards.times == 1 { "once".to_string() } else { "repeatedly".to_string() };
    let instead = hazards.instead.join(", then ");
    let screen = screen_words(model, hazards.screen);
    let picture = picture_words(model, hazards.shown, hazards.screen);
    let message =
        format!("with the hazards on, {picture} is lost {times}, for up to {}: {instead}", hazards.longest.seconds());
    let mut finding = RULE
        .finding(model.screens[hazards.screen.0].place, message)
        .about(screen)
        .label("disturbed")
        .shown_in(hazards.state.clone(), &hazards.setting)
        .value("times in the period played", hazards.times)
        .timeline(model, &hazards.evidence)
        .hint("both signals come on before any relay has moved: delay the triggers for longer than the relays need");
    let mut views = model.screens[hazards.screen.0].views.iter().filter(|view| view.show == hazards.shown);
    if hazards.times == 1 && !views.any(|view| view.steady) {
        finding.severity = Severity::Note;
    }
    finding
}
