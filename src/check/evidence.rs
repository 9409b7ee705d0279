//! Evidence: facts printed as part of a finding.

use super::{Finding, TimelineRow, Waypoint};
use circuit::{CurrentPath, PathStep, Solution, Spot, Via};
use facts::leaks::{Bleeder, Leak, bleeder};
use facts::screens::Shows;
use facts::sneak::Lifted;
use facts::{Facts, Moment, Peak};
use form::Place;
use model::{ElementId, ElementKind, Model, PartId, PinId, SignalId, SignalKind, WireId, conductor};
use quantity::{Gauge, Volts};
use replay::Row;
use replay::standing::Arrival;
use states::listed;
use std::cmp::Ordering;
use std::fmt::Display;

/// A voltage is reported beside another only if it is greater by this share.
const MORE: f64 = 0.01;

const SHORT_HINT: &str = "this is a short-circuit current: follow the path to what connects it to ground, and move that to the \
                          right pin; a larger fuse or a thicker wire only burns later";

/// The circuit at a moment, with the finding that shows there.
pub fn shown_at(facts: &Facts, finding: Finding, moment: &Moment) -> (Finding, Option<Solution>) {
    let solution = facts.solution(moment);
    let names = facts.names();
    let finding = match &solution {
        Some(solution) => finding.shown_in(names.state(&solution.state), names.corner(moment)),
        None => finding,
    };
    let finding = match &solution {
        Some(solution) if solution.has_pulses() => {
            finding.value("pulsed feeds", "values are those of the on-time unless stated otherwise")
        }
        _ => finding,
    };
    (finding, solution)
}

/// A state's name in a sentence: `in state reverse`, `at rest`.
pub fn in_state(name: &str) -> String {
    if name.starts_with("at rest") { name.to_string() } else { format!("in state {name}") }
}

/// How many states beside the one shown: `, and in 2 more states`.
pub fn more_states(proof: &Shows) -> String {
    match proof.states {
        0 | 1 => String::new(),
        2 => ", and in 1 more state".to_string(),
        n => format!(", and in {} more states", n - 1),
    }
}

/// A finding with the simplest state that shows it, if that is simpler than the worst one.
pub fn with_simplest<T: Display>(
    facts: &Facts,
    finding: Finding,
    worst: &Moment,
    simplest: Option<&Peak<T>>,
) -> Finding {
    match simplest.filter(|simplest| simplest.moment.away() < worst.away()) {
        Some(Peak { value, moment }) => {
            let names = facts.names();
            let words = format!("{value} {} ({})", names.moment(moment), names.corner(moment));
            finding.value("in the simplest state that shows it", words)
        }
        None => finding,
    }
}

/// A path of current in words; empty if nothing flows.
pub fn waypoints(facts: &Facts, solution: &Solution, path: &CurrentPath) -> Vec<Waypoint> {
    let model = facts.model;
    let volts = |pin| facts.solved.assembly.volts(solution, pin);
    let mut points: Vec<Waypoint> = Vec::new();
    if !path.steps.is_empty() {
        let volts = path.start.pin().map_or(Volts::new(0.0), volts);
        points.push(Waypoint { pin: spot(model, path.start), volts, through: None, amps: None });
    }
    points.extend(path.steps.iter().map(|step| Waypoint {
        pin: spot(model, step.to),
        volts: step.volts,
        through: Some(through(model, step)),
        amps: Some(step.amps),
    }));
    // Leave out the battery's internal resistance, which is before its terminal.
    if path.start == Spot::Negative && points.len() > 1 {
        points.remove(0);
        (points[0].through, points[0].amps) = (None, None);
    }
    points
}

fn spot(model: &Model, spot: Spot) -> String {
    match spot {
        Spot::Pin(pin) => model.pin_name(pin),
        Spot::ShieldAt(pin) => format!("the shield at {}", model.pin_name(pin)),
        Spot::Negative => "the battery's negative".to_string(),
    }
}

fn through(model: &Model, step: &PathStep) -> String {
    match step.via {
        Via::Wire(id) => format!("wire {}", model.wire(id).id),
        Via::Shield(id) => format!("the shield of wire {}", model.wire(id).id),
        Via::Joint(_) | Via::ShieldContacts => "mated contacts".to_string(),
        Via::Element(id) => {
            let element = model.element(id);
            let name = &model.part(element.part).name;
            match element.kind {
                ElementKind::Derived { .. } if step.to == Spot::Negative => format!("other loads on {name}"),
                _ => name.to_string(),
            }
        }
    }
}

/// A finding about a current, with another hint if it is a short-circuit current, which no larger fuse or thicker wire
/// repairs.
pub fn unless_short(facts: &Facts, finding: Finding, solution: &Solution, path: &CurrentPath) -> Finding {
    let is_short = facts.paths().branches().is_short(solution, path);
    let finding = if is_short { finding.hint(SHORT_HINT) } else { finding };
    finding.path(waypoints(facts, solution, path))
}

/// A finding with the highest voltage that a coil or load gets through another consumer, if that is more than in the state
/// shown.
pub fn with_worst_sneak(facts: &Facts, finding: Finding, own: ElementId, shown: &Lifted, pins: [PinId; 2]) -> Finding {
    let mut all = facts.sneaks().lifted(own);
    all.retain(|other| other.volts.value() > shown.volts.value() * (1.0 + MORE));
    all.sort_by(|a, b| b.volts.value().total_cmp(&a.volts.value()));
    let through = |other: &&Lifted| {
        let solution = facts.solution(&other.moment);
        solution.is_some_and(|solution| facts.backfeed().through_another(&solution, own, pins[0], pins[1]).is_some())
    };
    match all.into_iter().find(through) {
        Some(worst) => {
            let what = format!("worst case, {} ({})", facts.names().moment(&worst.moment), worst.moment.corner);
            finding.value(&what, format!("{}, {}", worst.volts, worst.amps))
        }
        None => finding,
    }
}

