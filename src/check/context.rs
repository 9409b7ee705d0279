//! What rules look at: the model with its nets, its signal graph and its solved states, all worked out once.

use super::Finding;
use super::by_supply::Moved;
use super::protection::Protection;
use super::screens::ScreenFaults;
use super::short::Shorts;
use super::timing::Times;
use super::walk::Neighbours;
use super::worst::{Moment, Peak, Worst};
use form::Place;
use graph::Nets;
use model::{ElementKind, Model, PartId, PinId, RunId, ScreenId, VehicleFeed, WireId};
use quantity::Amps;
use solve::{Interrupted, Solution, State, Tracer, Watch};
use spec::Covering;
use states::{Solved, held, state_words};
use std::fmt::Display;
use std::sync::OnceLock;

/// A harness as rules see it.
#[derive(Debug)]
pub struct Context<'m> {
    /// The harness.
    pub model: &'m Model,
    /// Its graph, its circuit, its states at the nominal corner.
    pub solved: &'m Solved<'m>,
    /// Pins joined by wires and mated cavities.
    pub nets: Nets,
    /// The worst of every current and voltage over all states and corners.
    pub worst: Worst,
    /// Follows currents.
    pub tracer: Tracer,
    /// What the screens show and should not.
    pub screens: ScreenFaults,
    /// The harness in motion.
    pub times: Times,
    /// What fuse protects each wire.
    pub protection: Protection,
    /// The least resistance to each pin.
    pub shorts: Shorts,
    pub(super) neighbours: Neighbours,
    /// Relays that the supply moves.
    pub(super) by_supply: OnceLock<Vec<Moved>>,
    /// For each pin, the wires on it.
    wires_on: Vec<Vec<WireId>>,
    /// For each wire, how many loaded ones run in its fullest bundle.
    bundled: Vec<usize>,
}

impl<'m> Context<'m> {
    /// Works everything out.
    ///
    /// # Errors
    /// When the watch breaks.
    pub fn new(solved: &'m Solved<'m>, watch: Watch) -> Result<Context<'m>, Interrupted> {
        let model = solved.model;
        let mut wires_on = vec![Vec::new(); model.pins.len()];
        for id in model.wire_ids() {
            model.wire(id).ends.iter().for_each(|end| wires_on[end.0].push(id));
        }
        let neighbours = Neighbours::new(model, &solved.graph);
        // Two long looks that know nothing of each other.
        let (worst, times) = std::thread::scope(|scope| {
            let times = scope.spawn(|| Times::new(solved));
            let worst = Worst::new(solved, watch);
            (worst, times.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
        });
        let worst = worst?;
        let most =
            |id| solved.assembly.wire(id).and_then(|branch| worst.amps(branch)).map_or(Amps::default(), |p| p.value);
        let most: Vec<Amps> = model.wire_ids().map(most).collect();
        Ok(Context {
            bundled: model.wire_ids().map(|id| size::bundled(model, id, &most)).collect(),
            nets: Nets::new(model),
            screens: ScreenFaults::new(solved, &worst),
            times,
            worst,
            tracer: Tracer::new(model, &solved.assembly),
            protection: Protection::new(model, &neighbours),
            shorts: Shorts::new(model, &neighbours),
            neighbours,
            by_supply: OnceLock::new(),
            model,
            solved,
            wires_on,
        })
    }

    /// The wires on a pin.
    pub fn wires_on(&self, pin: PinId) -> &[WireId] {
        &self.wires_on[pin.0]
    }

    /// Whether anything ends on a pin: a wire, or a cavity that meets it.
    pub fn is_joined(&self, pin: PinId) -> bool {
        !self.wires_on(pin).is_empty() || self.neighbours.has_joint(pin)
    }

    /// The pins that meet a pin without a wire.
    pub fn mates(&self, pin: PinId) -> Vec<PinId> {
        let joints = self.model.joints.iter().filter(|joint| joint.pins.contains(&pin));
        joints.map(|joint| joint.pins[usize::from(joint.pins[0] == pin)]).collect()
    }

