use crate::screens::Proof;
use crate::{Context, Finding, Finds, Rule, Severity};
use model::{PartId, ScreenId};
use states::read_screen;

pub const RULE: Rule = Rule {
    name: "logic/two-sources",
    severity: Severity::Error,
    explanation: include_str!("two_sources.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    let clashes = context.screens.clashes.iter();
    clashes.map(|((screen, sources), proof)| finding(context, *screen, sources, proof)).collect()
}

fn finding(context: &Context, id: ScreenId, sources: &[PartId], proof: &Proof) -> Finding {
    let model = context.model;
    let screen = &model.screens[id.0];
    let names: Vec<String> = sources.iter().map(|part| format!("`{}`", model.part(*part).name)).collect();
    let state = context.state_words(&proof.moment);
    let message = format!("{} are on one input of screen {} {state}", names.join(" and "), screen.name);
    let finding = RULE.finding(screen.place, message).about(format!("screen {}", screen.name));
    let (mut finding, solution) = context.shown_at(finding, &proof.moment);
    let rule = solution.as_ref().and_then(|solution| read_screen(context.solved, solution, id).rule);
    if let (Some(solution), Some(source)) = (&solution, sources.last()) {
        finding = finding
            .limit("sources on at once", sources.len(), 1)
            .path(context.waypoints(solution, &context.way_of_part(solution, *source)));
    }
    if let Some(rule) = rule {
        let input = screen.shows[rule].input;
        finding.place = context.end_place(input);
        finding.label = format!("{} pictures come in here", sources.len());
    }
    for part in sources {
        finding = finding.also(context.part_place(*part), "on at the same time");
    }
    finding
        .hint("let one relay power the one camera at rest and the other when it is in, or put a video selector between")
}
