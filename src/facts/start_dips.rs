//! What the inrush of a load does to voltages at the moment when it switches on: its own may fall below what it needs, and
//! so may that of electronics that already run, which then restart.

use super::Explored;
use super::moment::{Moment, Peak};
use super::never_works::{Needs, needs};
use super::worst::WorstValues;
use catalogue::part_form::LoadKind;
use circuit::{Change, Solution, Variant};
use explore::About;
use model::{ElementId, ElementKind, Load, SignalId};
use quantity::{Ohms, Volts};
use states::Solved;

/// A load whose inrush takes too much voltage.
#[derive(Debug, Clone, PartialEq)]
pub struct StartDip {
    /// The load that switches on.
    pub starter: ElementId,
    /// The state in which it is on, at the corner of its lowest voltage.
    pub moment: Moment,
    /// What it gets at the moment of switching on, and what it needs, if that is more.
    pub own: Option<(Volts, Needs)>,
    /// Electronics that run before and get less than they need while the inrush lasts, the lowest share first.
    pub others: Vec<(ElementId, Volts, Needs)>,
}

/// A load that draws less than this share of its current does not run (common practice, no source).
const RUNS_SHARE: f64 = 0.5;

pub(super) struct Search<'f> {
    pub solved: &'f Solved<'f>,
    pub explored: &'f Explored<'f>,
    pub worst: &'f WorstValues,
}

impl Search<'_> {
    /// Every such load, in the order of the model. Loads that are starved without an inrush are left out.
    pub fn dips(&self) -> Vec<StartDip> {
        let elements = self.solved.model.elements.iter().enumerate();
        elements
            .filter_map(|(i, element)| match &element.kind {
                ElementKind::Load(load) if load.inrush > load.draws => self.of_load(ElementId(i), load),
                _ => None,
            })
            .collect()
    }

    fn of_load(&self, id: ElementId, load: &Load) -> Option<StartDip> {
        let lowest = self.worst.lowest(id).reduce(|a, b| if b.value < a.value { b } else { a })?;
        let own = needs(self.solved.model, id)?;
        if lowest.value < own.least {
            return None;
        }
        let (before, during) = self.with_inrush(lowest, load)?;
        // What gets too little current does not start.
        if self.solved.assembly.amps(&before, id).value() < RUNS_SHARE * load.draws.value() {
            return None;
        }
        let volts = |solution: &Solution, needs: &Needs| {
            self.solved.assembly.volts(solution, needs.feed) - self.solved.assembly.volts(solution, needs.ground)
        };
        // A filament is cold only for a moment: it dims, and lights all the same.
        let fails = |kind: LoadKind| kind != LoadKind::Lamp;
        let own = Some((volts(&during, &own), own)).filter(|(now, own)| fails(load.kind) && *now < own.least);
        let mut others = Vec::new();
        for (other, signal) in self.electronics().filter(|(other, _)| *other != id) {
            let Some(needs) = needs(self.solved.model, other) else { continue };
            let (was, now) = (volts(&before, &needs), volts(&during, &needs));
            if was >= needs.least && now < needs.least && self.runs_without(signal, load.working) {
                others.push((other, now, needs));
            }
        }
        others.sort_by(|(_, a, x), (_, b, y)| (*a / x.least).total_cmp(&(*b / y.least)));
        let found = own.is_some() || !others.is_empty();
        found.then(|| StartDip { starter: id, moment: lowest.moment.clone(), own, others })
    }

    /// The moment of a load's lowest voltage, and the same with its inrush. The inrush is what the load takes at its
    /// nominal voltage, so that it falls with the voltage.
    fn with_inrush(&self, lowest: &Peak<Volts>, load: &Load) -> Option<(Solution, Solution)> {
        let before = lowest.moment.solve(self.solved)?;
        let more = Ohms::new(load.nominal.value() / (load.inrush - load.draws).value());
        let [feed, ground] = [self.solved.assembly.pin(load.feed)?, self.solved.assembly.pin(load.ground)?];
        let inrush = Variant::NONE.and(Change::Between(feed, ground, more));
        let during = lowest.moment.solve_variant(self.solved, &inrush)?;
        Some((before, during))
    }

    /// Loads and converters that restart after a dip, each with the signal that it works.
    fn electronics(&self) -> impl Iterator<Item = (ElementId, SignalId)> {
        let elements = self.solved.model.elements.iter().enumerate();
        elements.filter_map(|(i, element)| match &element.kind {
            ElementKind::Load(load) if matches!(load.kind, LoadKind::Electronic | LoadKind::ConstantPower) => {
                Some((ElementId(i), load.working))
            }
            ElementKind::Converter { working, .. } => Some((ElementId(i), *working)),
            _ => None,
        })
    }

    /// Whether there is a state in which one thing works and the other doesn't, so that the other can switch on while it
    /// works.
    fn runs_without(&self, one: SignalId, other: SignalId) -> bool {
        let assembly = &self.solved.assembly;
        let about = About {
            actors: [one, other].into_iter().filter_map(|id| assembly.actor(id)).collect(),
            ..About::default()
        };
        let mut found = false;
        let mut look = |solution: &Solution| {
            let on = |id: SignalId| solution.state.holds(assembly.signal(id));
            found |= on(one) && !on(other);
        };
        for exploration in self.explored.all() {
            exploration.visit_about(&assembly.circuit, &about, &mut look);
            exploration.endless().flat_map(|chatter| &chatter.round).for_each(&mut look);
        }
        found
    }
}
