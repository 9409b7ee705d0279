use crate::catalogue::form::Across;
use crate::check::worst::{CORNERS, Peak};
use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::model::{Coil, ElementId, ElementKind, conductor};
use crate::quantity::Volts;
use crate::solve::{Corner, Supply};

pub const RULE: Rule = Rule {
    name: "load/coil-weak",
    severity: Severity::Error,
    explanation: include_str!("coil_weak.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    let coils = context.model.elements.iter().enumerate().filter_map(|(i, element)| match &element.kind {
        ElementKind::Coil(coil) => Some((ElementId(i), coil)),
        _ => None,
    });
    coils.filter_map(|(id, coil)| of_coil(context, id, coil)).collect()
}

/// Pull-in voltage at a corner: it takes the same current, so the voltage rises with the coil's copper.
fn pull_in(context: &Context, coil: &Coil, corner: Corner) -> Volts {
    let celsius = corner.temperature(&context.solved.assembly.circuit).value();
    coil.pull_in * (1.0 + conductor::COPPER_PER_KELVIN * (celsius - 20.0))
}

fn of_coil(context: &Context, id: ElementId, coil: &Coil) -> Option<Finding> {
    let fed = context.is_fed(coil.feed) || context.is_fed(coil.ground);
    let grounded = context.is_grounded(coil.feed) || context.is_grounded(coil.ground);
    let shorted = coil.across == Across::Diode && context.is_crossed(coil);
    if !fed || !grounded || shorted || context.is_chattering(coil.relay) {
        return None; // Told by net/part-unpowered, net/ground-missing, net/coil-polarity, logic/chatter.
    }
    let at_least = CORNERS.into_iter().filter(|corner| corner.supply == Supply::Least);
    let short = at_least.filter_map(|corner| {
        let peak = context.worst.coil(corner, id)?;
        let needs = pull_in(context, coil, corner);
        (peak.value < needs).then_some((peak, needs))
    });
    let (peak, needs) = short.min_by(|a, b| (a.0.value / a.1).total_cmp(&(b.0.value / b.1)))?;
    Some(finding(context, id, coil, peak, needs))
}

fn finding(context: &Context, id: ElementId, coil: &Coil, peak: &Peak<Volts>, needs: Volts) -> Finding {
    let model = context.model;
    let relay = &model.signals[coil.relay.0].name;
    let part = model.part(model.element(id).part);
    let never = peak.value < model.limits.sneak_voltage;
    let (message, hint) = match never {
        true => (
            format!("nothing ever pulls in `{relay}`: its coil has {} at most in any state", peak.value),
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
        .label(format!("pulls in at {} at 20 °C", coil.pull_in))
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
