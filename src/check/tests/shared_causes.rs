//! One report per cause, where several parts or views show it: a fault planted at every place of the demonstrations that has
//! one is one root, and every error that it causes is folded under it.

use super::roots::{errors, report_of};
use crate::Repair;
use model::{Domain, Family, Model, PartKind, PinId, PinRole, WireId};

/// The demonstrations; the first alone in a build without optimisation.
const DEMOS: [&str; 4] = ["first-harness", "orchard-sprayer-pickup", "boat-tow-pickup", "wheelchair-van"];

/// The most that is planted in one demonstration.
const MOST: usize = 3;

/// Plants each fault that a function gives. Every report has the rule as its one error; `most_others` may have more.
fn assert_is_one_root(rules: &[&str], at_least: usize, faults: impl Fn(&Model) -> Vec<Repair>) {
    let demos = if cfg!(debug_assertions) { &DEMOS[..1] } else { &DEMOS[..] };
    let (mut planted, mut wrong) = (0, Vec::new());
    for demo in demos {
        let model = sample::demo(demo);
        for fault in faults(&model).into_iter().take(MOST) {
            let report = report_of(&fault.repaired(&model));
            let roots = errors(&report);
            let names = roots.iter().all(|root| rules.contains(&root.rule));
            if roots.len() > 1 || !names {
                let words: Vec<&String> = roots.iter().map(|root| &root.message).collect();
                wrong.push(format!("{demo}: {fault:?}: {words:#?}"));
            }
            planted += 1;
        }
    }
    assert!(wrong.is_empty(), "{} of {planted}:\n{}", wrong.len(), wrong.join("\n"));
    assert!(cfg!(debug_assertions) || planted >= at_least, "{planted}");
}

/// The wires that end on a trigger of a screen.
fn trigger_wires(model: &Model) -> Vec<(WireId, PinId)> {
    let is_trigger = |pin: PinId| {
        let family = model.part(model.pin(pin).part).form.family;
        model.pin(pin).domain == Domain::Trigger && family == Family::Screen
    };
    let wires = model.wire_ids().filter_map(|wire| {
        let end = model.wire(wire).ends.into_iter().find(|end| is_trigger(*end))?;
        Some((wire, end))
    });
    wires.collect()
}

#[test]
fn a_trigger_wire_that_is_missing_is_one_root() {
    let faults =
        |model: &Model| trigger_wires(model).into_iter().map(|(wire, _)| Repair::Without(vec![wire])).collect();
    assert_is_one_root(&["net/trigger-open", "logic/view-differs"], 4, faults);
}

#[test]
fn a_trigger_wire_on_another_feed_is_one_root() {
    let faults = |model: &Model| {
        let feeds: Vec<PinId> =
            model.parts.iter().filter(|part| part.kind == PartKind::Feed).flat_map(|part| part.pins.clone()).collect();
        let nets = model::joined_pins(model);
        let apart = move |a: PinId, b: PinId| !nets.iter().any(|net| net.contains(&a) && net.contains(&b));
        let moved = trigger_wires(model).into_iter().filter_map(|(wire, near)| {
            let ends = model.wire(wire).ends;
            let far = ends[usize::from(ends[0] == near)];
            let feed = feeds.iter().find(|feed| apart(**feed, far))?;
            Some(Repair::Moved(wire, far, *feed))
        });
        moved.collect()
    };
    assert_is_one_root(&["net/swapped", "logic/view-differs"], 4, faults);
}

#[test]
fn the_feed_and_the_ground_of_a_plug_crossed_is_one_root() {
    let faults = |model: &Model| {
        let nets = model::joined_pins(model);
        let loads = |pin: PinId, role: PinRole| {
            let net = nets.iter().find(|net| net.contains(&pin)).map_or(&[][..], Vec::as_slice);
            let is_load =
                |pin: &&PinId| model.pin(**pin).role == role && model.part(model.pin(**pin).part).elements.len() == 1;
            net.iter().filter(is_load).count()
        };
        let plugs = model.parts.iter().filter(|part| part.kind == PartKind::Connector);
        let pairs = plugs.flat_map(|part| {
            let wired = part.pins.iter().copied().filter(|pin| model.wires_on(*pin).next().is_some());
            let wired: Vec<PinId> = wired.collect();
            let feeds = wired.iter().copied().filter(|pin| loads(*pin, PinRole::Feed) > 1).collect::<Vec<_>>();
            let grounds = wired.iter().copied().filter(|pin| loads(*pin, PinRole::Return) > 1).collect::<Vec<_>>();
            feeds.into_iter().flat_map(move |a| grounds.clone().into_iter().map(move |b| Repair::Exchange(a, b)))
        });
        pairs.collect()
    };
    assert_is_one_root(&["net/swapped"], 1, faults);
}
