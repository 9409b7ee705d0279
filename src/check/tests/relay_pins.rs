//! Two wires of a relay exchanged, in the demonstrations: the relay and both pins are named, as the only error.

use super::roots::{errors, report_of};
use crate::Repair;
use model::{Domain, ElementKind, Model, PinId, PinRole};

/// Every two wired pins of a relay that do different things.
pub(super) fn exchanges(model: &Model) -> Vec<[PinId; 2]> {
    let mut all = Vec::new();
    let is_wired = |pin: &PinId| model.wires_on(*pin).next().is_some();
    for part in &model.parts {
        let kinds = || part.elements.iter().map(|id| &model.element(*id).kind);
        let is = |wanted: fn(&ElementKind) -> bool| kinds().any(wanted);
        let is_relay =
            is(|kind| matches!(kind, ElementKind::Coil(_))) && is(|kind| matches!(kind, ElementKind::Contact { .. }));
        if !is_relay {
            continue;
        }
        let wired: Vec<PinId> = part.pins.iter().copied().filter(is_wired).collect();
        for (i, a) in wired.iter().enumerate() {
            all.extend(wired[i + 1..].iter().map(|b| [*a, *b]));
        }
    }
    all
}

/// The exchanges tried in one demonstration.
const MOST: usize = 12;

/// How many exchanges of a demonstration are errors, and what is reported where the pins are not named alone.
fn planted(demo: &str) -> (usize, Vec<String>) {
    let model = sample::demo(demo);
    let all = exchanges(&model);
    let step = all.len().div_ceil(MOST).max(1);
    let (mut wrong, mut faults) = (0, Vec::new());
    for [a, b] in all.into_iter().step_by(step) {
        let report = report_of(&Repair::Exchange(a, b).repaired(&model));
        let errors = errors(&report);
        let Some(first) = errors.first() else { continue };
        wrong += 1;
        let part = &model.part(model.pin(a).part).name;
        let [a, b] = [a, b].map(|pin| &model.pin(pin).name);
        let names = first.message.contains(" are swapped")
            && [a.as_str(), b.as_str(), part.as_str()].iter().all(|name| first.message.contains(&format!("`{name}`")));
        if !names || errors.len() > 1 {
            let messages: Vec<String> = errors.iter().map(|one| format!("{} {}", one.rule, one.message)).collect();
            faults.push(format!("{demo}: {part} {a} {b}: {messages:#?}"));
        }
    }
    (wrong, faults)
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn exchanged_wires_of_relays_are_named_in_every_demonstration() {
    let demos = ["first-harness", "orchard-sprayer-pickup", "boat-tow-pickup", "wheelchair-van", "refuse-truck"];
    let all: Vec<(usize, Vec<String>)> = demos.iter().map(|demo| planted(demo)).collect();
    let wrong: usize = all.iter().map(|(wrong, _)| wrong).sum();
    let faults: Vec<&str> = all.iter().flat_map(|(_, faults)| faults).map(String::as_str).collect();
    assert!(faults.is_empty(), "{} of {wrong}:\n{}", faults.len(), faults.join("\n"));
    assert!(wrong > 24, "{wrong}");
}

/// Every two pictures of a screen exchanged: one report says so, or that their triggers are.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn exchanged_pictures_are_one_report_in_every_demonstration() {
    let mut planted = 0;
    for demo in ["orchard-sprayer-pickup", "boat-tow-pickup", "wheelchair-van", "refuse-truck"] {
        let model = sample::demo(demo);
        for screen in &model.screens {
            let pins = model.part(screen.part).pins.iter().copied().filter(|pin| {
                let this = model.pin(*pin);
                this.domain == Domain::Video && this.role == PinRole::Input && model.wires_on(*pin).next().is_some()
            });
            let pins: Vec<PinId> = pins.collect();
            for pair in pins.windows(2).take(2) {
                let report = report_of(&Repair::Exchange(pair[0], pair[1]).repaired(&model));
                let errors = errors(&report);
                let messages: Vec<&str> = errors.iter().map(|finding| finding.message.as_str()).collect();
                assert!(messages.len() == 1 && errors[0].rule == "net/swapped", "{demo}: {messages:#?}");
                planted += 1;
            }
        }
    }
    assert!(planted > 3, "{planted}");
}
