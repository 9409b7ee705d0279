use super::contact_overloaded::at_switch_on;
use crate::evidence::{shown_at, waypoints};
use crate::rules::safety::converter_limit;
use crate::{Finding, Finds, Rule, Severity, tables};
use catalogue::part_form::LoadKind;
use circuit::State;
use facts::fuse_curve::{fuse, soonest};
use facts::{Facts, Moment, Taker};
use model::{ElementId, ElementKind, InputId, PinId};
use quantity::{Amps, Seconds, significant};

pub const RULE: Rule = Rule {
    name: "load/fuse-inrush",
    severity: Severity::Warning,
    explanation: include_str!("fuse_inrush.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    (0..facts.model.elements.len()).filter_map(|i| of_fuse(facts, ElementId(i))).collect()
}

/// A load or a converter at switch-on.
struct Rush {
    /// Its current while the inrush lasts, and then.
    amps: [Amps; 2],
    lasts: Seconds,
}

impl Rush {
    /// A load with its inrush if it is among those that come on, else with what it draws.
    fn of(facts: &Facts, taker: &Taker, coming: &[ElementId]) -> Option<Rush> {
        let (draws, lasts) = match &facts.model.element(taker.element).kind {
            ElementKind::Load(load) => match load.kind {
                LoadKind::Lamp => (load.draws, tables::lamp_rush()),
                LoadKind::Motor => (load.draws, tables::motor_rush()),
                _ => (load.draws, tables::electronics_rush()),
            },
            ElementKind::Converter { .. } => (taker.amps, tables::electronics_rush()),
            _ => return None,
        };
        let first = if coming.contains(&taker.element) { taker.inrush } else { draws };
        Some(Rush { amps: [first, draws], lasts })
    }
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
        let loads: Vec<Rush> = takers.iter().filter_map(|taker| Rush::of(facts, taker, coming)).collect();
        let rush = capped(loads.iter().map(|load| load.amps[0]).sum::<Amps>(), limit);
        (used(&loads, |amps| soonest(opens, capped(amps, limit) / rating)), rush)
    };
    let all: Vec<ElementId> = takers.iter().map(|taker| taker.element).collect();
    if share(&all).0 < 1.0 {
        return of_charging(facts, id, rating);
    }
    // Nobody switches everything on in one instant: what counts is the worst single change of an input.
    let together = coming_on(facts, &moment, along, &takers).into_iter().map(|coming| share(&coming));
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

/// No more than a converter before the fuse gives.
fn capped(amps: Amps, limit: Option<Amps>) -> Amps {
    limit.map_or(amps, |limit| if amps > limit { limit } else { amps })
}

/// A load that draws less than this share of its current counts as off (common practice, no source).
const OFF_SHARE: f64 = 0.5;

/// For each input that is away from rest, the loads that come on when it is moved there last; all of them where no input is.
fn coming_on(facts: &Facts, moment: &Moment, along: [PinId; 2], takers: &[Taker]) -> Vec<Vec<ElementId>> {
    let (assembly, state) = (&facts.solved.assembly, &moment.state);
    let all = || vec![takers.iter().map(|taker| taker.element).collect()];
    if state.positions.away() == 0 {
        return all();
    }
    let inputs = (0..facts.model.inputs.len()).map(|i| assembly.input(InputId(i)));
    let before = inputs.filter(|input| state.positions.of(*input) != 0).filter_map(|input| {
        let positions = state.positions.moved(&assembly.circuit, input, 0)?;
        let was = facts.solution(&Moment::new(State { positions, memory: state.memory.clone() }, moment.corner))?;
        let ran = facts.takers(&was, along);
        let was_on = |taker: &&Taker| {
            let before = ran.iter().find(|other| other.element == taker.element);
            before.is_some_and(|before| before.amps.value() > OFF_SHARE * taker.amps.value())
        };
        Some(takers.iter().filter(|taker| !was_on(taker)).map(|taker| taker.element).collect())
    });
    before.collect()
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

/// The share of a fuse's I²t that the inrush uses: for each interval of constant current, its length divided by the
/// shortest opening time at that current, summed up.
fn used(loads: &[Rush], soonest: impl Fn(Amps) -> Option<Seconds>) -> f64 {
    let mut ends: Vec<Seconds> = loads.iter().map(|load| load.lasts).collect();
    ends.sort_by(|a, b| a.value().total_cmp(&b.value()));
    ends.dedup();
    let mut used = 0.0;
    let mut start = Seconds::new(0.0);
    for end in ends {
        let amps = loads.iter().map(|load| load.amps[usize::from(load.lasts < end)]).sum::<Amps>();
        used += soonest(amps).map_or(0.0, |opens| (end - start) / opens);
        start = end;
    }
    used
}
