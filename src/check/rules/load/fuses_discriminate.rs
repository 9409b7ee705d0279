use super::short_clears::{state_of, waypoints};
use crate::check::short::{fuse, latest, soonest};
use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::model::{ElementId, ElementKind, PinId};
use crate::quantity::Seconds;

pub const RULE: Rule = Rule {
    name: "load/fuses-discriminate",
    severity: Severity::Warning,
    explanation: include_str!("fuses_discriminate.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    let elements = context.model.elements.iter().enumerate();
    let fuses = elements.filter_map(|(i, element)| match element.kind {
        ElementKind::Fuse { between, .. } => Some((ElementId(i), between)),
        _ => None,
    });
    fuses.filter_map(|(id, between)| of_fuse(context, id, between)).collect()
}

/// A short right behind a fuse that another one stands before.
fn of_fuse(context: &Context, id: ElementId, between: [PinId; 2]) -> Option<Finding> {
    let model = context.model;
    let far = between.into_iter().max_by(|a, b| {
        let ohms = |pin: &PinId| context.shorts.ohms_to(*pin).map_or(f64::INFINITY, |ohms| ohms.value());
        ohms(a).total_cmp(&ohms(b))
    })?;
    let short = context.shorts.short(model, far, None)?;
    let at = short.fuses.iter().position(|one| *one == id)?;
    let before = short.fuses.get(at.checked_sub(1)?).copied()?;
    let ((own, own_opens, _), (other, other_opens, _)) = (fuse(model, id)?, fuse(model, before)?);
    let amps = short.amps[1];
    let (own_latest, other_soonest) = (latest(own_opens, amps / own), soonest(other_opens, amps / other));
    // The one before doesn't open at all at this current, or later than this one has.
    if other_soonest.is_none_or(|soonest| own_latest.is_some_and(|latest| latest < soonest)) {
        return None;
    }
    let [part, first] = [id, before].map(|id| model.part(model.element(id).part));
    let words = |time: Option<Seconds>| time.map_or_else(|| "no time that is said".to_string(), |t| t.to_string());
    let message =
        format!("a short behind `{}` ({own}) may open `{}` ({other}) as well: {amps} flow", part.name, first.name);
    let mut finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("{own}"))
        .also(first.place, format!("{other}, before it"))
        .value("short-circuit current at greatest supply", amps)
        .limit(
            &format!("`{}` opens at the latest after", part.name),
            words(own_latest),
            format!("before `{}` may, after {}", first.name, words(other_soonest)),
        )
        .hint("of two fuses of one kind in a row the first needs more than twice the rating of the second")
        .shown_in(state_of(model, &short), "greatest supply, hot copper");
    finding.evidence.path = waypoints(context, &short, amps);
    Some(finding)
}
