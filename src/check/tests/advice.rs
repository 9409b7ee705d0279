//! Advice is carried out to the letter, as far as the words say what to do, and the harness is checked again: the finding is
//! gone, and no error is new.

use super::*;
use crate::Repair;
use facts::protection::Guard;
use model::{ElementId, ElementKind, PartKind, PinId, WireId};
use quantity::Gauge;

/// A harness with one planted fault.
struct Faulty {
    words: String,
    model: Model,
}

/// What advice of a finding says to do, read from its words; `None` for words that leave a choice to the reader.
fn done(model: &Model, finding: &Finding) -> Option<Model> {
    let hint = finding.hint.as_str();
    let wire = |name: &str| model.wire_ids().find(|id| model.wire(*id).id.as_str() == name);
    let pin = |name: &str| model.pin_ids().find(|pin| model.pin_name(*pin) == name);
    let own = |name: &str| pin(name).or_else(|| pin(&format!("{}.{name}", finding.about)));
    let quoted: Vec<&str> = hint.split('`').skip(1).step_by(2).collect();
    let repaired = |repair: Repair| Some(repair.repaired(model));
    let first_word = |text: &str| text.split([' ', ';', ',']).next().unwrap_or_default().to_string();
    if hint.starts_with("run a wire from `") && quoted.len() == 2 {
        return repaired(Repair::Joined(pin(quoted[0])?, pin(quoted[1])?));
    }
    if hint.starts_with("exchange the wires of `") && quoted.len() >= 2 {
        return repaired(Repair::Exchange(own(quoted[0])?, own(quoted[1])?));
    }
    if hint.starts_with("swap the wires of `") {
        return repaired(Repair::Exchange(own(quoted[0])?, own(quoted[1])?));
    }
    if ["exchange its two wires", "swap the two wires"].iter().any(|words| hint.starts_with(words)) {
        let Some(Repair::Exchange(a, b)) = &finding.repair else { return None };
        return repaired(Repair::Exchange(*a, *b));
    }
    if let Some(rest) = hint.strip_prefix("compare with the plan where wire ") {
        let Some(Repair::Moved(_, from, _)) = &finding.repair else { return None };
        return repaired(Repair::Moved(wire(&first_word(rest))?, *from, pin(quoted[0])?));
    }
    if hint.starts_with("connect `") && hint.contains("to a supply through a fuse") {
        return Some(on_some_supply(model, pin(quoted[0])?, finding));
    }
    if let Some(rest) = hint.strip_prefix("move wire ") {
        let named = wire(&first_word(rest))?;
        let to = pin(quoted[0])?;
        if rest.contains("` and wire ") {
            let other = wire(&first_word(rest.split(" and wire ").nth(1)?))?;
            return repaired(Repair::Ends([(named, pin(quoted[1])?), (other, to)]));
        }
        let from = match &finding.repair {
            Some(Repair::Moved(_, from, _)) => *from,
            Some(Repair::Exchange(a, b)) => {
                if *b == to {
                    *a
                } else {
                    *b
                }
            }
            _ => return None,
        };
        return repaired(Repair::Moved(named, from, to));
    }
    if hint.starts_with("connect `") && hint.contains("to a ground point") {
        return repaired(Repair::Ground(pin(quoted[0])?));
    }
    if hint.starts_with("use the ") && hint.contains(" kind of the same relay") {
        return repaired(finding.repair.clone()?);
    }
    if let Some(rest) = hint.strip_prefix("for wire ") {
        let named = wire(&first_word(rest))?;
        return with_gauge(model, named, rest.split(" use ").nth(1)?);
    }
    if let Some(rest) = hint.strip_prefix("use a smaller fuse, or ") {
        let named = finding.message.split("for wire ").nth(1).map(first_word)?;
        return with_gauge(model, wire(&named)?, rest);
    }
    None
}