/// Share of the voltage up to which a trigger input is off that a resistor against leakage keeps to (common practice, no
/// source).
const KEEPS_TO: f64 = 0.5;

/// Advice against a leakage that holds a trigger input up.
pub fn against_leak_at_trigger(facts: &Facts, leak: &Leak, off_below: Volts) -> String {
    against_leak(facts, leak, off_below * KEEPS_TO)
}

/// Advice against a leakage: a resistor that keeps its wire below a voltage, or a contact.
pub fn against_leak(facts: &Facts, leak: &Leak, below: Volts) -> String {
    let (part, pin) = (&facts.model.part(leak.part).name, facts.model.pin_name(leak.pin));
    match bleeder(facts, leak, below) {
        Some(Bleeder { resistance, rating }) => format!(
            "`{part}` lets up to {} through while off: put a resistor of {resistance} ({rating}) from `{pin}` to ground, or switch with \
             a relay, whose open contact does not leak",
            leak.amps
        ),
        None => format!(
            "`{part}` lets up to {} through while off: switch with a relay, whose open contact does not leak, or with an output that \
             leaks less",
            leak.amps
        ),
    }
}

/// A voltage of a few millivolts as 0 V: a ground differs by millivolts, which decide nothing.
pub fn or_nothing(volts: Volts) -> Volts {
    if volts.abs() < Volts::new(0.05) { Volts::new(0.0) } else { volts }
}

/// A conductor size to use for a wire, with the ends that need another terminal or splice for it: `6 mm² with a larger
/// terminal at K1.30`.
pub fn size_words(facts: &Facts, wire: WireId, size: Gauge) -> String {
    let ends = facts.model.wire(wire).ends.iter();
    let small: Vec<String> = ends
        .filter(|end| !size::pin_takes(facts.model, **end, size))
        .map(|end| format!("`{}`", facts.model.pin_name(*end)))
        .collect();
    match listed(&small) {
        Some(pins) => format!("{size} with a larger terminal or splice at {pins}"),
        None => size.to_string(),
    }
}

/// Whether a conductor size is thick enough for the terminals at both ends of a wire.
pub fn is_held(facts: &Facts, wire: WireId, size: Gauge) -> bool {
    facts.model.wire(wire).ends.into_iter().all(|end| {
        let terminal = facts.model.part(facts.model.pin(end).part).form.terminal.as_ref();
        terminal.is_none_or(|terminal| conductor::against(size, terminal.wire.0) != Ordering::Less)
    })
}

/// The bundle and surroundings of a wire, in words.
pub fn company(facts: &Facts, wire: WireId) -> String {
    let bundled = facts.bundles().loaded(wire);
    let beside = if bundled > 2 { format!("in a bundle of {bundled} loaded wires") } else { "alone".to_string() };
    if size::in_engine_space(facts.model, wire) { format!("{beside}, in an engine space") } else { beside }
}

/// What signals that never settle do, those of one kind together: `K1` pulls in and drops out.
pub fn swings(facts: &Facts, signals: &[SignalId]) -> String {
    let does = |id: &SignalId, several: bool| match (&facts.model.signals[id.0].kind, several) {
        (SignalKind::Relay { .. }, false) => "pulls in and drops out",
        (SignalKind::Relay { .. }, true) => "pull in and drop out",
        (SignalKind::Sense { .. }, false) => "comes on and goes off",
        (SignalKind::Sense { .. }, true) => "come on and go off",
        (_, false) => "starts and stops",
        (_, true) => "start and stop",
    };
    let Some(first) = signals.first() else { return "something that switches goes on and off".to_string() };
    let (alike, others): (Vec<SignalId>, Vec<SignalId>) =
        signals.iter().partition(|id| does(id, false) == does(first, false));
    let several = signals.len() > 1 && alike.len() > 1;
    let mine = format!("{} {}", facts.names().signals(&alike), does(first, several));
    if others.is_empty() { mine } else { format!("{mine}, {}", swings(facts, &others)) }
}

/// Where a part stands in the spec.
pub fn part_place(facts: &Facts, part: PartId) -> Place {
    facts.model.part(part).place
}

/// Where something ends on a pin: the end of its first wire, else its part.
pub fn end_place(facts: &Facts, pin: PinId) -> Place {
    let model = facts.model;
    let Some(&first) = facts.connectivity().wires_on(pin).first() else {
        return part_place(facts, model.pin(pin).part);
    };
    let wire = model.wire(first);
    wire.end_places[usize::from(wire.ends[0] != pin)]
}

impl Finding {
    /// Where and how a picture comes or goes.
    pub(super) fn arrival(self, model: &Model, arrival: &Arrival) -> Self {
        self.shown_in(arrival.state.clone(), &arrival.setting).timeline(model, &arrival.evidence)
    }

    /// What happens around the moment that shows it.
    pub(super) fn timeline(mut self, model: &Model, rows: &[Row]) -> Self {
        let row = |row: &Row| {
            let screens = model.screens.iter().zip(&row.screens);
            let screens = screens.map(|(screen, shows)| format!("{}: {shows}", screen.name));
            TimelineRow { at: row.at.to_string(), happens: row.happens.join(", "), screens: screens.collect() }
        };
        self.evidence.timeline = rows.iter().map(row).collect();
        self
    }
}
