//! What no finding can show: pins that could be swapped, and nothing in the spec says which way round is meant.

use super::trials::{Trials, found_by};
use crate::{Finding, Repair, Rule, rules};
use catalogue::part_form::Acts;
use explore::Interrupted;
use facts::Facts;
use form::Place;
use model::{Coil, ElementKind, PinId};
use std::collections::BTreeSet;

/// The rules that compare what happens with what the spec asks for.
const PROMISES: [&str; 4] = ["logic/view-differs", "logic/works-differs", "logic/standard-pin", "time/drive-broken"];

/// The windings of latching relays that nothing distinguishes, in words: with the wires of set and reset exchanged, every
/// promise is kept as before.
///
/// # Errors
/// When the watch breaks.
pub fn unchecked(facts: &Facts, trials: &mut Trials) -> Result<Vec<String>, Interrupted> {
    let mut all = Vec::new();
    let before = broken(facts);
    for pins in windings(facts) {
        let repaired = Repair::Exchange(pins[0], pins[1]).repaired(facts.model);
        let Some(after) = trials.asked(&repaired, broken)? else { break };
        if after == before {
            let [a, b] = pins.map(|pin| &facts.model.pin(pin).name);
            let part = &facts.model.part(facts.model.pin(pins[0]).part).name;
            all.push(format!(
                "whether `{a}` and `{b}` of `{part}` are swapped: no view, `works` or drive says which of them sets it"
            ));
        }
    }
    Ok(all)
}

/// The promises that are not kept: rule, subject and place of each.
fn broken(facts: &Facts) -> BTreeSet<(&'static str, String, Place)> {
    let asked = rules::rules().filter(|rule: &&Rule| PROMISES.contains(&rule.name));
    let key = |finding: Finding| (finding.rule, finding.about, finding.place);
    asked.flat_map(|rule| found_by(facts, rule)).map(key).collect()
}

/// The wired pins that distinguish set and reset, for each latching relay.
fn windings(facts: &Facts) -> Vec<[PinId; 2]> {
    let model = facts.model;
    let coils = |acts: Acts| {
        model.elements.iter().filter_map(move |element| match &element.kind {
            ElementKind::Coil(coil) if coil.acts == acts => Some(coil),
            _ => None,
        })
    };
    let is_wired = |pin: &PinId| !facts.connectivity().wires_on(*pin).is_empty();
    let differing = |(set, reset): (&Coil, &Coil)| {
        let pairs = [[set.feed, reset.feed], [set.ground, reset.ground]];
        pairs.into_iter().find(|pins| pins[0] != pins[1] && pins.iter().all(is_wired))
    };
    let pairs = coils(Acts::Sets).flat_map(|set| {
        coils(Acts::Resets).filter(move |reset| reset.relay == set.relay).map(move |reset| (set, reset))
    });
    pairs.filter_map(differing).collect()
}
