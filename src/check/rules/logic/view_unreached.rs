use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::{Screen, ScreenId, StateCondition};
use states::shown_words;

pub const RULE: Rule = Rule {
    name: "logic/view-unreached",
    severity: Severity::Error,
    explanation: include_str!("view_unreached.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let screens = facts.model.screens.iter().enumerate();
    screens.flat_map(|(i, screen)| of_screen(facts, ScreenId(i), screen)).collect()
}

fn of_screen(facts: &Facts, id: ScreenId, screen: &Screen) -> Vec<Finding> {
    let views = screen.views.iter().enumerate();
    // An `otherwise` line may have no state left.
    let never = views.filter(|(i, view)| {
        !matches!(view.when, StateCondition::Always(true)) && !facts.screens().reached.contains(&(id, *i))
    });
    never
        .map(|(i, view)| {
            let shown = shown_words(facts.model, view.show);
            let unless = if i == 0 { "" } else { ", or only where an earlier line wins" };
            RULE.finding(
                view.place,
                format!(
                    "the line for {shown} on screen {} never applies: its condition is true in no state{unless}",
                    screen.name
                ),
            )
            .about(format!("screen {}", screen.name))
            .label("never applies")
            .hint(
                "find the cause in the state table: an input or module that never comes on, a missing wire, an \
                     earlier line that always wins",
            )
        })
        .collect()
}
