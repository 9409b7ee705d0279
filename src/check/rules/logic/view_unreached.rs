use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::{Logic, Screen, ScreenId};
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
    // What is left over for `otherwise` may well be nothing.
    let never = views
        .filter(|(i, view)| !matches!(view.when, Logic::Always(true)) && !facts.screens().reached.contains(&(id, *i)));
    never
        .map(|(i, view)| {
            let shown = shown_words(facts.model, view.show);
            let before = if i == 0 { "" } else { " that no line before it takes" };
            RULE.finding(view.place, format!("no state{before} ever asks for {shown} on screen {}", screen.name))
                .about(format!("screen {}", screen.name))
                .label("never counts")
                .hint(
                    "see in the table of states why: an input or a module that never comes on, a wire that is missing \
                     before it, a line before this one that always wins",
                )
        })
        .collect()
}