    /// The circuit at a moment, with the finding that shows there.
    pub fn shown_at(&self, finding: Finding, moment: &Moment) -> (Finding, Option<Solution>) {
        let solution = self.solution(moment);
        let finding = match &solution {
            Some(solution) if solution.has_pulses() => finding
                .shown_in(self.state_name(&solution.state), self.corner_words(moment))
                .value("pulsed feeds", "figures are those of the on-time, unless they say otherwise"),
            Some(solution) => finding.shown_in(self.state_name(&solution.state), self.corner_words(moment)),
            None => finding,
        };
        (finding, solution)
    }

    /// A finding with the simplest state that shows it, where that isn't the worst one.
    pub fn simplest<T: Display>(&self, finding: Finding, worst: &Moment, simplest: Option<&Peak<T>>) -> Finding {
        let away = |moment: &Moment| moment.state.positions.away();
        match simplest.filter(|simplest| away(&simplest.moment) < away(worst)) {
            Some(Peak { value, moment }) => {
                let words = format!("{value} {} ({})", self.state_words(moment), self.corner_words(moment));
                finding.value("with the fewest inputs moved", words)
            }
            None => finding,
        }
    }

    /// What a state is called, with what holds itself where at any corner that makes a difference.
    pub fn state_name(&self, state: &State) -> String {
        state_words(self.solved, state, &held(self.solved, self.explorations(), state))
    }

    /// A moment in words: `in state reverse, key run`.
    pub fn state_words(&self, moment: &Moment) -> String {
        let name = self.solution(moment).map(|solution| self.state_name(&solution.state));
        match name.as_deref() {
            // With what holds itself, if anything does.
            Some(name) if name.starts_with("at rest") => name.into(),
            Some(name) => format!("in state {name}"),
            None => "in some state".into(),
        }
    }

    /// `wire 7`.
    pub fn wire_words(&self, wire: WireId) -> String {
        format!("wire {}", self.model.wire(wire).id)
    }

    /// How many loaded wires run beside each other where most of them do, this one included.
    pub fn bundled(&self, wire: WireId) -> usize {
        self.bundled[wire.0]
    }

    /// In what company a wire runs, in words.
    pub fn company(&self, wire: WireId) -> String {
        let bundled = self.bundled(wire);
        let beside = if bundled > 2 { format!("among {bundled} loaded wires") } else { "by itself".to_string() };
        if size::in_engine_space(self.model, wire) { format!("{beside}, in an engine space") } else { beside }
    }

    /// Whether conduit or sleeve covers a wire all the way.
    pub fn is_sheathed(&self, wire: WireId) -> bool {
        let covered = |run: &RunId| matches!(self.model.runs[run.0].covering, Covering::Conduit | Covering::Sleeve);
        let path = &self.model.wire(wire).path;
        !path.is_empty() && path.iter().all(covered)
    }

    /// The vehicle's wire that a tap is on.
    pub fn feed_at(&self, pin: PinId) -> Option<&'m VehicleFeed> {
        let part = self.model.part(self.model.pin(pin).part);
        part.elements.iter().find_map(|id| match &self.model.element(*id).kind {
            ElementKind::Feed(feed) if feed.pin == pin => Some(feed),
            _ => None,
        })
    }

    /// Where something ends on a pin: the end of its first wire, else the name of its part.
    pub fn end_place(&self, pin: PinId) -> Place {
        let Some(&first) = self.wires_on(pin).first() else { return self.part_place(self.model.pin(pin).part) };
        let wire = self.model.wire(first);
        wire.end_places[usize::from(wire.ends[0] != pin)]
    }

    /// Whether a line of a screen's views is told to show something else in some state: no question of time.
    pub fn is_other(&self, screen: ScreenId, view: usize) -> bool {
        self.screens.differs.keys().any(|(other, line, _)| (*other, *line) == (screen, view))
    }

    /// Where a part stands in the spec.
    pub fn part_place(&self, part: PartId) -> Place {
        self.model.part(part).place
    }
}
