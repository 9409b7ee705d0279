//! What the pulses of a pulsed feed do to relays, trigger inputs, loads and converters.

use super::worst::pull_in;
use catalogue::part_form::TimerKind;
use circuit::{ActorRule, Copper, Corner, Reading, Senses, Solution, Supply};
use engine::Solver;
use model::{Element, ElementKind, Model, Signal, SignalId, SignalKind};
use quantity::Volts;
use states::{Solved, Wiring};
use std::collections::BTreeMap;

/// What pulses do to a signal. Voltages are between the two pins that move it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PulseEffect {
    /// The on-time alone would pull a relay in, but the mean at the least on-time share does not.
    Weak {
        /// The mean at its coil.
        mean: Volts,
        /// What the coil needs at that corner.
        needs: Volts,
        /// The corner with the shortest pulses and the weakest coils.
        corner: Corner,
    },
    /// A trigger input is on in the on-time only.
    Blinks {
        /// In the on-time.
        on: Volts,
        /// In the off-time.
        off: Volts,
        /// Where it comes on.
        needs: Volts,
    },
    /// A load or a converter has its lowest voltage in the on-time only, and restarts with each pulse.
    Starts {
        /// In the off-time.
        off: Volts,
        /// Its lowest working voltage.
        needs: Volts,
    },
}

/// A signal that pulses upset.
#[derive(Debug, Clone)]
pub struct Pulsed {
    /// The signal.
    pub signal: SignalId,
    /// What pulses do to it.
    pub effect: PulseEffect,
    /// The circuit in the on-time, in the first such state at the nominal corner.
    pub solution: Solution,
}

/// The corner with the shortest pulses and the weakest coils.
const WEAKEST: Corner = Corner { supply: Supply::Least, copper: Copper::Hot, ..Corner::NOMINAL };

/// Every signal that pulses upset, in the order of the model.
pub(super) fn pulsed(solved: &Solved) -> Vec<Pulsed> {
    let model = solved.model;
    let is_pulsed = |element: &Element| matches!(&element.kind, ElementKind::Feed(feed) if feed.pulsed.is_some());
    if !model.elements.iter().any(is_pulsed) {
        return vec![];
    }
    let circuit = &solved.assembly.circuit;
    let mut weakest = Solver::new(circuit, WEAKEST);
    let mut found: BTreeMap<SignalId, Pulsed> = BTreeMap::new();
    let mut look = |solution: &Solution| {
        if !solution.has_pulses() {
            return;
        }
        let Ok(weak) = weakest.hold(&solution.state) else { return };
        for signal in (0..model.signals.len()).map(SignalId) {
            if let Some(effect) = effect(solved, signal, solution, &weak.solution) {
                found.entry(signal).or_insert_with(|| Pulsed { signal, effect, solution: solution.clone() });
            }
        }
    };
    solved.exploration.visit(circuit, &mut look);
    // Pulses upset a signal at the first step of a round that never ends as well as in a state.
    solved.exploration.endless().filter_map(|chatter| chatter.round.first()).for_each(look);
    found.into_values().collect()
}

/// What pulses do to a signal. `weak` is the same state at the weakest corner.
fn effect(wiring: &Wiring, id: SignalId, solution: &Solution, weak: &Solution) -> Option<PulseEffect> {
    let (model, assembly) = (wiring.model, &wiring.assembly);
    let on = |plus, minus| assembly.volts(solution, plus) - assembly.volts(solution, minus);
    let off = |plus, minus| assembly.between_pulses(solution, plus) - assembly.between_pulses(solution, minus);
    match &model.signals[id.0].kind {
        SignalKind::Relay { coils, .. } => coils.iter().find_map(|coil| {
            let coil = model.coil(*coil)?;
            let [on, off] = [on(coil.feed, coil.ground), off(coil.feed, coil.ground)].map(Volts::abs);
            let mean = (assembly.mean(weak, coil.feed) - assembly.mean(weak, coil.ground)).abs();
            let (needs, corner) = (pull_in(wiring, coil, weak.corner), weak.corner);
            let pulsed = on - off > model.limits.sneak_voltage;
            (pulsed && on >= coil.pull_in && mean < needs).then_some(PulseEffect::Weak { mean, needs, corner })
        }),
        SignalKind::Sense { pin, ground, on_above, .. } => {
            let blinks = assembly.reading(model, solution, id) == Reading::Pulsing && !is_held(model, id);
            let (on, off) = (on(*pin, *ground), off(*pin, *ground));
            blinks.then_some(PulseEffect::Blinks { on, off, needs: *on_above })
        }
        SignalKind::Working { feed, ground, least } => {
            let (on, off) = (on(*feed, *ground), off(*feed, *ground));
            let starts = starts_anew(wiring, id) && on >= *least && off < *least;
            starts.then_some(PulseEffect::Starts { off, needs: *least })
        }
        SignalKind::Timer { .. } => None,
    }
}

/// Whether a load or converter restarts with each pulse; lamps and heaters only dim.
fn starts_anew(wiring: &Wiring, id: SignalId) -> bool {
    let assembly = &wiring.assembly;
    let rule = assembly.actor(id).map(|actor| &assembly.circuit.actors[actor.index()].rule);
    matches!(rule, Some(ActorRule::Threshold { senses: Senses::Least, .. }))
}

/// Whether only timers ask for a trigger, and each of them holds over the off-time or is set once and stays.
fn is_held(model: &Model, id: SignalId) -> bool {
    let asks = |signal: &&Signal| match &signal.kind {
        SignalKind::Timer { from, .. } => from.names_signal(id),
        _ => false,
    };
    let mut asking = model.signals.iter().filter(asks).peekable();
    asking.peek().is_some()
        && asking
            .all(|signal| matches!(&signal.kind, SignalKind::Timer { kind: TimerKind::Hold | TimerKind::Latch, .. }))
}
