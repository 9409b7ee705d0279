//! Relays that follow a flasher: operations per hour of flashing, against the catalogue's mechanical life.

use super::asker::{Asker, Case, Start};
use crate::setting::{Pick, Setting};
use crate::time::Time;
use circuit::ActorId;
use model::{ElementId, ElementKind, SignalId};
use quantity::PerMinute;
use std::collections::BTreeMap;

/// A relay that follows a flasher.
#[derive(Debug, Clone, PartialEq)]
pub struct Wear {
    /// The relay.
    pub relay: SignalId,
    /// The state in which it does, in words.
    pub state: String,
    /// The fastest flash that is allowed.
    pub rate: PerMinute,
    /// Operations in an hour of flashing at that rate.
    pub operations: u64,
    /// Mechanical life in operations, the shortest of its contacts; `None` if the catalogue has no figure.
    pub mechanical: Option<u64>,
}

impl Wear {
    /// Whole hours of flashing until a life is used up.
    pub fn hours(&self, life: u64) -> u64 {
        life / self.operations.max(1)
    }
}

pub fn ask(asker: &mut Asker) -> Vec<Wear> {
    let model = asker.solved.model;
    let fastest = Setting { rate: Pick::Greatest, ..Setting::default() };
    let mut found: BTreeMap<SignalId, Wear> = BTreeMap::new();
    for (i, element) in model.elements.iter().enumerate() {
        let ElementKind::Coil(coil) = &element.kind else { continue };
        let Some(actor) = asker.solved.assembly.coil(ElementId(i)) else { continue };
        let subject = asker.actors(vec![actor]);
        for start in &subject.starts {
            if !asker.flashes(&subject.concern, &start.positions) {
                continue;
            }
            let flashing = model.inputs.iter().zip(&start.positions.0).filter(|(_, at)| **at != 0);
            let patterns = flashing.filter_map(|(input, _)| fastest.pattern(input));
            let Some(pattern) = patterns.min_by_key(|pattern| pattern.length()) else { continue };
            // A short run shows whether it follows at all. Holds from before the start have ended by then.
            let from = asker.horizon;
            if operations(asker, start, &fastest, actor, from, from + pattern.length() * 2) == 0 {
                continue;
            }
            let end = from + pattern.length() * LOOKED_AT;
            let ins = operations(asker, start, &fastest, actor, from, end);
            let operations = ins * 3600 / (end - from).seconds().value().round().max(1.0) as u64;
            if found.get(&coil.relay).is_none_or(|wear| wear.operations < operations) {
                let mechanical = mechanical_life(asker, coil.relay);
                let (state, rate) = (start.name.clone(), pattern.rate());
                found.insert(coil.relay, Wear { relay: coil.relay, state, rate, operations, mechanical });
            }
        }
    }
    found.into_values().collect()
}

/// How often a coil pulls in between two moments.
fn operations(asker: &mut Asker, start: &Start, setting: &Setting, coil: ActorId, from: Time, to: Time) -> u64 {
    let case = Case { until: to, ..asker.case(start, &[], setting) };
    let machine = asker.play(&case);
    let points = &machine.record.actors[coil.index()].points;
    points.iter().filter(|(at, on)| *on && *at > from && *at <= to).count() as u64
}

/// Flashes that operations are counted over: a minute of the fastest.
const LOOKED_AT: i64 = 120;

/// The shortest mechanical life of a relay's contacts.
fn mechanical_life(asker: &Asker, relay: SignalId) -> Option<u64> {
    let lives = asker.solved.model.elements.iter().filter_map(|element| match &element.kind {
        ElementKind::Contact { relay: of, mechanical_life, .. } if *of == relay => *mechanical_life,
        _ => None,
    });
    lives.min()
}