/// A pin joined to the supply of the vehicle with which the fewest errors are left: advice that names none leaves the choice. The
/// fuse is not added.
fn on_some_supply(model: &Model, pin: PinId, finding: &Finding) -> Model {
    let supplies = model.elements.iter().filter_map(|element| match &element.kind {
        ElementKind::Battery { plus: supply, .. } | ElementKind::Derived { pin: supply, .. } => Some(*supply),
        _ => None,
    });
    let joined = supplies.map(|supply| Repair::Joined(pin, supply).repaired(model));
    let errors = |model: &Model| {
        let roots = roots_of(model);
        let is_same = |root: &&Finding| (root.rule, &root.about) == (finding.rule, &finding.about);
        let errors = roots.iter().filter(|root| root.severity == Severity::Error).count();
        (roots.iter().filter(is_same).count(), errors)
    };
    // OK because a harness has a battery.
    joined.min_by_key(errors).unwrap()
}

/// The wires that a fuse of the harness protected, and that are fed past it in a repaired harness.
fn past_their_fuse(faulty: &Model, repaired: &Model) -> Vec<String> {
    let guards = |model: &Model| -> Vec<Guard> {
        let solved = Solved::new(model);
        let facts = facts::Facts::new(&solved);
        model.wire_ids().map(|wire| facts.protection().of(wire)).collect()
    };
    let (before, after) = (guards(faulty), guards(repaired));
    let is_lost = |wire: &WireId| {
        let is_past = matches!(after[wire.0], Guard::Open(_) | Guard::Vehicle(_));
        matches!(before[wire.0], Guard::Element(..)) && is_past
    };
    faulty.wire_ids().filter(is_lost).map(|wire| format!("wire {} past its fuse", faulty.wire(wire).id)).collect()
}

fn with_gauge(model: &Model, wire: WireId, words: &str) -> Option<Model> {
    let mut words = words.split([' ', ';', ',']);
    let number: f64 = words.next()?.parse().ok()?;
    let gauge = (words.next()? == "mm²").then_some(Gauge::Metric(number))?;
    let mut model = model.clone();
    model.wires[wire.0].gauge = gauge;
    Some(model)
}

/// Faults of every kind that can be planted in a model: wires left out, diodes turned, wires too thin, fuses too large, feeds
/// crossed, wires on the next feed.
fn faults(model: &Model, most: usize) -> Vec<Faulty> {
    let mut all = Vec::new();
    let name = |pin: PinId| model.pin_name(pin);
    let mut add = |kind: Vec<(String, Model)>| {
        let step = kind.len().div_ceil(most).max(1);
        all.extend(kind.into_iter().step_by(step).map(|(words, model)| Faulty { words, model }));
    };
    let ours = || model.wire_ids().filter(|id| !model.wire(*id).existing);
    let carries = |id: &WireId| matches!(model.wire(*id).domain, model::Domain::Power | model::Domain::Trigger);
    add(ours()
        .map(|id| (format!("without wire {}", model.wire(id).id), model::without_wires(model.clone(), &[id])))
        .collect());
    let thin = |id: WireId| {
        let mut thin = model.clone();
        thin.wires[id.0].gauge = Gauge::Metric(0.22);
        (format!("wire {} of 0.22 mm²", model.wire(id).id), thin)
    };
    add(ours().filter(carries).map(thin).collect());
    let turned = model.elements.iter().filter_map(|element| match element.kind {
        ElementKind::Diode { anode, cathode, .. } if model.wires_on(anode).next().is_some() => {
            Some((format!("{} turned", name(anode)), Repair::Exchange(anode, cathode).repaired(model)))
        }
        _ => None,
    });
    add(turned.collect());
    let large = (0..model.elements.len()).filter_map(|i| {
        let mut large = model.clone();
        let ElementKind::Fuse { rating, .. } = &mut large.elements[i].kind else { return None };
        *rating = *rating * 8.0;
        let part = model.element(ElementId(i)).part;
        large.parts[part.0].rating = Some(*rating);
        Some((format!("{} of eight times its rating", model.part(part).name), large))
    });
    add(large.collect());
    let is_feed = |pin: PinId| {
        let part = model.part(model.pin(pin).part);
        matches!(part.kind, PartKind::Supply | PartKind::Feed | PartKind::Splice)
    };
    let fed: Vec<(WireId, PinId)> = ours()
        .filter(carries)
        .filter_map(|id| Some((id, model.wire(id).ends.into_iter().find(|end| is_feed(*end))?)))
        .collect();
    let crossed = fed.windows(2).filter(|pair| pair[0].1 != pair[1].1).map(|pair| {
        let words = format!("{} and {} crossed", model.wire(pair[0].0).id, model.wire(pair[1].0).id);
        (words, Repair::Ends([pair[0], pair[1]]).repaired(model))
    });
    add(crossed.collect());
    let moved = fed.windows(2).filter(|pair| pair[0].1 != pair[1].1).map(|pair| {
        let words = format!("wire {} moved to {}", model.wire(pair[0].0).id, name(pair[1].1));
        (words, Repair::Moved(pair[0].0, pair[0].1, pair[1].1).repaired(model))
    });
    add(moved.collect());
    all
}

