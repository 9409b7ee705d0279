//! Latching relays whose setting and resetting windings are live at once.

use super::Explored;
use catalogue::part_form::Acts;
use circuit::Solution;
use model::{ElementId, SignalId, SignalKind};
use states::Wiring;
use std::collections::BTreeMap;

/// A latching relay with both windings live.
#[derive(Debug, Clone)]
pub struct BothWindings {
    /// The relay.
    pub relay: SignalId,
    /// The circuit in the simplest such state, the nominal corner first.
    pub solution: Solution,
}

/// A latching relay's windings that set it, and those that reset it.
struct Windings {
    relay: SignalId,
    sets: Vec<ElementId>,
    resets: Vec<ElementId>,
}

/// Every relay with both windings live in some state at some corner, in the order of the model.
pub(super) fn both_windings(wiring: &Wiring, explored: &Explored) -> Vec<BothWindings> {
    let all = windings(wiring);
    let mut found: BTreeMap<SignalId, (usize, Solution)> = BTreeMap::new();
    for exploration in explored.all().filter(|_| !all.is_empty()) {
        let both = |one: &Windings, solution: &Solution| {
            let pulled = |id: &ElementId| wiring.assembly.coil(*id).is_some_and(|actor| solution.on(actor));
            one.sets.iter().any(pulled) && one.resets.iter().any(pulled)
        };
        let mut note = |one: &Windings, solution: &Solution| {
            let away = solution.state.positions.away();
            if found.get(&one.relay).is_none_or(|(least, _)| away < *least) {
                found.insert(one.relay, (away, solution.clone()));
            }
        };
        exploration.visit(&wiring.assembly.circuit, &mut |solution| {
            all.iter().filter(|one| both(one, solution)).for_each(|one| note(one, solution));
        });
        for (chatter, one) in exploration.endless().flat_map(|chatter| all.iter().map(move |one| (chatter, one))) {
            if let Some(step) = chatter.round.first().filter(|_| chatter.round.iter().all(|step| both(one, step))) {
                note(one, step);
            }
        }
    }
    found.into_iter().map(|(relay, (_, solution))| BothWindings { relay, solution }).collect()
}

fn windings(wiring: &Wiring) -> Vec<Windings> {
    let model = wiring.model;
    let of = |coils: &[ElementId], acts: Acts| {
        let does = |id: &ElementId| model.coil(*id).is_some_and(|coil| coil.acts == acts);
        coils.iter().copied().filter(does).collect::<Vec<_>>()
    };
    let relays = model.signals.iter().enumerate().filter_map(|(i, signal)| match &signal.kind {
        SignalKind::Relay { coils, latching: true } => {
            let (sets, resets) = (of(coils, Acts::Sets), of(coils, Acts::Resets));
            Some(Windings { relay: SignalId(i), sets, resets })
        }
        _ => None,
    });
    relays.filter(|one| !one.sets.is_empty() && !one.resets.is_empty()).collect()
}
