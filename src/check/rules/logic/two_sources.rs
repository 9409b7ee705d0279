use crate::evidence::{end_place, part_place, shown_at, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::screens::Shows;
use model::{PartId, ScreenId};
use states::read_screen;

pub const RULE: Rule = Rule {
    name: "logic/two-sources",
    severity: Severity::Error,
    explanation: include_str!("two_sources.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let clashes = facts.screens().clashes.iter();
    clashes.map(|((screen, sources), proof)| finding(facts, *screen, sources, proof)).collect()
}

fn finding(facts: &Facts, id: ScreenId, sources: &[PartId], proof: &Shows) -> Finding {
    let model = facts.model;
    let screen = &model.screens[id.0];
    let names: Vec<String> = sources.iter().map(|part| format!("`{}`", model.part(*part).name)).collect();
    let state = facts.names().moment(&proof.moment);
    let message = format!("{} feed one input of screen {} {state}", names.join(" and "), screen.name);
    let finding = RULE.finding(screen.place, message).about(format!("screen {}", screen.name));
    let (mut finding, solution) = shown_at(facts, finding, &proof.moment);
    let rule = solution.as_ref().and_then(|solution| read_screen(facts.solved, solution, id).rule);
    if let (Some(solution), Some(source)) = (&solution, sources.last()) {
        finding = finding.limit("sources on at once", sources.len(), 1).path(waypoints(
            facts,
            solution,
            &facts.paths().of_part(solution, *source),
        ));
    }
    if let Some(rule) = rule {
        let input = screen.shows[rule].input;
        finding.place = end_place(facts, input);
        finding.label = format!("{} pictures come in here", sources.len());
    }
    for part in sources {
        finding = finding.also(part_place(facts, *part), "on at the same time");
    }
    finding
        .hint("let a change-over relay power one camera at rest and the other when it is in, or put a video selector between them")
}