fn roots_of(model: &Model) -> Vec<Finding> {
    let report = check(&Solved::new(model));
    report.roots().filter(|finding| finding.severity < Severity::Note).cloned().collect()
}

/// What goes wrong when the advice of a fault is carried out; and how many roots have such advice.
fn wrong_advice(sound: &Model, fault: &Faulty) -> (Vec<String>, usize) {
    let before = roots_of(&fault.model);
    let errors = |found: &[Finding]| -> Vec<(&'static str, String)> {
        let all = found.iter().filter(|finding| finding.severity == Severity::Error);
        all.map(|finding| (finding.rule, finding.about.clone())).collect()
    };
    let known = [errors(&before), errors(&roots_of(sound))].concat();
    let (mut wrong, mut tried) = (Vec::new(), 0);
    for root in &before {
        let Some(repaired) = done(&fault.model, root) else { continue };
        tried += 1;
        let after = check(&Solved::new(&repaired));
        let stays = after.findings.iter().any(|finding| {
            (finding.rule, &finding.about, finding.severity) == (root.rule, &root.about, root.severity)
                && finding.message == root.message
        });
        let after: Vec<Finding> = after.roots().cloned().collect();
        // The words ask for another terminal or a splice, which the model does not get.
        // A wire that a repair adds is thick.
        let asks_more = ["terminal", "splice", "run a wire"].iter().any(|word| root.hint.contains(word));
        let counts = |one: &(&'static str, String)| !(known.contains(one) || asks_more && one.0.starts_with("build/"));
        let mut new: Vec<(&'static str, String)> = errors(&after).into_iter().filter(counts).collect();
        // The words ask for a fuse, which the model does not get.
        new.retain(|(rule, _)| !(root.hint.contains("through a fuse") && rule.starts_with("safety/")));
        let is_moved = ["move wire", "compare with the plan where"].iter().any(|words| root.hint.starts_with(words));
        let past = if is_moved { past_their_fuse(&fault.model, &repaired) } else { Vec::new() };
        if stays || !new.is_empty() || !past.is_empty() {
            let stays = if stays { "stays" } else { "gone" };
            wrong.push(format!("{}: {} => {}: {stays}, new {new:?} {past:?}", fault.words, root.message, root.hint));
        }
    }
    (wrong, tried)
}

fn assert_advice_repairs(demo: &str, most: usize, at_least: usize) {
    let sound = sample::demo(demo);
    let (mut wrong, mut tried) = (Vec::new(), 0);
    for fault in faults(&sound, most) {
        let (more, some) = wrong_advice(&sound, &fault);
        tried += some;
        wrong.extend(more);
    }
    assert!(wrong.is_empty(), "{demo}: {} of {tried}:\n{}", wrong.len(), wrong.join("\n"));
    assert!(tried >= at_least, "{tried}");
}

#[test]
fn advice_repairs_the_first_harness() {
    assert_advice_repairs("first-harness", 3, 3);
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn advice_repairs_the_sprayer() {
    assert_advice_repairs("orchard-sprayer-pickup", 8, 8);
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn advice_repairs_the_van() {
    assert_advice_repairs("wheelchair-van", 8, 8);
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn advice_repairs_the_boat_tow() {
    assert_advice_repairs("boat-tow-pickup", 5, 5);
}
