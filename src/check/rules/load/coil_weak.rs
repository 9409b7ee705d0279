use crate::worst::Peak;
use crate::{Context, Finding, Finds, Rule, Severity};
use catalogue::part_form::Across;
use model::{Coil, ElementId};
use quantity::Volts;

pub const RULE: Rule = Rule {
    name: "load/coil-weak",
    severity: Severity::Error,
    explanation: include_str!("coil_weak.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    context.model.coils().filter_map(|(id, coil)| of_coil(context, id, coil)).collect()
}

fn of_coil(context: &Context, id: ElementId, coil: &Coil) -> Option<Finding> {
    let fed = context.is_fed(coil.feed) || context.is_fed(coil.ground);
    let grounded = context.is_grounded(coil.feed) || context.is_grounded(coil.ground);
    let shorted = coil.across == Across::Diode && context.is_crossed(coil);
    if !fed || !grounded || shorted || context.is_chattering(coil.relay) {
        return None; // Told by net/part-unpowered, net/ground-missing, net/coil-polarity, logic/chatter.
    }
    let (peak, needs) = context.weak_coil(id, coil)?;
    Some(finding(context, id, coil, peak, needs))
}

fn finding(context: &Context, id: ElementId, coil: &Coil, peak: &Peak<Volts>, needs: Volts) -> Finding {
    let model = context.model;
    let relay = &model.signals[coil.relay.0].name;
    let part = model.part(model.element(id).part);
    let never = peak.value < model.limits.sneak_voltage;
    let (message, hint) = match never {
        true => (
            format!(
                "nothing ever pulls in `{relay}`: its coil has {} at most in any state{}",
                peak.value,
                if context.worst.left_out { " but those that open a fuse at once" } else { "" }
            ),
            "see what should switch it: an input that can't come, a contact on the wrong side".to_string(),
        ),
        false => (
            format!("`{relay}` never pulls in at least supply: its coil gets {} at most and needs {needs}", peak.value),
            "leave out a diode or a second coil in series, take thicker wire, or a relay that pulls in at less"
                .to_string(),
        ),
    };
    let finding = RULE
        .finding(part.place, message)
        .about(relay.as_str())
        .label(format!("pulls in at {} at 20 °C, as rated", coil.pull_in))
        .limit("voltage at the coil", peak.value, format!("at least {needs}"))
        .hint(hint);
    let (finding, solution) = context.shown_at(finding, &peak.moment);
    match solution {
        Some(solution) if !never => {
            let way = context.way_through(&solution, id, coil.feed, coil.ground);
            finding.path(context.waypoints(&solution, &way))
        }
        _ => finding,
    }
}
