use super::contact_overloaded::at_switch_on;
use crate::evidence::{shown_at, waypoints};
use crate::rules::safety::converter_limit;
use crate::{Finding, Finds, Rule, Severity};
use circuit::State;
use facts::{Facts, Moment, Taker};
use model::{ElementId, ElementKind};
use quantity::{Amps, Seconds, significant};
use size::fuse_curve::{fuse, soonest};
use size::switch_on::{Rush, capped, coming_on, used_i2t};

pub const RULE: Rule = Rule {
    name: "load/fuse-inrush",
    severity: Severity::Warning,
    explanation: include_str!("fuse_inrush.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    (0..facts.model.elements.len()).filter_map(|i| of_fuse(facts, ElementId(i))).collect()
}

fn of_fuse(facts: &Facts, id: ElementId) -> Option<Finding> {
    let model = facts.model;
    let (rating, opens, _) = fuse(model, id)?;
    let ElementKind::Fuse { between, .. } = model.element(id).kind else { return None };
    let branch = *facts.solved.assembly.element(id).first()?;
    let peak = facts.worst().amps(branch)?;
    let moment = at_switch_on(&peak.moment);
    let solution = facts.solution(&moment)?;
    let along = facts.paths().along_current(&solution, id, between);
    let takers = facts.takers(&solution, along);
    let limit = converter_limit(facts, id).map(|(_, limit)| limit);
    let share = |coming: &[ElementId]| {
        let rush = |taker: &Taker| Rush::of(model, taker.element, taker.intake, coming.contains(&taker.element));
        let loads: Vec<Rush> = takers.iter().filter_map(rush).collect();
        let rush = capped(loads.iter().map(|load| load.amps[0]).sum::<Amps>(), limit);
        (used_i2t(&loads, |amps| soonest(opens, capped(amps, limit) / rating)), rush)
    };
    let all: Vec<ElementId> = takers.iter().map(|taker| taker.element).collect();
    if share(&all).0 < 1.0 {
        return of_charging(facts, id, rating);
    }
    // Nobody switches everything on in one instant: what counts is the worst single change of an input.
    let taken = |takers: &[Taker]| takers.iter().map(|taker| (taker.element, taker.intake.amps)).collect::<Vec<_>>();
    let before = |state: State| Some(taken(&facts.takers(&facts.solution(&Moment::new(state, moment.corner))?, along)));
    let coming = coming_on(model, &facts.solved.assembly, &moment.state, &taken(&takers), before);
    let together = coming.into_iter().map(|coming| share(&coming));
    let Some((used, rush)) = together.max_by(|a, b| a.0.total_cmp(&b.0)).filter(|(used, _)| *used >= 1.0) else {
        return of_charging(facts, id, rating);
    };
    let part = model.part(model.element(id).part);
    let state = facts.names().moment(&moment);
    let (draw, hint) = match takers.len() {
        1 => (
            format!("its load draws {rush}"),
            "use the next larger fuse if its wires allow it, or a load with less inrush",
        ),
        _ => (
            format!("its loads draw {rush} together"),
            "use the next larger fuse if its wires allow it, or start the loads one after the other",
        ),
    };
    let message = format!("`{}` ({rating}) may open at switch-on {state}: {draw}", part.name);
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("{rating}"))
        .value("current at the moment of switching on", rush)
        .limit("share of its I²t that the inrush uses", format!("{} %", significant(used * 100.0, 3)), "100 %")
        .hint(hint);
    let (finding, _) = shown_at(facts, finding, &moment);
    Some(finding.path(waypoints(facts, &solution, &facts.paths().across(&solution, id, between))))
}

/// How long the current between two batteries stays near its highest (common practice, no source).
const SURGE: Seconds = Seconds::new(60.0);

/// A note about a fuse between two batteries that may open while one charges the other: the current falls in minutes, so
/// no share of the rating for continuous current applies.
fn of_charging(facts: &Facts, id: ElementId, rating: Amps) -> Option<Finding> {
    let model = facts.model;
    let (_, opens, _) = fuse(model, id)?;
    let ElementKind::Fuse { between, .. } = model.element(id).kind else { return None };
    let peak = facts.worst().charging(*facts.solved.assembly.element(id).first()?)?;
    let after = soonest(opens, peak.value / rating).filter(|after| *after < SURGE)?;
    let part = model.part(model.element(id).part);
    let (state, corner) = (facts.names().moment(&peak.moment), facts.names().corner(&peak.moment));
    let message = format!(
        "`{}` ({rating}) may open while one battery charges the other {state}: up to {} flows",
        part.name, peak.value
    );
    let mut finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("{rating}"))
        .value("current with one battery full and the other empty", format!("{} ({corner})", peak.value))
        .value("may open after", after)
        .hint("use the next larger fuse if its wires allow it, or a charger between the batteries");
    finding.severity = Severity::Note;
    let (finding, solution) = shown_at(facts, finding, &peak.moment);
    Some(match solution {
        Some(solution) => finding.path(waypoints(facts, &solution, &facts.paths().across(&solution, id, between))),
        None => finding,
    })
}
