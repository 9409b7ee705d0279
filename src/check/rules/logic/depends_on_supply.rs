use crate::catalogue::form::Across;
use crate::check::sneak::Lifted;
use crate::check::worst::{CORNERS, Moment};
use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::model::{Coil, ElementId, ElementKind, SignalId};
use crate::quantity::Volts;
use crate::size::opens_a_fuse;
use crate::solve::{Corner, Solution, Supply};

pub const RULE: Rule = Rule {
    name: "logic/depends-on-supply",
    severity: Severity::Error,
    explanation: include_str!("depends_on_supply.md"),
    finds: Finds::InHarness(find),
};

/// A relay that is out, and in with more supply, nothing else being moved.
pub(super) struct Moved {
    coil: ElementId,
    pub relay: SignalId,
    /// Where it is out, with the voltage of its coil there.
    out: (Moment, Volts),
    /// Where it is in.
    within: Solution,
}

fn find(context: &Context) -> Vec<Finding> {
    moved(context).into_iter().map(|moved| finding(context, &moved)).collect()
}

/// Of each relay the simplest state in which the supply decides: between least and nominal first.
pub(super) fn moved(context: &Context) -> Vec<Moved> {
    let coils = context.model.elements.iter().enumerate().filter_map(|(i, element)| match &element.kind {
        ElementKind::Coil(coil) => Some((ElementId(i), coil)),
        _ => None,
    });
    coils.filter_map(|(id, coil)| of_coil(context, id, coil)).collect()
}

fn of_coil(context: &Context, id: ElementId, coil: &Coil) -> Option<Moved> {
    let shorted = coil.across == Across::Diode && context.is_crossed(coil);
    if shorted || context.is_chattering(coil.relay) {
        return None; // Told by net/coil-polarity, logic/chatter.
    }
    let lifted = context.worst.sneaks.lifted(id);
    // One that never pulls in at least supply is told by load/coil-weak.
    let weak = context.weak_coil(id, coil).is_some();
    let at = |supply: Supply| lifted.iter().filter(move |lifted| lifted.moment.corner.supply == supply);
    let less = at(Supply::Least).filter(|_| !weak).find_map(|lifted| pulled_in(context, id, coil, lifted));
    less.or_else(|| at(Supply::Nominal).find_map(|lifted| pulled_in(context, id, coil, lifted)))
}

/// A state in which a coil has some voltage and its relay is out, if the relay is in at the next greater supply, all that
/// remembers being as it was.
fn pulled_in(context: &Context, id: ElementId, coil: &Coil, lifted: &Lifted) -> Option<Moved> {
    let more = match lifted.moment.corner.supply {
        Supply::Least => Corner::NOMINAL,
        _ => *CORNERS.iter().find(|corner| corner.supply == Supply::Greatest)?,
    };
    let is_in = |solution: &Solution| solution.state.holds(context.solved.assembly.signal(coil.relay));
    let out = context.solution(&lifted.moment).filter(|solution| !is_in(solution))?;
    let within = Moment { state: out.state.clone(), corner: more };
    let within = context.solution(&within).filter(is_in)?;
    // A short that opens a fuse at once doesn't last, whatever it does to voltages.
    if [&out, &within].into_iter().any(|one| opens_a_fuse(context.model, &context.solved.assembly, one)) {
        return None;
    }
    Some(Moved { coil: id, relay: coil.relay, out: (lifted.moment.clone(), lifted.volts), within })
}

fn finding(context: &Context, moved: &Moved) -> Finding {
    let (model, assembly) = (context.model, &context.solved.assembly);
    let element = model.element(moved.coil);
    let relay = &model.signals[moved.relay.0].name;
    let (out, volts) = (&moved.out.0, moved.out.1);
    let state = context.state_words(out);
    let weak = out.corner.supply == Supply::Least;
    let (message, hint) = match weak {
        true => (
            format!("`{relay}` pulls in at nominal supply and not at least supply, {state}"),
            "take what draws the voltage down off its feed, leave out what stands before its coil, take thicker wire, \
             or a relay that pulls in at less",
        ),
        false => (
            format!("`{relay}` is out at nominal supply and pulls in by itself at greatest supply, {state}"),
            "give its coil a feed and a ground of its own, or stop the way back with a diode: what is to be out must \
             have next to no voltage",
        ),
    };
    let mut finding = RULE
        .finding(context.part_place(element.part), message)
        .about(relay.as_str())
        .label("moves with the supply")
        .hint(hint);
    if let ElementKind::Coil(coil) = &element.kind {
        let across = (assembly.volts(&moved.within, coil.feed) - assembly.volts(&moved.within, coil.ground)).abs();
        let at = |corner: Corner| format!("at its coil at {corner}");
        let needs = |corner: Corner| format!("pulls in at {}", context.pull_in(coil, corner));
        finding = finding.limit(&at(out.corner), volts, needs(out.corner)).limit(
            &at(moved.within.corner),
            across,
            needs(moved.within.corner),
        );
        let shown = if weak { context.solution(out) } else { Some(moved.within.clone()) };
        if let Some(solution) = shown {
            let way = context.way_through_coil(&solution, moved.coil);
            finding = finding
                .shown_in(context.state_name(&solution.state), solution.corner)
                .path(context.waypoints(&solution, &way));
        }
    }
    finding
}
