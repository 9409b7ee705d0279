use crate::sneak::{Found, Lifted, Sneak};
use crate::tables;
use crate::{Context, Finding, Finds, Rule, Severity};
use catalogue::part_form::LoadKind;
use model::{ElementId, ElementKind, Load};

pub const RULE: Rule = Rule {
    name: "logic/lamp-glows",
    severity: Severity::Error,
    explanation: include_str!("lamp_glows.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    let of_vehicle = context.worst.sneaks.tell(|what, found| match what {
        Sneak::Lamps(id) => of_wire(context, id, found, false),
        Sneak::LowLamps(id) => of_wire(context, id, found, true),
        _ => None,
    });
    let own = context.model.elements.iter().enumerate().filter_map(|(i, element)| match &element.kind {
        ElementKind::Load(load) if matches!(load.kind, LoadKind::Lamp | LoadKind::Led) => {
            of_load(context, ElementId(i), load)
        }
        _ => None,
    });
    of_vehicle.into_iter().chain(own).collect()
}

/// Lamps of the vehicle on a wire that is off: fed from behind or, where it goes to ground when on, grounded.
fn of_wire(context: &Context, id: ElementId, found: &Found, low: bool) -> Option<Finding> {
    let ElementKind::Feed(feed) = &context.model.element(id).kind else { return None };
    let solution = context.solution(&found.moment)?;
    let (way, how, label, current, hint) = match low {
        false => (
            context.held_by(&solution, feed.pin)?,
            format!("they get {} from the harness", found.volts),
            "off, and fed from behind",
            "current into them",
            "put a diode between this feed and what else feeds the wire",
        ),
        true => (
            context.way_from(&solution, feed.pin),
            format!("{} go to ground through the harness", found.amps),
            "off, and grounded from behind",
            "current through them",
            "put a diode between this wire and what else goes to ground there, cathode to the wire",
        ),
    };
    let name = context.model.pin_name(feed.pin);
    let state = context.state_words(&found.moment);
    let finding = RULE
        .finding(context.end_place(feed.pin), format!("the vehicle's lamps on `{name}` light up {state}: {how}"))
        .about(name.as_str())
        .label(label)
        .limit("voltage at the lamps", found.volts, context.model.job.nominal * tables::glows_share().value())
        .value(current, found.amps)
        .value("greatest voltage in any state", found.most_volts)
        .hint(hint);
    let (finding, _) = context.shown_at(finding, &found.moment);
    Some(finding.path(context.waypoints(&solution, &way)))
}

/// A lamp of the harness whose current comes through something else.
fn of_load(context: &Context, id: ElementId, load: &Load) -> Option<Finding> {
    let lifted = context.worst.sneaks.lifted(id);
    let glows =
        |lifted: &&Lifted| load.kind == LoadKind::Led || lifted.volts >= load.nominal * tables::glows_share().value();
    lifted.into_iter().filter(glows).find_map(|lifted| finding(context, id, load, lifted))
}

fn finding(context: &Context, id: ElementId, load: &Load, lifted: &Lifted) -> Option<Finding> {
    let solution = context.solution(&lifted.moment)?;
    let (through, way) = context.through_another(&solution, id, load.feed, load.ground)?;
    let part = context.model.part(context.model.element(id).part);
    let state = context.state_words(&lifted.moment);
    let message = format!("`{}` glows {state}: {} come through {through}", part.name, lifted.amps);
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("a {}", part.use_name))
        .value("voltage at the lamp", lifted.volts)
        .limit("current through it", lifted.amps, context.model.limits.sneak_current)
        .hint("give the lamp a feed and a ground of its own, or a resistor across it that takes the little current");
    let finding = context.with_worst_sneak(finding, id, lifted, [load.feed, load.ground]);
    let (finding, _) = context.shown_at(finding, &lifted.moment);
    Some(finding.path(context.waypoints(&solution, &way)))
}
